"""A course's settings: which edition, which units, who passes. One small TOML file."""

from __future__ import annotations

import hashlib
import json
import re
import tomllib
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

from workbook.cases import exercises
from workbook.core.errors import PlainError
from workbook.core.language import ENGLISH, LanguageError, speaking
from workbook.core.moments import moment
from workbook.core.plainfile import read_plain, refusal
from workbook.rules import DEFAULT_EDITION, RuleBook, RuleFileError, editions, rulebook
from workbook.rules.files import shipped
from workbook.rules.site.protocol import Protocol, overlay
from workbook.rules.site.protocolfile import read_protocol

FILE = "course.toml"
LARGEST = 2**20  # bytes
LONGEST_TITLE = 200  # characters
_ID = re.compile(r"[A-Za-z0-9_-]{1,40}")
_LINE = re.compile(r"[^\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]+")
_ZONE = re.compile(r"(?:Z|UTC|[+-]\d\d:?\d\d)$")
PROTOCOL = "protocol.toml"
KEEP = ("latest", "best")  # which of what somebody handed in counts
FEEDBACK = ("when graded", "at hand-in")  # when a learner's work is marked, and the result told
NO_LIMIT = "none"  # typed in place of a number of attempts
MOST_ATTEMPTS = 1000  # a limit above this is a slip
_KEYS = {
    "id", "title", "edition", "units", "pass_mark", "protocol", "keep", "attempts", "due",
    "language", "feedback",
}  # fmt: skip


class CourseError(PlainError, ValueError):
    """Course settings that cannot be used; the message has one sentence for each mistake."""


@dataclass(frozen=True, slots=True)
class Course:
    """What an educator has settled for one course.

    ``attempts`` is how many a learner may have of a unit; None where there is no limit.
    """

    id: str = "practice"
    title: str = "Practice"
    edition: str = DEFAULT_EDITION
    units: tuple[str, ...] = ()
    pass_mark: float | None = None
    protocol: str = ""
    folder: Path | None = None
    keep: str = "latest"
    due: str = ""
    language: str = ENGLISH
    attempts: int | None = None
    feedback: str = FEEDBACK[0]

    @property
    def at_hand_in(self) -> bool:
        """Say whether work is marked as soon as it is handed in, where that can be."""
        return self.feedback == FEEDBACK[1]

    @property
    def book(self) -> RuleBook:
        """Return the rules of the course: its edition, with the site's protocol laid over.

        Raises RuleFileError or RuleError when the protocol cannot be used.
        """
        if not self.protocol or self.folder is None:
            return rulebook(self.edition)
        path = self.folder / self.protocol
        changed = path.stat().st_mtime_ns if path.exists() else 0
        return _overlaid(self.edition, path, changed)

    @property
    def stamp(self) -> str:
        """Return what names the site's protocol in an answers file; nothing without one."""
        if not self.protocol or self.folder is None:
            return ""
        path = self.folder / self.protocol
        try:
            return _stamp(path, path.stat().st_mtime_ns)
        except (OSError, RuleFileError):
            return ""  # asking for its rules says what is wrong

    @property
    def needed(self) -> float:
        """Return the share of points that passes: the course's own, else the rules'."""
        if self.pass_mark is not None:
            return self.pass_mark
        return self.book["pass-mark"].value / 100

    def text(self) -> str:
        """Return the settings as the TOML file they are read from."""
        units = ", ".join(f'"{unit}"' for unit in self.units)
        lines = [
            "# The settings of one course. Change them here, then run: tpiece assign",
            f'id = "{self.id}"',
            f"title = {in_toml(self.title)}",
            f'edition = "{self.edition}"  # one of: {", ".join(editions())}',
            f"units = [{units}]",
        ]
        if self.pass_mark is not None:
            lines.append(f"pass_mark = {self.pass_mark}  # share of the points, 0 to 1")
        if self.protocol:
            lines.append(f'protocol = "{self.protocol}"  # the site\'s own rules, beside this file')
        if self.keep != "latest":
            lines.append(f'keep = "{self.keep}"  # what counts of several: latest or best')
        if self.attempts is not None:
            lines.append(f"attempts = {self.attempts}  # how many a learner may have of each unit")
        if self.due:
            lines.append(f'due = "{self.due}"  # later work is marked as late, never marked down')
        if self.language != ENGLISH:
            lines.append(f'language = "{self.language}"  # what learners read')
        if self.feedback != FEEDBACK[0]:
            lines.append(f'feedback = "{self.feedback}"  # when a learner sees the result')
        return "\n".join(lines) + "\n"


def in_toml(text: str) -> str:
    """Return a text as TOML writes it: as JSON does, and one more character is escaped."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def stamp_of(protocol: Protocol) -> str:
    """Return what names a protocol by what it sets, not by who read it in print."""
    text = replace(protocol, signed=()).text()
    return hashlib.sha256(text.encode()).hexdigest()[:12]


@lru_cache(maxsize=8)
def _stamp(path: Path, changed: int) -> str:
    return stamp_of(read_protocol(path))


@lru_cache(maxsize=8)
def _overlaid(edition: str, protocol: Path, changed: int) -> RuleBook:
    """Return an edition with a protocol over it; a file that changed since is read anew."""
    return overlay(shipped(edition), read_protocol(protocol))


def read_course(folder: Path) -> Course:
    """Return the settings in a folder's course.toml.

    Raises CourseError naming every mistake, or that the file is missing.
    """
    path = folder / FILE
    try:
        text = read_plain(path, LARGEST, follow=True).decode("utf-8-sig")
    except (FileNotFoundError, NotADirectoryError):
        raise CourseError(
            f"{folder} is not a course folder: it has no {FILE}. Start one with: tpiece assign"
        ) from None
    except OSError as error:
        raise CourseError(refusal(path, error, LARGEST)) from None
    except UnicodeDecodeError as error:
        raise CourseError(f"{path} is not TOML: {error}. Mend it and try again.") from None
    return parsed(text, folder, path)


def parsed(text: str, folder: Path, path: Path) -> Course:
    """Return the settings that the text of a course.toml holds; CourseError for every mistake."""
    try:
        table = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise CourseError(f"{path} is not TOML: {error}. Mend it and try again.") from None
    problems = _problems(table)
    if problems:
        raise CourseError(f"{path}: " + " ".join(problems))
    return Course(
        table["id"],
        table.get("title", table["id"]),
        table.get("edition", DEFAULT_EDITION),
        tuple(table.get("units", exercises())),
        table.get("pass_mark"),
        table.get("protocol", ""),
        folder,
        table.get("keep", "latest"),
        table.get("due", ""),
        table.get("language", ENGLISH),
        table.get("attempts"),
        table.get("feedback", FEEDBACK[0]),
    )


def _problems(table: dict[str, Any]) -> list[str]:
    found = [f"Unknown setting {key!r}." for key in sorted(set(table) - _KEYS)]
    if not isinstance(table.get("id"), str) or not _ID.fullmatch(table["id"]):
        found.append("id must be 1 to 40 letters, digits, '-' or '_'.")
    title = table.get("title", "Untitled")
    if not isinstance(title, str) or not _LINE.fullmatch(title) or len(title) > LONGEST_TITLE:
        found.append(f"title must be one line of text, up to {LONGEST_TITLE} characters.")
    edition = table.get("edition", DEFAULT_EDITION)
    if not isinstance(edition, str) or edition not in editions():
        found.append(f"edition {edition!r} is not one of {', '.join(editions())}.")
    units = table.get("units", list(exercises()))
    if (
        not isinstance(units, list)
        or not all(isinstance(unit, str) and unit in exercises() for unit in units)
        or len(set(units)) < len(units)
    ):
        found.append(f"units must be a list of: {', '.join(exercises())}; each once.")
    if table.get("protocol", "") not in ("", PROTOCOL):
        found.append(f"protocol must be {PROTOCOL!r}, a file beside this one.")
    if table.get("keep", "latest") not in KEEP:
        found.append(f"keep must be one of: {', '.join(KEEP)}.")
    if table.get("feedback", FEEDBACK[0]) not in FEEDBACK:
        found.append(f"feedback must be one of: {', '.join(FEEDBACK)}.")
    if not _is_moment(table.get("due", "")):
        found.append('due must be a time with its zone, for example "2026-12-01T18:00+01:00".')
    found += _no_language(table.get("language", ENGLISH))
    most = table.get("attempts", 1)
    if type(most) is not int or not 1 <= most <= MOST_ATTEMPTS:
        found.append(
            f"attempts must be a whole number from 1 to {MOST_ATTEMPTS}; leave it out for no limit."
        )
    mark = table.get("pass_mark", 1)
    if isinstance(mark, bool) or not isinstance(mark, int | float) or not 0 < mark <= 1:
        found.append("pass_mark must be a share above 0 and up to 1, for example 0.8.")
    return found


def _no_language(code: Any) -> list[str]:
    try:
        with speaking(code if isinstance(code, str) else repr(code)):
            return []
    except LanguageError as error:
        return [f"language: {error}"]


def _is_moment(text: Any) -> bool:
    if text == "":
        return True
    return isinstance(text, str) and bool(_ZONE.search(text)) and moment(text) is not None
