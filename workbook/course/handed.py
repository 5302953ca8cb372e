"""What a learner handed in, as their own folder knows it: by which way, when, and what exactly.

nbgrader keeps a copy of what it sends in ``CACHE``. Work of a course that came as a file reaches
no exchange: it is laid into ``TO_SEND`` under a name of its learner's, and a copy is kept likewise.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from workbook.core.answer_sheet import LARGEST_FILE, answers_path
from workbook.core.plainfile import read_plain
from workbook.course.laying import lay

CACHE = Path(".tpiece", "handed_in")
WAY = Path(".tpiece", "way.json")
TO_SEND = "to_send"
TIMESTAMP = "timestamp.txt"
_FORM = "%Y-%m-%d %H:%M:%S.%f UTC"  # as nbgrader writes it
FEEDBACK = "feedback"  # beside what a course gives out: where marked work comes back


@dataclass(frozen=True, slots=True)
class Way:
    """Where a course gives out and takes in; ``by_file`` says that work is sent as a file."""

    course: Path
    by_file: bool = False

    def write(self, folder: Path) -> None:
        """Write it into a learner's folder."""
        told = {"course": str(self.course), "by_file": self.by_file}
        lay((json.dumps(told, indent=2) + "\n").encode(), folder / WAY)

    @classmethod
    def of(cls, folder: Path) -> Way | None:
        """Return what a learner's folder knows; None where it is lost or says nothing usable."""
        try:
            told = json.loads((folder / WAY).read_text(encoding="utf-8"))
            return cls(Path(told["course"]), told["by_file"] is True)
        except (OSError, ValueError, KeyError, TypeError):
            return None


def sent(folder: Path, course: str, learner: str, unit: str) -> Iterator[Path]:
    """Yield the copies of what was handed in of a unit, the latest first."""
    found = folder.glob(f"{CACHE}/{course}/{learner}+{unit}+*/{TIMESTAMP}")
    yield from sorted((each.parent for each in found), key=lambda each: each.name, reverse=True)


def digest(path: Path) -> str:
    """Return what names an answers file by all that is in it; nothing where it cannot be read."""
    try:
        return hashlib.sha256(read_plain(path, LARGEST_FILE)).hexdigest()
    except OSError:
        return ""


def give(folder: Path, course: str, learner: str, unit: str) -> Path:
    """Lay a unit's answers out as a file to send, keep a copy, and return where the file lies.

    Raises OSError.
    """
    answers = answers_path(folder / unit / f"{unit}.ipynb")
    data, now = read_plain(answers, LARGEST_FILE), datetime.now(UTC)
    file = folder / TO_SEND / f"{learner}.{answers.name}"
    lay(data, file)
    when = now.strftime(_FORM)
    name = f"{learner}+{unit}+{when}".replace(":", ".")  # no name of a file on Windows has one
    kept = folder / CACHE / course / name
    lay(data, kept / answers.name)
    lay(when.encode(), kept / TIMESTAMP)
    return file
