"""Laying a course out for a hub: its settings, an exchange all can reach, a course nobody can."""

from __future__ import annotations

import os
import shlex
import shutil
import stat
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from string import Template

import graders
from graders.coursefolder import CourseFolder, lay_out
from graders.hub.accounts import HubError, learners

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
    values = {
        "title": settings.title, "python": sys.executable, "config": str(out / CONFIG),
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
    return Hub(out / CONFIG, out / SITE_CONFIG, len(people), tuple(_advice(folder)))


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
            shutil.move(inside, outside)
        outside.mkdir(exist_ok=True)
        inside.symlink_to(outside)
    outside.chmod(COMMON)
    inbound = outside / folder.course.id / "inbound"
    if inbound.is_dir():
        inbound.chmod(LETTER_BOX)
    folder.path.chmod(0o700)


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


def _advice(folder: CourseFolder) -> list[str]:
    said = []
    if not folder.gradebook_url.is_file():
        said.append(
            "The scores are in a file. For a large course give it a database server: "
            "tpiece assign --gradebook postgresql+psycopg://..."
        )
    package = Path(graders.__file__).parent
    if closed_at(package) is None:
        said.append(
            f"Learners can read how answers are marked. To close it to them: chmod 700 {package}"
        )
    if os.name == "posix" and folder.path.stat().st_uid == 0:
        said.append(
            "The course belongs to root. Better give it to the coordinator's own account: chown -R"
        )
    return said


__all__ = ["CONFIG", "SITE_CONFIG", "Hub", "HubError", "closed_at", "lay_hub"]
