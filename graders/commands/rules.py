"""The commands `tpiece rules` and `tpiece protocol`: read the rules, lay a site's own over them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import click

from graders.commands.options import SAFETY, Kindly
from graders.commands.rules_sheet import sheet_command, signed_command
from graders.core.terminal import echo
from workbook.rules import (
    DEFAULT_EDITION,
    Basis,
    Rule,
    RuleBook,
    editions,
    rulebook,
    superseded,
)
from workbook.rules.files import RULE_FILES, file, published
from workbook.rules.reader.rulefile import RuleFileError
from workbook.rules.signed import following

edition_option = click.option(
    "--edition", help="Only this edition, or sizes, gas or limits; all editions by default."
)
protocol_option = click.option(
    "--protocol",
    "site",
    type=click.Path(path_type=Path, dir_okay=False),
    help="A local protocol to lay over its edition.",
)


@click.group(cls=Kindly, epilog=SAFETY)
def rules() -> None:
    """List, search, show and compare the sourced rules, and print what is unverified."""


@rules.command("list", epilog="Example: tpiece rules list --edition aha-2025")
@edition_option
def list_(edition: str | None) -> None:
    """List the editions, or every rule of one edition with its number and basis."""
    if edition is not None:
        _print(_all(edition))
        return
    for each in editions().values():
        said = (f"{each.title}.", each.says, superseded(each))
        default = "" if each.id != DEFAULT_EDITION else "New courses ask about it."
        echo(f"{each.id:14} {' '.join(part for part in (*said, default) if part)}")
    for name in RULE_FILES:
        echo(f"{name:14} {file(name).edition.title}. {file(name).edition.says}")


@rules.command(epilog='Example: tpiece rules search "laryngeal mask"')
@click.argument("words", nargs=-1, required=True)
@edition_option
def search(words: tuple[str, ...], edition: str | None) -> None:
    """Find rules whose id, sentence or source holds all WORDS."""
    wanted = [word.casefold() for word in " ".join(words).split()]
    found = [rule for rule in _all(edition) if all(word in _said(rule) for word in wanted)]
    if not found:
        raise click.ClickException(f"No rule holds {' '.join(wanted)!r}; try fewer words.")
    _print(found)


@rules.command(epilog="Example: tpiece rules show oxygen.start --edition aha-2025 --gestation 30+2")
@click.argument("id")
@click.option("--edition", help=f"Edition to ask; {DEFAULT_EDITION} by default.")
@click.option("--gestation", help="Weeks and days, for example 30+2.")
@click.option("--weight", help="With its unit, for example '1.2 kg'.")
@protocol_option
def show(
    id: str, edition: str | None, gestation: str | None, weight: str | None, site: Path | None
) -> None:
    """Print a rule with its source and basis, for one baby if gestation or weight is given."""
    from workbook.rules.checkinput import grams, weeks

    book = _book(edition or DEFAULT_EDITION) if site is None else _site_book(site, edition)
    if gestation is None and weight is None:
        shown = book.all(id)
    else:
        age = None if gestation is None else weeks(gestation)
        mass = None if weight is None else grams(weight)
        shown = (book.find(id, gestation=age, weight=mass),)
    for rule in shown:
        echo(f"{rule.id} ({rule.edition}), {rule.population.says}: {rule.shown}\n  {rule}")


@rules.command(epilog="Example: tpiece rules compare rate --picture rate.png")
@click.argument("id")
@click.option("--edition", "among", multiple=True, help="Compare these editions; may be repeated.")
@click.option(
    "--picture",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Also write a picture, .png or .svg.",
)
@protocol_option
def compare(id: str, among: tuple[str, ...], picture: Path | None, site: Path | None) -> None:
    """Print what each edition says of one rule, and where the same baby gets different answers."""
    from workbook.rules.compare import compare as compare_rule

    book = None if site is None else _site_book(site, None)
    with following(() if book is None else book.signed):
        comparison = compare_rule(id, among, book)
    echo(comparison.text)
    if picture is not None:
        _draw(comparison, picture)


@rules.command(epilog="Example: tpiece rules unverified --edition aha-2025")
@edition_option
def unverified(edition: str | None) -> None:
    """Print what is from memory, and what is blank, to be checked against the printed edition."""
    every = list(_all(edition))
    memory = [r for r in every if r.stated and r.citation.basis is Basis.MEMORY]
    blank = [r for r in every if not r.stated]
    echo(f"From memory, {len(memory)} of {len(every)} rules:")
    _print(memory)
    echo(f"\nBlank, {len(blank)} of {len(every)} rules:")
    _print(blank)


rules.add_command(sheet_command)
rules.add_command(signed_command)


@click.group(cls=Kindly, epilog=SAFETY)
def protocol() -> None:
    """Write and check a local protocol: your site's own numbers over one edition."""


@protocol.command(epilog="Example: tpiece protocol new protocol.toml --edition erc-2021")
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False), default="protocol.toml")
@click.option(
    "--edition", default=DEFAULT_EDITION, show_default=True, help="Edition it is laid over."
)
@click.option("--example", is_flag=True, help="Write the example of an invented hospital instead.")
def new(path: Path, edition: str, example: bool) -> None:
    """Write a commented protocol file to fill in; a file that exists is left alone."""
    from workbook.rules.site.protocol import EXAMPLE, template

    text = EXAMPLE.read_text(encoding="utf-8") if example else template(edition)
    try:
        with path.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except FileExistsError:
        raise click.ClickException(f"{path} exists already; choose another name.") from None
    echo(f"Written: {path}\nFill it in, then run: tpiece protocol check {path}")


@protocol.command(epilog="Example: tpiece protocol check protocol.toml")
@click.argument("path", type=click.Path(path_type=Path, dir_okay=False))
def check(path: Path) -> None:
    """Report everything wrong or doubtful in a protocol file, each with its line."""
    from workbook.rules.site.protocolfile import check_protocol

    checked = check_protocol(path, date.today())
    for warning in checked.warnings:
        echo(f"Warning: {warning}")
    if checked.protocol is None:
        raise RuleFileError(path, list(checked.problems))
    made = checked.protocol
    echo(f"{made.title}, over {made.edition}, approved by {made.approved_by}.")
    for rule in made.rules:
        echo(f"  {rule.id} ({rule.population.says}): {rule.shown}")
    _check_teachable(path, made)
    warned = f"; {len(checked.warnings)} to look at" if checked.warnings else ""
    echo(f"Rules replaced: {len(made.rules)}. It can be used{warned}.")
    echo(f"Next: tpiece assign --protocol {path}")


def _check_teachable(path: Path, made: Any) -> None:
    """Draw every unit with a protocol; what cannot be taught is told by rule and question."""
    from tqdm import tqdm

    from graders.marking.teachable import LEARNERS, doubts, impossible
    from workbook.cases import exercises
    from workbook.rules.files import shipped
    from workbook.rules.site.protocol import overlay

    for doubt in doubts(overlay(shipped(made.edition), made)):
        echo(f"Warning: {doubt}")
    total = LEARNERS * len(exercises())
    with tqdm(total=total, desc="Drawing", unit="cases", disable=None) as bar:
        found = impossible(made, step=lambda: bar.update())
    if found:
        raise RuleFileError(path, [f"It cannot be taught. {one.says}" for one in found])
    echo(f"Every unit was drawn with it for {LEARNERS} invented learners.")


def _book(edition: str) -> RuleBook:
    return file(edition) if edition in RULE_FILES else rulebook(edition)


def _site_book(path: Path, edition: str | None) -> RuleBook:
    from workbook.rules.site.protocol import overlay
    from workbook.rules.site.protocolfile import read_protocol

    site = read_protocol(path)
    return overlay(rulebook(edition or site.edition), site)


def _all(edition: str | None) -> Iterator[Rule]:
    """Yield an edition's rules, or each rule of every edition and file once."""
    if edition is not None:
        yield from file(edition) if edition in RULE_FILES else published(edition)
        return
    seen: set[int] = set()
    for book in [*map(published, editions()), *map(file, RULE_FILES)]:
        for rule in book:
            if id(rule) not in seen:
                seen.add(id(rule))
                yield rule


def _said(rule: Rule) -> str:
    return f"{rule.id} {rule.says} {rule.citation.source}".casefold()


def _print(found: Iterable[Rule]) -> None:
    for rule in found:
        basis = "blank" if not rule.stated else str(rule.citation.basis)
        text = "" if rule.unit is None and rule.stated else f" [{rule.text}]"
        who = f", {rule.population.says}" if rule.population.needs else ""
        echo(f"{rule.edition}  {rule.id}{who}: {rule.says}{text} ({basis})")


def _draw(comparison: Any, path: Path) -> None:
    from workbook.display.plots import comparison_picture

    if path.suffix not in (".png", ".svg"):
        raise click.ClickException(f"{path.name} must end in .png or .svg.")
    picture = comparison_picture(comparison)
    path.write_bytes(picture.png() if path.suffix == ".png" else picture.svg())
    echo(f"Picture: {path}")
