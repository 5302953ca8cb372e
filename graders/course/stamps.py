"""By which rules, and for whom, handed-in work was drawn: its stamp against what the course knows.

A course that changes its edition or protocol keeps the earlier ones, so that work which was handed
in under them is marked by them. And where somebody worked under an id that is nearly their own,
the coordinator's word for whose it is stands here. Both are the course's; a file alone says
neither.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from graders.core.jsonfile import write_json
from workbook.core.answer_sheet import AnswerSheet
from workbook.core.moments import written
from workbook.core.plainfile import read_plain
from workbook.course.settings import Course, CourseError

USED = "rules-used.json"
KEPT = "rules-used"  # the folder of earlier protocols
GIVEN = "given.json"
FILE = "file "  # stands before the digest of one file that was given away, in place of an id
LARGEST = 2**24  # bytes


@dataclass(frozen=True, slots=True)
class Used:
    """Rules that a course gave its units out by: the edition, its protocol's stamp, since when."""

    edition: str
    protocol: str = ""
    since: str = ""

    @property
    def key(self) -> tuple[str, str]:
        """Return what makes rules the same."""
        return self.edition, self.protocol


@dataclass(frozen=True, slots=True)
class Stamps:
    """What a course knows: the rules it used, and whose an id is that is on no roster."""

    used: tuple[Used, ...] = ()
    given: Mapping[str, str] = field(default_factory=dict)

    def course(self, course: Course, sheet: AnswerSheet) -> Course | None:
        """Return the course as it was when work was drawn; None for rules it never used.

        Work that does not say by which protocol it was drawn is taken only where there was one.
        """
        now = Used(course.edition, course.stamp)
        every = {used.key: used for used in (*self.used, now)}
        found = [
            used
            for used in every.values()
            if used.edition == sheet.edition and sheet.protocol in (None, used.protocol)
        ]
        if len(found) != 1:
            return None
        (one,) = found
        if one.key == now.key:
            return course
        protocol = f"{KEPT}/{one.protocol}.toml" if one.protocol else ""
        return replace(course, edition=one.edition, protocol=protocol)

    def whose(self, sheet: AnswerSheet) -> str:
        """Return the learner whose work a file is: who it names, unless it was given to another."""
        id = sheet.learner
        return self.given.get(f"{FILE}{sheet.digest}", self.given.get(id, id))


def stamps(path: Path) -> Stamps:
    """Return what the course in a folder knows; CourseError when that cannot be read."""
    rows = _read(path / USED, list)
    used = tuple(Used(**row) for row in rows if _is_used(row))
    given = _read(path / GIVEN, dict)
    if len(used) != len(rows):
        raise CourseError(_damaged(path / USED))
    if not all(isinstance(one, str) for one in given.values()):
        raise CourseError(_damaged(path / GIVEN))
    return Stamps(used, given)


def _is_used(row: Any) -> bool:
    if not isinstance(row, dict) or not row.keys() <= {"edition", "protocol", "since"}:
        return False
    return "edition" in row and all(isinstance(value, str) for value in row.values())


def remember(path: Path, course: Course) -> None:
    """Keep the rules a course gives its units out by, with a copy of its protocol."""
    known = stamps(path).used
    now = Used(course.edition, course.stamp, written(datetime.now(UTC).replace(microsecond=0)))
    if known and known[-1].key == now.key:
        return
    if now.protocol:
        kept = path / KEPT / f"{now.protocol}.toml"
        kept.parent.mkdir(exist_ok=True)
        shutil.copyfile(path / course.protocol, kept)
    write_json(path / USED, [asdict(one) for one in (*known, now)])


def give(path: Path, what: str, learner: str) -> None:
    """Keep whose an id, or one file, is from now on."""
    write_json(path / GIVEN, {**stamps(path).given, what: learner})


def _read(path: Path, kind: type) -> Any:
    try:
        value = json.loads(read_plain(path, LARGEST, follow=True))
    except FileNotFoundError:
        return kind()
    except (OSError, ValueError, RecursionError):
        value = None
    if not isinstance(value, kind):
        raise CourseError(_damaged(path))
    return value


def _damaged(path: Path) -> str:
    return (
        f"{path} is damaged. Put it back from a copy of the course; without one remove it: work "
        "that was handed in under earlier rules or ids is then said to be unmarked."
    )
