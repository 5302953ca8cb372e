"""Everything that was handed in and graded: kept beside the course, never overwritten.

An attempt can be handed in several times. What counts is the latest hand-in or the best one, as
the course says; an attempt that was begun counts for nothing until it is handed in and graded.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from graders.learner.standing import percent
from graders.marking.graded import Graded, read_verdict, write_verdict
from workbook.course.settings import Course

FOLDER = "history"
BROKEN = (OSError, ValueError, KeyError, TypeError, AttributeError)  # what reading one raises


def keep(path: Path, graded: Graded, course: Course) -> Graded:
    """Keep a hand-in, and return the one that counts: the latest, or the best so far.

    The best is one that was ready for the lab, then one with more points, then the later. One
    that could not be read is kept too, but under the rule "best" never replaces one that could;
    nor does an attempt above the course's limit.
    """
    folder = path / FOLDER / graded.learner / graded.unit
    folder.mkdir(parents=True, exist_ok=True)
    write_verdict(graded, folder, f"{(graded.digest or 'unreadable')[:16]}.json")
    if course.keep != "best":
        return graded
    needed, most = course.needed, course.attempts
    every = attempts(path, graded.learner, graded.unit)
    allowed = [one for one in every if most is None or one.attempt <= most]
    return max([*allowed, graded], key=lambda one: _worth(one, needed))


def attempts(
    course: Path, learner: str, unit: str, told: Callable[[str], None] | None = None
) -> list[Graded]:
    """Return everything a learner handed in of a unit that can be read, oldest first.

    ``told`` is given a sentence for each that cannot.
    """
    found = []
    for path in sorted((course / FOLDER / learner / unit).glob("*.json")):
        try:
            found.append(read_verdict(path))
        except BROKEN as error:
            if told is not None:
                told(broken(path, error))
    return sorted(found, key=lambda one: (one.handed_in, one.attempt))


def others(path: Path, one: Graded, course: Course) -> tuple[str, ...]:
    """Return how the latest hand-in of each other attempt ended; nothing where there is none.

    What is kept is looked at only where there can be another.
    """
    if one.attempt == 1 and course.keep != "best":
        return ()
    latest = {each.attempt: each for each in attempts(path, one.learner, one.unit) if each.digest}
    latest.pop(one.attempt, None)
    return tuple(_in_words(latest[number], course) for number in sorted(latest))


def _in_words(one: Graded, course: Course) -> str:
    share = percent(one.earned, one.possible)
    ready = "ready" if one.ready(course.needed) else "not ready"
    points = "no points to earn" if share is None else f"{share:g} %"
    return f"Attempt {one.attempt}: {points}, {ready}."


def broken(path: Path, error: Exception) -> str:
    """Return what is said of a kept verdict that cannot be read: which, and the way back."""
    return (
        f"{path} cannot be read any more ({type(error).__name__}): this one is left out. Put it "
        "back from a copy of the course, or remove it and run: tpiece grade"
    )


def _worth(one: Graded, needed: float) -> tuple[bool, float, str]:
    read = bool(one.digest)
    return read and one.ready(needed), one.earned if read else -1.0, one.handed_in
