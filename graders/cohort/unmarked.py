"""Handed-in work that nothing was said of: whose, and why. It never counts as fine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from graders.cohort.verdicts import Broken
from graders.course.coursefolder import CourseFolder
from graders.grading.run import refusals
from graders.handed_in.held import waiting
from workbook.course.settings import CourseError

Work = tuple[str, str]  # learner, unit


def without_verdict(folder: CourseFolder, broken: Iterable[Broken] = ()) -> Mapping[Work, str]:
    """Return why work could not be marked that may have no verdict, by (learner, unit).

    Work that has one is among it too: whoever asks knows which.
    """
    found: dict[Work, str] = {}
    for one in waiting(folder):
        if one.learner and one.unit:
            found[(one.learner, one.unit)] = one.says
    refusal = refusals(folder)
    again = "It was collected and is not graded yet. Run: tpiece grade"
    for unit in folder.course.units:
        for learner in folder.learners_with_work(unit):
            found.setdefault((learner, unit), refusal(learner) or again)
    return found | {(lost.learner, lost.unit): lost.says for lost in broken}


def nothing_yet(folder: CourseFolder) -> CourseError:
    """Return what is said where nothing was graded: what to do first, and then."""
    path = folder.path
    if any(True for unit in folder.course.units for _ in folder.learners_with_work(unit)):
        return CourseError(f"Nothing is graded in {path} yet. Run first: tpiece grade")
    inbound = folder.exchange / folder.course.id / "inbound"
    if inbound.is_dir() and any(inbound.iterdir()):
        return CourseError(
            f"Work was handed in to {path} and not collected yet. Run first: tpiece collect, "
            "then: tpiece grade"
        )
    return CourseError(
        f"Nobody has handed in to {path} yet, so there is nothing to grade or report. Once "
        "learners have handed in: tpiece collect"
    )


def in_words(people: int, one: str, many: str) -> str:
    """Return a number of people with what is said of them."""
    return f"1 {one}" if people == 1 else f"{people} {many}"
