"""The one way in for handed-in work, whichever way it came: one set of checks, nothing lost.

Right course, unit, learner and rules; not older than what is there; no time ahead of the course's
clock. What is replaced is kept. What cannot be told apart from a neighbour's work is put to the
coordinator instead of replacing anybody's.
"""

from __future__ import annotations

import json
import os
import shutil
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from graders.alone import TAKING_IN, alone
from graders.coursefolder import CourseFolder
from graders.grade import above_limit
from graders.held import Held, hold, key_of, settle, waiting
from graders.jsonfile import write_json
from graders.nearness import Near
from graders.stamps import stamps
from graders.terminal import in_one_line
from workbook.answers import (
    LARGEST_FILE,
    AnswerFileError,
    AnswerSheet,
    answer_sheet,
    answers_path,
    learner_id,
)
from workbook.course import CourseError
from workbook.moments import FIRST, moment, not_ahead, written
from workbook.plainfile import in_utf8, read_plain

REPLACED = "replaced"
RECEIPT = "received.json"
TIMESTAMP = "timestamp.txt"
SMALL = 4096  # bytes of a receipt


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece of work as it came in.

    ``name`` is what it is called when it is told of; ``problem`` says why there are no bytes.
    ``learner``, ``unit`` and ``when`` are what the way says of it, where it does; ``owner`` is
    the account that left it, ``sure`` says that the account is the learner's own.
    """

    name: str
    data: bytes = b""
    problem: str = ""
    page: bytes = b""
    learner: str = ""
    unit: str = ""
    when: datetime | None = None
    owner: str = ""
    sure: bool = False


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of one piece: a sentence, whether it could be used at all, whether it is new.

    ``beware`` says that the sentence holds more than that it was taken in.
    """

    says: str
    usable: bool = True
    new: bool = False
    learner: str = ""
    unit: str = ""
    beware: bool = False


@dataclass(frozen=True, slots=True)
class Receipt:
    """What is remembered of work that was taken in."""

    digest: str = ""
    owner: str = ""
    received: str = ""


class Intake:
    """Takes work into one course."""

    def __init__(self, folder: CourseFolder) -> None:
        self.folder = folder
        self.course = folder.course
        self.people = folder.roster()
        self.known = stamps(folder.path)
        self._near = Near(self.people)
        self._waits = {one.key: one for one in waiting(folder)}
        self._cased = {id.casefold(): id for id in folder.collected()}

    def take(self, piece: Piece, *, for_: str = "") -> Taken:
        """Put work where collected work lies, or say why not; it raises for a full disk only.

        ``for_`` is whose the coordinator says it is.
        """
        with alone(self.folder.path, TAKING_IN):
            return self._take(piece, for_)

    def _take(self, piece: Piece, for_: str) -> Taken:
        name = in_one_line(piece.name)
        if piece.problem:
            return self._useless(piece, name, piece.problem)
        try:
            sheet = answer_sheet(piece.data, Path(name).name)
            self._refuse_strange(sheet)
        except (AnswerFileError, ValueError) as error:
            return self._useless(piece, name, str(error))
        doubt = "" if for_ else self._whose(piece, sheet, name)
        if doubt:
            return self._ask(piece, sheet, doubt)
        learner = for_ or self.known.whose(sheet)
        return self._place(piece, sheet, learner, name, asked=bool(for_))

    def _refuse_strange(self, sheet: AnswerSheet) -> None:
        """Raise ValueError for work of another course, unit or rules: its questions differ."""
        course = self.course
        if sheet.course != course.id:
            raise ValueError(f"it is of course {sheet.course[:40]!r}, and this is {course.id!r}.")
        if sheet.exercise not in course.units:
            raise ValueError(
                f"it answers {sheet.exercise[:40]!r}, which this course does not grade."
            )
        learner_id(sheet.learner)
        if self.known.course(course, sheet) is None:
            if sheet.edition == course.edition:
                raise ValueError("it was answered by another local protocol than this course's.")
            raise ValueError(
                f"it answers about edition {sheet.edition[:40]!r}, and this course asks about "
                f"{course.edition!r}."
            )

    def _whose(self, piece: Piece, sheet: AnswerSheet, name: str) -> str:
        """Return why it is not plain whose the work is; nothing when it is."""
        learner = self.known.whose(sheet)
        if piece.learner and piece.learner != learner:
            return f"{name}: under the name {piece.learner} lies work of {sheet.learner}."
        if piece.unit and piece.unit != sheet.exercise:
            return f"{name}: in place of {piece.unit} lies work on {sheet.exercise}."
        if piece.owner in self.people and piece.owner != learner:
            return f"{name}: {piece.owner}'s account handed in work of {learner}."
        if self.people and learner not in self.people:
            near = self._near.to(learner)
            nearly = f", but is nearly {' or '.join(near)}" if near else ""
            return f"{name}: {learner} is not on the roster{nearly}."
        other = self._cased.setdefault(learner.casefold(), learner)
        if not self.people and other != learner:
            return f"{name}: {learner} is nearly {other}, who handed in before."
        return ""

    def _ask(self, piece: Piece, sheet: AnswerSheet, doubt: str) -> Taken:
        """Keep work aside until the coordinator says whose it is."""
        other = self._cased.get(sheet.learner.casefold(), "")
        known = [sheet.learner, piece.learner, other, *self._near.to(sheet.learner)]
        near = dict.fromkeys(
            one for one in known if one and (one in self.people or not self.people)
        )
        return self._hold(
            Held(
                key_of(piece.data), in_one_line(piece.name), doubt, piece.learner,
                sheet.exercise, sheet.learner, tuple(near),
            ),
            piece.data,
        )  # fmt: skip

    def _hold(self, one: Held, data: bytes) -> Taken:
        one = hold(self.folder, one, data)
        if one.settled:
            return Taken(
                f"{one.name}: settled before ({one.settled}).", True, False, one.learner, one.unit
            )
        self._waits[one.key] = one
        return Taken(one.told, False, False, one.learner, one.unit)

    def _useless(self, piece: Piece, name: str, why: str) -> Taken:
        """Tell of work that cannot be used; where its learner is known, until there is better."""
        says = f"{name} is left out: {why}"
        there = piece.learner and self._there(piece.learner, piece.unit) is not None
        if piece.learner and not there and self._is_person(piece.learner):
            one = Held(
                key_of(piece.data, piece.name), name, says, piece.learner, piece.unit, usable=False
            )
            return self._hold(one, b"")
        return Taken(says, usable=False, learner=piece.learner, unit=piece.unit)

    def _is_person(self, learner: str) -> bool:
        try:
            learner_id(learner)
        except ValueError:
            return False
        return not self.people or learner in self.people

    def _there(self, learner: str, unit: str) -> bytes | None:
        """Return the answers file that lies there, None where there is nothing of the kind."""
        target = self.folder.submitted(learner, unit)
        if target.is_symlink() or target.parent.is_symlink():
            return None
        try:
            return read_plain(answers_path(target / f"{unit}.ipynb"), LARGEST_FILE)
        except OSError:
            return None

    def _place(
        self, piece: Piece, sheet: AnswerSheet, learner: str, name: str, *, asked: bool
    ) -> Taken:
        unit = sheet.exercise
        target, said = self.folder.submitted(learner, unit), f"{name}: {learner}, {unit}"
        for link in (target.parent, target):
            if link.is_symlink():
                raise CourseError(f"{link} is a link. Remove it, and take the work in again.")
        old, receipt = self._there(learner, unit), self._receipt(target)
        if old is not None and old != piece.data:
            refused = (
                self._later_attempt(sheet, old, target)
                if asked
                else self._no_newer(piece, sheet, old, receipt, target)
            )
            if refused:
                return Taken(f"{said}: {refused}", learner=learner, unit=unit)
            if not asked and not self._goes_on(piece, old, receipt):
                return self._ask(
                    piece,
                    sheet,
                    f"{said}: it does not go on from what is there, and nothing shows that it is "
                    f"{learner}'s.",
                )
        same = old == piece.data
        if same and receipt.digest == sheet.digest and not asked:
            return Taken(f"{said}: the same work is there already.", learner=learner, unit=unit)
        if old is not None and not same:
            said += ", in place of earlier work"
        self._write(piece, sheet, target, unit, keep=not same)
        self._settled(learner, unit, key_of(piece.data))
        above = above_limit(sheet, "the file", self.course.attempts)
        told = " ".join(["taken in;" if above else "taken in.", *above])
        return Taken(
            f"{said}: {told}", new=not same, learner=learner, unit=unit, beware=bool(above)
        )

    def _no_newer(
        self, piece: Piece, sheet: AnswerSheet, old: bytes, receipt: Receipt, target: Path
    ) -> str:
        """Return why work that is there stays; empty when the new is later work.

        A file is only ever added to, so that one that goes on from another is later whatever a
        clock said; else a later attempt is, and within one the last saves tell, none of them later
        than it came in.
        """
        new_text, old_text = in_utf8(piece.data), in_utf8(old)
        if new_text.startswith(old_text.rstrip(b"\r\n")):
            return ""
        if old_text.startswith(new_text.rstrip(b"\r\n")):
            return "left out, for later work is there already."
        try:
            kept = answer_sheet(old, target.name)
        except AnswerFileError:
            return ""  # what is there cannot be used
        most = self.course.attempts
        if sheet.counted(most) != kept.counted(most):
            return self._later_attempt(sheet, old, target)
        now = datetime.now(UTC)
        came = moment(receipt.received) or now
        before, after = _last(kept, min(came, now)), _last(sheet, now)
        if after <= before:
            return (
                "left out, for later work is there already (last saved "
                f"{written(before[0]) if before[0] > FIRST else 'never'})."
            )
        return ""

    def _later_attempt(self, sheet: AnswerSheet, old: bytes, target: Path) -> str:
        """Return that a later attempt is there, which no earlier one replaces; else nothing."""
        try:
            kept = answer_sheet(old, target.name)
        except AnswerFileError:
            return ""
        most = self.course.attempts
        there = kept.counted(most)
        later = there > sheet.counted(most)
        return f"left out, for attempt {there} is there already." if later else ""

    def _goes_on(self, piece: Piece, old: bytes, receipt: Receipt) -> bool:
        """Say whether work may replace what is there: it adds to it, or comes from its owner."""
        if piece.sure or in_utf8(piece.data).startswith(in_utf8(old).rstrip(b"\r\n")):
            return True
        try:
            if not answer_sheet(old, "").answers:
                return True
        except AnswerFileError:
            return True
        return bool(piece.owner) and piece.owner == receipt.owner

    def _receipt(self, target: Path) -> Receipt:
        try:
            row = json.loads(read_plain(target / RECEIPT, SMALL))
            return Receipt(str(row["digest"]), str(row["owner"]), str(row["received"]))
        except (OSError, ValueError, KeyError, TypeError, RecursionError):
            return Receipt()

    def _write(
        self, piece: Piece, sheet: AnswerSheet, target: Path, unit: str, *, keep: bool
    ) -> None:
        """Write work; what tells when it came is last, so that a stop half-way is mended."""
        now = datetime.now(UTC).replace(microsecond=0)
        target.mkdir(parents=True, exist_ok=True)
        if keep:
            self._keep(target, unit, now)
        (target / RECEIPT).unlink(missing_ok=True)
        page = target / f"{unit}.ipynb"
        _replace(answers_path(page), piece.data)
        if piece.page:
            _replace(page, piece.page)
        when = piece.when or _last(sheet, now)[0]
        came = written(not_ahead(when, now)) if when > FIRST else ""
        _replace(target / TIMESTAMP, came.encode())
        write_json(
            target / RECEIPT,
            {"digest": sheet.digest, "owner": piece.owner, "received": written(now)},
        )

    def _keep(self, target: Path, unit: str, now: datetime) -> None:
        """Keep what is about to be replaced, by when that was."""
        old = [target / f"{unit}.ipynb", answers_path(target / f"{unit}.ipynb"), target / TIMESTAMP]
        there = [path for path in old if path.is_file() and not path.is_symlink()]
        if not there:
            return
        kept = self.folder.path / REPLACED / target.parent.name / unit / f"{now:%Y%m%dT%H%M%SZ}"
        kept.mkdir(parents=True, exist_ok=True)
        for path in there:
            copy = kept / path.name
            n = 1
            while copy.exists():  # twice in a second
                copy = kept / f"{n}.{path.name}"
                n += 1
            shutil.copyfile(path, copy, follow_symlinks=False)

    def _settled(self, learner: str, unit: str, key: str) -> None:
        """Let what waited for better work of this learner wait no longer."""
        for one in list(self._waits.values()):
            if one.key == key or (not one.usable and (one.learner, one.unit) == (learner, unit)):
                settle(self.folder, one, f"taken in for {learner}")
                del self._waits[one.key]


def _replace(path: Path, data: bytes) -> None:
    """Write a file whole or not at all; a link of its name is replaced, not followed."""
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    draft.unlink(missing_ok=True)
    draft.write_bytes(data)
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    draft.replace(path)


def _last(sheet: AnswerSheet, now: datetime) -> tuple[datetime, int]:
    """Return when work was last saved, not ahead of now, and how many saves it holds."""
    times = (moment(answer.at) for answer in sheet.answers)
    moments = [min(when, now) for when in times if when is not None]
    return max(moments, default=FIRST), len(sheet.answers)
