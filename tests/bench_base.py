"""What tests of marked runs at the bench share: random hands, and a verdict's two halves."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from graders.marks.verdict import Finding, Verdict
from workbook.bench import DIALS

KINDS = st.sampled_from([*DIALS, "occlude", "release", "cap", "open", "connect"])


@st.composite
def runs(draw: st.DrawFn) -> dict[str, Any]:
    """Random hands, whatever they do."""
    now, rows = 0.0, list[list[Any]]()
    for _ in range(draw(st.integers(0, 25))):
        now += draw(st.floats(0, 3))
        kind = draw(KINDS)
        at = [draw(st.integers(0, DIALS[kind].clicks))] if kind in DIALS else []
        rows.append([round(now, 4), kind, *at])
    return {"format": "tpiece-hands", "version": 1, "duration": round(now, 4) + 1, "actions": rows}


def parts(verdict: Verdict) -> list[Finding]:
    """Return the findings on the parts of the task."""
    return [f for f in verdict.findings if "-watch" not in f.criterion]


def watched(verdict: Verdict) -> list[Finding]:
    """Return the findings on what the baby met."""
    return [f for f in verdict.findings if "-watch" in f.criterion]
