"""What each command does, for the command line and for other programs alike."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from graders.cohort.group import Cohort
from graders.cohort.picture import picture
from graders.cohort.unmarked import in_words, without_verdict
from graders.core.alone import GRADING, PATIENCE, alone
from graders.course.coursefolder import ROSTER, CourseFolder, close, lay_out, unwritable
from graders.course.roster import LARGEST, read_roster
from graders.course.stamps import stamps
from graders.grading.grade import own_version
from graders.grading.run import Crew, Job, crew, jobs, marked_batches, refusals
from graders.handed_in.exchange import collect_all
from graders.handed_in.inbox import take_files
from graders.handed_in.intake import Taken
from graders.marking.scored import Scored
from workbook.core.plainfile import read_plain
from workbook.course.settings import Course, CourseError
from workbook.rules import rulebook, superseded
from workbook.start.given import Given, write_course_file


@dataclass(frozen=True, slots=True)
class GradeRun:
    """What one run of grading did; ``unmarked`` says why, by learner and unit."""

    graded: int
    found: int
    problems: tuple[str, ...]
    gradebook: str
    failed: int = 0
    marked: int = 0
    unmarked: Mapping[tuple[str, str], str] = field(default_factory=dict)

    @property
    def people_unmarked(self) -> int:
        """Return of how many people some work was not marked."""
        return len({learner for learner, _ in self.unmarked})

    @property
    def says(self) -> str:
        """Return how many people's work was marked, and how many's was not."""
        left = self.people_unmarked
        says = f"Work of {in_words(self.marked, 'person', 'people')} was marked"
        if not left:
            return f"{says}; nobody's was left out."
        return f"{says}; of {in_words(left, 'person', 'people')} some or all was NOT marked."


def assign(
    path: Path, *, roster: Path | None = None, gradebook: str = "", **settings: Any
) -> CourseFolder:
    """Make or update a course folder and release its units through nbgrader.

    ``settings`` are those of ``Wanted``; ``gradebook`` is the address of a database server in
    place of a file in the folder. Everything is looked at before anything is written. Raises
    CourseError where something is wrong, or costs what was not agreed to.
    """
    from graders.course.settings import Wanted, changed, check_gradebook, replace_file
    from graders.nbgrader.gradebook import Nbgrader
    from graders.nbgrader.scores import enrol

    people = read_roster(roster) if roster is not None else None
    change = changed(path, Wanted(**settings))
    if gradebook:
        check_gradebook(gradebook)
    try:
        course = change.write()
    except OSError as error:
        raise CourseError(f"{unwritable(path, error)}") from None
    folder = lay_out(path, course)
    if gradebook:
        replace_file(folder.gradebook_url, f"{gradebook}\n".encode())
    if people is not None and roster is not None:
        replace_file(path / ROSTER, read_plain(roster, LARGEST, follow=True))
    nbgrader = Nbgrader(folder)
    for unit in course.units:
        nbgrader.release(unit)
    with nbgrader.gradebook() as book:
        enrol(book, folder.roster().values())
    write_course_file(Given(folder.exchange, course.id), folder.course_file)
    close(path)
    return folder


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
    only: Collection[Job] | None = None,
    patience: float = PATIENCE,
) -> GradeRun:
    """Grade every collected submission into the gradebook; one bad one stops nobody else.

    ``workers`` processes of this machine mark side by side, or those of the Dask cluster at
    ``scheduler``; the result is the same. ``only`` names some, and then nothing is said of the
    others. Raises BusyError where another grades the course for longer than ``patience`` (s).
    """
    folder = CourseFolder(path)
    units = folder.course.units
    with alone(path, GRADING, patience), crew(workers, scheduler) as by:
        return _grade(folder, units, by, feedback=feedback, progress=progress, only=only)


def _grade(
    folder: CourseFolder,
    units: Sequence[str],
    by: Crew,
    *,
    feedback: bool,
    progress: bool,
    only: Collection[Job] | None,
) -> GradeRun:
    from tqdm import tqdm

    from graders.nbgrader.gradebook import Nbgrader
    from graders.nbgrader.scores import Scores

    refusal = refusals(folder)
    nbgrader = Nbgrader(folder)
    stamps(folder.path), folder.course.book  # damaged ones are said before the start
    every = list(jobs(folder)) if only is None else sorted(only)
    problems = [said for learner in sorted({who for _, who in every}) if (said := refusal(learner))]
    linked = folder.linked() if only is None else ()
    problems += [f"{path} is a link, so it is not graded. Remove it." for path in linked]
    todo = [job for job in every if not refusal(job[1])]
    marked: set[str] = set()
    known = (
        without_verdict(folder) if only is None else {(who, u): refusal(who) for u, who in every}
    )
    left = {(who, unit) for unit, who in todo}
    unmarked = {work: why for work, why in known.items() if work not in left}
    count, failed = 0, 0
    with (
        nbgrader.gradebook() as book,
        tqdm(
            total=len(todo), desc="Grading", unit="work", disable=None if progress else True
        ) as bar,
    ):
        scores = Scores(book)
        for unit in units:
            if not scores.knows(unit) or not folder.released(unit).is_file():  # new, or lost
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
            marked |= {g.learner for g in batch.graded if g.usable}
            unmarked |= {(g.learner, g.unit): _why(g) for g in batch.graded if not g.usable}
            unmarked |= {(learner, unit): FAILED for unit, learner in batch.lost}
            bar.update(len(batch.graded) + len(batch.failed))
    close(folder.path)
    return GradeRun(
        count, len(every), tuple(problems), folder.gradebook, failed, len(marked), unmarked
    )


FAILED = "the grader itself failed"


def _why(one: Scored) -> str:
    return one.problems[0] if one.problems else "no question was answered"


@dataclass(frozen=True, slots=True)
class Report:
    """What was written, and of whom."""

    files: tuple[Path, ...]
    group: Cohort


def report(path: Path) -> tuple[Path, ...]:
    """Write the coordinator's pages and table from the verdicts, and return their paths."""
    return report_of(path).files


def report_of(path: Path) -> Report:
    """Write the coordinator's pages and table, and return them with the group they show.

    The verdicts are read once, one after the other, so that a large course needs little memory;
    scores come from the gradebook.
    """
    from graders.items.gains import gains
    from graders.items.scores import ItemScores
    from graders.lab.record import lab_results
    from graders.report import write_report
    from graders.report.brief_page import BRIEF_PAGE, brief_text
    from graders.report.items_page import PAGE as ITEMS_PAGE
    from graders.report.items_page import items_text

    folder, questions = CourseFolder(path), ItemScores()
    course = folder.course
    group = picture(folder, questions.add)
    now, version = datetime.now().astimezone(), own_version()
    gained = [one for unit in course.units for one in gains(path, unit)]
    people = {one.person.learner: one.person for one in group.learners if one.on_roster}
    items = items_text(questions, course, made_at=now, version=version, gains=gained, people=people)
    brief = brief_text(group, made_at=now, version=version)
    beside = {ITEMS_PAGE: items, BRIEF_PAGE: brief}
    lab = lab_results(path)
    files = write_report(group, path, made_at=now, version=version, lab=lab, beside=beside)
    close(path)
    return Report(files, group)
