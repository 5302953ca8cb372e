"""How a score came about, and whether it would come about again."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from graders.course.coursefolder import CourseFolder
from graders.course.stamps import stamps
from graders.grading.grade import grade
from graders.learner.history import BROKEN, attempts, broken
from graders.marking.graded import VERDICT_FILE, Graded, read_verdict
from workbook.course.settings import CourseError


def explain(path: Path, learner: str, unit: str) -> str:
    """Return how each point of a learner's unit came about.

    Raises CourseError when that work was never graded.
    """
    file = CourseFolder(path).autograded(learner, unit) / VERDICT_FILE
    if not file.is_file():
        raise CourseError(
            f"{learner}, {unit}: nothing is graded. Check the names, or run first: tpiece grade"
        )
    lost: list[str] = []
    try:
        one = read_verdict(file)
    except BROKEN as error:
        raise CourseError(broken(file, error)) from None
    tries = attempts(path, learner, unit, lost.append)
    case_of = f"{one.course}, {unit}, {one.drawn_for or learner}"
    lines = [
        f"{learner}, {unit}: {one.earned:g} of {one.possible:g} points",
        f"Handed in: {one.handed_in or 'time not known'}{' (late)' if one.late else ''}",
        f"Hand-ins kept: {len(tries)}{_by_attempt(tries)}",
        f"Edition {one.edition}; rules {one.rules}; graders {one.version}",
        f"Case drawn from: {case_of}{f', attempt {one.attempt}' if one.attempt > 1 else ''}",
        f"Answers file (SHA-256): {one.digest or 'none that could be used'}",
        *(f"Problem: {problem}" for problem in (*one.problems, *lost)),
    ]
    for verdict in one.verdicts:
        lines += ["", f"Answer: {one.said.get(verdict.question, 'none')}", str(verdict)]
    return "\n".join(lines)


def _by_attempt(tries: list[Graded]) -> str:
    """Return how many hand-ins each attempt has, where there is more than one attempt."""
    count = Counter(each.attempt for each in tries)
    said = (f"{count[number]} of attempt {number}" for number in sorted(count))
    return f" ({', '.join(said)})" if len(count) > 1 else ""


def differences(path: Path) -> Iterator[str]:
    """Grade everything once more without writing, and yield a sentence for each difference.

    With the rule "best" the hand-in that counts is an earlier one at times; then only its own
    answers file could be graded again, and it is left out here.
    """
    folder = CourseFolder(path)
    course, known = folder.course, stamps(path)
    for file in sorted((path / "autograded").glob(f"*/*/{VERDICT_FILE}")):
        try:
            kept = read_verdict(file)
        except BROKEN as error:
            yield broken(file, error)
            continue
        submitted = folder.submitted(kept.learner, kept.unit)
        again = grade(submitted, course, kept.unit, kept.learner, known)
        if course.keep == "best" and again.digest != kept.digest:
            continue
        if again.verdicts != kept.verdicts:
            yield f"{kept.learner}, {kept.unit}: {_why(kept, again)}"


def _why(kept: Graded, again: Graded) -> str:
    changed = f"{kept.earned:g} points then, {again.earned:g} now"
    if again.digest != kept.digest:
        return f"{changed}: the answers file has changed since. Grade again."
    if again.attempt != kept.attempt:
        return f"{changed}: the limit of attempts has changed since. Grade again."
    if (again.rules, again.version) != (kept.rules, kept.version):
        return f"{changed}: the rules or the graders have changed since. Grade again."
    return f"{changed}: the verdict on disk is not what these answers earn. Grade again."
