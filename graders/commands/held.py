"""The command `tpiece held`: work that waits for the coordinator to say whose it is."""

from __future__ import annotations

from pathlib import Path

import click

from graders.commands.options import DESK_SAFETY, course_option
from graders.core.terminal import echo
from graders.course.coursefolder import CourseFolder
from graders.course.stamps import FILE, give
from graders.handed_in.held import Held, answers_of, find, settle, waiting
from graders.handed_in.intake import Intake, Piece
from workbook.core.answer_sheet import answer_sheet
from workbook.core.whose import learner_id
from workbook.course.settings import CourseError


@click.command(epilog=f"Example: tpiece held --course ~/may 3f2a --to ada. {DESK_SAFETY}")
@course_option
@click.argument("key", required=False)
@click.option("--to", "learner", help="Give it to this learner, and what comes under its id later.")
@click.option("--drop", is_flag=True, help="Leave it out for good.")
def held(folder: Path, key: str | None, learner: str | None, drop: bool) -> None:
    """List work that waits for you to say whose it is; give the one called KEY to one person."""
    course = CourseFolder(folder)
    if key is None:
        if learner or drop:
            raise CourseError("Say which: tpiece held KEY --to LEARNER. tpiece held lists them.")
        _list(course)
        return
    one = _one(course, key)
    if bool(learner) == drop:
        raise CourseError(f"Say whose it is: tpiece held {one.key} --to LEARNER, or --drop.")
    if drop:
        settle(course, one, "left out")
        echo(f"{one.name}: left out.")
        return
    _give(course, one, learner_id(learner or ""))


def _list(course: CourseFolder) -> None:
    found = list(waiting(course))
    for one in found:
        echo(f"{one.key}  {one.told}")
    echo(f"{len(found) or 'Nothing'} waiting." if found else "Nothing waits for you.")


def _one(course: CourseFolder, key: str) -> Held:
    """Return the piece a key, or its beginning, names."""
    exact = find(course, key) if key.isalnum() else None
    found = [exact] if exact else [one for one in waiting(course) if one.key.startswith(key)]
    if len(found) != 1:
        why = f"{len(found)} pieces of work are" if found else "Nothing that waits is"
        raise CourseError(f"{why} called {key[:40]!r}. To see what waits: tpiece held")
    return found[0]


def _give(course: CourseFolder, one: Held, learner: str) -> None:
    """Take held work in for a learner; its id stands for that learner from now on.

    An id that is a learner's own stands for nobody else: then this one file is given away.
    """
    people = course.roster()
    if people and learner not in people:
        raise CourseError(f"{learner} is not on the roster. Add the line first: tpiece assign")
    if not one.usable:
        raise CourseError(f"{one.name} cannot be used by anybody. To leave it out: --drop")
    data = answers_of(course, one)
    sheet = answer_sheet(data, one.name)
    if sheet.learner != learner:
        own = sheet.learner in (people or set(course.collected()))
        give(course.path, f"{FILE}{sheet.digest}" if own else sheet.learner, learner)
    taken = Intake(course).take(Piece(one.name, data), for_=learner)
    if not taken.usable:
        raise CourseError(taken.says)
    settle(course, one, f"given to {learner}")
    echo(taken.says)
    echo(f"Next: tpiece grade --course {course.path}")
