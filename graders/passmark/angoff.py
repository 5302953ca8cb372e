"""A pass mark from judges' estimates: the modified Angoff method, with the spread among judges.

Each judge says, for each question, what share of its points a learner who is just ready for the
lab earns; for a question that is right or wrong, that is the chance of being right. A judge's mark
is the sum of the estimates weighted by the points; the pass mark is the mean of the judges' marks.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, median, stdev

from workbook.core.errors import PlainError
from workbook.rules import RuleBook

_ROUNDING = 1e-9


class AngoffError(PlainError, ValueError):
    """A pass mark that cannot be had or set; the message is one sentence."""


class SheetError(AngoffError):
    """Estimates that cannot be used; ``problems`` has one sentence for each mistake."""

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = tuple(problems)
        count = "1 mistake" if len(problems) == 1 else f"{len(problems)} mistakes"
        head = f"The estimates cannot be used: {count}."
        super().__init__("\n".join([head, *(f"  {said}" for said in problems)]))


@dataclass(frozen=True, slots=True)
class Panel:
    """What the judges said: by judge and question a share of its points, 0 to 1.

    ``points`` holds each question, named unit/question; every judge has estimated every one.
    """

    estimates: Mapping[str, Mapping[str, float]]
    points: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Cut:
    """A pass mark as a share of ``possible`` points, and how the judges differ about it.

    ``judges`` holds each judge's own mark as a share. ``sd`` (of a sample, divisor n - 1) and
    ``error``, the standard error of the mean, are shares too; None for a single judge.
    """

    share: float
    possible: float
    judges: Mapping[str, float]
    sd: float | None
    error: float | None

    @property
    def points(self) -> float:
        """Return the pass mark in points."""
        return self.share * self.possible

    @property
    def low(self) -> float:
        """Return the mark of the most lenient judge, a share."""
        return min(self.judges.values())

    @property
    def high(self) -> float:
        """Return the mark of the strictest judge, a share."""
        return max(self.judges.values())

    @property
    def apart(self) -> Mapping[str, float]:
        """Return how far each judge's mark lies from the median of the others, a signed share.

        Empty for fewer than three judges: of two, neither is the one who stands apart.
        """
        if len(self.judges) < 3:
            return {}
        return {
            judge: mark - median(m for other, m in self.judges.items() if other != judge)
            for judge, mark in self.judges.items()
        }


@dataclass(frozen=True, slots=True)
class Disputed:
    """A question the judges see differently: the lowest and the highest estimate, shares."""

    item: str
    low: float
    high: float


def cut(panel: Panel, unit: str = "") -> Cut:
    """Return the pass mark of all questions, or of one unit's.

    Raises AngoffError when there is no judge, or no question with points.
    """
    points = {i: p for i, p in panel.points.items() if not unit or i.split("/")[0] == unit}
    possible = math.fsum(points.values())
    if not panel.estimates or possible <= 0:
        raise AngoffError("There is no judge, or there are no questions to judge.")
    marks = {
        judge: math.fsum(said[item] * p for item, p in points.items()) / possible
        for judge, said in panel.estimates.items()
    }
    sd = stdev(marks.values()) if len(marks) > 1 else None
    error = None if sd is None else sd / math.sqrt(len(marks))
    return Cut(fmean(marks.values()), possible, marks, sd, error)


def units(panel: Panel) -> tuple[str, ...]:
    """Return the units judged, in the order of their questions."""
    return tuple(dict.fromkeys(item.split("/")[0] for item in panel.points))


def lowered(made: Cut) -> float:
    """Return the pass mark less one standard error, a share not below 0.

    It gives learners the benefit of the judges' doubt. One judge shows no error: AngoffError.
    """
    if made.error is None:
        raise AngoffError("One judge alone shows no standard error to take off. Ask another.")
    return max(0.0, made.share - made.error)


def far(made: Cut, book: RuleBook) -> tuple[str, ...]:
    """Return the judges whose mark lies far from that of the others, farthest first."""
    bound = book["angoff.far"].value / 100 + _ROUNDING
    found = {judge: off for judge, off in made.apart.items() if abs(off) > bound}
    return tuple(sorted(found, key=lambda judge: (-abs(found[judge]), judge)))


def disputed(panel: Panel, most: int) -> tuple[Disputed, ...]:
    """Return the questions with the widest range of estimates, widest first, ``most`` of them."""
    every = (Disputed(item, *_ends(panel, item)) for item in panel.points)
    split = (each for each in every if each.high > each.low)
    return tuple(sorted(split, key=lambda d: (d.low - d.high, d.item))[:most])


def _ends(panel: Panel, item: str) -> tuple[float, float]:
    said = [estimates[item] for estimates in panel.estimates.values()]
    return min(said), max(said)


def doubts(made: Cut, book: RuleBook) -> tuple[str, ...]:
    """Return a sentence for each thing that makes a pass mark less sure."""
    said, rule = [], book["fact.angoff-judges"]
    if len(made.judges) < rule.value:
        said.append(
            f"{_few(len(made.judges))}: about {rule.value:g} judges of mixed backgrounds give the "
            f"most precise pass mark. Source: {rule.citation}"
        )
    for judge in far(made, book):
        off = 100 * made.apart[judge]
        side = "above" if off > 0 else "below"
        said.append(
            f"{judge} lies {abs(off):.1f} % of the points {side} the median of the others: "
            "let the judges talk it over before the mark is used."
        )
    return tuple(said)


def _few(judges: int) -> str:
    return "Only 1 judge" if judges == 1 else f"Only {judges} judges"


def as_table(rows: Iterable[Sequence[str]]) -> str:
    """Return rows as text in columns, the first to the left, the others to the right."""
    every = [list(row) for row in rows]
    if not every:
        return ""
    wide = [max(map(len, column)) for column in zip(*every, strict=True)]
    lines = ([c.rjust(w) for c, w in zip(row, wide, strict=True)] for row in every)
    first = (row[0].ljust(wide[0]) for row in every)
    return "\n".join("  ".join([f, *line[1:]]) for f, line in zip(first, lines, strict=True))
