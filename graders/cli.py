"""The command `tpiece`: open, assign, collect, grade, report, demo, rules, protocol."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from functools import wraps
from itertools import islice
from pathlib import Path
from typing import Any

import click

from graders import audit, opening, work
from graders.coursefolder import CourseFolder
from graders.desk.angoff_cli import angoff
from graders.desk.due_cli import due
from graders.desk.lab_cli import NOT_FOR_ALL, lab, tell_left_out
from graders.desk.pages_cli import pages
from graders.grade import own_version
from graders.gradebook import GradebookError
from graders.handover.cli import export
from graders.held_cli import held
from graders.hub.cli import hub
from graders.inbox import names, take_in
from graders.rules_cli import protocol, rules
from graders.run import jobs
from graders.site.cli import site
from graders.terminal import Commands, echo
from graders.unmarked import nothing_yet
from workbook.answers import learner_id
from workbook.course import FEEDBACK, CourseError
from workbook.language import ENGLISH, languages, use
from workbook.launch import LaunchError
from workbook.rules import DEFAULT_EDITION, RuleError, RuleFileError
from workbook.rules.signedfile import all_fallen

LAST_PORT = 65535
MANY_PEOPLE = 1_000_000  # bytes of a roster that takes a while
SAID_ONE_BY_ONE = 50  # files of an inbox; of more only those that cannot be used
WORKERS_EACH, LEAST_WORKERS = 4, 16  # for each processor; at least so many may be asked for
ALONE = {"feedback": False, "workers": 1, "scheduler": ""}  # as grade is where nothing is chosen
HOME = Path("~/tpiece-workbook").expanduser()
SAFETY = (
    "For education only; not a medical device. Local protocol, the device's own instructions "
    "and licensed practice come first."
)
MISTAKES = (CourseError, GradebookError, LaunchError, RuleError, RuleFileError, ValueError, OSError)


def kindly(command: Callable[..., None]) -> Callable[..., None]:
    """Turn a user's mistake into one sentence and a non-zero exit."""

    @wraps(command)
    def run(*args: Any, **kwargs: Any) -> None:
        try:
            command(*args, **kwargs)
        except MISTAKES as error:
            raise click.ClickException(str(error)) from error

    return run


course_option = click.option(
    "--course",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=HOME / "course",
    show_default="~/tpiece-workbook/course",
    help="The course folder.",
)

language_option = click.option(
    "--language",
    type=click.Choice(sorted(languages())),
    help="What learners read; Spanish is a machine's draft that nobody has reviewed.",
)


@click.group(cls=Commands, epilog=SAFETY)
@click.version_option(own_version(), package_name="tpiece-workbook")
def main() -> None:
    """The T-piece workbook: practise, hand in, grade, and see who is ready for the lab."""
    use(ENGLISH)  # a coordinator's; what learners read is in their course's language


@main.command("open", epilog="Example: tpiece open /share/may --learner ada")
@click.argument("place", required=False)
@click.option(
    "--folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=HOME,
    show_default="~/tpiece-workbook",
    help="Where the course and the learner's own pages are kept.",
)
@click.option("--learner", help="Who is at work; by default the name of this computer's account.")
@click.option("--no-browser", is_flag=True, help="Print the address instead of opening a browser.")
@click.option("--port", type=int, help="Port to use on this computer; a free one by default.")
@click.option(
    "--edition", help=f"Edition the demo course asks about; {DEFAULT_EDITION} by default."
)
@click.option(
    "--workshop",
    is_flag=True,
    help="The full JupyterLab, for educators and developers, in place of the learner's pages.",
)
@language_option
@kindly
def open_(
    place: str | None,
    folder: Path,
    learner: str | None,
    no_browser: bool,
    port: int | None,
    edition: str | None,
    workshop: bool,
    language: str | None,
) -> None:
    """Open the workbook in a browser, with a demo course ready if there is none.

    PLACE is where your course is: a folder on a share, a .course file that you were sent, or the
    address of a hub.
    """
    name = None if learner is None else learner_id(learner)
    if port is not None and not 0 < port <= LAST_PORT:
        raise CourseError(
            f"There is no port {port}. Name one from 1024 to {LAST_PORT}, or leave out --port: "
            "then a free one is found."
        )
    browser = not no_browser
    if place:
        if edition or language:
            raise CourseError(
                "Edition and language are settled by the course at that place; leave them out."
            )
        sys.exit(
            opening.open_given(
                folder, place, name, browser=browser, port=port, say=echo, workshop=workshop
            )
        )
    sys.exit(
        opening.open_workbook(
            folder,
            name,
            browser=browser,
            port=port,
            say=echo,
            language=language,
            edition=edition,
            workshop=workshop,
        )
    )


@main.command(epilog="Example: tpiece assign --course ~/may --edition erc-2021 --roster people.csv")
@course_option
@click.option("--id", "course_id", help="Short name of a new course, for example may-2026.")
@click.option("--title", help="Title of a new course.")
@click.option("--edition", help=f"Edition asked about; {DEFAULT_EDITION} for a new course.")
@click.option("--pass-mark", type=float, help="Share of the points that passes, for example 0.8.")
@click.option(
    "--roster",
    type=click.Path(path_type=Path),
    help="CSV with the columns learner, name, role, ward, site; only learner is needed.",
)
@click.option(
    "--protocol",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Your site's own rules, laid over the edition; see tpiece protocol.",
)
@click.option("--keep", type=click.Choice(["latest", "best"]), help="Which hand-in counts.")
@click.option("--attempts", help="How many a learner may have of each unit, or 'none': no limit.")
@click.option("--due", help="When work is due, with its zone, for example 2026-12-01T18:00+01:00.")
@click.option(
    "--feedback",
    type=click.Choice([each.replace(" ", "-") for each in FEEDBACK]),
    help="When a learner sees the result: as soon as it is handed in, where that can be, or when "
    "you have graded.",
)
@click.option("--gradebook", default="", help="Address of a PostgreSQL database for the scores.")
@click.option("--drop", multiple=True, metavar="UNIT", help="Take a unit away; may be repeated.")
@click.option("--even-so", is_flag=True, help="Do it although it costs what was said.")
@language_option
@click.argument("units", nargs=-1)
@kindly
def assign(folder: Path, **settings: Any) -> None:
    """Make or update a course and give its UNITS out to learners.

    A new course has all units, or those named; to a course that is there they are added.
    """
    roster = settings["roster"]
    settings["feedback"] = {each.replace(" ", "-"): each for each in FEEDBACK}.get(
        settings["feedback"], ""
    )
    if roster and roster.is_file() and roster.stat().st_size > MANY_PEOPLE:
        echo(f"Reading {roster} and making the course; 100,000 people take some ten seconds.")
    done = work.assign(folder, **settings)
    echo(f"Course folder: {done.path}")
    echo(f"Given out: {', '.join(done.course.units)}.")
    echo(f"{work.asks_about(done.course)} For another: tpiece assign --edition EDITION")
    echo(f"Learners open it with: tpiece open {done.exchange}")
    echo(f"The same as one file, to send: {done.course_file}")
    for says in all_fallen(done.course.book.signed):
        echo(f"Look at: {says}")
    echo(f"Next, once they have handed in: tpiece collect --course {folder}")


@main.command(epilog="Example: tpiece collect --course ~/may")
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


@main.command(epilog="Example: tpiece grade --course ~/may")
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
    from graders.watching import Watch, ended_by_signals

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
    from graders.stock import differences

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


@main.command(epilog="Example: tpiece report --course ~/may")
@course_option
@kindly
def report(folder: Path) -> None:
    """Write the coordinator's page and table: who is ready, what the group gets wrong."""
    made = work.report_of(folder)
    for path in made.files:
        echo(f"Written: {path}")
    echo(f"{made.group.turnout.handed_in}. Next: tpiece lab brief --course {folder}")
    tell_left_out(made.group)


@main.command(epilog="Example: tpiece demo --course /tmp/demo --learners 500")
@click.option(
    "--course",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    default=HOME / "demo-cohort",
    show_default="~/tpiece-workbook/demo-cohort",
    help="A new folder for the demo; an earlier demo there is replaced.",
)
@click.option(
    "--learners",
    type=click.IntRange(1, 100_000),
    default=24,
    show_default=True,
    help="How many to invent; 500 take about a minute, 10000 a quarter of an hour.",
)
@kindly
def demo(folder: Path, learners: int) -> None:
    """Grade and report an invented cohort, each with a known misconception or none."""
    from graders.demo import run_demo

    for path in run_demo(folder, learners=learners, say=echo):
        echo(f"Written: {path}")
    echo(f"Next: open {folder / 'report.html'} in a browser.")


main.add_command(rules)
main.add_command(protocol)
main.add_command(angoff)
main.add_command(lab)
main.add_command(site)
main.add_command(hub)
main.add_command(export)
main.add_command(due)
main.add_command(pages)
main.add_command(held)

if __name__ == "__main__":
    main()
