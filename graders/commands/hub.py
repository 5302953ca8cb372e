"""The command `tpiece hub`: a course for many accounts of one machine."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from graders.commands.options import as_sentence
from graders.core.terminal import echo
from workbook.core.errors import PlainError


@click.command(epilog="Example: tpiece hub ~/may --out /srv/may --python /opt/workbook/bin/python")
@click.argument("course", type=click.Path(path_type=Path, file_okay=False))
@click.option(
    "--out",
    required=True,
    type=click.Path(path_type=Path, file_okay=False),
    help="The hub's folder, which every account can reach.",
)
@click.option(
    "--bind",
    default="http://127.0.0.1:8000",
    show_default=True,
    help="Where people come in.",
)
@click.option(
    "--proxy",
    default="",
    help="How configurable-http-proxy is started, unless it is on the path.",
)
@click.option(
    "--python",
    default=sys.executable,
    show_default="the Python that runs this",
    help="The Python of learners' servers, which every account can run.",
)
def hub(course: Path, out: Path, bind: str, proxy: str, python: str) -> None:
    """Write the settings of a JupyterHub that runs COURSE for many people.

    Learners hand in through a folder that none of them can list; the course, its gradebook and
    all that grading writes are closed to them. Needs Linux, and root to start it.
    """
    if os.name != "posix":
        raise click.ClickException("A hub needs Linux. On Windows, give out a site: tpiece site")
    from graders.hub.layout import lay_hub

    with as_sentence(PlainError, OSError):
        made = lay_hub(course, out, bind=bind, proxy=proxy, python=python)
    echo(f"Hub of {made.learners} learners: {made.config}")
    echo(f"How people sign in is yours to say: {made.site_config}")
    for advice in made.advice:
        echo(advice)
    echo(f"To start it, as root: {sys.executable} -m jupyterhub -f {made.config}")
