"""Work that came in and waits for the coordinator: kept aside, told until it is settled.

Nothing here counts for anybody. What was settled is remembered by its bytes, so that a file that
lies in an inbox does not ask again every day.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path

from graders.core.jsonfile import write_json
from graders.course.coursefolder import CourseFolder
from workbook.core.answer_sheet import LARGEST_FILE
from workbook.core.plainfile import read_plain
from workbook.course.settings import CourseError

FOLDER = "held"
ANSWERS = ".jsonl"
LARGEST = 2**20  # bytes of what is told of one


@dataclass(frozen=True, slots=True)
class Held:
    """One piece of work that waits: what it is, why it waits, and whose it may be.

    ``learner`` is who is to be told of it, where that is known, ``near`` whose it may be.
    ``usable`` says whether it can be given to anybody at all; ``settled`` how it ended.
    """

    key: str
    name: str
    says: str
    learner: str = ""
    unit: str = ""
    id: str = ""
    near: tuple[str, ...] = ()
    usable: bool = True
    settled: str = ""

    @property
    def command(self) -> str:
        """Return the command that settles it."""
        whom = self.near[0] if self.near else "LEARNER"
        give = f"tpiece held {self.key} --to {whom}"
        return give if self.usable else f"tpiece held {self.key} --drop"

    @property
    def told(self) -> str:
        """Return what waits, why, and the command."""
        if not self.usable:
            return self.says
        others = f" (or --to {', --to '.join(self.near[1:])})" if len(self.near) > 1 else ""
        return (
            f"{self.says} It is kept aside and counts for nobody. To give it to one person: "
            f"{self.command}{others}. To leave it out: tpiece held {self.key} --drop"
        )


def key_of(data: bytes, name: str = "") -> str:
    """Return what a piece of work is called here: it follows from its bytes, else its name."""
    return hashlib.sha256(data or name.encode(errors="replace")).hexdigest()[:12]


def hold(folder: CourseFolder, one: Held, data: bytes) -> Held:
    """Keep work aside; work that was settled once is not asked about again."""
    old = find(folder, one.key)
    if old is not None:
        return old
    place = folder.path / FOLDER
    place.mkdir(mode=0o700, exist_ok=True)
    if data:
        (place / f"{one.key}{ANSWERS}").write_bytes(data)
    write_json(place / f"{one.key}.json", asdict(one))
    return one


def settle(folder: CourseFolder, one: Held, how: str) -> None:
    """Say that held work is settled; its bytes stay where they are."""
    write_json(folder.path / FOLDER / f"{one.key}.json", {**asdict(one), "settled": how})


def waiting(folder: CourseFolder) -> Iterator[Held]:
    """Yield what is not settled, in order of name."""
    every = (_read(path) for path in (folder.path / FOLDER).glob("*.json"))
    yield from sorted((one for one in every if not one.settled), key=lambda one: one.name)


def find(folder: CourseFolder, key: str) -> Held | None:
    """Return one piece of work by its key, settled or not."""
    path = folder.path / FOLDER / f"{key}.json"
    return _read(path) if path.is_file() else None


def answers_of(folder: CourseFolder, one: Held) -> bytes:
    """Return the bytes of a held answers file; CourseError when they are gone."""
    try:
        return read_plain(folder.path / FOLDER / f"{one.key}{ANSWERS}", LARGEST_FILE)
    except OSError:
        raise CourseError(f"{one.name} is not there any more. Take the file in again.") from None


def _read(path: Path) -> Held:
    try:
        row = json.loads(read_plain(path, LARGEST))
        return Held(**{**row, "near": tuple(row["near"])})
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        says = f"{path} is damaged. Look at the file beside it, then remove both."
        return Held(path.stem, path.name, says, usable=False)
