"""The command `tpiece pages`: a page of their own for each learner."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from pathlib import Path

import click

from graders.cohort.unmarked import nothing_yet
from graders.cohort.verdicts import verdicts
from graders.commands.due import plan_of
from graders.commands.options import DESK_SAFETY, as_sentence, course_option
from graders.core.replaced import replace_files
from graders.core.terminal import echo, tell
from graders.course.coursefolder import CourseFolder
from graders.course.roster import Person
from graders.grading.grade import own_version
from graders.lab.record import LabResult, lab_results
from graders.learner.history import attempts
from graders.learner.page import LearnerView, learner_view
from graders.marking.graded import Graded
from graders.nbgrader.gradebook import GradebookError, Nbgrader
from graders.report.learner_page import FOLDER, learner_data, learner_text
from workbook.core.errors import PlainError
from workbook.core.language import speaking
from workbook.course.settings import CourseError


@click.command(epilog=f"Example: tpiece pages --course ~/may --learner ada. {DESK_SAFETY}")
@course_option
@click.option("--learner", "only", multiple=True, help="Only this learner; may be given again.")
def pages(folder: Path, only: tuple[str, ...]) -> None:
    """Write each learner's own page: what was right, what was missed, why, and what to do next."""
    from tqdm import tqdm

    with as_sentence(PlainError, GradebookError, OSError, ValueError):
        count = sum(1 for _ in tqdm(write_pages(CourseFolder(folder), only), unit=" pages"))
    echo(f"Written: {count} pages in {folder / FOLDER}, each with its data as JSON.")
    echo("Give each learner their own page and nobody else's.")


def write_pages(folder: CourseFolder, only: Iterable[str] = ()) -> Iterator[Path]:
    """Write the page of each learner, or of some, and yield its path.

    Raises CourseError when nothing is graded, or nothing of a learner who was asked for.
    """
    made_at, version = datetime.now().astimezone(), own_version()
    home, wanted = folder.path / FOLDER, set(only)
    home.mkdir(exist_ok=True)
    done = set()
    for view in views(folder, wanted, made_at):
        path = home / f"{view.learner}.html"
        page = learner_text(view, made_at=made_at, version=version)
        data = learner_data(view, made_at=made_at, version=version)
        files = {path: page, path.with_suffix(".json"): data}
        replace_files({one: text.encode(errors="replace") for one, text in files.items()})
        done.add(view.learner)
        yield path
    if not done and not wanted:
        raise nothing_yet(folder)
    if wanted - done:
        raise CourseError(
            f"{', '.join(sorted(wanted - done))}: nothing is graded. Check the id, or run first: "
            "tpiece grade"
        )


def views(folder: CourseFolder, only: set[str], made_at: datetime) -> Iterator[LearnerView]:
    """Yield what each learner's page shows, in order of id."""
    people, seen = folder.roster(), lab_results(folder.path)
    scores: dict[str, dict[str, float]] = {}
    from graders.nbgrader.scores import totals  # it brings nbgrader along, which takes seconds

    with Nbgrader(folder).gradebook() as book:
        for (learner, unit), score in totals(book).items():
            scores.setdefault(learner, {})[unit] = score
    for learner, works in _by_learner(verdicts(folder, lambda lost: tell(lost.says))):
        if not only or learner in only:
            person = people.get(learner, Person(learner))
            yield _view(folder, person, works, scores.get(learner, {}), seen.get(learner), made_at)


def _view(
    folder: CourseFolder,
    person: Person,
    works: list[Graded],
    scores: dict[str, float],
    lab: LabResult | None,
    made_at: datetime,
) -> LearnerView:
    course, learner = folder.course, person.learner
    tries = {unit: attempts(folder.path, learner, unit, tell) for unit in course.units}
    with speaking(course.language):
        seen = lab.says if lab is not None else ""
    return learner_view(
        learner,
        course,
        tries,
        {one.unit: one for one in works},
        retest=plan_of(learner, course, tries, lab, made_at.date()),
        scores=scores,
        name=person.name,
        lab=seen,
    )


def _by_learner(found: Iterable[Graded]) -> Iterator[tuple[str, list[Graded]]]:
    works: list[Graded] = []
    for one in found:
        if works and works[0].learner != one.learner:
            yield works[0].learner, works
            works = []
        works.append(one)
    if works:
        yield works[0].learner, works
