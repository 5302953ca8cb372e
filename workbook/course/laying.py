"""Laying pages into a learner's folder: in the learner's language, over nothing they changed."""

from __future__ import annotations

import hashlib
import json
import os
import tomllib
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

from workbook.core.language import ENGLISH, VARIABLE, speaking
from workbook.course.pages import translated


def language_of(course_text: str) -> str:
    """Return what a learner reads: the environment's language, else the course's."""
    course = str(tomllib.loads(course_text).get("language", ENGLISH))
    return os.environ.get(VARIABLE) or course


def bring_lessons(
    lessons: Path, folder: Path, known: Mapping[str, Any], language: str
) -> dict[str, Any]:
    """Lay the lessons that are new, and return what was shipped, to be known the next time.

    ``known`` is what the last time returned. A page the learner changed is kept as a copy.
    """
    now = dict(known)
    pages = (path for path in files(lessons) if path.suffix != ".toml")  # those are read at home
    for source in pages:
        name = source.relative_to(lessons).as_posix()
        made = _told(source, language)
        shipped = [_digest(made), _words(made)]
        before = now.get(name, ["", ""])
        target = folder / name
        new = before[0] != shipped[0]
        if new and target.exists() and _words(target.read_bytes()) not in (before[1], shipped[1]):
            _keep(target)
        if new or not target.exists():
            lay(made, target)
        now[name] = shipped
    return now


def _told(source: Path, language: str) -> bytes:
    """Return a file as it is laid into a folder: a page in the learner's language."""
    data = source.read_bytes()
    if language == ENGLISH or source.suffix != ".ipynb":
        return data
    with speaking(language):
        page = translated(json.loads(data))
    return (json.dumps(page, ensure_ascii=False, indent=1) + "\n").encode()


def _keep(target: Path) -> None:
    stem = f"{target.stem} (your copy {date.today().isoformat()}"
    names = [f"{stem}){target.suffix}", *(f"{stem}, {n}){target.suffix}" for n in range(2, 1000))]
    target.rename(next(path for path in map(target.with_name, names) if not path.exists()))


def _words(data: bytes) -> str:
    """Return a digest of what a person wrote in a file: of a notebook, its cells' sources."""
    try:
        cells = json.loads(data)["cells"]
        data = json.dumps([[c["cell_type"], "".join(c["source"])] for c in cells]).encode()
    except (ValueError, KeyError, TypeError):
        return _digest(data)  # not a notebook: every byte counts
    return _digest(data)


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def files(folder: Path) -> Iterator[Path]:
    """Yield the files of a folder that are meant for learners: no answers, nothing hidden."""
    for path in sorted(folder.rglob("*")):
        parts = path.relative_to(folder).parts
        own = path.name.endswith((".answers.jsonl", ".pyc", ".lock")) or "__pycache__" in parts
        if path.is_file() and not own and not any(part.startswith(".") for part in parts):
            yield path


def lay(data: bytes, target: Path) -> None:
    """Write a file whole or not at all, writable by the learner whatever the original allows."""
    target.parent.mkdir(parents=True, exist_ok=True)
    part = target.with_name(f".{target.name}.part")
    part.write_bytes(data)
    part.replace(target)
