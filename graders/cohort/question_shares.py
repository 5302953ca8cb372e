"""How much of each question's points a group earned, and what the question asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice

from graders.learner.standing import Standing, percent
from workbook.cases import case, exercises
from workbook.course.settings import Course

DRAWN = 16  # learners of a unit whose cases tell whether a question asks everyone the same


@dataclass(frozen=True, slots=True)
class QuestionShare:
    """The group's share of the points of one question, as marked."""

    unit: str
    question: str
    asked: str
    earned: float
    possible: float
    learners: int

    @property
    def percent(self) -> float | None:
        """Return the share in percent, or None where there are no points."""
        return percent(self.earned, self.possible)


def question_shares(usable: Sequence[Standing], course: Course) -> tuple[QuestionShare, ...]:
    """Return the group's share of each question's points, of the usable answers."""
    sums: dict[tuple[str, str], list[float]] = {}
    for one in usable:
        parts = zip(one.points.questions, one.points.earned, one.points.possible, strict=True)
        for question, earned, possible in parts:
            total = sums.setdefault((one.unit, question), [0.0, 0.0, 0])
            total[0] += earned
            total[1] += possible
            total[2] += 1
    asked = _asked(usable, course)
    return tuple(
        QuestionShare(*key, asked.get(key, ""), round(earned, 2), round(possible, 2), int(learners))
        for key, (earned, possible, learners) in sums.items()
    )


def _asked(usable: Sequence[Standing], course: Course) -> dict[tuple[str, str], str]:
    """Return what each question asks; nothing where it asks different learners differently.

    Drawing every case of a large group would take minutes, so the first few of a unit decide.
    """
    book = course.book
    labels: dict[tuple[str, str], set[str]] = {}
    for unit in exercises():
        of_now = (o for o in usable if o.unit == unit and o.edition == course.edition)
        some = islice(of_now, DRAWN)
        for one in some:
            for q in case(course.id, unit, one.learner, book, one.attempt).questions:
                labels.setdefault((unit, q.id), set()).add(q.label)
    return {key: next(iter(says)) for key, says in labels.items() if len(says) == 1}
