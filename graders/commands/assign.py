"""The command `tpiece assign`: make a course, change it, give it out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from graders.commands.options import course_option, kindly, language_option
from graders.core.terminal import echo
from graders.tasks import work
from workbook.course.settings import FEEDBACK
from workbook.rules import DEFAULT_EDITION
from workbook.rules.site.signedfile import all_fallen

MANY_PEOPLE = 1_000_000  # bytes of a roster that takes a while


@click.command(
    epilog="Example: tpiece assign --course ~/may --edition erc-2021 --roster people.csv"
)
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
