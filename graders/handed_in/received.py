"""What lies where one learner's work on a unit was taken in: answers, page, time, a receipt.

Each file is written whole or not at all; what is replaced is kept.
"""

from __future__ import annotations

import json
import os
import shutil
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from graders.core.jsonfile import write_json
from graders.course.coursefolder import CourseFolder
from graders.handed_in.later import last_saved
from workbook.core.answer_sheet import LARGEST_FILE, AnswerSheet, answers_path
from workbook.core.moments import FIRST, not_ahead, written
from workbook.core.plainfile import read_plain
from workbook.course.settings import CourseError

REPLACED = "replaced"
RECEIPT = "received.json"
TIMESTAMP = "timestamp.txt"
SMALL = 4096  # bytes of a receipt


@dataclass(frozen=True, slots=True)
class Receipt:
    """What is remembered of work that was taken in."""

    digest: str = ""
    owner: str = ""
    received: str = ""


class Received:
    """The place of one learner's work on a unit in a course."""

    def __init__(self, folder: CourseFolder, learner: str, unit: str) -> None:
        self.folder = folder.submitted(learner, unit)
        self._kept = folder.path / REPLACED / self.folder.parent.name / unit
        self._page = self.folder / f"{unit}.ipynb"

    def refuse_links(self) -> None:
        """Raise CourseError where the place is a link: what it leads to is nobody's to write."""
        for link in (self.folder.parent, self.folder):
            if link.is_symlink():
                raise CourseError(f"{link} is a link. Remove it, and take the work in again.")

    @property
    def answers(self) -> bytes | None:
        """Return the answers file that lies there, None where there is nothing of the kind."""
        if self.folder.is_symlink() or self.folder.parent.is_symlink():
            return None
        try:
            return read_plain(answers_path(self._page), LARGEST_FILE)
        except OSError:
            return None

    @property
    def receipt(self) -> Receipt:
        """Return its receipt; an empty one where there is none that can be read."""
        try:
            row = json.loads(read_plain(self.folder / RECEIPT, SMALL))
            return Receipt(str(row["digest"]), str(row["owner"]), str(row["received"]))
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            return Receipt()

    def write(
        self,
        data: bytes,
        sheet: AnswerSheet,
        *,
        page: bytes,
        when: datetime | None,
        owner: str,
        keep: bool,
    ) -> None:
        """Write work; what tells when it came is last, so that a stop half-way is mended.

        ``keep`` says that what is there differs, and is kept.
        """
        now = datetime.now(UTC).replace(microsecond=0)
        self.folder.mkdir(parents=True, exist_ok=True)
        if keep:
            self._keep(now)
        (self.folder / RECEIPT).unlink(missing_ok=True)
        _replace(answers_path(self._page), data)
        if page:
            _replace(self._page, page)
        latest = when or last_saved(sheet, now)[0]
        came = written(not_ahead(latest, now)) if latest > FIRST else ""
        _replace(self.folder / TIMESTAMP, came.encode())
        write_json(
            self.folder / RECEIPT,
            {"digest": sheet.digest, "owner": owner, "received": written(now)},
        )

    def _keep(self, now: datetime) -> None:
        """Keep what is about to be replaced, by when that was."""
        old = [self._page, answers_path(self._page), self.folder / TIMESTAMP]
        there = [path for path in old if path.is_file() and not path.is_symlink()]
        if not there:
            return
        kept = self._kept / f"{now:%Y%m%dT%H%M%SZ}"
        kept.mkdir(parents=True, exist_ok=True)
        for path in there:
            copy = kept / path.name
            n = 1
            while copy.exists():  # twice in a second
                copy = kept / f"{n}.{path.name}"
                n += 1
            shutil.copyfile(path, copy, follow_symlinks=False)


def _replace(path: Path, data: bytes) -> None:
    """Write a file whole or not at all; a link of its name is replaced, not followed."""
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    draft.unlink(missing_ok=True)
    draft.write_bytes(data)
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    draft.replace(path)
