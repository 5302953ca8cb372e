"""A learner's result of one unit: a verdict in the words that its learner reads, as a file.

It is laid where the learner's room finds it (``workbook.course.result``), by the digest of the
file that was handed in.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Any

from graders.core.jsonfile import as_json
from graders.grading.grade import sheet_at
from graders.learner.page import Part, Told, drawn_again, part_of
from graders.learner.page import Question as Answered
from graders.marking.exercise import model_run
from graders.marking.graded import Graded
from graders.marks.misconceptions import EITHER, Misconception
from workbook.bench import HandsError, read_hands
from workbook.bench.story import moment_of
from workbook.cases import Case, Kind, title
from workbook.cases import Question as Asked
from workbook.core.answer_sheet import AnswerFileError, answers_path
from workbook.core.language import _, number, speaking
from workbook.core.moments import moment
from workbook.course.handed import FEEDBACK, digest
from workbook.course.laying import lay
from workbook.course.result import Belief, Found, Place, Question, Result, Run, came_back
from workbook.course.settings import Course
from workbook.course.standing import of_edition
from workbook.rules import RuleBook

FINE = 4  # decimals of a second: as finely as a page stamps
NOBODY_LOOKS = 0o711  # a folder in which a file is found by its whole name only
_PAGE = re.compile(r"\b(\d+)_\w+\.ipynb")


def result_of(graded: Graded, course: Course, values: Mapping[str, Any]) -> Result:
    """Return a learner's result in the course's language; ``values`` are the answers marked."""
    with speaking(course.language):
        work = graded.for_learner()
        again = drawn_again(graded, course)
        drawn = {question.id: question for question in again[0].questions} if again else {}
        part = part_of(graded.unit, course, graded, (), {}, drawn)
        seconds = {id: _seconds(drawn.get(id), value) for id, value in values.items()}
        experts = _experts(*again, [id for id, each in seconds.items() if each]) if again else {}
        return Result(
            learner=graded.drawn_for or graded.learner,  # the id that its learner works under
            course=course.id,
            unit=graded.unit,
            title=title(graded.unit),
            language=course.language,
            answers=graded.digest,
            attempt=graded.attempt,
            handed_in=_iso(graded.handed_in),
            standing=standing(part),
            earned=part.score,
            possible=work.possible,
            says=summary(part),
            next=_by_number(part.next),
            read=_next_place(part),
            notes=tuple(_notes(work, course)),
            questions=tuple(
                _question(q, seconds.get(q.id, 0.0), experts.get(q.id)) for q in part.questions
            ),
        )


def standing(part: Part) -> str:
    """Return where a learner stands in a unit, as one of ``workbook.course.result.STANDINGS``."""
    if part.work is None or not part.work.digest:
        return "unmarked"
    return "unsafe" if part.unsafe else "ready" if part.ready else "not-yet"


def summary(part: Part) -> str:
    """Return the same in a sentence."""
    if standing(part) == "unmarked":
        return _("This could not be marked.")
    if part.unsafe:
        return _("Something here could harm a baby. That comes first; everything else can wait.")
    if part.overlooked:
        return _("Something was overlooked in a colleague's set-up. Look at that first.")
    if part.ready:
        return _("This unit is ready for the lab.")
    return _("Not ready yet. What to look at again stands below.")


def _notes(work: Graded, course: Course) -> Iterator[str]:
    yield from work.problems
    if work.late:
        yield _("This came after it was due; that costs no points.")
    if of_edition(course.book):
        yield of_edition(course.book)
    says = _("Ready for the lab means {percent} % of the points and no unsafe act.")
    yield says.format(percent=number(100 * course.needed))


def _by_number(says: str) -> str:
    """Return a sentence with each lesson by its number: a learner knows no file's name."""
    return _PAGE.sub(r"\1", says)


def _iso(handed_in: str) -> str:
    when = moment(handed_in)
    return when.isoformat() if when else ""


def _question(one: Answered, seconds: float, expert: Run | None) -> Question:
    return Question(
        one.id,
        one.asks,
        one.said,
        one.verdict.earned,
        one.verdict.possible,
        tuple(_found(told, seconds) for told in (*one.missed, *one.met)),
        expert,
    )


def _found(told: Told, seconds: float) -> Found:
    finding = told.finding
    trace = tuple((float(time), float(pressure)) for time, pressure in finding.trace)
    return Found(
        finding.met,
        finding.says,
        told.whose if told.grave else "",
        told.rule,
        finding.source,
        _belief(told.belief),
        round(moment_of(trace, seconds), 2) if trace and seconds else finding.at,
        trace,
    )


def _belief(belief: Misconception | None) -> Belief | None:
    if belief is None:
        return None
    return Belief(_(belief.believes), _(belief.true), places(belief))


def places(belief: Misconception) -> tuple[Place, ...]:
    """Return where to read of a belief."""
    parts = (place.partition(", ") for place in belief.read.split(EITHER))
    return tuple(Place(page, _(heading)) for page, _comma, heading in parts)


def _next_place(part: Part) -> tuple[Place, ...]:
    """Return where the next step says to read; nowhere where it names no place."""
    beliefs = [t.belief for q in part.questions for t in q.missed if t.belief]
    return next((places(each) for each in beliefs if each.where in part.next), ())


def _seconds(question: Asked | None, value: Any) -> float:
    """Return how long a run at the bench took (s); 0 for an answer of another kind."""
    if question is None or question.kind is not Kind.BENCH:
        return 0.0
    try:
        return read_hands(value).duration
    except HandsError:
        return 0.0  # the verdict says what is wrong with it


def _experts(drawn: Case, book: RuleBook, runs: Sequence[str]) -> dict[str, Run]:
    """Return an expert's run of each question that was done at the bench, as touches.

    The learner's room plays it, as it plays the learner's own; nobody gets one without a run.
    """
    made = {}
    for id in runs:
        hands = read_hands(model_run(drawn, id, book))
        touches = tuple((round(t.time, FINE), t.kind, t.position) for t in hands.touches)
        made[id] = Run(round(hands.duration, FINE), touches)
    return made


def marked_values(folder: Path, graded: Graded) -> dict[str, Any]:
    """Return the answers that were marked; none where another file than this one was."""
    path = answers_path(folder / f"{graded.unit}.ipynb")
    try:
        sheet = sheet_at(path)
    except AnswerFileError:
        return {}
    if sheet.digest != graded.digest:
        return {}
    return {id: answer.value for id, answer in sheet.latest(graded.attempt).items()}


def give_back(exchange: Path, folder: Path, graded: Graded, course: Course) -> None:
    """Lay a result where its learner finds it and nobody else; ``folder`` holds what was handed in.

    Raises OSError.
    """
    name = digest(answers_path(folder / f"{graded.unit}.ipynb"))
    out = exchange / course.id
    if not name or not out.is_dir():
        return
    box = out / FEEDBACK
    if not box.is_dir():
        box.mkdir()
        box.chmod(NOBODY_LOOKS)
    target = came_back(out, name)
    draft = target.with_name(f".{target.name}")  # found only once its learner may read it
    write(result_of(graded, course, marked_values(folder, graded)), draft)
    draft.chmod(0o644)
    draft.replace(target)


def write(result: Result, target: Path) -> None:
    """Write a result, whole or not at all. Raises OSError."""
    lay(as_json(result), target)
