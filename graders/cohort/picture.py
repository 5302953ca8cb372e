"""A course's group as its files have it: verdicts, roster, gradebook, and what is not marked."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from graders.cohort.group import Cohort, cohort
from graders.cohort.unmarked import nothing_yet, without_verdict
from graders.cohort.verdicts import Broken, verdict_files, verdicts
from graders.course.coursefolder import CourseFolder
from graders.handed_in.held import waiting
from graders.learner.history import others
from graders.marking.graded import Graded


def picture(folder: CourseFolder, each: Callable[[Graded], None] | None = None) -> Cohort:
    """Return the group of a course; ``each`` is given every verdict as it is read, once.

    Verdicts are read one after the other, so that a large course needs little memory. Raises
    CourseError where nothing is graded yet.
    """
    course, people = folder.course, folder.roster()
    if next(verdict_files(folder), None) is None:
        raise nothing_yet(folder)
    lost: list[Broken] = []
    stream = _told(verdicts(folder, lost.append), each or (lambda one: None))
    return cohort(
        stream,
        people,
        course,
        scores=_scores(folder),
        unmarked=lambda: without_verdict(folder, lost),
        waiting=[one.told for one in waiting(folder)],
        others=lambda one: others(folder.path, one, course),
    )


def _told(graded: Iterable[Graded], to: Callable[[Graded], None]) -> Iterator[Graded]:
    """Yield verdicts, and tell each to somebody else as well."""
    for one in graded:
        to(one)
        yield one


def _scores(folder: CourseFolder) -> dict[tuple[str, str], float]:
    from graders.nbgrader.gradebook import Nbgrader
    from graders.nbgrader.scores import totals

    with Nbgrader(folder).gradebook() as book:
        return totals(book)
