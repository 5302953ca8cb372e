"""The set-up exercise: ten questions drawn for one learner, the last one on the bench."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from workbook.cases.draw import Draw
from workbook.cases.question import PRESSURE_UNITS, Kind, Option, Question
from workbook.cases.starting import Baby, baby, settings_for
from workbook.core.language import N_, _, data
from workbook.core.quantities import plain
from workbook.rules import Procedure, RuleBook
from workbook.units.setup.case import bench as setup_bench

EXERCISE = "1_setup_order"
SETUPS = ("setup-1", "setup-2")
_ASKS = (
    N_("First set-up: what is missing or wrong?"),
    N_("Second set-up: what is missing or wrong?"),
)
GAUGES = {"gauge-held": "held", "gauge-released": "released", "gauge-open": "open"}
BABIES = ("extremely-preterm", "very-preterm", "preterm", "term")
CHECKED = 6  # items a colleague speaks of, the bag always one of them
SHORT = (2, 3)  # of them not yet done as they should be


def texts() -> Mapping[str, Any]:
    """Return the described set-ups, faults and reasons the questions draw from."""
    return data(Path(__file__).with_name("questions.toml"))


def questions(course: str, learner: str, book: RuleBook) -> tuple[Question, ...]:
    """Return the ten questions of one learner, always in the same teaching order."""

    def draw(part: str) -> Draw:
        return Draw(course, EXERCISE, learner, part)

    made, numbers = _settings(draw("settings"), book)
    every = {**numbers, **_besides(draw("besides"), numbers, book)}
    named = _named(every)
    return (
        _order(draw("order"), book.procedure("set-up")),
        *_setups(draw("setups"), named),
        _meanwhile(draw("meanwhile"), named),
        _reason(draw("reason"), book.procedure("set-up")),
        *_gauge(draw("gauge"), every),
        _shift_check(draw("shift-check"), book.procedure("shift-check")),
        setup_bench.question(draw("bench"), numbers, made),
    )


def _settings(draw: Draw, book: RuleBook) -> tuple[Baby, dict[str, float]]:
    """Return a baby and the settings a T-piece is drawn with for it (cmH2O, L/min)."""
    made = baby(draw, draw.pick(BABIES), book)
    pip, peep, relief = draw.pick(settings_of(book, made))
    numbers = {"pip": pip, "peep": peep, "relief": relief, "flow": book["flow.start"].value}
    return made, numbers


def settings_of(book: RuleBook, baby: Baby) -> list[tuple[float, float, float]]:
    """Return the (PIP, PEEP, relief) in cmH2O for a baby at which no two slips read the same."""
    apart = 2 * book["pip.accept"].value
    every = settings_for(book, baby)
    told = [
        (p, e, r)
        for p, e, r in every
        if r - p > apart and all(abs(p + e + more - r) > apart for more in (0.0, apart))
    ]
    return told or every


def _besides(draw: Draw, numbers: Mapping[str, float], book: RuleBook) -> dict[str, float]:
    """Return what else a question may name, in cmH2O.

    ``off``: where a needle rests with the gas off; ``low``: a relief below the wanted PIP;
    ``below``: one lower than the limit, and safe; ``before``: an earlier PIP; ``step``: a rise.
    """
    step = 2 * book["pip.accept"].value
    return {
        "off": float(draw.whole(*book["needle.drawn"].band)),
        "low": numbers["pip"] - book["target.relief-gap"].value,
        "below": numbers["pip"] + book["relief.margin"].value,
        "before": numbers["pip"] - step,
        "step": step,
    }


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


def _setups(draw: Draw, named: Mapping[str, str]) -> list[Question]:
    drawn = draw.some(texts()["setup"], len(SETUPS))
    return [
        Question(
            id,
            Kind.CHOICE,
            _(asks),
            context=setup["says"].format(**named),
            options=tuple(
                Option(fault, texts()["fault"][fault]) for fault in draw.shuffled(setup["options"])
            ),
            facts={"setup": setup["id"]},
            of_others=True,
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


def _meanwhile(draw: Draw, named: Mapping[str, str]) -> Question:
    """Return what to do for a baby who does not breathe; the T-piece is ready or it is not."""
    table = texts()["meanwhile"]
    stage = draw.pick(table["stage"])
    return Question(
        "meanwhile",
        Kind.CHOICE,
        table["asks"],
        context=table["says"].format(state=stage["says"].format(**named)),
        options=tuple(Option(act, table["act"][act]) for act in draw.shuffled(table["act"])),
        facts={"stage": stage["id"]},
    )


def _gauge(draw: Draw, numbers: Mapping[str, float]) -> list[Question]:
    named = _named(numbers)
    made: list[Question] = []
    for id, part in GAUGES.items():
        stood = made[-1].facts["stands"] if id == "gauge-released" else ""
        table = draw.pick([each for each in texts()["gauge"][part] if each["id"] != stood])
        facts = {**numbers, "stands": table["id"]}
        made.append(
            Question(
                id,
                Kind.NUMBER,
                table["asks"],
                context=table["says"].format(**named),
                units=PRESSURE_UNITS,
                facts=facts,
            )
        )
    return made


def _shift_check(draw: Draw, procedure: Procedure) -> Question:
    """Return what a colleague says of some items; two or three fall short of what is needed."""
    others = draw.some([id for id in procedure.ids if id != "bag"], CHECKED - 1)
    items = draw.shuffled(["bag", *others])
    missing = set(draw.some(items, draw.whole(*SHORT)))
    table = texts()["check"]
    told = [table["short" if id in missing else "done"][id] for id in items]
    return Question(
        "shift-check",
        Kind.CHOICES,
        table["asks"],
        context=table["says"].format(told=" ".join(told)),
        options=tuple(Option(id, _(procedure[id].says)) for id in draw.shuffled(items)),
        facts={"missing": sorted(missing)},
        of_others=True,
    )
