"""What a learner's notebook opens: one unit, its drawn questions, and the answers so far."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbook.cases import Case, Kind, Question, case, spoken
from workbook.core.answer_sheet import Answer, AnswerFileError, answers_path
from workbook.core.answers import AnswersFile
from workbook.core.language import _, follow
from workbook.core.moments import on_the_clock
from workbook.core.whose import whoami
from workbook.course.settings import FILE, Course, CourseError, read_course
from workbook.course.standing import of_edition
from workbook.rules import RuleBook, signed

if TYPE_CHECKING:
    from workbook.widgets import Control

Check = Callable[[Any], Mapping[str, Any]]
PRACTICE = ".practice"  # ends the name of what is answered without marks
RECEIPT = "application/vnd.tpiece.answer+json"


@dataclass
class Unit:
    """One exercise as one learner sees it."""

    course: Course
    case: Case
    book: RuleBook
    file: AnswersFile
    read_only: bool = False
    filled: dict[str, Any] = field(default_factory=dict)
    practice: bool = False

    def introduce(self) -> None:
        """Say whose exercise this is, which edition it asks about, and how far it has come."""
        from IPython.display import Markdown, display

        said = _(
            "**Learner:** {learner}. **Course:** {course}. **Edition asked about:** {edition}. "
            "{site}**Answered so far:** {done} of {total}."
        ).format(
            learner=self.case.learner,
            course=self.course.title,
            edition=self.book.edition.title,
            site=f"{local_protocol(self.book)} ".lstrip(),
            done=len(self.file.sheet().latest()),
            total=len(self.case.questions),
        )
        said = f"{self._which()} {said}".lstrip()
        standing = of_edition(self.book)
        said += f"\n\n{standing}" if standing else ""
        display(Markdown(said))

    def _which(self) -> str:
        """Say which attempt this is, and whether it is practice; nothing of a first of any."""
        attempt, most = self.case.attempt, self.course.attempts
        if self.practice:
            says = _(
                "**Practice, with the case of attempt {attempt}.** Nothing here is marked or "
                "handed in."
            )
            return says.format(attempt=attempt)
        if most is not None:
            return _("**Attempt {attempt} of {most}.**").format(attempt=attempt, most=most)
        return _("**Attempt {attempt}.**").format(attempt=attempt) if attempt > 1 else ""

    def begin_attempt(self) -> int:
        """Begin the attempt after this one, and return its number: it draws a new case.

        Answers so far stay in the file. The page opens the attempt when it is run again.
        """
        return self.file.begin(self.case.attempt, self.course.attempts)

    def attempts_left(self) -> int | None:
        """Return how many attempts may still be begun; None where the course sets no limit."""
        most = self.course.attempts
        return None if most is None else max(0, most - self.case.attempt)

    def practise(self) -> None:
        """Let the page open this case once more when it is run again, empty and without marks."""
        _practised.add(self.case.exercise)

    def ask(self, question: str) -> None:
        """Show one question of the case with its control and the receipt of its last answer."""
        ask(self.case[question], self.file, read_only=self.read_only)

    def answers(self) -> dict[str, Any]:
        """Return the last saved answer to each question; unanswered ones are absent."""
        saved = {name: answer.value for name, answer in self.file.sheet().latest().items()}
        return saved | self.filled


def local_protocol(book: RuleBook) -> str:
    """Return a line that names the site's protocol, or nothing."""
    return _("**Local protocol:** {name}.").format(name=book.protocol) if book.protocol else ""


def open_unit(exercise: str, folder: Path | None = None) -> Unit:
    """Open an exercise in a folder (the notebook's own by default) for whoever is at work.

    Raises CourseError without course settings beside the notebook, AnswerFileError when the
    answers there belong to somebody else or to another course.
    """
    folder = Path.cwd() if folder is None else folder
    if not (folder / FILE).is_file():
        raise CourseError(
            _(
                "{file} is missing beside this page, so your questions cannot be drawn. Close the "
                "workbook and open it again: it brings missing files back. Saved answers are kept."
            ).format(file=FILE)
        )
    course, learner = read_course(folder), whoami()
    follow(course.language)
    book = course.book
    signed.follow(book.signed)
    file = AnswersFile(
        answers_path(folder / f"{exercise}.ipynb"),
        course.id,
        exercise,
        learner,
        course.edition,
        protocol=course.stamp,
    )
    running = os.environ.get("NBGRADER_EXECUTION")
    file.held = running is None
    if running is None:
        _refuse_strangers(file)
        course = replace(course, attempts=_limit(course, folder))
    file.attempt = file.sheet().attempt if running is None else _marked(file, course.attempts)
    drawn = case(course.id, exercise, learner, book, file.attempt)
    file.questions = [{"id": q.id, "label": q.label} for q in drawn.questions]
    practice = running is None and exercise in _practised
    _practised.discard(exercise)
    if practice:
        file = _for_practice(file)
    return Unit(course, drawn, book, file, read_only=running is not None, practice=practice)


_practised: set[str] = set()  # exercises that are practised when their page is run the next time


def _limit(course: Course, folder: Path) -> int | None:
    """Return how many attempts there may be: the learner's folder hears of it at each opening.

    The settings beside the page stay as they were when it was fetched.
    """
    try:
        newer = read_course(folder.parent)
    except CourseError:
        return course.attempts
    return newer.attempts if newer.id == course.id else course.attempts


def _marked(file: AnswersFile, most: int | None) -> int:
    """Return the attempt that is marked; the first where that cannot be told."""
    try:
        return file.sheet().counted(most)
    except AnswerFileError:
        return 1  # marking says what is wrong with the file


def _for_practice(file: AnswersFile) -> AnswersFile:
    """Return where practice is written down, a new round of it: never where answers count."""
    exercise = file.exercise + PRACTICE
    path = answers_path(file.path.parent / f"{exercise}.ipynb")
    own = replace(file, path=path, exercise=exercise, attempt=1, _numbers={})
    _refuse_strangers(own)
    own.attempt = own.sheet().attempt
    if own.sheet().latest():
        own.attempt = own.begin(own.attempt)
    return own


def open_lesson(lesson: str, folder: Path | None = None) -> AnswersFile:
    """Open the record of a lesson: predictions and practice answers, never graded."""
    folder = Path.cwd() if folder is None else folder
    course = read_course(folder) if (folder / FILE).is_file() else Course()
    follow(course.language)
    file = AnswersFile(
        answers_path(folder / f"{lesson}.ipynb"), course.id, lesson, whoami(), course.edition
    )
    file.held = True
    _refuse_strangers(file)
    return file


def _refuse_strangers(file: AnswersFile) -> None:
    sheet = file.sheet()
    ours = (file.course, file.exercise, file.learner, file.edition)
    if (sheet.course, sheet.exercise, sheet.learner, sheet.edition) != ours:
        raise AnswerFileError(
            _(
                "{file} holds answers of {theirs} to {exercise} of course {their_course} "
                "({their_edition}); you are {learner} in course {course} ({edition}). Move that "
                "file elsewhere to begin anew."
            ).format(
                file=file.path.name,
                theirs=repr(sheet.learner),
                exercise=sheet.exercise,
                their_course=repr(sheet.course),
                their_edition=sheet.edition,
                learner=repr(file.learner),
                course=repr(file.course),
                edition=file.edition,
            )
        )


def ask(
    question: Question,
    file: AnswersFile,
    *,
    check: Check | None = None,
    read_only: bool = False,
) -> None:
    """Show a question; each answer is saved to the file and acknowledged.

    ``check`` gives practice feedback when the learner asks for it.
    """
    from IPython.display import DisplayHandle, display

    last = file.sheet().latest().get(question.id)
    receipt = DisplayHandle()

    def save(value: Any, client: str, seq: int) -> Mapping[str, Any]:
        answer = file.append(question.id, value, client=client, seq=seq)
        receipt.update(_receipt(question, answer), raw=True)
        return {"number": answer.number, "at": answer.at, "back": file.took_back()}

    display(control(question, save=save, check=check, last=last, read_only=read_only))
    receipt.display(_receipt(question, last), raw=True)


def control(
    question: Question,
    *,
    save: Callable[..., Mapping[str, Any]] | None = None,
    check: Check | None = None,
    last: Answer | None = None,
    read_only: bool = False,
) -> Control:
    """Return the control a question is answered with, showing the last answer."""
    from workbook.physics.coefficients import GAUGE_TOP
    from workbook.trial import Scene
    from workbook.widgets import Choice, Face, Number, Sequence, Sketch, Taps, TrialControl
    from workbook.widgets.bench import bench_kind, bench_of
    from workbook.widgets.shown import face_of, figure_of, taps_of

    common: dict[str, Any] = {
        "help": "\n".join(part for part in (question.context, question.help) if part),
        "save": save,
        "check": check,
        "saved": None if last is None else as_saved(last),
        "read_only": read_only,
        "figure": figure_of(question.shows),
    }
    options = [{"id": option.id, "text": option.text} for option in question.options]
    if question.kind is Kind.SEQUENCE:
        start = [option["id"] for option in options]
        return Sequence(question.id, question.label, items=options, start=start, **common)
    if question.kind is Kind.NUMBER:
        first, units = question.units[0], list(question.units)
        # Where a needle is asked for and none is drawn, one can be put where it will stand.
        top = GAUGE_TOP.value if "cmH2O" in units and not common["figure"] else 0.0
        return Number(question.id, question.label, unit=first, units=units, gauge_top=top, **common)
    if question.kind is Kind.TAPS:
        return Taps(question.id, question.label, **taps_of(question.shows), **common)
    if question.kind is Kind.BENCH:
        kind = bench_kind(question.shows, feedback=common["check"] is not None)
        return kind(question.id, question.label, **bench_of(question.shows), **common)
    if question.kind is Kind.TRIAL:
        scene = Scene.of(question.facts)
        return TrialControl(
            question.id, question.label, scene=scene, shows=question.shows, **common
        )
    if question.kind is Kind.CASE:
        from workbook.widgets.case import CaseControl

        drawn, book = question.facts["case"], question.facts["book"]
        how = {name: question.shows[name] for name in ("mode", "prompts") if name in question.shows}
        return CaseControl(question.id, question.label, case=drawn, book=book, **how, **common)
    if question.kind is Kind.NOTE:
        from workbook.widgets.note import NoteControl

        entries = question.shows["entries"]
        return NoteControl(question.id, question.label, entries=entries, **common)
    if question.kind is Kind.FACE:
        return Face(question.id, question.label, **face_of(question.shows), **common)
    if question.kind is Kind.SKETCH:
        return Sketch(question.id, question.label, sketch=question.shows["sketch"], **common)
    many = question.kind is Kind.CHOICES
    return Choice(question.id, question.label, options=options, many=many, **common)


def as_saved(answer: Answer) -> dict[str, Any]:
    """Return an answer as a control shows it as saved."""
    return {
        "value": answer.value,
        "number": answer.number,
        "at": answer.at,
        "client": answer.client,
        "seq": answer.seq,
    }


def _receipt(question: Question, answer: Answer | None) -> dict[str, Any]:
    """Return what is kept in the page itself: a copy of the answer, readable without the file."""
    if answer is None:
        return {"text/plain": ""}
    head = _("Receipt {number}, {at}").format(number=answer.number, at=on_the_clock(answer.at))
    said = spoken(question, answer.value)
    return {
        "text/plain": f"{head}: {said}",
        "text/html": f"<details><summary>{escape(head)}</summary><p>{escape(said)}</p></details>",
        RECEIPT: {"question": question.id, **as_saved(answer)},
    }
