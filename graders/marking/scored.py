"""What a gradebook is told of marked work, and nothing else: it travels between processes."""

from __future__ import annotations

from dataclasses import dataclass

from graders.marking.graded import Graded


@dataclass(frozen=True, slots=True)
class Scored:
    """What a gradebook is told of a marked unit: ``points`` holds (question, earned).

    A worker sends this and no more; the verdict itself lies in its file.
    """

    learner: str
    unit: str
    handed_in: str
    points: tuple[tuple[str, float], ...]
    problems: tuple[str, ...]
    usable: bool = True


def scored(graded: Graded) -> Scored:
    """Return what a gradebook is told of a marked unit."""
    points = tuple((verdict.question, verdict.earned) for verdict in graded.verdicts)
    return Scored(
        graded.learner, graded.unit, graded.handed_in, points, graded.problems, bool(graded.digest)
    )
