"""The lock by which Pyodide knows its packages, written anew for the wheels of a site.

Pyodide's own lock names hundreds of packages and the hashes of wheels that its project packed
again. A site holds the few that a learner needs, as their authors published them.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any
from zipfile import ZipFile

HIDDEN = (".dist-info", ".data")


def sha256(path: Path) -> str:
    """Return the SHA-256 of a file, in hexadecimal."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def written_for(lock: Mapping[str, Any], wheels: Iterable[Path]) -> dict[str, Any]:
    """Return a lock that names these wheels and nothing else, each by its own hash."""
    entries = [entry(path) for path in wheels]
    return {"info": lock["info"], "packages": {one["name"]: one for one in entries}}


def entry(wheel: Path) -> dict[str, Any]:
    """Return what a lock says of one wheel."""
    name, version = wheel.name.split("-")[:2]
    return {
        "name": canonical(name),
        "version": version,
        "file_name": wheel.name,
        "sha256": sha256(wheel),
        "install_dir": "site",
        "package_type": "package",
        "unvendored_tests": False,
        "imports": imports(wheel),
        "depends": [],  # a site loads all it has at the start
    }


def canonical(name: str) -> str:
    """Return a package's name as locks spell it."""
    return name.lower().replace("_", "-").replace(".", "-")


def imports(wheel: Path) -> list[str]:
    """Return the names that a wheel offers for import."""
    with ZipFile(wheel) as held:
        tops = {name.split("/")[0] for name in held.namelist()}
    return sorted(top.removesuffix(".py") for top in tops if not top.endswith(HIDDEN))


def write_lock(source: Path, wheels: Iterable[Path], target: Path) -> list[str]:
    """Write the lock of a site, and return the names of its packages."""
    lock = written_for(json.loads(source.read_text(encoding="utf-8")), wheels)
    target.write_text(json.dumps(lock, indent=1, sort_keys=True), encoding="utf-8")
    return sorted(lock["packages"])
