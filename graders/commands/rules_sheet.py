"""The commands `tpiece rules sheet` and `signed`: what nobody read in print, and who has."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import click

from graders.core.terminal import echo
from graders.grading.grade import own_version
from graders.reading.sheet import sheet, table
from graders.reading.signed import SignError, filled_in, read_signed
from graders.reading.signing import sign
from workbook.cases import exercises
from workbook.course.settings import FILE, Course, read_course
from workbook.rules import DEFAULT_EDITION, rulebook
from workbook.rules.rule import Rule
from workbook.rules.signed import under
from workbook.rules.site.protocol import overlay
from workbook.rules.site.protocolfile import read_protocol
from workbook.rules.site.signedfile import all_fallen, rule_of

HOME_COURSE = Path("~/tpiece-workbook/course")

course_option = click.option(
    "--course",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="The course folder; ~/tpiece-workbook/course by default.",
)


@click.command("sheet", epilog="Example: tpiece rules sheet --course ~/may --out ~/may-sheet")
@course_option
@click.option("--edition", help="Every unit on this edition, without a course folder.")
@click.option(
    "--protocol",
    "site",
    type=click.Path(path_type=Path, dir_okay=False),
    help="With --edition: your site's own rules, which need no reading.",
)
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="The folder to write the sheet into.",
)
def sheet_command(folder: Path | None, edition: str | None, site: Path | None, out: Path) -> None:
    """Print what a course uses that nobody has read in the source: on paper and as a table."""
    from graders.core.replaced import replace_files
    from graders.reading.asked import asked
    from graders.report.paper import PAPERS
    from graders.report.readsheet_page import READ_PAGE, READ_PDF, READ_TABLE, sheet_text
    from graders.report.readsheet_pdf import sheet_pdf

    course = _course(folder, edition, site)
    _spare(out / READ_TABLE)
    echo("Running the course through, to see which rules it asks for: about a minute.")
    found = asked(course)
    made, now, version = sheet(course, found), datetime.now().astimezone(), own_version()
    page = sheet_text(made, found.learners, made_at=now, version=version)
    files = {
        out / READ_PAGE: page.encode("utf-8", errors="replace"),
        out / READ_TABLE: table(made).encode("utf-8-sig", errors="replace"),
    }
    for paper in PAPERS:
        files[out / READ_PDF.format(paper=paper)] = sheet_pdf(
            made, found.learners, made_at=now, version=version, paper=paper
        )
    out.mkdir(parents=True, exist_ok=True)
    replace_files(files)
    for path in files:
        echo(f"  {path}")
    for says in all_fallen(course.book.signed):
        echo(f"Look at: {says}")
    memory, copies = (sum(len(p.lines) for p in part) for part in (made.memory, made.copies))
    echo(
        f"{memory} from memory, {copies} read in a copy only; {made.done} read in print here. "
        f"Fill in {READ_TABLE}, then run: tpiece rules signed FILE"
    )


@click.command("signed", epilog="Example: tpiece rules signed rules-sheet.csv --course ~/may")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@course_option
def signed_command(file: Path, folder: Path | None) -> None:
    """Take a filled-in sheet FILE back: what was read in print, as part of the site's protocol."""
    folder = folder or HOME_COURSE.expanduser()
    course, today = read_course(folder), date.today()
    done = sign(folder, course, made := read_signed(file, course.edition, today), today)
    echo(
        f"Taken in from {file.name}: {done.new} new, {done.again} signed again; {made.empty} lines "
        f"were left empty.\nProtocol: {done.protocol}\nNames:    {done.names}, for your site only"
    )
    for signature in made.signatures:
        if (rule := rule_of(signature)) is not None:
            echo(f"  {_told(under([rule], [signature])[0])}")
    for says in all_fallen(read_course(folder).book.signed):
        echo(f"Look at: {says}")
    echo(f"Give it out to learners: tpiece assign --course {folder}")


def _told(rule: Rule) -> str:
    number = "" if rule.unit is None else f": {rule.shown}"
    return f"{rule.id} ({rule.edition}, {rule.population.says}){number}. {rule.citation.says}"


def _course(folder: Path | None, edition: str | None, site: Path | None) -> Course:
    """Return the course that is meant: a folder's, or every unit on one edition."""
    home = HOME_COURSE.expanduser()
    if edition is None and site is None:
        if folder is None and not (home / FILE).is_file():
            return _every_unit(DEFAULT_EDITION, None)
        return read_course(folder or home)
    if folder is not None:
        raise SignError("Give --course, or --edition with --protocol; a course has its own.")
    return _every_unit(edition, site)


def _every_unit(edition: str | None, site: Path | None) -> Course:
    made = None if site is None else read_protocol(site)
    asked = edition or (made.edition if made is not None else DEFAULT_EDITION)
    course = Course("sheet", f"Every unit: {rulebook(asked).edition.title}", asked, exercises())
    if site is None or made is None:
        return course
    course = replace(course, protocol=site.name, folder=site.resolve().parent)
    overlay(course.book, made)  # says when the protocol is for another edition
    return course


def _spare(path: Path) -> None:
    """Refuse to write an empty table over one that was filled in."""
    if path.is_file() and filled_in(path):
        raise SignError(
            f"{path} is filled in, and an empty table would replace it. Take it in with tpiece "
            "rules signed, then give it another name, and run this again."
        )
