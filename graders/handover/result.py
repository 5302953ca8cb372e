"""One learner's result in one unit, as every format of hand-over takes it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from graders.course.coursefolder import Person
from graders.marking.graded import Graded
from graders.marks.verdict import Verdict
from workbook.core.moments import moment

NEAR = 1e-9  # points; what floating point may lose in a sum


class Standing(StrEnum):
    """What there is of a learner's work in a unit."""

    MARKED = "marked"
    UNREADABLE = "unreadable"
    MISSING = "not handed in"


@dataclass(frozen=True, slots=True)
class Item:
    """One question of a result: its points as marked, and what showed in the answer.

    ``unsafe`` counts the critical findings that were missed; ``misconceptions`` holds ids.
    """

    question: str
    raw: float
    max: float
    unsafe: int = 0
    misconceptions: tuple[str, ...] = ()

    @property
    def scaled(self) -> float | None:
        """Return the share of the points, -1 to 1, or None where there are no points."""
        return share(self.raw, self.max)

    @property
    def right(self) -> bool:
        """Say whether every point was earned and nothing unsafe was shown."""
        return not self.unsafe and self.raw >= self.max - NEAR


@dataclass(frozen=True, slots=True)
class Result:
    """A result without a word that tells who it is of, unless the coordinator asked for names.

    ``learner`` is a pseudonym. ``raw`` are the points that count (a human's score stands before
    ``marked``, what the marking gave), ``needed`` is the share that passes. ``started`` is when
    the first answer was saved, by the clock of the learner's computer; both times are in UTC and
    empty when not known. Each ``attempt`` draws another case; ``hand_in`` counts what was handed
    in, over all attempts. ``digest`` names the very file that was marked. ``who`` is None unless
    names were asked for. What was answered is left out: it could tell who answered.
    """

    learner: str
    course: str
    unit: str
    standing: Standing
    edition: str = ""
    rules: str = ""
    version: str = ""
    attempt: int = 0
    hand_in: int = 0
    raw: float = 0.0
    max: float = 0.0
    marked: float = 0.0
    needed: float = 0.0
    ready: bool = False
    started: str = ""
    submitted: str = ""
    late: bool = False
    items: tuple[Item, ...] = ()
    problems: int = 0
    digest: str = ""
    who: Person | None = None

    @property
    def scaled(self) -> float | None:
        """Return the share of the points, -1 to 1, or None where there are no points."""
        return share(self.raw, self.max)

    @property
    def unsafe(self) -> int:
        """Return how many critical findings were missed."""
        return sum(item.unsafe for item in self.items)

    @property
    def misconceptions(self) -> tuple[str, ...]:
        """Return the misconceptions recognised in the unit, each once."""
        return tuple(dict.fromkeys(id for item in self.items for id in item.misconceptions))

    @property
    def seed(self) -> tuple[str, str, str]:
        """Return what the learner's questions were drawn from, the pseudonym for the learner id.

        Who holds the course folder finds the id in its pseudonyms and can draw the case again.
        """
        return self.course, self.unit, self.learner


def result(
    graded: Graded,
    pseudonym: str,
    *,
    course: str,
    needed: float,
    score: float | None = None,
    hand_in: int = 1,
    started: str = "",
    who: Person | None = None,
) -> Result:
    """Return the result of a marked unit; ``score`` is the gradebook's, where it has one."""
    raw = graded.earned if score is None else score
    safe = not any(v.unsafe for v in graded.verdicts)
    enough = graded.possible > 0 and raw >= needed * graded.possible - NEAR
    return Result(
        pseudonym,
        course,
        graded.unit,
        Standing.MARKED if graded.digest else Standing.UNREADABLE,
        graded.edition,
        graded.rules,
        graded.version,
        graded.attempt,
        hand_in,
        raw,
        graded.possible,
        graded.earned,
        needed,
        safe and enough,
        in_utc(started),
        in_utc(graded.handed_in),
        graded.late,
        tuple(map(_item, graded.verdicts)),
        len(graded.problems),
        graded.digest,
        who,
    )


def missing(course: str, unit: str, pseudonym: str, who: Person | None = None) -> Result:
    """Return the result of somebody on the roster who has not handed in."""
    return Result(pseudonym, course, unit, Standing.MISSING, who=who)


def _item(verdict: Verdict) -> Item:
    return Item(
        verdict.question,
        verdict.earned,
        verdict.possible,
        len(verdict.unsafe),
        verdict.misconceptions,
    )


def share(raw: float, most: float) -> float | None:
    """Return points as a share, kept within -1 and 1 as xAPI asks; None where there are none."""
    if most <= 0:
        return None
    return round(max(-1.0, min(1.0, raw / most)), 6)


def in_utc(text: str) -> str:
    """Return a time in UTC to the second, as 2026-05-01T10:00:00Z; nothing if it is no time.

    A time without a zone is taken as UTC, as nbgrader writes it.
    """
    when = moment(text)
    return "" if when is None else f"{when:%Y-%m-%dT%H:%M:%SZ}"
