"""The commands `tpiece collect` and `grade`: what was handed in is taken in and marked."""

from __future__ import annotations

import os
import sys
from itertools import islice
from pathlib import Path
from typing import Any

import click

from graders.cohort.unmarked import nothing_yet
from graders.commands.options import NOT_FOR_ALL, course_option, kindly
from graders.core.terminal import echo
from graders.course.coursefolder import CourseFolder
from graders.grading import audit
from graders.grading.run import jobs
from graders.handed_in.inbox import names, take_in
from graders.tasks import work
from workbook.course.settings import CourseError

SAID_ONE_BY_ONE = 50  # files of an inbox; of more only those that cannot be used
WORKERS_EACH, LEAST_WORKERS = 4, 16  # for each processor; at least so many may be asked for
ALONE = {"feedback": False, "workers": 1, "scheduler": ""}  # as grade is where nothing is chosen


@click.command(epilog="Example: tpiece collect --course ~/may")
@course_option
@click.option(
    "--from",
    "sent",
    multiple=True,
    type=click.Path(path_type=Path, dir_okay=False),
    help="An answers file that a learner sent another way; may be repeated.",
)
@kindly
def collect(folder: Path, sent: tuple[Path, ...]) -> None:
    """Collect what learners have handed in."""
    useless, course = 0, CourseFolder(folder)
    for taken in work.collect(folder, sent):
        useless += not taken.usable
        if not taken.usable or not taken.new or taken.beware or sent:
            echo(taken.says, err=not taken.usable)
    if next(jobs(course), None) is not None:
        echo(f"Next: tpiece grade --course {folder}")
    if useless:
        sys.exit(1)


@click.command(epilog="Example: tpiece grade --course ~/may")
@course_option
@click.option(
    "--inbox",
    type=click.Path(path_type=Path, file_okay=False),
    help="A folder of answers files, from a site or by mail, to take in first.",
)
@click.option("--feedback/--no-feedback", default=False, help="Also write nbgrader's feedback.")
@click.option("--workers", type=int, default=1, help="Processes to mark with.")
@click.option("--scheduler", default="", help="Address of a Dask scheduler to mark on.")
@click.option("--explain", nargs=2, metavar="LEARNER UNIT", help="Show how each point came about.")
@click.option(
    "--watch",
    is_flag=True,
    help="Keep running, and mark what is handed in as it arrives; for a course marked at hand-in.",
)
@click.option("--verify", is_flag=True, help="Grade again without writing; report differences.")
@click.option(
    "--stock",
    type=click.IntRange(1),
    metavar="COUNT",
    help="Let stock nbgrader run COUNT submissions in a sandbox, and report differences.",
)
@kindly
def grade(
    folder: Path,
    explain: tuple[str, str] | None,
    verify: bool,
    watch: bool,
    stock: int | None,
    inbox: Path | None,
    **how: Any,
) -> None:
    """Grade everything collected; answers are read as data and no learner's code is run."""
    if watch:
        if explain or verify or stock or inbox or how != ALONE:
            raise CourseError("--watch goes with --course alone; leave the other options out.")
        _watch(folder)
        return
    if stock:
        _stock(folder, stock)
        return
    if explain:
        echo(audit.explain(folder, *explain))
        return
    if verify:
        _verify(folder)
        return
    most = max(LEAST_WORKERS, WORKERS_EACH * (os.cpu_count() or 1))
    if not 0 < how["workers"] <= most:
        raise CourseError(
            f"{how['workers']} workers are no help on this machine of {os.cpu_count()} processors. "
            f"Name 1 to {most}: --workers {os.cpu_count()}"
        )
    left_out = _take_in(folder, inbox) if inbox else 0
    done = work.grade(folder, progress=True, **how)
    for problem in done.problems:
        echo(f"  {problem}", err=True)
    echo(f"Graded {done.graded} of {done.found} submissions into {done.gradebook}.")
    if not done.found and not left_out:
        raise nothing_yet(CourseFolder(folder))
    echo(done.says)
    echo(f"Next: tpiece report --course {folder}")
    if done.failed or done.unmarked or left_out:
        sys.exit(NOT_FOR_ALL)


def _watch(folder: Path) -> None:
    from graders.tasks.watching import Watch, ended_by_signals

    watch = Watch(folder, lambda says, wrong: echo(says, err=wrong))
    echo(f"Marking what is handed in to {folder} as it arrives. Ctrl-C ends it.")
    with ended_by_signals() as stop:
        watch.run(stop)
    echo("Ended. What was handed in stays; tpiece collect and tpiece grade take it up.")
    if watch.unmarked:
        sys.exit(NOT_FOR_ALL)


def _take_in(folder: Path, inbox: Path) -> int:
    """Take in a folder of answers files, say what became of each, and count the useless ones."""
    from tqdm import tqdm

    taken, course = [], CourseFolder(folder)
    every = names(inbox)
    with tqdm(total=len(every), desc="Taking in", unit="files", disable=None) as bar:
        for one in take_in(course, inbox):
            taken.append(one)
            if not one.usable or len(every) <= SAID_ONE_BY_ONE:
                echo(f"  {one.says}", err=not one.usable)
            bar.update()
    left_out = sum(not one.usable for one in taken)
    new = sum(one.new for one in taken)
    echo(f"Taken in from {inbox}: {new} of {len(taken)} files; {left_out} cannot be used.")
    return left_out


def _stock(folder: Path, count: int) -> None:
    from graders.nbgrader.stock import differences

    work = list(islice(jobs(CourseFolder(folder)), count))
    found = list(differences(folder, work))
    for says in found:
        echo(f"  {says}")
    echo(f"Stock autograding ran {len(work)} submissions; {len(found)} scores differ.")
    echo("Nothing was changed: what tpiece grade gave stands in the gradebook.")


def _verify(folder: Path) -> None:
    found = 0
    for found, says in enumerate(audit.differences(folder), start=1):  # noqa: B007
        echo(f"  {says}")
    if found:
        raise click.ClickException(
            f"{found} verdicts differ from what would be given now. Next: tpiece grade"
        )
    echo("Every verdict is what the same answers earn again.")
