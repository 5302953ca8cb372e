"""Opening the workbook: a learner's folder made ready, and JupyterLab started on it.

Nothing a learner wrote is overwritten here. All settings go into the folder itself, under
``.tpiece``, so two learners at one computer do not meet each other's.
"""

from __future__ import annotations

import json
import os
import secrets
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from workbook.core.whose import learner_id
from workbook.course.handed import CACHE, Way
from workbook.course.laying import bring_lessons, files, language_of, lay
from workbook.course.settings import FILE as COURSE_FILE
from workbook.room import ROOM, WORKSHOP

OWN = ".tpiece"
START = "start_here.ipynb"
START_SECONDS = 300.0  # an old computer that does other things as well
PATIENT_SECONDS = 20.0  # after so long a line says that it still starts
STILL = "Still starting; on an old computer this takes a few minutes."
LEFT_OUT = (".ipynb_checkpoints", "*.pyc", "__pycache__", "feedback", "*.lock")


class LaunchError(Exception):
    """The workbook cannot be opened; the message says why and what to do."""


def prepare_learner(
    folder: Path,
    *,
    learner: str,
    course_id: str,
    exchange: Path,
    lessons: Path,
    course_text: str = "",
    by_file: bool = False,
    extensions: Sequence[str] = (),
) -> Path:
    """Make a learner's folder ready and return it: lessons, released units, settings.

    ``course_text`` is the course's settings file, which lessons read for their edition. With
    ``by_file`` nothing of the learner's reaches the exchange: work leaves as a file to send.
    ``extensions`` are modules that the server loads besides the room. Doing it again brings what
    is new; a page the learner changed is kept as a copy. Raises LaunchError.
    """
    folder, exchange = folder.absolute(), exchange.absolute()
    try:
        _claim(folder, learner)
        record = folder / OWN / "lessons.json"
        language = language_of(course_text)
        _write_json(record, bring_lessons(lessons, folder, _read_json(record), language))
        _bring_units(exchange / course_id / "outbound", folder)
        _write_settings(folder, learner, course_id, exchange, extensions)
        Way(exchange / course_id, by_file).write(folder)
        if course_text:
            _write(folder / COURSE_FILE, course_text)
    except OSError as error:
        raise LaunchError(
            f"{error.filename or folder} cannot be used ({error.strerror}). "
            "Choose another folder, or ask for access to this one."
        ) from None
    return folder


def _claim(folder: Path, learner: str) -> None:
    """Write down whose folder this is; one folder holds one learner's answers."""
    try:
        learner_id(learner)
    except ValueError as error:
        raise LaunchError(str(error)) from None
    record = folder / OWN / "learner.json"
    owner = _read_json(record).get("learner", learner)
    if owner != learner:
        raise LaunchError(
            f"{folder} holds the work of {owner!r}. Choose another folder for {learner!r}."
        )
    _write_json(record, {"learner": learner})


def _bring_units(outbound: Path, folder: Path) -> None:
    """Copy each released file that the learner's folder lacks; touch none that is there."""
    for source in files(outbound):
        target = folder / source.relative_to(outbound)
        if not target.exists():
            lay(source.read_bytes(), target)


_NBGRADER = """\
# Written each time the workbook is opened; changes made here are lost.
c = get_config()
c.Exchange.root = {exchange!r}
c.Exchange.cache = {cache!r}
c.Exchange.assignment_dir = {folder!r}
c.CourseDirectory.course_id = {course!r}
c.CourseDirectory.student_id = {learner!r}
c.CourseDirectory.ignore = {left_out!r}
"""

_SERVER = """\
# Written each time the workbook is opened; changes made here are lost.
c = get_config()
c.ServerApp.jpserver_extensions = {extensions!r}
"""

# No news, no search for updates, nothing that asks another computer; no tools for educators.
TURNED_OFF = (
    "@jupyterlab/apputils-extension:announcements",
    "@jupyterlab/extensionmanager-extension",
    "@jupyter/nbgrader",
)
DEFAULTS = {
    "@jupyterlab/apputils-extension:notification": {"checkForUpdates": False, "fetchNews": "false"},
    # Every control stays alive when it is scrolled out of sight.
    "@jupyterlab/notebook-extension:tracker": {"windowingMode": "none"},
    # Dark where the browser is.
    "@jupyterlab/apputils-extension:themes": {"adaptive-theme": True},
}


def _write_settings(
    folder: Path, learner: str, course_id: str, exchange: Path, extensions: Sequence[str]
) -> None:
    config = folder / OWN / "config"
    cache = str(folder / CACHE)
    text = _NBGRADER.format(
        exchange=str(exchange), cache=cache, folder=str(folder),
        course=course_id, learner=learner, left_out=list(LEFT_OUT),
    )  # fmt: skip
    _write(config / "nbgrader_config.py", text)
    loaded = dict.fromkeys(("workbook.room", *extensions), True)
    _write(config / "jupyter_server_config.py", _SERVER.format(extensions=loaded))
    page = {"disabledExtensions": dict.fromkeys(TURNED_OFF, True)}
    _write_json(config / "labconfig" / "page_config.json", page)
    _write_json(config / "labconfig" / "default_setting_overrides.json", DEFAULTS)


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


def _write_json(path: Path, value: dict[str, Any]) -> None:
    _write(path, json.dumps(value, indent=2, sort_keys=True) + "\n")


def _read_json(path: Path) -> dict[str, Any]:
    """Return what one of our own records holds; a lost or broken one counts as empty."""
    try:
        value = json.loads(path.read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):
        return {}
    return value if isinstance(value, dict) else {}


def server_command(
    folder: Path, *, port: int | None = None, browser: bool = True, workshop: bool = False
) -> list[str]:
    """Return the command that starts JupyterLab on a prepared folder, for this computer only.

    It opens in the learner's room, or in the full JupyterLab for a ``workshop``.

    Its key comes from ``environment``: a command line can be read by others on the computer.
    """
    command = [
        sys.executable, "-P", "-m", "jupyterlab", "-y",  # -y: Ctrl+C needs no second answer
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.port={port or free_port()}",
        "--ServerApp.port_retries=0",
        f"--ServerApp.open_browser={browser}",
        *server_settings(folder, workshop=workshop),
    ]  # fmt: skip
    is_root = hasattr(os, "geteuid") and os.geteuid() == 0
    return [*command, "--allow-root"] if is_root else command


def server_settings(folder: Path, *, workshop: bool = False) -> list[str]:
    """Return what any server of a prepared folder is told, here or on a hub."""
    own = folder.absolute() / OWN
    first = f"/tree/{START}" if (folder / START).exists() else ""
    start = f"{WORKSHOP}{first}" if workshop else ROOM
    return [
        f"--ServerApp.root_dir={folder.absolute()}",
        f"--LabApp.default_url={start}",
        f"--LabApp.workspaces_dir={own / 'workspaces'}",
        f"--LabApp.user_settings_dir={own / 'user_settings'}",
        "--LabApp.extension_manager=readonly",
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
    ]


def environment(folder: Path, learner: str, *, token: str = "") -> dict[str, str]:
    """Return the environment for ``server_command``; the token is the key to the server."""
    own = folder.absolute() / OWN
    env = {**os.environ, "TPIECE_LEARNER": learner}
    # nbgrader starts other programs by name, so they must be found.
    env["PATH"] = os.pathsep.join([str(Path(sys.executable).parent), env.get("PATH", os.defpath)])
    config = [str(own / "config"), env.get("JUPYTER_CONFIG_PATH", "")]
    env["JUPYTER_CONFIG_PATH"] = os.pathsep.join(filter(None, config))
    if token:
        env["JUPYTER_TOKEN"] = token
    return env


def launch(
    folder: Path,
    *,
    learner: str,
    port: int | None = None,
    browser: bool = True,
    workshop: bool = False,
) -> int:
    """Run JupyterLab on a prepared folder until it is stopped; return its exit code.

    Raises LaunchError when it does not start.
    """
    port, token = port or free_port(), secrets.token_urlsafe(24)
    if _answers(port):
        raise LaunchError(f"Port {port} is in use. Choose another, or leave the choice out.")
    log = folder.absolute() / OWN / "server.log"
    if threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGTERM, signal.default_int_handler)  # told to end: end the server too
    with log.open("w", encoding="utf-8") as out:
        server = subprocess.Popen(  # noqa: S603  (our own command, no shell)
            server_command(folder, port=port, browser=browser, workshop=workshop),
            env=environment(folder, learner, token=token),
            stdout=out,
            stderr=subprocess.STDOUT,
        )
    try:
        _await_start(server, port, log)
        address = f"http://127.0.0.1:{port}/?token={token}"
        print(f"The workbook is open at {address}  (to stop it: press Ctrl+C here)", flush=True)
        return server.wait()
    except KeyboardInterrupt:
        print("The workbook is closed. Answers marked “Saved” are kept.")
        return 0
    finally:
        _stop(server)


def _await_start(server: subprocess.Popen[bytes], port: int, log: Path) -> None:
    begun, told = time.monotonic(), False
    while time.monotonic() < begun + START_SECONDS and server.poll() is None:
        if _answers(port):
            return
        if not told and time.monotonic() > begun + PATIENT_SECONDS:
            print(STILL, file=sys.stderr, flush=True)
            told = True
        time.sleep(0.2)
    raise LaunchError(
        f"JupyterLab did not start. {log} says why; show that file to whoever set this up."
    )


def _stop(server: subprocess.Popen[bytes]) -> None:
    """End the server with its kernels; by force only when it does not go in time."""
    server.terminate()
    try:
        server.wait(timeout=15)
    except subprocess.TimeoutExpired:
        server.kill()
        server.wait()


def _answers(port: int) -> bool:
    with socket.socket() as probe:
        return probe.connect_ex(("127.0.0.1", port)) == 0


def free_port() -> int:
    """Return a port of this computer that nothing uses right now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
