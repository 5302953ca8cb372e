"""Where one learner stands: in one unit, and over all of them."""

from __future__ import annotations

import math
import sys
from array import array
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TypeVar

from graders.course.roster import Person
from graders.learner.next_step import held, in_words, next_step, was_shown
from graders.marking.graded import Graded
from graders.units.faults.tried import Tried, read_tried
from graders.units.scenario.went import Went, read_went
from workbook.core.language import N_

Kept = TypeVar("Kept")


class Status(StrEnum):
    """Where a learner stands, gravest first."""

    UNSAFE = N_("Unsafe act")
    NOT_YET = N_("Not yet")
    UNMARKED = N_("Not marked")
    READY = N_("Ready")
    MISSING = N_("Not handed in")


# Over several units the worst counts; work that is missing keeps from being ready.
_WORST = (Status.UNSAFE, Status.NOT_YET, Status.UNMARKED, Status.MISSING, Status.READY)


@dataclass(frozen=True, slots=True)
class Points:
    """The points of one unit, question by question, as marked."""

    questions: tuple[str, ...] = ()
    earned: array[float] = field(default_factory=lambda: array("d"))
    possible: array[float] = field(default_factory=lambda: array("d"))


@dataclass(frozen=True, slots=True)
class Standing:
    """One learner and one unit: what is left of a verdict once it was read.

    ``score`` is the one that counts: a human's score in the gradebook stands before ``marked``,
    what the marking gave. ``unsafe`` holds the sentence of each unsafe act, ``left_open`` the
    critical questions without a usable answer; both keep a learner from being ready. ``others``
    has a sentence for each other attempt that was marked, ``tried`` and
    ``born`` what a group is counted by.
    """

    person: Person
    unit: str
    next: str
    on_roster: bool = True
    handed_in: bool = False
    usable: bool = False
    when: str = ""
    edition: str = ""
    version: str = ""
    score: float = 0.0
    marked: float = 0.0
    possible: float = 0.0
    unsafe: tuple[str, ...] = ()
    left_open: tuple[str, ...] = ()
    misconceptions: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    ready: bool = False
    late: bool = False
    points: Points = Points()  # frozen, so one empty one will do
    attempt: int = 1
    others: tuple[str, ...] = ()
    tried: tuple[Tried, ...] = ()
    born: tuple[Went, ...] = ()

    @property
    def learner(self) -> str:
        """Return the learner's id."""
        return self.person.learner

    @property
    def percent(self) -> float | None:
        """Return the share of points in percent, or None where there are no points."""
        return None if self.unmarked else percent(self.score, self.possible)

    @property
    def unmarked(self) -> bool:
        """Say whether work was handed in of which nothing can be said, good or bad."""
        return self.handed_in and not self.usable

    @property
    def by_hand(self) -> bool:
        """Say whether a human's score stands in place of the marking's."""
        return abs(self.score - self.marked) > 0.005

    @property
    def critical(self) -> tuple[str, ...]:
        """Return a sentence for each critical finding that was missed."""
        if self.unmarked:
            return ()  # nothing was shown, neither safe nor unsafe
        left = (f"The critical question {name} has no usable answer." for name in self.left_open)
        return (*self.unsafe, *left)

    @property
    def status(self) -> Status:
        """Return where the learner stands in this unit."""
        if not self.handed_in:
            return Status.MISSING
        if self.unmarked:
            return Status.UNMARKED
        if self.unsafe:
            return Status.UNSAFE
        return Status.READY if self.ready else Status.NOT_YET


@dataclass(frozen=True, slots=True)
class Learner:
    """One learner over all units that were asked of them."""

    person: Person
    standings: tuple[Standing, ...]

    @property
    def status(self) -> Status:
        """Return where the learner stands over all units: the worst counts."""
        return min((one.status for one in self.standings), key=_WORST.index)

    @property
    def on_roster(self) -> bool:
        """Say whether the learner was expected."""
        return all(one.on_roster for one in self.standings)

    @property
    def percent(self) -> float | None:
        """Return the share of the points of what was handed in, in percent."""
        handed = [one for one in self.standings if one.handed_in and not one.unmarked]
        return percent(sum(one.score for one in handed), sum(one.possible for one in handed))

    @property
    def next(self) -> Standing:
        """Return the standing whose next thing comes first: what is critical before the rest."""
        return min(self.standings, key=_urgency)


def _urgency(one: Standing) -> tuple[int, float]:
    lost = one.score - one.possible
    if one.unsafe:
        return 0, lost
    if one.usable and one.left_open:
        return 1, lost
    return {Status.UNMARKED: 2, Status.NOT_YET: 2, Status.MISSING: 3}.get(one.status, 4), lost


def percent(earned: float, possible: float) -> float | None:
    """Return a share in percent, never rounded up: 79.96 must not look like a reached 80."""
    if not possible:
        return None
    return math.floor(1000 * earned / possible + 1e-6) / 10


def standing(
    one: Graded,
    person: Person,
    on_roster: bool,
    needed: float,
    score: float | None,
    others: tuple[str, ...] = (),
) -> Standing:
    """Return what counts of a verdict; a score of the gradebook stands before the marking's."""
    points = _points(one)
    marked, possible = round(sum(points.earned), 2), round(sum(points.possible), 2)
    score = float(marked if score is None else score)
    missed = [(v.question, f) for v in one.verdicts for f in v.unsafe]
    enough = possible > 0 and score >= needed * possible - 1e-9
    return Standing(
        person,
        one.unit,
        sys.intern(next_step(one)),
        on_roster=on_roster,
        handed_in=True,
        usable=bool(one.digest),
        when=one.handed_in,
        edition=sys.intern(one.edition),
        version=sys.intern(one.version),
        score=score,
        marked=marked,
        possible=possible,
        unsafe=_kept([f.says for _, f in missed if was_shown(f)]),
        left_open=_kept(
            dict.fromkeys(in_words(name, one.asks) for name, f in missed if not was_shown(f))
        ),
        misconceptions=_kept(held(one)),
        problems=one.problems,
        ready=enough and not missed,
        late=one.late,
        points=points if one.digest else Points(),
        attempt=one.attempt,
        others=others,
        tried=tuple(_kept_of(one, read_tried)),
        born=tuple(_kept_of(one, read_went)),
    )


def _kept_of(one: Graded, read: Callable[[str], Kept]) -> Iterator[Kept]:
    """Yield what the verdict keeps of its trials, or cases; another version's may keep another."""
    for stored in (f.about for v in one.verdicts for f in v.findings if f.about):
        with suppress(ValueError):
            yield read(stored)


def _kept(texts: Sequence[str] | dict[str, None]) -> tuple[str, ...]:
    """Return texts that stand once in memory however many learners they are said to."""
    return tuple(map(sys.intern, texts))


def _points(one: Graded) -> Points:
    return Points(
        _layout(tuple(v.question for v in one.verdicts)),
        array("d", (v.earned for v in one.verdicts)),
        array("d", (v.possible for v in one.verdicts)),
    )


_LAYOUTS: dict[tuple[str, ...], tuple[str, ...]] = {}


def _layout(questions: tuple[str, ...]) -> tuple[str, ...]:
    return _LAYOUTS.setdefault(questions, questions)
