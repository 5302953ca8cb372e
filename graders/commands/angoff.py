"""The command `tpiece angoff`: a pass mark from judges' estimates."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from graders.commands.options import DESK_SAFETY, as_sentence
from graders.core.terminal import echo
from graders.passmark.angoff import (
    AngoffError,
    Cut,
    Panel,
    as_table,
    cut,
    disputed,
    doubts,
    lowered,
    units,
)
from graders.passmark.sheet import course_points, read_sheets, template, units_named
from workbook.cases import exercises
from workbook.core.errors import PlainError
from workbook.course.settings import Course, read_course

_DISPUTED = 5  # lines of questions to talk over that still fit on a screen


class _Kindly(click.Command):
    def invoke(self, ctx: click.Context) -> Any:
        """Run the command."""
        with as_sentence(PlainError, OSError):
            return super().invoke(ctx)


@click.command(
    cls=_Kindly,
    epilog=f"Example: tpiece angoff ana.csv ben.csv --course ~/may --set. {DESK_SAFETY}",
)
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path, dir_okay=False))
@click.option(
    "--course",
    "folder",
    type=click.Path(path_type=Path, file_okay=False),
    help="The course folder whose units are judged; without it, the units the FILES name.",
)
@click.option("--template", "empty", is_flag=True, help="Write an empty sheet to FILES instead.")
@click.option("--less-error", is_flag=True, help="Take one standard error off the pass mark.")
@click.option("--set", "put", is_flag=True, help="Write the pass mark into the course.")
def angoff(
    files: tuple[Path, ...], folder: Path | None, *, empty: bool, less_error: bool, put: bool
) -> None:
    """Work out a pass mark from judges' estimates (modified Angoff method).

    FILES are CSV with the columns judge, item (unit/question) and estimate: the share of the
    points, 0 to 1 or in percent, that a learner who is just ready for the lab would earn.
    Begin with an empty sheet: tpiece angoff sheet.csv --template
    """
    course = Course(units=exercises()) if folder is None else read_course(folder)
    if put and folder is None:
        raise AngoffError("--set needs to know the course. Name its folder with --course.")
    if empty:
        _write(files, template(course))
        return
    named = course.units if folder is not None else units_named(files)
    known = [unit for unit in named if unit in exercises()] or list(course.units)
    panel = read_sheets(files, course_points(known))
    made = cut(panel)
    share = lowered(made) if less_error else made.share
    for line in _said(panel, made, course):
        echo(line)
    if less_error:
        echo(f"\nLess one standard error: {_percent(share, 2)} of the points.")
    if put and folder is not None:
        echo(f"\n{_set(folder, share)}")
    else:
        echo("\nNext, to set it: the same with --course COURSE --set")


def _write(files: tuple[Path, ...], text: str) -> None:
    if len(files) != 1:
        raise AngoffError("--template writes one sheet. Name one file.")
    path = files[0]
    try:
        with path.open("x", encoding="utf-8-sig", newline="") as stream:
            stream.write(text)
    except FileExistsError:
        raise AngoffError(f"{path} exists already. Choose another name.") from None
    echo(
        f"Written: {path}\nGive each judge a copy under the judge's own name, to fill in the "
        "column estimate. Then run: tpiece angoff with all the copies."
    )


def _said(panel: Panel, made: Cut, course: Course) -> Iterator[str]:
    """Yield the pass mark, the judges, the units and what to talk over, a line or table each."""
    yield (
        f"Pass mark: {_percent(made.share, 2)} of the points ({made.points:.2f} of "
        f"{made.possible:g}), from {_count(len(made.judges), 'judge')} and "
        f"{_count(len(panel.points), 'question')}."
    )
    yield _spread(made)
    apart = {judge: f"{100 * off:+.1f}" for judge, off in made.apart.items()}
    rows = [(j, _percent(mark), apart.get(j, "-")) for j, mark in made.judges.items()]
    yield "\n" + as_table([("Judge", "Pass mark", "Against the others"), *rows])
    if len(units(panel)) > 1:
        every = ((unit, cut(panel, unit)) for unit in units(panel))
        each = [(u, _percent(c.share), _percent(c.low), _percent(c.high)) for u, c in every]
        yield "\n" + as_table([("Unit by itself", "Pass mark", "Lowest", "Highest"), *each])
    split = [(d.item, _percent(d.low), _percent(d.high)) for d in disputed(panel, _DISPUTED)]
    if split:
        yield "\n" + as_table([("Seen most differently", "Lowest", "Highest"), *split])
    said = doubts(made, course.book)
    yield "\n".join(["", *said]) if said else ""


def _spread(made: Cut) -> str:
    if made.sd is None or made.error is None:
        return "Spread among judges: one judge alone shows none."
    return (
        f"Spread among judges: from {_percent(made.low)} to {_percent(made.high)}, standard "
        f"deviation {_percent(made.sd)}, standard error of the pass mark {_percent(made.error)}."
    )


def _set(folder: Path, share: float) -> str:
    from graders.tasks import work

    mark = round(share, 4)
    if mark <= 0:
        raise AngoffError("With a pass mark of nothing everybody passes: it was not set.")
    done = work.assign(folder, pass_mark=mark, even_so=True)  # judges meant it
    return (
        f"Set: the pass mark of course {done.course.id} is now {_percent(mark, 2)} of the points "
        f"of each unit ({done.path / 'course.toml'}). The next tpiece report goes by it."
    )


def _percent(share: float, digits: int = 1) -> str:
    return f"{100 * share:.{digits}f} %"


def _count(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"
