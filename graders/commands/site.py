"""The command `tpiece site`: a course as pages that run wholly in a browser."""

from __future__ import annotations

from pathlib import Path

import click

from graders.commands.options import as_sentence
from graders.core.terminal import echo
from graders.site.build import build_site
from workbook.core.errors import PlainError

CACHE = Path("~/.cache/tpiece-workbook/site").expanduser()


@click.command(epilog="Example: tpiece site ~/may --out ~/may-site")
@click.argument("course", type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="The site's folder; an earlier site there is replaced.",
)
@click.option(
    "--cache",
    default=CACHE,
    show_default="~/.cache/tpiece-workbook/site",
    type=click.Path(path_type=Path, file_okay=False),
    help="Where what was fetched is kept for the next time.",
)
@click.option(
    "--send-to",
    default="",
    help="A sentence that tells learners what to do with the file they download.",
)
def site(course: Path, out: Path, cache: Path, send_to: str) -> None:
    """Make a static site of COURSE: lessons and exercises for a computer with nothing installed.

    Any web server can hand it out (https, or this computer alone); nothing a learner does there
    reaches a server. What learners download is graded with: tpiece grade --inbox FOLDER
    """
    with as_sentence(PlainError, OSError):
        made = build_site(course, out.absolute(), cache.absolute(), send_to=send_to)
    echo(f"Site: {made.folder} ({made.size / 2**20:.0f} MB), {', '.join(made.units)}.")
    echo(f"To look at it: python -m http.server --bind 127.0.0.1 --directory {made.folder}")
