"""Practice feedback on a procedure: what must come first and does, and the first that does not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from workbook.cases import Draw
from workbook.core.language import _
from workbook.rules import Need, Procedure, ordered

FIRST_BROKEN = 1  # more at once would be too much to mend
OTHERS = 3  # steps to choose from beside the right one
ASKED = ("set-relief", "set-pip", "set-peep")  # steps with enough others still waiting for them

Says = Mapping[str, str]
Feedback = dict[str, Any]


def on_order(procedure: Procedure, order: Sequence[str], says: Says) -> Feedback:
    """Return feedback on an order of all or some of the steps."""
    total, wrong = len(_within(procedure.needs, order)), broken(procedure, order)
    counts = {"kept": total - len(wrong), "total": total}
    if not wrong:
        return {"heading": says["kept"].format(**counts), "lines": []}
    # The first place where the order goes wrong is the one to mend first.
    first = sorted(wrong, key=lambda need: order.index(need.step))[:FIRST_BROKEN]
    left = len(wrong) - len(first)
    more = " " + says["more"].format(left=left) if left else ""
    lines = [_breach(procedure, need, says["breach"]) for need in first]
    return {"heading": says["some"].format(**counts) + more, "lines": lines}


def broken(procedure: Procedure, order: Sequence[str]) -> tuple[Need, ...]:
    """Return the prerequisites between the steps given that their order breaks."""
    return _within(procedure.broken(order), order)


def _within(needs: tuple[Need, ...], order: Sequence[str]) -> tuple[Need, ...]:
    return tuple(need for need in needs if {need.before, need.step} <= set(order))


def _breach(procedure: Procedure, need: Need, says: str) -> dict[str, Any]:
    before, step = procedure[need.before], procedure[need.step]
    text = says.format(before=_(before.says), step=_(step.says), why=_(need.why))
    return {"met": False, "says": text, "source": str(step.citation)}


def next_step(procedure: Procedure, draw: Draw) -> tuple[list[str], list[str]]:
    """Return the steps done so far and the steps to choose from: only one can come next."""
    order = list(ordered(procedure, draw.shuffled(procedure.ids)))
    right = draw.pick(ASKED)
    done = order[: order.index(right)]
    early = [step for step in order if step != right and missing(procedure, done, step)]
    early = [step for step in early if step not in done]
    return done, draw.shuffled([right, *draw.some(early, OTHERS)])


def missing(procedure: Procedure, done: Sequence[str], step: str) -> tuple[Need, ...]:
    """Return what a step still waits for."""
    return tuple(need for need in procedure[step].needs if need.before not in done)


def on_next(procedure: Procedure, done: Sequence[str], step: str, says: Says) -> Feedback:
    """Return feedback on the step chosen to come next."""
    chosen, waits = procedure[step], missing(procedure, done, step)
    if not waits:
        heading = says["next"].format(step=_(chosen.says))
        line = {"met": True, "says": _(chosen.reason), "source": str(chosen.citation)}
    else:
        need = waits[0]
        heading = says["early"].format(step=_(chosen.says))
        line = _breach(procedure, need, says["breach"])
    return {"heading": heading, "lines": [line]}
