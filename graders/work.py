"""What each command does, for the command line and for other programs alike."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from graders.cohort import cohort
from graders.coursefolder import ROSTER, CourseFolder, Person, lay_out, read_roster
from graders.grade import VERDICT_FILE, Graded, own_version, read_verdict, write_verdict
from graders.grade import grade as grade_submission
from graders.report import write_report
from workbook.answers import AnswerFileError, answers_path, learner_id, read_answers, whoami
from workbook.cases import exercises
from workbook.course import FILE, PROTOCOL, Course, CourseError, read_course
from workbook.rules import DEFAULT_EDITION, rulebook
from workbook.rules.protocol import overlay
from workbook.rules.protocolfile import read_protocol
from workbook.unit import FEEDBACK


@dataclass(frozen=True, slots=True)
class GradeRun:
    """What one run of grading did."""

    graded: tuple[Graded, ...]
    found: int
    problems: tuple[str, ...]
    gradebook: Path


def assign(
    path: Path,
    *,
    course_id: str | None = None,
    title: str | None = None,
    edition: str | None = None,
    pass_mark: float | None = None,
    roster: Path | None = None,
    protocol: Path | None = None,
    units: Sequence[str] = (),
) -> CourseFolder:
    """Make or update a course folder and release its units through nbgrader."""
    from graders.gradebook import Nbgrader, enrol

    people = read_roster(roster) if roster is not None else None
    site = read_protocol(protocol) if protocol is not None else None
    edition = site.edition if site is not None and edition is None else edition
    course = _settled(path, course_id, title, edition, pass_mark, units, protocol)
    folder = lay_out(path, course)
    if people is not None and roster is not None:
        shutil.copyfile(roster, path / ROSTER)
    nbgrader = Nbgrader(folder)
    for unit in course.units:
        nbgrader.release(unit)
    with nbgrader.gradebook() as book:
        for person in folder.roster().values():
            enrol(book, person)
    return folder


def _settled(
    path: Path,
    course_id: str | None,
    title: str | None,
    edition: str | None,
    pass_mark: float | None,
    units: Sequence[str],
    protocol: Path | None,
) -> Course:
    strange = sorted(set(units) - set(exercises()))
    if strange:
        raise CourseError(f"There is no unit {strange[0]!r}; there are {', '.join(exercises())}.")
    if edition is not None:
        rulebook(edition)  # says which editions there are
    old = read_course(path) if (path / FILE).is_file() else None
    if old is None:
        base = Course("course", "T-piece course", DEFAULT_EDITION, exercises())
    elif course_id not in (None, old.id):
        raise CourseError(f"{path} is course {old.id!r}; a new course needs another folder.")
    else:
        base = old
    course = Course(
        course_id or base.id,
        title or base.title,
        edition or base.edition,
        tuple(units) or base.units,
        base.pass_mark if pass_mark is None else pass_mark,
        base.protocol if protocol is None else PROTOCOL,
    )
    if protocol is not None:
        overlay(rulebook(course.edition), read_protocol(protocol))  # refused before it is copied
    path.mkdir(parents=True, exist_ok=True)
    (path / FILE).write_text(course.text(), encoding="utf-8")
    if protocol is not None and protocol.resolve() != (path / PROTOCOL).resolve():
        shutil.copyfile(protocol, path / PROTOCOL)
    return read_course(path)  # every mistake is said in the reader's words


def collect(path: Path, sent: Sequence[Path] = ()) -> Iterator[str]:
    """Collect handed-in work; yields a line for each unit and each file that was sent."""
    from graders.gradebook import Nbgrader

    folder = CourseFolder(path)
    course = folder.course
    for file in sent:
        yield _take_in(folder, file)
    nbgrader = Nbgrader(folder)
    for unit in course.units:
        nbgrader.collect(unit)
        yield f"{unit}: {len(list(folder.learners_with_work(unit)))} submissions collected."


def _take_in(folder: CourseFolder, file: Path) -> str:
    """Put an answers file that came another way where collected work lies."""
    course = folder.course
    try:
        sheet = read_answers(file)
        learner = learner_id(sheet.learner)
    except (AnswerFileError, ValueError) as error:
        raise CourseError(f"{file}: {error}") from None
    if sheet.exercise not in course.units:
        raise CourseError(f"{file} answers {sheet.exercise[:40]!r}, which this course has not.")
    target = folder.submitted(learner, sheet.exercise)
    target.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(file, answers_path(target / f"{sheet.exercise}.ipynb"))
    last = sheet.answers[-1].at if sheet.answers else ""
    (target / "timestamp.txt").write_text(last.replace("T", " ").replace("Z", " UTC"))
    return f"{file.name}: taken in for {learner}."


def grade(path: Path, *, feedback: bool = False, progress: bool = False) -> GradeRun:
    """Grade every collected submission into the gradebook; one bad one stops nobody else."""
    from tqdm import tqdm

    from graders.gradebook import Nbgrader, record

    folder = CourseFolder(path)
    course, roster = folder.course, folder.roster()
    work = [(unit, learner) for unit in course.units for learner in folder.learners_with_work(unit)]
    nbgrader = Nbgrader(folder)
    graded, problems = [], []
    with nbgrader.gradebook() as book:
        for unit, learner in tqdm(work, desc="Grading", unit="work", disable=not progress):
            refusal = _refusal(learner, roster, folder)
            if refusal:
                problems.append(refusal)
                continue
            done = grade_submission(folder.submitted(learner, unit), course, unit, learner)
            record(book, done)
            _write_marked(folder, done)
            graded.append(done)
            problems += [f"{learner}: {problem}" for problem in done.problems]
    if feedback:
        for done in graded:
            nbgrader.feedback(done.unit, done.learner)
    return GradeRun(tuple(graded), len(work), tuple(problems), path / "gradebook.db")


def _refusal(learner: str, roster: Mapping[str, Person], folder: CourseFolder) -> str:
    try:
        learner_id(learner)
    except ValueError as error:
        return f"submitted/{learner}: {error} Not graded; rename the folder."
    if roster and learner not in roster:
        return (
            f"submitted/{learner}: {learner!r} is not on the roster. Not graded; add the learner "
            f"to {folder.path / ROSTER} and grade again, or remove the folder."
        )
    return ""


def _write_marked(folder: CourseFolder, graded: Graded) -> None:
    """Write the marked notebook and the verdict where nbgrader keeps marked work."""
    import nbformat

    from graders.gradebook import marked_notebook

    target = folder.autograded(graded.learner, graded.unit)
    target.mkdir(parents=True, exist_ok=True)
    released = folder.path / "release" / graded.unit / f"{graded.unit}.ipynb"
    nbformat.write(marked_notebook(released, graded), target / f"{graded.unit}.ipynb")
    write_verdict(graded, target)


def report(path: Path) -> tuple[Path, Path]:
    """Write the coordinator's page and table from the verdicts; scores come from the gradebook."""
    folder = CourseFolder(path)
    course = folder.course
    found = sorted((path / "autograded").glob(f"*/*/{VERDICT_FILE}"))
    if not found:
        raise CourseError(f"Nothing is graded in {path} yet. Run first: tpiece grade")
    graded = [read_verdict(file) for file in found]
    group = cohort(graded, folder.roster(), course, scores=_scores(folder, graded))
    made_at = datetime.now().astimezone()
    return write_report(group, path, made_at=made_at, version=own_version())


def _scores(folder: CourseFolder, graded: Sequence[Graded]) -> dict[tuple[str, str], float]:
    from graders.gradebook import Nbgrader, score_of

    with Nbgrader(folder).gradebook() as book:
        found = {(g.learner, g.unit): score_of(book, g.unit, g.learner) for g in graded}
    return {work: score for work, score in found.items() if score is not None}


def open_workbook(
    home: Path,
    learner: str | None,
    *,
    browser: bool,
    port: int | None,
    say: Callable[[str], None],
) -> int:
    """Open JupyterLab on a learner's folder; the first time a demo course is made ready."""
    from workbook import launch

    learner = learner or whoami()
    course_path = home / "course"
    if not (course_path / FILE).is_file():
        say("Making a demo course ready; this takes about half a minute.")
        assign(course_path, course_id="demo", title="Demo course")
    folder = CourseFolder(course_path)
    own = home / "learners" / learner
    lessons = Path(launch.__file__).parent / "lessons"
    launch.prepare_learner(
        own,
        learner=learner,
        course_id=folder.course.id,
        exchange=folder.exchange,
        lessons=lessons,
        course_text=folder.course.text(),
    )
    for unit in folder.course.units:
        page = course_path / "feedback" / learner / unit / f"{unit}.html"
        if page.is_file() and (own / unit).is_dir():
            shutil.copyfile(page, own / unit / FEEDBACK)
    if folder.course.protocol:
        shutil.copyfile(course_path / PROTOCOL, own / PROTOCOL)
    return launch.launch(own, learner=learner, browser=browser, port=port)
