"""The set-up exercise: ten questions drawn for one learner, the last one on the bench."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from workbook.cases import setup_bench
from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question
from workbook.language import N_, _, data
from workbook.rules import Procedure, RuleBook
from workbook.units import plain

EXERCISE = "1_setup_order"
SETUPS = ("setup-1", "setup-2", "setup-3")
_ASKS = (
    N_("First set-up: what is missing or wrong?"),
    N_("Second set-up: what is missing or wrong?"),
    N_("Third set-up: what is missing or wrong?"),
)
PRESSURE_UNITS = ("cmH2O", "hPa", "kPa", "mmHg")
MISSING_CHECKS = 3


def texts() -> Mapping[str, Any]:
    """Return the described set-ups, faults and reasons the questions draw from."""
    return data(Path(__file__).with_name("setup_order.toml"))


def questions(course: str, learner: str, book: RuleBook) -> tuple[Question, ...]:
    """Return the ten questions of one learner, always in the same teaching order."""

    def draw(part: str) -> Draw:
        return Draw(course, EXERCISE, learner, part)

    numbers = _settings(draw("settings"), book)
    return (
        _order(draw("order"), book.procedure("set-up")),
        *_setups(draw("setups"), numbers),
        _reason(draw("reason"), book.procedure("set-up")),
        *_gauge(numbers),
        _shift_check(draw("shift-check"), book.procedure("shift-check")),
        setup_bench.question(draw("bench"), numbers, book),
    )


def _settings(draw: Draw, book: RuleBook) -> dict[str, float]:
    pip, peep, relief = draw.pick(settings(book))
    return {"pip": pip, "peep": peep, "relief": relief, "flow": book["flow.start"].value}


def settings(book: RuleBook) -> list[tuple[float, float, float]]:
    """Return the (PIP, PEEP, relief) in cmH2O a case may use.

    Left out are those where two different slips would give the same gauge reading.
    """
    apart = 2 * book["pip.accept"].value
    pips, peeps = (_whole(*book[id].band) for id in ("pip.drawn", "peep.drawn"))
    limits = sorted({rule.value for rule in book.all("relief.limit")})
    every = ((pip, peep, relief) for pip in pips for peep in peeps for relief in limits)
    return [(p, e, r) for p, e, r in every if r - p > apart and abs(p + e - r) > apart]


def _whole(low: float, high: float) -> list[float]:
    return [float(n) for n in range(math.ceil(low), math.floor(high) + 1)]


def _named(numbers: Mapping[str, float]) -> dict[str, str]:
    units = {"flow": "L/min"}
    return {name: plain(value, units.get(name, "cmH2O")) for name, value in numbers.items()}


def _order(draw: Draw, procedure: Procedure) -> Question:
    start = draw.shuffled(procedure.ids)
    while not procedure.broken(start):  # a drawn order that is already right asks nothing
        start = draw.shuffled(start)
    return Question(
        "order",
        Kind.SEQUENCE,
        _("Arrange the steps from an unconnected device to the mask on the baby's face."),
        help=_("More than one order is right. What must come first, must come first."),
        options=tuple(Option(step, _(procedure[step].says)) for step in start),
    )


def _setups(draw: Draw, numbers: Mapping[str, float]) -> list[Question]:
    drawn = draw.some(texts()["setup"], len(SETUPS))
    return [
        Question(
            id,
            Kind.CHOICE,
            _(asks),
            context=setup["says"].format(**_named(numbers)),
            options=tuple(
                Option(fault, texts()["fault"][fault]) for fault in draw.shuffled(setup["options"])
            ),
            facts={"setup": setup["id"]},
        )
        for id, asks, setup in zip(SETUPS, _ASKS, drawn, strict=True)
    ]


def _reason(draw: Draw, procedure: Procedure) -> Question:
    drawn = draw.pick(texts()["reason"])
    step = procedure[drawn["step"]]
    others = [s for s in drawn["others"] if s != step.id]
    options = [Option(s, _(procedure[s].reason)) for s in (step.id, *others)]
    options += [Option(wrong, texts()["wrong_reason"][wrong]) for wrong in drawn["wrong"]]
    return Question(
        "reason",
        Kind.CHOICE,
        drawn["asks"],
        context=_("The step: {step}").format(step=_(step.says)),
        options=tuple(draw.shuffled(options)),
        facts={"step": step.id},
    )


def _gauge(numbers: Mapping[str, float]) -> list[Question]:
    named = _named(numbers)
    context = _(
        "The flow is {flow}. The relief is set to {relief}, PIP to {pip} and PEEP to {peep}."
    ).format(**named)
    asked = {
        "gauge-held": _(
            "The outlet is capped and a thumb occludes the aperture. What does the gauge show?"
        ),
        "gauge-released": _(
            "The outlet is still capped and the thumb is lifted off the aperture. "
            "What does the gauge show?"
        ),
        "gauge-open": _(
            "The mask is on the outlet, held in the air away from any face, and the "
            "aperture is open. What does the gauge show?"
        ),
    }
    return [
        Question(id, Kind.NUMBER, label, context=context, units=PRESSURE_UNITS, facts=dict(numbers))
        for id, label in asked.items()
    ]


def _shift_check(draw: Draw, procedure: Procedure) -> Question:
    others = [step for step in procedure.ids if step != "bag"]
    # The bag is missing in every case: it is the one item a T-piece cannot do without.
    missing = {"bag", *draw.some(others, MISSING_CHECKS - 1)}
    done = [_(procedure[s].says) for s in draw.shuffled(procedure.ids) if s not in missing]
    return Question(
        "shift-check",
        Kind.CHOICES,
        _("Which items of the check are still to be done? Choose all that are missing."),
        context=_("Before a birth a colleague has confirmed: {done}").format(done=" ".join(done)),
        options=tuple(Option(s, _(procedure[s].says)) for s in draw.shuffled(procedure.ids)),
        facts={"missing": sorted(missing)},
    )
