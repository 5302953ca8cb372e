"""Known misconceptions: what a learner believes, what is true, what to do about it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

_FILE = Path(__file__).with_name("misconceptions.toml")


@dataclass(frozen=True, slots=True)
class Misconception:
    """A wrong belief that answers show again and again."""

    id: str
    unit: str
    believes: str
    true: str
    rule: str
    read: str
    lab: str


@cache
def misconceptions(path: Path = _FILE) -> Mapping[str, Misconception]:
    """Return every known misconception by id."""
    tables = tomllib.loads(path.read_text(encoding="utf-8"))
    return {id: Misconception(id=id, **table) for id, table in tables.items()}
