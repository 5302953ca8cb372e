"""The record of what was observed hands-on: one file in the course folder, nothing ever lost."""

from __future__ import annotations

import csv
import io
import os
from collections.abc import Iterable, Mapping
from dataclasses import astuple, dataclass
from datetime import UTC, datetime
from pathlib import Path

from filelock import FileLock

from graders.core.spreadsheet import harmless
from graders.lab.checklist import COLUMNS, Checklist, checklist
from graders.lab.plan import LabError
from graders.lab.sheet import Seen, rows_of
from workbook.core.language import _
from workbook.course.settings import read_course

RECORD = "lab.csv"
REPLACED = "lab-replaced.csv"  # what a later file said otherwise of the same day

_Line = tuple[Seen, str]  # what was seen, and when it was written down


@dataclass(frozen=True, slots=True)
class LabResult:
    """What was observed of one learner hands-on: the latest of each step. It certifies nothing.

    ``critical`` holds the critical steps last seen not done, or done only with help.
    """

    learner: str
    date: str
    by: tuple[str, ...]
    latest: Mapping[str, Seen]
    steps: int
    critical: tuple[str, ...] = ()

    def count(self, done: str) -> int:
        """Return how many steps were last seen ``yes``, ``no`` or ``with help``."""
        return sum(seen.done == done for seen in self.latest.values())

    @property
    def says(self) -> str:
        """Return where the learner stands in a sentence or two."""
        done, left = self.count("yes"), self.steps - len(self.latest)
        counted = {
            _("{count} with help"): self.count("with help"),
            _("{count} not done"): self.count("no"),
            _("{count} not yet observed"): max(left, 0),
        }
        parts = [_("{done} of {total} steps done").format(done=done, total=self.steps)]
        parts += [says.format(count=count) for says, count in counted.items() if count]
        said = _("Observed hands-on, last on {day}: {steps}.")
        said = said.format(day=self.date, steps=", ".join(parts))
        again = _("Critical, to be seen again: {steps}.").format(steps=", ".join(self.critical))
        return f"{said} {again}" if self.critical else said


@dataclass(frozen=True, slots=True)
class Taken:
    """What taking a sheet into the record did."""

    added: int
    replaced: int
    same: int
    path: Path


def take(folder: Path, seen: Iterable[Seen], *, now: datetime | None = None) -> Taken:
    """Join observations to the record of a course folder; each file is replaced whole.

    An observation of the same learner, step and day replaces the earlier one, which is kept in
    ``lab-replaced.csv``. Raises LabError when the record cannot be read or written.
    """
    when = (now or datetime.now(UTC)).astimezone(UTC).isoformat(timespec="seconds")
    path = folder / RECORD
    try:
        with FileLock(folder / f".{RECORD}.lock", timeout=30):
            kept = {each.key: (each, at) for each, at in _read(path)}
            gone = _read(folder / REPLACED)
            taken = _join(kept, gone, seen, when, path)
            files = {path: [kept[key] for key in sorted(kept)]}
            if gone:
                files[folder / REPLACED] = gone
            _replace({file: _text(lines) for file, lines in files.items()})
    except OSError as error:
        raise LabError(
            f"{path} cannot be written ({error.strerror or error}): close it if it is open in "
            "another program, check that the folder may be written to, and try again."
        ) from error
    return taken


def _join(
    kept: dict[tuple[str, str, str], _Line],
    gone: list[_Line],
    seen: Iterable[Seen],
    when: str,
    path: Path,
) -> Taken:
    """Put what was seen among what is kept, and what it replaces to what is gone."""
    added = replaced = same = 0
    for each in seen:
        old = kept.get(each.key)
        if old is not None and old[0] == each:
            same += 1
            continue
        if old is None:
            added += 1
        else:
            replaced += 1
            gone.append(old)
        kept[each.key] = (each, when)
    return Taken(added, replaced, same, path)


def lab_results(folder: Path, made: Checklist | None = None) -> Mapping[str, LabResult]:
    """Return what was observed of each learner, by id; nobody when there is no record yet.

    Steps that the course's checklist no longer has are left out. Raises LabError when the record
    cannot be read.
    """
    if not (folder / RECORD).is_file():
        return {}
    made = made or checklist(read_course(folder).book)
    items = {item.id: item for item in made.items}
    found: dict[str, list[Seen]] = {}
    for seen, _when in sorted(_read(folder / RECORD), key=lambda each: each[0].date):
        if seen.step in items:
            found.setdefault(seen.learner, []).append(seen)
    results = {}
    for learner in sorted(found):
        latest = {seen.step: seen for seen in found[learner]}
        last = found[learner][-1].date
        by = tuple(sorted({seen.by for seen in latest.values()}))
        open_ = [id for id in items if items[id].critical and id in latest]
        critical = tuple(id for id in open_ if latest[id].done != "yes")
        results[learner] = LabResult(learner, last, by, latest, len(items), critical)
    return results


def _read(path: Path) -> list[_Line]:
    """Return each line of a record."""
    if not path.is_file():
        return []
    wanted = (*COLUMNS, "recorded")
    try:
        rows = rows_of(path)
    except (UnicodeDecodeError, csv.Error) as error:
        raise LabError(f"{path} is damaged ({error}). Restore it from a copy.") from None
    if not rows or not set(wanted) <= set(rows[0][1]):
        raise LabError(f"{path} is damaged: it has not the columns {', '.join(wanted)}.")
    at = [rows[0][1].index(name) for name in wanted]
    made = []
    for line, cells in rows[1:]:
        if len(cells) <= max(at):
            raise LabError(f"{path} is damaged in line {line}: it is cut short.")
        *said, when = (cells[n] for n in at)
        made.append((Seen(*said), when))
    return made


def _text(lines: Iterable[_Line]) -> str:
    file = io.StringIO(newline="")
    writer = csv.writer(file)
    writer.writerow((*COLUMNS, "recorded"))
    for seen, when in lines:
        writer.writerow([harmless(cell) for cell in (*astuple(seen), when)])
    return file.getvalue()


def _replace(files: Mapping[Path, str]) -> None:
    """Write every draft before the first file is replaced, so a full disk replaces none."""
    drafts = {path: path.with_name(f".{path.name}.{os.getpid()}.part") for path in files}
    try:
        for path, text in files.items():
            drafts[path].write_text(text, encoding="utf-8-sig", newline="")
        for path, draft in drafts.items():
            draft.replace(path)
    finally:
        for draft in drafts.values():
            draft.unlink(missing_ok=True)
