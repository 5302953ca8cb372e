"""Every attempt that was ever graded: kept beside the course, never overwritten."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from graders.grade import Graded, read_verdict, write_verdict

FOLDER = "history"
BROKEN = (OSError, ValueError, KeyError, TypeError, AttributeError)  # what reading one raises


def keep(course: Path, graded: Graded, rule: str) -> Graded:
    """Keep an attempt, and return the one that counts: the latest, or the best so far.

    Of two attempts with the same points the later one counts. An attempt that could not be read
    is kept too, but under the rule "best" never replaces one that could.
    """
    folder = course / FOLDER / graded.learner / graded.unit
    folder.mkdir(parents=True, exist_ok=True)
    write_verdict(graded, folder, f"{(graded.digest or 'unreadable')[:16]}.json")
    if rule != "best":
        return graded
    return max([*attempts(course, graded.learner, graded.unit), graded], key=_worth)


def attempts(
    course: Path, learner: str, unit: str, told: Callable[[str], None] | None = None
) -> list[Graded]:
    """Return every attempt of a learner at a unit that can be read, oldest first.

    ``told`` is given a sentence for each that cannot.
    """
    found = []
    for path in sorted((course / FOLDER / learner / unit).glob("*.json")):
        try:
            found.append(read_verdict(path))
        except BROKEN as error:
            if told is not None:
                told(broken(path, error))
    return sorted(found, key=lambda one: one.handed_in)


def broken(path: Path, error: Exception) -> str:
    """Return what is said of a kept verdict that cannot be read: which, and the way back."""
    return (
        f"{path} cannot be read any more ({type(error).__name__}): this one is left out. Put it "
        "back from a copy of the course, or remove it and run: tpiece grade"
    )


def _worth(one: Graded) -> tuple[float, str]:
    return one.earned if one.digest else -1.0, one.handed_in
