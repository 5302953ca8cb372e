"""A bench that a learner breaks on purpose: one thing is made wrong, and the model shows it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from workbook.widgets.bench.control import LOOK, UNSAID, BenchControl
from workbook.widgets.modules import joined, styles


class BrokenBench(BenchControl):
    """A bench to play with on which each of ``faults`` (`workbook.physics.faults`) can be made."""

    _esm = joined("bench_break.js")
    _css = styles(*LOOK)
    _unsaid: tuple[str, ...] = UNSAID

    def __init__(self, question: str, label: str, *, faults: Sequence[str], **more: Any) -> None:
        super().__init__(question, label, plays=True, offers=(), **more)
        made = [{"id": id, "text": self.words[f"benchFault_{id}"]} for id in faults]
        self.educator = {"faults": made}
