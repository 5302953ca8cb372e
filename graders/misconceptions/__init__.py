"""Known misconceptions: what a learner believes, what is true, what to do about it."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from workbook.language import _

_FOLDER = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class Misconception:
    """A wrong belief that answers show again and again.

    ``unsafe`` says that an answer given by it can be a critical finding: acted on, it could harm.
    """

    id: str
    unit: str
    believes: str
    true: str
    rule: str
    read: str
    lab: str
    unsafe: bool = False

    @property
    def where(self) -> str:
        """Return where to read, in the language in force: a lesson and its heading there."""
        file, _comma, heading = self.read.partition(", ")
        return _("lesson {file}, “{heading}”").format(file=file, heading=_(heading))


@cache
def misconceptions() -> Mapping[str, Misconception]:
    """Return every known misconception by id, unit by unit; each unit has its own file."""
    found: dict[str, Misconception] = {}
    for path in sorted(_FOLDER.glob("*.toml")):
        tables = tomllib.loads(path.read_text(encoding="utf-8"))
        found |= {id: Misconception(id=id, unit=path.stem, **table) for id, table in tables.items()}
    return found
