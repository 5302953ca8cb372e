"""The command `tpiece due`: who is to show the skill again, when, and with what."""

from __future__ import annotations

import csv
import io
import shlex
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from pathlib import Path
from typing import Any

import click

from graders.cohort.unmarked import nothing_yet
from graders.commands.options import DESK_SAFETY, as_sentence, course_option
from graders.core.replaced import replace_files
from graders.core.spreadsheet import ENCODING, harmless
from graders.core.terminal import echo, tell
from graders.course.coursefolder import CourseFolder
from graders.lab.record import LabResult, lab_results
from graders.learner.history import FOLDER, attempts
from graders.learner.refresher import Refresher, refresher
from graders.learner.retest import Due, Retest, retest
from graders.marking.graded import Graded
from workbook.core.errors import PlainError
from workbook.core.whose import learner_id
from workbook.course.settings import Course, CourseError

COLUMNS = ("learner", "name", "role", "ward", "state", "last_shown", "due", "latest", "says")
SHOWN = 20  # learners listed on the screen; a table holds them all


class _Day(click.ParamType):  # type: ignore[type-arg]  # older releases take none
    name = "YYYY-MM-DD"

    def convert(self, value: Any, param: Any, ctx: Any) -> date:
        """Return a day, or say how one is written."""
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r} is no day. Write it as 2026-05-04.", param, ctx)


@click.command(epilog=f"Example: tpiece due --course ~/may --csv due.csv. {DESK_SAFETY}")
@course_option
@click.option("--on", type=_Day(), help="As of this day; today unless given.")
@click.option(
    "--csv", "table", type=click.Path(path_type=Path, dir_okay=False), help="Write everyone here."
)
@click.option("--refresher", "who", help="Say what this learner should do again, and why.")
def due(folder: Path, on: date | None, table: Path | None, who: str | None) -> None:
    """List who is to show the skill again, from published studies of how fast it fades."""
    today = datetime.now().astimezone().date()
    with as_sentence(PlainError, OSError, ValueError):
        if who is not None:
            _tell_refresher(CourseFolder(folder), who, on or today)
        else:
            _tell_due(CourseFolder(folder), on or today, today, table)


def plans(folder: CourseFolder, on: date) -> Iterator[Retest]:
    """Yield when each learner who handed in is to show the skill again, in order of id."""
    course, seen = folder.course, lab_results(folder.path)
    home = folder.path / FOLDER
    for learner in sorted(each.name for each in home.iterdir()) if home.is_dir() else ():
        tries = {unit: attempts(folder.path, learner, unit, tell) for unit in course.units}
        yield plan_of(learner, course, tries, seen.get(learner), on)


def plan_of(
    learner: str,
    course: Course,
    tries: Mapping[str, Iterable[Graded]],
    lab: LabResult | None,
    on: date,
) -> Retest:
    """Return when a learner is to show the skill again; a lab without critical misses counts."""
    days = [date.fromisoformat(lab.date)] if lab is not None and not lab.critical else []
    return retest(learner, tries, course.book, needed=course.needed, on=on, observed=days)


def _tell_due(folder: CourseFolder, on: date, today: date, table: Path | None) -> None:
    found = sorted(plans(folder, on), key=lambda one: (list(Due).index(one.state), one.learner))
    if not found:
        raise nothing_yet(folder)
    when = "" if on == today else f" As of {on}, which is {'past' if on < today else 'to come'}."
    counts = {state: sum(one.state is state for one in found) for state in Due}
    echo(f"{', '.join(f'{state.value}: {n}' for state, n in counts.items())}.{when}")
    pressing = [one for one in found if one.state in (Due.OVERDUE, Due.DUE)]
    for one in pressing[:SHOWN]:
        echo(f"{one.learner}: {one.says}")
    if len(pressing) > SHOWN:
        echo(f"... and {len(pressing) - SHOWN} more; --csv FILE lists everyone.")
    if table is not None:
        replace_files({table: _table(folder, found).encode(ENCODING, errors="replace")})
        echo(f"Written: {table}")
    if pressing:
        echo(f"Next: tpiece due --refresher {pressing[0].learner} --course {folder.path}")


def _table(folder: CourseFolder, found: list[Retest]) -> str:
    people, file = folder.roster(), io.StringIO(newline="")
    writer = csv.writer(file)
    writer.writerow(COLUMNS)
    for one in found:
        person = people.get(one.learner)
        who = (person.name, person.role, person.ward) if person is not None else ("", "", "")
        last = one.shown[-1] if one.shown else ""
        cells = (one.learner, *who, one.state.value, last, one.due or "", one.latest or "")
        writer.writerow([harmless(str(cell)) for cell in (*cells, one.says)])
    return file.getvalue()


def _tell_refresher(folder: CourseFolder, learner: str, on: date) -> None:
    course, learner = folder.course, learner_id(learner)
    tries = [attempts(folder.path, learner, unit, tell) for unit in course.units]
    latest = [each[-1] for each in tries if each]
    if not latest:
        raise CourseError(f"{learner}: nothing is graded. Check the id, or run: tpiece grade")
    made = refresher(learner, latest, course.book, course=course.id, on=on)
    echo("\n".join(in_words(made, course, folder.path)))


def in_words(made: Refresher, course: Course, path: Path) -> Iterator[str]:
    """Yield a refresher's lines: what to do again, why, and how to get fresh cases for it."""
    yield f"Refresher for {made.learner}, {len(made.items)} questions:"
    for number, item in enumerate(made.items, start=1):
        yield f"{number}. {item.unit}, {item.question}: {item.why}"
        if item.read:
            yield f"   Read first: {item.read}"
    yield "Give out fresh cases of the same questions, in a course beside this one:"
    site = ["--protocol", str(path / course.protocol)] if course.protocol else []
    beside = str(path.with_name(made.course))
    command = ["tpiece", "assign", "--course", beside, "--id", made.course]
    yield f"  {shlex.join([*command, '--edition', course.edition, *site, *made.units])}"
