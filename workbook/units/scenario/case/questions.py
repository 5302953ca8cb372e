"""Two cases for one learner, and the note of each: drawn from nine hidden courses.

One case asks for restraint: a baby who needs less than a team would like to do. The other stalls:
what everybody begins with does not work, and something has to be changed. Together they show both
whether a hand can leave alone, and whether it goes on to the next step.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from workbook.cases.dials import set_for
from workbook.cases.draw import Draw, lot_before
from workbook.cases.question import Kind, Later, Question
from workbook.cases.starting import (
    NAMES,
    Baby,
    baby,
    highest_relief,
    one,
    stands_in,
    step,
    wanted,
    whose,
)
from workbook.core.language import _, data, number
from workbook.core.quantities import plain
from workbook.physics.baby import KINDS, drawn
from workbook.physics.baby.constants import k
from workbook.rules import RuleBook
from workbook.scenario import Case
from workbook.scenario.replay import PERCENT
from workbook.scenario.told_note import entries

EXERCISE = "7_from_birth"
CASES = ("case-1", "case-2")
NOTES = ("note-1", "note-2")
CASE_OF = dict(zip(NOTES, CASES, strict=True))
TEXTS = Path(__file__).with_suffix(".toml")
# Half of the first kind are babies who breathe: two beliefs show nowhere else.
RESTRAINT = ("breather", "breather", "overshoot", "easy")
STALLS = ("leak", "position", "stiff", "gas-fails", "laryngeal-mask", "compressions")
SET = {"flow": "L/min", "pip": "cmH2O", "peep": "cmH2O", "relief": "cmH2O"}
GROUPS = {True: "very-preterm", False: "term"}  # by whether a course's baby is very preterm


def texts() -> Mapping[str, Any]:
    """Return the words of cases and notes."""
    return data(TEXTS)


def questions(course: str, learner: str, book: RuleBook) -> tuple[Question, ...]:
    """Return the two cases of one learner, each with its note, in a drawn order."""

    def draw(part: str) -> Draw:
        return Draw(course, EXERCISE, learner, part)

    order = draw("order")
    courses = order.shuffled(_picked(course, learner, order))
    made = [born(id, hidden, draw(id), book) for id, hidden in zip(CASES, courses, strict=True)]
    return tuple(q for n, each in enumerate(made, start=1) for q in _asked(n, each, book))


def _picked(course: str, lot: str, order: Draw) -> tuple[str, str]:
    """Return a hidden course that asks for restraint and one that stalls.

    Neither is of the attempt before: what fitted that baby's case is no answer to the next one.
    """
    earlier = lot_before(lot)
    had = _picked(course, earlier, Draw(course, EXERCISE, earlier, "order")) if earlier else ()
    restraint, stalls = ([id for id in ids if id not in had] for ids in (RESTRAINT, STALLS))
    return order.pick(restraint), order.pick(stalls)


def born(id: str, hidden: str, draw: Draw, book: RuleBook) -> Case:
    """Return a case of a hidden course: its baby, and the T-piece as it was set at birth."""
    met = baby(draw, GROUPS[KINDS[hidden].very_preterm], book)
    numbers = settings(book, met)
    kept = drawn(hidden, met.kg, numbers["pip"], draw.chance)
    return Case(id, met.weeks, met.kg, kept, set_for(numbers), oxygen(draw, met, book))


def settings(book: RuleBook, met: Baby) -> dict[str, float]:
    """Return what the T-piece was set to at birth: L/min, and cmH2O.

    By the edition's numbers; the relief as high as it may be, so that PIP can be raised. Where the
    edition leaves a choice, PIP lies below it by the margin and at most a step above the lowest.
    """
    rules, relief = wanted(book, met), highest_relief(book, met)
    pip = rules["pip"]
    least = one(pip) if pip.low is None else pip.low
    most = max(least, min(relief - book["relief.margin"].value, least + step(book).band[0]))
    return {
        "flow": book["flow.start"].value, "pip": min(one(pip), most),
        "peep": one(rules["peep"]), "relief": relief,
    }  # fmt: skip


def oxygen(draw: Draw, met: Baby, book: RuleBook) -> float:
    """Return where the oxygen dial stands at birth (percent): an end of what the edition states.

    Air where it states nothing; an open end is left out.
    """
    rule = wanted(book, met).get("oxygen")
    if rule is None:
        return float(round(PERCENT * k("air")))
    ends = {rule.low, rule.typical, rule.high} - {None, PERCENT}
    return float(draw.pick(sorted(each for each in ends if each is not None)))


def _asked(n: int, made: Case, book: RuleBook) -> tuple[Question, Question]:
    told = texts()
    return (
        Question(
            CASES[n - 1], Kind.CASE, told["case"].format(n=number(n)),
            context=_context(made, book), help=told["help"].format(limit=_limit(book)),
            facts={"case": made, "book": book}, shows=Later(made.told),
        ),
        Question(
            NOTES[n - 1], Kind.NOTE, told["note"].format(n=number(n)), help=told["note-help"],
            facts={"case": made}, shows=Later(lambda: {"entries": entries(book)}),
        ),
    )  # fmt: skip


def _limit(book: RuleBook) -> str:
    return plain(book["scenario.limit"].value / 60, "min")


def _context(made: Case, book: RuleBook) -> str:
    """Return what is said before birth, and what the edition states no number for."""
    told, met = texts(), Baby(int(made.weeks), made.kg)
    rules, set_to = wanted(book, met), settings(book, met)
    says = told["context"].format(
        weeks=plain(made.weeks, "week"), weight=plain(made.kg, "kg"),
        **{name: plain(value, SET[name]) for name, value in set_to.items()},
        oxygen=plain(made.oxygen, "percent"), edition=whose(book),
    )  # fmt: skip
    lent = [_(NAMES[part]) for part in ("pip", "peep") if stands_in(part, rules[part])]
    lent += [_(NAMES["oxygen"])] * ("oxygen" not in rules)
    return " ".join([says, *([told["lent"].format(what=_(" and ").join(lent))] if lent else [])])
