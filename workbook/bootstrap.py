"""Makes the environment the workbook runs in; needs nothing but Python, pip and this folder."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
LOWEST_PYTHON = (3, 11)


def programs() -> Path:
    """Return the folder of the environment's programs."""
    return ENVIRONMENT / ("Scripts" if os.name == "nt" else "bin")


def program(name: str) -> str:
    """Return the path of one of the environment's programs."""
    return str(programs() / (f"{name}.exe" if os.name == "nt" else name))


def prepare(extras: str = "") -> None:
    """Make the environment, or bring it up to date when the project's needs changed.

    Exits with a sentence when this Python cannot.
    """
    if sys.version_info < LOWEST_PYTHON:
        wanted = ".".join(map(str, LOWEST_PYTHON))
        sys.exit(f"The workbook needs Python {wanted} or later; this is {sys.version.split()[0]}.")
    mark = _mark(extras)
    stamp = ENVIRONMENT / f"ready-{extras or 'workbook'}"
    if stamp.is_file() and stamp.read_text() == mark:
        return
    print("Setting up; the first time this takes a few minutes.", flush=True)
    if not (ENVIRONMENT / "pyvenv.cfg").is_file():
        _make()
    target = f"{ROOT}[{extras}]" if extras else str(ROOT)
    pip = [program("python"), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    if subprocess.run([*pip, "--editable", target], check=False).returncode:  # noqa: S603
        sys.exit("Setting up failed. Check the network connection and run the same command again.")
    stamp.write_text(mark)


def _make() -> None:
    try:
        venv.create(ENVIRONMENT, with_pip=True)
    except (OSError, subprocess.CalledProcessError) as error:
        sys.exit(
            f"An environment could not be made in {ENVIRONMENT} ({error}). On Debian and Ubuntu, "
            "install the package python3-venv first; elsewhere, check that the folder is writable."
        )


def _mark(extras: str) -> str:
    needs = (ROOT / "pyproject.toml").read_bytes() + extras.encode() + sys.version.encode()
    return hashlib.sha256(needs).hexdigest()
