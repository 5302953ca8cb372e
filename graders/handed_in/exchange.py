"""What learners handed in by the button: each piece read with suspicion, by its own folder.

A folder is named learner+unit+time+random. Its owner is the account that made it; on a hub, where
the exchange lies outside the course, that account is the learner.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from graders.core.terminal import in_one_line
from graders.course.coursefolder import CourseFolder
from graders.handed_in.intake import Intake, Piece, Taken
from workbook.core.answer_sheet import (
    LARGEST_FILE,
    AnswerFileError,
    answer_problem,
    answer_sheet,
    answers_path,
)
from workbook.core.moments import moment, not_ahead
from workbook.core.plainfile import read_plain
from workbook.course.settings import CourseError

LARGEST_PAGE = 32 * 2**20  # bytes of a notebook
TRIED = 5  # of one learner's pieces of a unit, the latest first, until one can be used
_FOLDER = os.O_RDONLY | getattr(os, "O_DIRECTORY", 0) | getattr(os, "O_NOFOLLOW", 0)


@dataclass(frozen=True, slots=True)
class _Left:
    """One folder in the letter box."""

    path: Path
    when: datetime


def collect_all(
    folder: CourseFolder, units: Iterable[str], names: Iterable[str] | None = None
) -> Iterator[Taken]:
    """Take in each learner's latest work on these units; yield what became of each new piece.

    Looked at are the folders of these ``names`` in the letter box, or all of them.

    The latest is of the latest attempt: an earlier one that was handed in after it, from another
    computer, comes second.

    What is no handed-in work is told and left where it is. A terminal shows how far it is.
    """
    from tqdm import tqdm  # here, so that a command that collects nothing starts without it

    intake, wanted = Intake(folder), set(units)
    inbound = folder.exchange / intake.course.id / "inbound"
    if not inbound.is_dir():
        return
    hub = folder.exchange.is_symlink()
    left: dict[tuple[str, str], list[_Left]] = {}
    for name in sorted(names if names is not None else (each.name for each in inbound.iterdir())):
        if name.startswith("."):
            continue
        found = named(name)
        if found is None or not _is_folder(inbound / name):
            yield Taken(f"{in_one_line(name)} in {inbound} is no handed-in work.", usable=False)
            continue
        learner, unit, when = found
        if unit not in wanted:
            continue
        if hub and (other := owner(inbound / name)) != learner:
            yield _set_aside(inbound, name, learner, other)
            continue
        left.setdefault((learner, unit), []).append(_Left(inbound / name, when))
    pieces = tqdm(sorted(left.items()), "Collecting", unit="work", disable=None, leave=False)
    for (learner, unit), every in pieces:
        try:
            yield from _latest(intake, learner, unit, every, sure=hub)
        except Exception as error:  # noqa: BLE001  # one person's never stops the others'
            yield Taken(
                f"{learner}'s work on {unit} is left out, because taking it in itself failed "
                f"({type(error).__name__}: {str(error)[:120]}); please report this.",
                usable=False,
                learner=learner,
                unit=unit,
            )


def _latest(
    intake: Intake, learner: str, unit: str, every: list[_Left], *, sure: bool
) -> Iterator[Taken]:
    """Take in the latest piece that can be used; each that cannot is told."""
    now, most = datetime.now(UTC), intake.course.attempts
    tried = sorted(every, key=lambda one: one.when, reverse=True)[:TRIED]
    if len(tried) > 1:
        tried.sort(key=lambda one: _attempt(one.path, unit, most), reverse=True)  # it is stable
    for one in tried:
        piece = _piece(one.path, learner, unit, not_ahead(one.when, now), sure=sure)
        try:
            taken = intake.take(piece)
        except CourseError as error:
            taken = Taken(f"{learner}'s work cannot be collected: {error}", usable=False)
        except OSError as error:
            why = error.strerror or error
            taken = Taken(f"{learner}'s work cannot be collected ({why}).", usable=False)
        if taken.new or not taken.usable:
            yield taken
        if taken.usable:
            return


def named(name: str) -> tuple[str, str, datetime] | None:
    """Return whose work a folder's name says it is, on what and of when; None if it says none."""
    learner, *rest = name.split("+")
    if len(rest) not in (2, 3):
        return None
    when = moment(rest[1])
    return None if when is None else (learner, rest[0], when)


def _is_folder(path: Path) -> bool:
    try:
        return stat.S_ISDIR(path.lstat().st_mode)
    except OSError:  # taken away since
        return False


def owner(path: Path) -> str:
    """Return the account that made a folder; empty for a link, or an account that is no more."""
    try:
        return "" if path.is_symlink() else account(path.lstat().st_uid)
    except OSError:
        return ""


def account(uid: int) -> str:
    """Return the name of an account; empty where there is none."""
    try:
        import pwd

        return pwd.getpwuid(uid).pw_name
    except (ImportError, KeyError):  # Windows has none
        return ""


def _set_aside(inbound: Path, name: str, learner: str, other: str) -> Taken:
    """Hide what bears another's name, so that it hides nobody's own work."""
    says = (
        f"Work under the name {in_one_line(learner)} was handed in by another account "
        f"({other or 'unknown'}); it is set aside as {inbound}/.{in_one_line(name)}"
    )
    try:
        (inbound / name).rename(inbound / f".{name}")
    except OSError as error:
        says = f"{says}. That failed ({error.strerror}): look at it."
    return Taken(says, usable=False)


@contextmanager
def _opened(path: Path) -> Iterator[int | None]:
    """Yield a folder opened without following a link; None where folders cannot be opened."""
    if os.open not in os.supports_dir_fd:
        yield None
        return
    handle = os.open(path, _FOLDER)
    try:
        yield handle
    finally:
        os.close(handle)


def _attempt(path: Path, unit: str, most: int | None) -> int:
    """Return the attempt a folder's work is of; none where it cannot be read."""
    name = answers_path(Path(f"{unit}.ipynb"))
    try:
        with _opened(path) as within:
            place = Path() if within is not None else path
            data = read_plain(place / name, LARGEST_FILE, within=within)
        return answer_sheet(data, name.name).counted(most) if b'"attempt"' in data else 1
    except (OSError, AnswerFileError):
        return 0


def _piece(path: Path, learner: str, unit: str, when: datetime, *, sure: bool) -> Piece:
    """Return what a folder holds: an answers file and a page, and nothing a link leads to."""
    name, page = path.name, Path(f"{unit}.ipynb")
    try:
        with _opened(path) as within:
            place = Path() if within is not None else path
            by = account(os.fstat(within).st_uid) if within is not None else ""
            told = {"learner": learner, "unit": unit, "when": when, "owner": by, "sure": sure}
            try:
                data = read_plain(place / answers_path(page), LARGEST_FILE, within=within)
            except OSError as error:
                problem = str(answer_problem(error, answers_path(page).name))
                return Piece(name, problem=problem, **told)  # type: ignore[arg-type]
            try:
                shown = read_plain(place / page, LARGEST_PAGE, within=within)
            except OSError:
                shown = b""  # grading needs no page
            return Piece(name, data, page=shown, **told)  # type: ignore[arg-type]
    except OSError as error:
        problem = f"its folder cannot be read ({error.strerror})."
        return Piece(name, problem=problem, learner=learner, unit=unit, when=when)
