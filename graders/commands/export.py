"""The command `tpiece export`: hand a course's results on by open standards."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from graders.commands.options import as_sentence, course_option
from graders.core.terminal import echo
from graders.nbgrader.gradebook import GradebookError
from workbook.rules import RuleError, RuleFileError

if TYPE_CHECKING:
    from graders.handover.result import Result
    from graders.handover.source import Source

OUT = "handover"
SAFETY = (
    "For education only; not a medical device. Ready for the lab is not competence: local "
    "protocol, the device's own instructions and licensed practice come first."
)


@click.command(epilog=f"Example: tpiece export --course ~/may --to csv. {SAFETY}")
@course_option
@click.option(
    "--to",
    "standard",
    type=click.Choice(["csv", "oneroster", "xapi"]),
    required=True,
    help="csv: tables for a spreadsheet; oneroster: a OneRoster 1.2 package for a learning "
    "platform; xapi: statements for a learning record store.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Folder to write into; the folder 'handover' in the course folder by default.",
)
@click.option(
    "--names",
    is_flag=True,
    help="Write who each learner is, from your own roster: names, and where there is a column for "
    "them learner ids, roles and wards. Whoever gets the files can then tell who did what. "
    "Without it learners have pseudonyms that only you can read.",
)
@click.option("--home-page", default="", help="xapi: web address learners and units are under.")
@click.option("--array", is_flag=True, help="xapi: one JSON array in place of one JSON a line.")
def export(
    folder: Path, standard: str, out: Path | None, names: bool, home_page: str, array: bool
) -> None:
    """Hand the results on: as documented CSV, OneRoster 1.2 CSV or xAPI statements."""
    from graders.handover.pseudonym import write_table
    from graders.handover.source import source

    if standard != "xapi" and (home_page or array):
        raise click.ClickException("--home-page and --array belong to --to xapi; leave them out.")
    with as_sentence(GradebookError, RuleError, RuleFileError, ValueError, OSError):
        found = source(folder, names=names)
        written = _write(found, standard, out or folder / OUT, home_page, array)
        table = write_table(folder, found.pseudonyms, found.people)
    for path in written:
        echo(f"Written: {path}")
    for note in found.notes():
        echo(note, err=True)
    echo(_who(found, table))
    if found.broken:
        sys.exit(1)


def _write(source: Source, standard: str, out: Path, home: str, array: bool) -> list[Path]:
    from graders.handover.csv_out import write_csv
    from graders.handover.oneroster import write_oneroster
    from graders.handover.xapi import write_xapi

    results = _shown(source.results())
    if standard == "csv":
        return write_csv(results, out, names=source.names)
    if standard == "oneroster":
        today = datetime.now().astimezone().date().isoformat()
        return write_oneroster(results, source.course, out, today=today)
    return write_xapi(results, source.course, out, home=home, array=array)


def _shown(results: Iterable[Result]) -> Iterable[Result]:
    from tqdm import tqdm

    shown: Iterable[Result] = tqdm(results, desc="Exporting", unit=" results")
    return shown


def _who(source: Source, table: Path) -> str:
    many = len(source.pseudonyms)
    if source.names:
        return (
            f"These files NAME {many} learners: whoever gets them can tell who did what. Send "
            "them only to people who may know."
        )
    return (
        f"{many} learners, by pseudonym. Who is who: {table}. Keep that file, the roster and "
        "pseudonym.key where they are; send none of them."
    )
