"""The command `tpiece`: open, assign, collect, grade, report, demo, rules, protocol."""

from __future__ import annotations

from pathlib import Path

import click

from graders.commands.angoff import angoff
from graders.commands.assign import assign
from graders.commands.due import due
from graders.commands.export import export
from graders.commands.grade import collect, grade
from graders.commands.held import held
from graders.commands.hub import hub
from graders.commands.lab import lab, tell_left_out
from graders.commands.open import open_
from graders.commands.options import HOME, SAFETY, course_option, kindly
from graders.commands.pages import pages
from graders.commands.rules import protocol, rules
from graders.commands.site import site
from graders.core.terminal import Commands, echo
from graders.grading.grade import own_version
from graders.tasks import work
from workbook.core.language import ENGLISH, use


@click.group(cls=Commands, epilog=SAFETY)
@click.version_option(own_version(), package_name="tpiece-workbook")
def main() -> None:
    """The T-piece workbook: practise, hand in, grade, and see who is ready for the lab."""
    use(ENGLISH)  # a coordinator's; what learners read is in their course's language


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
    from graders.tasks.demo import run_demo

    for path in run_demo(folder, learners=learners, say=echo):
        echo(f"Written: {path}")
    echo(f"Next: open {folder / 'report.html'} in a browser.")


for command in (
    *(open_, assign, collect, grade, rules, protocol, angoff, lab),
    *(site, hub, export, due, pages, held),
):
    main.add_command(command)

if __name__ == "__main__":
    main()
