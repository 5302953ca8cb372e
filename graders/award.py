"""What an exercise notebook's marking cells call; imports no nbgrader, marks as `tpiece grade`."""

from __future__ import annotations

from IPython.display import HTML, display

from graders.marking.exercise import mark, model_answers
from graders.marks.little_trace import traces
from graders.marks.verdict import Verdict
from workbook.lesson.unit import Unit


def verdict(unit: Unit, question: str) -> Verdict:
    """Return the verdict on the last saved answer to a question."""
    given = answers(unit)
    return mark(unit.case, question, given.get(question), unit.book, given)


def answers(unit: Unit) -> dict[str, object]:
    """Return a learner's answers; none when the file is missing, unreadable or another's."""
    from graders.grading.grade import readable_answers

    found, problems, _ = readable_answers(unit.file.path, unit.case)
    for problem in problems:
        print(problem)
    return {**found, **unit.filled}


def award(unit: Unit, question: str) -> float:
    """Print why, and return the points.

    nbgrader reads the score from the last value of a marking cell, and only a plain float
    counts as one.
    """
    found = verdict(unit, question)
    print(found.told)
    if drawn := traces(found):
        display(HTML(drawn))
    return float(found.earned)


def solve(unit: Unit) -> None:
    """Fill in the model answers, in memory only: what the solved form of an exercise does."""
    unit.filled = model_answers(unit.case, unit.book)
