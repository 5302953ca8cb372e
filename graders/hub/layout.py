"""Laying a course out for a hub: its settings, an exchange all can reach, a course nobody can."""

from __future__ import annotations

import errno
import os
import pwd
import shlex
import shutil
import stat
import sys
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from string import Template

from graders.course.coursefolder import CourseFolder, exercise_source, lay_out
from graders.hub.accounts import HubError, is_local, learners

CONFIG = "jupyterhub_config.py"
SITE_CONFIG = "site_config.py"
HERE = Path(__file__).parent
COMMON = 0o1777  # all may add; nobody moves or removes what is another's
LETTER_BOX = 0o1733  # all may add, none may look
SAFETY = (
    "For education only; not a medical device. Local protocol, the device's own instructions "
    "and licensed practice come first."
)


@dataclass(frozen=True, slots=True)
class Hub:
    """What was laid out: the settings, who is let in, and what its reader should know."""

    config: Path
    site_config: Path
    learners: int
    advice: tuple[str, ...]


def lay_hub(course: Path, out: Path, *, bind: str, proxy: str, python: str) -> Hub:
    """Write the settings of a hub for a course, and part what learners may reach from the rest.

    ``proxy`` is the command that starts configurable-http-proxy, ``python`` the interpreter of
    learners' servers. Raises HubError or CourseError; doing it again changes nothing else.
    """
    course, out = course.resolve(), out.resolve()
    folder = CourseFolder(course)
    settings, people = folder.course, learners(course)
    _check_places(course, out, Path(python))
    _check_marking_is_closed(what_marks(settings.units, Path(python)))
    values = {
        "python": sys.executable, "config": str(out / CONFIG),
        "out": repr(str(out)), "course": repr(str(course)), "bind": repr(bind),
        "safety": repr(SAFETY),
        "learners_python": repr(python), "id": repr(settings.id),
        "proxy": repr(_proxy_command(proxy)),
    }  # fmt: skip
    try:
        (out / "hub").mkdir(parents=True, exist_ok=True)
        out.chmod(0o755)
        (out / "hub").chmod(0o700)
        _part_exchange(folder, out / "exchange")
        lay_out(course, settings)
        _write(out / CONFIG, _filled("jupyterhub_config.in", values))
        if not (out / SITE_CONFIG).exists():
            _write(out / SITE_CONFIG, (HERE / "site_config.in").read_text(encoding="utf-8"))
    except OSError as error:
        raise HubError(
            f"{error.filename or out} cannot be written ({error.strerror}). Run this as root, or "
            "as whoever owns the course and the folder."
        ) from None
    advice = tuple(_advice(folder, people, bind))
    return Hub(out / CONFIG, out / SITE_CONFIG, len(people), advice)


def _check_places(course: Path, out: Path, python: Path) -> None:
    if out == course or course in out.parents:
        raise HubError(
            f"{out} lies within the course, which is closed to learners. Choose another."
        )
    if not python.is_file():
        raise HubError(f"There is no program {python}. Name the Python of learners' servers.")
    for path, what in ((python, "run"), (python.resolve(), "run"), (out, "reach")):
        if (shut := closed_at(path.parent)) is not None:
            raise HubError(
                f"Learners' accounts cannot {what} {path}: {shut} lets only its owner pass. "
                "Use a place that every account can read, such as a folder of /opt or /srv "
                "(for the Python: install the workbook there and name it with --python)."
            )


def what_marks(units: Sequence[str], python: Path) -> list[Path]:
    """Return the folders that hold answers and how they are marked, wherever they are installed."""
    own = [HERE.parent, *{exercise_source(unit).parent for unit in units}]
    theirs = python.parent.parent.glob("lib/python*/site-packages/graders")
    return sorted({*own, *theirs})


def _check_marking_is_closed(places: Sequence[Path]) -> None:
    if open_places := [str(path) for path in places if closed_at(path) is None]:
        named = " ".join(open_places)
        raise HubError(
            f"Learners could read the answers and how they are marked, in {named}. Close it to "
            f"all but the account that grades: chown THAT-ACCOUNT {named} && chmod 700 {named}"
        )


def closed_at(path: Path) -> Path | None:
    """Return the first folder on the way to a place that other accounts cannot pass, if any."""
    ways = (way for way in (*reversed(path.parents), path) if way.exists())
    return next((way for way in ways if not way.stat().st_mode & stat.S_IXOTH), None)


def _part_exchange(folder: CourseFolder, outside: Path) -> None:
    """Move the exchange out of the course, leave a link to it, and shut the course."""
    inside = folder.exchange
    if inside.is_symlink() and inside.resolve() != outside:
        raise HubError(
            f"{inside} belongs to another hub, at {inside.resolve()}. Use that folder: "
            f"--out {inside.resolve().parent}"
        )
    if not inside.is_symlink():
        if outside.exists():
            raise HubError(f"{outside} holds the work of another course. Choose another folder.")
        if inside.exists():
            _move(inside, outside)
        outside.mkdir(exist_ok=True)
        inside.symlink_to(outside)
    outside.chmod(COMMON)
    inbound = outside / folder.course.id / "inbound"
    if inbound.is_dir():
        inbound.chmod(LETTER_BOX)
    folder.path.chmod(0o700)
    if os.geteuid() == 0:
        _give_to_owner(folder.path.stat(), outside, inbound)


def _move(inside: Path, outside: Path) -> None:
    """Move a folder, also to another disk; whoever handed work in stays its owner."""
    try:
        inside.rename(outside)
    except OSError as error:
        if error.errno != errno.EXDEV:
            raise
        shutil.copytree(inside, outside, symlinks=True)
        for path in (inside, *inside.rglob("*")):
            _own(outside / path.relative_to(inside), path.lstat())
        shutil.rmtree(inside)


def _give_to_owner(owner: os.stat_result, outside: Path, inbound: Path) -> None:
    """Let the course's owner give out and collect, whoever ran this; no work changes hands."""
    for path in (outside, *outside.rglob("*")):
        if inbound not in path.parents:
            _own(path, owner)


def _own(path: Path, owner: os.stat_result) -> None:
    os.chown(path, owner.st_uid, owner.st_gid, follow_symlinks=False)


def _proxy_command(given: str) -> list[str]:
    found = shlex.split(given) or [shutil.which("configurable-http-proxy") or ""]
    if not found[0]:
        raise HubError(
            "The hub needs configurable-http-proxy. Install it (npm install -g "
            "configurable-http-proxy), or say how it is started: --proxy COMMAND"
        )
    return found


def _filled(name: str, values: Mapping[str, str]) -> str:
    return Template((HERE / name).read_text(encoding="utf-8")).substitute(values)


def _write(path: Path, text: str) -> None:
    path.write_text(text, encoding="utf-8")
    path.chmod(0o600)


def _advice(folder: CourseFolder, people: Iterable[str], bind: str) -> Iterator[str]:
    if not folder.gradebook_url.is_file():
        yield (
            "The scores are in a file. For a large course give it a database server: "
            "tpiece assign --gradebook postgresql+psycopg://..."
        )
    if folder.path.stat().st_uid == 0:
        yield (
            f"The course belongs to root. Better give it to the coordinator's own account, then "
            f"run this again: chown -R COORDINATOR {folder.path}"
        )
    if bind.startswith("http:") and not is_local(bind):
        yield (
            f"At {bind} passwords would cross the network for all to read. Put TLS in front, or "
            f"name a key and a certificate in {SITE_CONFIG}."
        )
    if missing := sorted(name for name in people if not _has_account(name)):
        yield (
            f"{len(missing)} of the roster have no account on this machine, so they cannot come "
            f"in yet ({', '.join(missing[:5])}{', ...' if len(missing) > 5 else ''}). "
            "To make one: useradd --create-home NAME"
        )


def _has_account(name: str) -> bool:
    try:
        return bool(pwd.getpwnam(name))
    except KeyError:
        return False


__all__ = ["CONFIG", "SITE_CONFIG", "Hub", "HubError", "closed_at", "lay_hub", "what_marks"]
