"""The command `tpiece lab`: the lab's brief, its checklist, and what was seen there."""

from __future__ import annotations

import csv
import io
import sys
from collections.abc import Iterable
from datetime import date, datetime
from pathlib import Path

import click

from graders.cohort.group import Cohort
from graders.commands.options import DESK_SAFETY, NOT_FOR_ALL, Kindly, course_option
from graders.core.terminal import echo
from graders.course.coursefolder import CourseFolder
from graders.course.roster import Person
from graders.grading.grade import own_version
from graders.lab.brief import Brief, brief
from graders.lab.checklist import blank_rows, checklist
from graders.lab.plan import LabError, lab_of
from graders.lab.record import lab_results, take
from graders.lab.sheet import Known, observed, read_sheet
from graders.nbgrader.gradebook import GradebookError
from workbook.core.errors import PlainError

GROUPS_TABLE = "lab-groups.csv"


class _Kindly(Kindly):
    mistakes = (PlainError, GradebookError, OSError)


@click.group("lab", cls=_Kindly, epilog=DESK_SAFETY)
def lab() -> None:
    """Plan the hands-on lab, print its checklist, and take in what was seen there."""


@lab.command("brief", epilog="Example: tpiece lab brief --course ~/may --minutes 90 --stations 4")
@course_option
@click.option("--minutes", type=int, help="Minutes of one session; by default as the rules say.")
@click.option("--stations", type=int, help="Devices to work at; by default as the rules say.")
@click.option("--group", type=int, help="Learners at a device; by default as the rules say.")
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", show_default=True)
def brief_(folder: Path, paper: str, **wanted: int | None) -> None:
    """Write the lab brief: what to show, for how long, to whom, and what to watch for."""
    from graders.core.replaced import replace_files
    from graders.report.brief_page import BRIEF_PAGE, BRIEF_PDF, brief_text
    from graders.report.brief_pdf import brief_pdf

    group = _cohort(CourseFolder(folder))
    plan = lab_of(group.course.book, **wanted)
    now, version = datetime.now().astimezone(), own_version()
    page = brief_text(group, made_at=now, version=version, lab=plan)
    sheet = brief_pdf(group, made_at=now, version=version, lab=plan, paper=paper)
    files = {
        folder / BRIEF_PAGE: page.encode("utf-8", errors="replace"),
        folder / BRIEF_PDF: sheet,
        folder / GROUPS_TABLE: _groups_table(brief(group, plan)),
    }
    replace_files(files)
    for what, path in zip(("Page", "PDF", "Groups"), files, strict=True):
        echo(f"{what + ':':8}{path}")
    echo(f"Next: tpiece lab checklist --course {folder}")
    tell_left_out(group)


@lab.command("checklist", epilog="Example: tpiece lab checklist --course ~/may")
@course_option
def checklist_(folder: Path) -> None:
    """Write the skills checklist: a page to print, and an empty table to fill in."""
    from graders.core.replaced import replace_files
    from graders.report.brief_page import CHECKLIST_PAGE, CHECKLIST_SHEET, checklist_text

    course = CourseFolder(folder)
    settings, made = course.course, checklist(course.course.book)
    page = checklist_text(settings, made_at=datetime.now().astimezone(), version=own_version())
    people = _people(course)
    _spare(folder / CHECKLIST_SHEET)
    rows = "".join(blank_rows(people, made))
    files = {
        folder / CHECKLIST_PAGE: page.encode("utf-8", errors="replace"),
        folder / CHECKLIST_SHEET: rows.encode("utf-8-sig", errors="replace"),
    }
    replace_files(files)
    echo(f"Page to print:     {folder / CHECKLIST_PAGE}")
    echo(f"Table to fill in:  {folder / CHECKLIST_SHEET}")
    echo(f"{len(made.items)} steps, {len(people)} learners. Then run: tpiece lab results FILE")


@lab.command(epilog="Example: tpiece lab results lab-checklist.csv --course ~/may")
@course_option
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
def results(folder: Path, file: Path) -> None:
    """Take a filled-in checklist FILE into the course's record of what was observed hands-on."""
    course = CourseFolder(folder)
    settings = course.course
    made = checklist(settings.book)
    known = Known(
        {person.learner for person in _people(course)},
        {item.id for item in made.items},
        date.today(),
        settings.book["lab.results"].value,
    )
    sheet = read_sheet(file, known)
    taken = take(folder, sheet.seen)
    for says in sheet.doubts:
        echo(f"Look at: {says}")
    echo(
        f"Taken over from {file.name}: {taken.added} new, {taken.replaced} replaced, "
        f"{taken.same} as before; {sheet.empty} lines were left empty. Record: {taken.path}"
    )
    found = lab_results(folder, made)
    for learner in dict.fromkeys(seen.learner for seen in sheet.seen):
        echo(f"  {learner}: {found[learner].says}")
    echo(f"Next: tpiece report --course {folder}")


def _cohort(folder: CourseFolder) -> Cohort:
    """Return the group's picture; without any verdict there is nothing to plan from."""
    from graders.cohort.picture import picture

    return picture(folder)


def tell_left_out(group: Cohort) -> None:
    """Say whose work is in no mark, and end with another code than all is well."""
    for says in filter(None, (group.turnout.left_out, *group.waiting)):
        echo(says, err=True)
    if group.turnout.unmarked:
        sys.exit(NOT_FOR_ALL)


def _people(folder: CourseFolder) -> list[Person]:
    """Return the roster, and everyone else whose work was collected, in order of id."""
    known = dict(folder.roster())
    for unit in folder.course.units:
        for learner in folder.learners_with_work(unit):
            known.setdefault(learner, Person(learner))
    return [known[id] for id in sorted(known)]


def _spare(sheet: Path) -> None:
    """Refuse to write an empty sheet over one that was filled in."""
    if sheet.is_file() and observed(sheet):
        raise LabError(
            f"{sheet} is filled in, and an empty sheet would replace it. Take it in with "
            "tpiece lab results, then give it another name, and run this again."
        )


def _groups_table(made: Brief) -> bytes:
    from graders.core.spreadsheet import harmless

    file = io.StringIO(newline="")
    writer = csv.writer(file)
    writer.writerow(("learner", "name", "session", "station", "group", "begins_with"))
    for each in () if made.shy else made.groups:
        place = (str(each.session), str(each.station), str(each.number), each.begins)
        rows: Iterable[tuple[str, ...]] = ((p.learner, p.name, *place) for p in each.people)
        writer.writerows([harmless(cell) for cell in row] for row in rows)
    return file.getvalue().encode("utf-8-sig", errors="replace")
