"""What each command does, for the command line and for other programs alike."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from graders.cohort import cohort
from graders.coursefolder import ROSTER, CourseFolder, keep_secret, lay_out, read_roster
from graders.exchange import collect_all
from graders.grade import Graded, own_version
from graders.inbox import take_files
from graders.intake import Taken
from graders.report.learner_page import FOLDER as PAGES
from graders.run import Crew, crew, jobs, marked_batches, refusals
from graders.verdicts import verdict_files, verdicts
from workbook.answers import whoami
from workbook.cases import exercises
from workbook.course import FILE, PROTOCOL, Course, CourseError, read_course
from workbook.language import ENGLISH, speaking
from workbook.rules import DEFAULT_EDITION, rulebook, superseded
from workbook.rules.protocol import overlay
from workbook.rules.protocolfile import read_protocol
from workbook.unit import FEEDBACK


@dataclass(frozen=True, slots=True)
class GradeRun:
    """What one run of grading did."""

    graded: int
    found: int
    problems: tuple[str, ...]
    gradebook: str
    failed: int = 0


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
    keep: str = "",
    due: str | None = None,
    gradebook: str = "",
    language: str | None = None,
) -> CourseFolder:
    """Make or update a course folder and release its units through nbgrader.

    ``gradebook`` is the address of a database server in place of a file in the folder.
    """
    from graders.gradebook import Nbgrader, enrol

    people = read_roster(roster) if roster is not None else None
    site = read_protocol(protocol) if protocol is not None else None
    edition = site.edition if site is not None and edition is None else edition
    course = _settled(
        path, course_id, title, edition, pass_mark, units, protocol, keep, due, language
    )
    folder = lay_out(path, course)
    if gradebook:
        keep_secret(folder.gradebook_url, gradebook)
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
    keep: str,
    due: str | None,
    language: str | None,
) -> Course:
    strange = sorted(set(units) - set(exercises()))
    if strange:
        raise CourseError(f"There is no unit {strange[0]!r}; there are {', '.join(exercises())}.")
    if edition is not None:
        rulebook(edition)  # says which editions there are
    with speaking(language or ENGLISH):  # says which languages there are
        pass
    old = read_course(path) if (path / FILE).is_file() else None
    if old is None:
        base = Course("course", "T-piece course", DEFAULT_EDITION, exercises())
    elif course_id not in (None, old.id):
        raise CourseError(f"{path} is course {old.id!r}; a new course needs another folder.")
    else:
        base = old
    course = replace(
        base,
        id=course_id or base.id,
        title=title or base.title,
        edition=edition or base.edition,
        units=tuple(units) or base.units,
        pass_mark=base.pass_mark if pass_mark is None else pass_mark,
        protocol=base.protocol if protocol is None else PROTOCOL,
        keep=keep or base.keep,
        due=base.due if due is None else due,
        language=language or base.language,
    )
    if protocol is not None:
        overlay(rulebook(course.edition), read_protocol(protocol))  # refused before it is copied
    path.mkdir(parents=True, exist_ok=True)
    (path / FILE).write_text(course.text(), encoding="utf-8")
    if protocol is not None and protocol.resolve() != (path / PROTOCOL).resolve():
        shutil.copyfile(protocol, path / PROTOCOL)
    return read_course(path)  # every mistake is said in the reader's words


def asks_about(course: Course) -> str:
    """Return which edition a course asks about, what superseded it, and where others are named."""
    edition = rulebook(course.edition).edition
    newest = superseded(edition)
    said = f"Edition asked about: {edition.title} ({edition.id})."
    said += f" {newest}" if newest else ""
    return f"{said} All editions: tpiece rules list."


def collect(path: Path, sent: Sequence[Path] = ()) -> Iterator[Taken]:
    """Collect handed-in work; yields what became of each piece, and a line for each unit."""
    folder = CourseFolder(path)
    units = folder.course.units
    yield from take_files(folder, list(sent))
    yield from collect_all(folder, units)
    for unit in units:
        count = len(list(folder.learners_with_work(unit)))
        yield Taken(f"{unit}: {count} submissions collected.")


def grade(
    path: Path,
    *,
    feedback: bool = False,
    progress: bool = False,
    workers: int = 1,
    scheduler: str = "",
) -> GradeRun:
    """Grade every collected submission into the gradebook; one bad one stops nobody else.

    ``workers`` processes of this machine mark side by side, or those of the Dask cluster at
    ``scheduler``; the result is the same.
    """
    folder = CourseFolder(path)
    units = folder.course.units
    with crew(workers, scheduler) as by:
        return _grade(folder, units, by, feedback=feedback, progress=progress)


def _grade(
    folder: CourseFolder, units: Sequence[str], by: Crew, *, feedback: bool, progress: bool
) -> GradeRun:
    from tqdm import tqdm

    from graders.gradebook import Nbgrader
    from graders.scores import Scores

    refusal = refusals(folder)
    nbgrader = Nbgrader(folder)
    every = list(jobs(folder))
    problems = [said for learner in sorted({who for _, who in every}) if (said := refusal(learner))]
    problems += [
        f"{linked} is a link, so it is not graded. Remove it." for linked in folder.linked()
    ]
    todo = [job for job in every if not refusal(job[1])]
    count, failed = 0, 0
    with (
        nbgrader.gradebook() as book,
        tqdm(total=len(todo), desc="Grading", unit="work", disable=not progress) as bar,
    ):
        scores = Scores(book)
        for unit in units:
            if not scores.knows(unit):  # a new gradebook, or one that was lost
                nbgrader.generate(unit)
                scores = Scores(book)
        for batch in marked_batches(folder.path, todo, by):
            scores.write(batch.graded)
            if feedback:
                for done in batch.graded:
                    nbgrader.feedback(done.unit, done.learner)
            count, failed = count + len(batch.graded), failed + len(batch.failed)
            problems += batch.failed
            problems += [f"{g.learner}: {problem}" for g in batch.graded for problem in g.problems]
            bar.update(len(batch.graded) + len(batch.failed))
    return GradeRun(count, len(every), tuple(problems), folder.gradebook, failed)


def report(path: Path) -> tuple[Path, ...]:
    """Write the coordinator's pages and table from the verdicts, and return their paths.

    The verdicts are read once, one after the other, so that a large course needs little memory;
    scores come from the gradebook.
    """
    from graders.desk.gains import gains
    from graders.desk.itemscores import ItemScores
    from graders.desk.labrecord import lab_results
    from graders.report import write_report
    from graders.report.brief_page import BRIEF_PAGE, brief_text
    from graders.report.items_page import PAGE as ITEMS_PAGE
    from graders.report.items_page import items_text

    folder = CourseFolder(path)
    course, people, questions = folder.course, folder.roster(), ItemScores()
    if next(verdict_files(folder), None) is None:
        raise CourseError(f"Nothing is graded in {path} yet. Run first: tpiece grade")
    stream = _told(verdicts(folder), questions.add)
    group = cohort(stream, people, course, scores=_scores(folder))
    now, version = datetime.now().astimezone(), own_version()
    gained = [one for unit in course.units for one in gains(path, unit)]
    items = items_text(questions, course, made_at=now, version=version, gains=gained, people=people)
    brief = brief_text(group, made_at=now, version=version)
    beside = {ITEMS_PAGE: items, BRIEF_PAGE: brief}
    lab = lab_results(path)
    return write_report(group, path, made_at=now, version=version, lab=lab, beside=beside)


def _told(graded: Iterable[Graded], to: Callable[[Graded], None]) -> Iterator[Graded]:
    """Yield verdicts, and tell each to somebody else as well."""
    for one in graded:
        to(one)
        yield one


def _scores(folder: CourseFolder) -> dict[tuple[str, str], float]:
    from graders.gradebook import Nbgrader
    from graders.scores import totals

    with Nbgrader(folder).gradebook() as book:
        return totals(book)


def open_workbook(
    home: Path,
    learner: str | None,
    *,
    browser: bool,
    port: int | None,
    say: Callable[[str], None],
    language: str | None = None,
    edition: str | None = None,
) -> int:
    """Open JupyterLab on a learner's folder; the first time a demo course is made ready."""
    from workbook import launch

    learner = learner or whoami()
    course_path = home / "course"
    if not (course_path / FILE).is_file():
        say("Making a demo course ready; this takes about a minute.")
        assign(
            course_path,
            course_id="demo",
            title="Demo course",
            language=language,
            edition=edition,
        )
    folder = CourseFolder(course_path)
    if edition not in (None, folder.course.edition):
        raise CourseError(
            f"The course in {course_path} asks about {folder.course.edition}, and its answers too. "
            f"For another edition name another folder: tpiece open --folder FOLDER "
            f"--edition {edition}"
        )
    say(f"{asks_about(folder.course)} For another: tpiece open --folder FOLDER --edition EDITION")
    if language not in (None, folder.course.language):
        say(
            "Putting the course into another language; this takes about a minute. "
            "Exercises that were opened before stay in the language they were opened in."
        )
        folder = assign(course_path, language=language)
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
        own_page = course_path / PAGES / f"{learner}.html"
        page = course_path / "feedback" / learner / unit / f"{unit}.html"
        page = own_page if own_page.is_file() else page
        if page.is_file() and (own / unit).is_dir():
            shutil.copyfile(page, own / unit / FEEDBACK)
    if folder.course.protocol:
        shutil.copyfile(course_path / PROTOCOL, own / PROTOCOL)
    return launch.launch(own, learner=learner, browser=browser, port=port)
