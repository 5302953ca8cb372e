"""The command `tpiece open`: the workbook in a browser."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from graders.commands.options import HOME, kindly, language_option
from graders.core.terminal import echo
from graders.tasks import opening
from workbook.core.whose import learner_id
from workbook.course.settings import CourseError
from workbook.rules import DEFAULT_EDITION

LAST_PORT = 65535


@click.command("open", epilog="Example: tpiece open /share/may --learner ada")
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
