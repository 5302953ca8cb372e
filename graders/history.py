"""Every attempt that was ever graded: kept beside the course, never overwritten."""

from __future__ import annotations

from pathlib import Path

from graders.grade import Graded, read_verdict, write_verdict

FOLDER = "history"


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
    return max(attempts(course, graded.learner, graded.unit), key=_worth)


def attempts(course: Path, learner: str, unit: str) -> list[Graded]:
    """Return every attempt of a learner at a unit, oldest first."""
    folder = course / FOLDER / learner / unit
    found = [read_verdict(path) for path in sorted(folder.glob("*.json"))]
    return sorted(found, key=lambda one: one.handed_in)


def _worth(one: Graded) -> tuple[float, str]:
    return one.earned if one.digest else -1.0, one.handed_in
