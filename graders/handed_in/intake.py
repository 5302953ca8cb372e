"""The one way in for handed-in work, whichever way it came: one set of checks, nothing lost.

Right course, unit, learner and rules; not older than what is there; no time ahead of the course's
clock. What is replaced is kept. What cannot be told apart from a neighbour's work is put to the
coordinator instead of replacing anybody's.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from graders.core.alone import TAKING_IN, alone
from graders.core.terminal import in_one_line
from graders.course.coursefolder import CourseFolder
from graders.course.stamps import stamps
from graders.grading.grade import above_limit
from graders.handed_in.held import Held, hold, key_of, settle, waiting
from graders.handed_in.later import adds_to, later_attempt, no_newer
from graders.handed_in.nearness import Near
from graders.handed_in.received import Receipt, Received
from workbook.core.answer_sheet import AnswerFileError, AnswerSheet, answer_sheet
from workbook.core.whose import learner_id


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
        there = piece.learner and Received(self.folder, piece.learner, piece.unit).answers
        if piece.learner and there is None and self._is_person(piece.learner):
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

    def _place(
        self, piece: Piece, sheet: AnswerSheet, learner: str, name: str, *, asked: bool
    ) -> Taken:
        unit = sheet.exercise
        place, said = Received(self.folder, learner, unit), f"{name}: {learner}, {unit}"
        place.refuse_links()
        old, receipt = place.answers, place.receipt
        if old is not None and old != piece.data:
            refused = self._refused(piece, sheet, old, receipt, unit, asked=asked)
            if refused:
                return Taken(f"{said}: {refused}", learner=learner, unit=unit)
            if not asked and not _goes_on(piece, old, receipt):
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
        place.write(
            piece.data, sheet, page=piece.page, when=piece.when, owner=piece.owner, keep=not same
        )
        self._settled(learner, unit, key_of(piece.data))
        above = above_limit(sheet, "the file", self.course.attempts)
        told = " ".join(["taken in;" if above else "taken in.", *above])
        return Taken(
            f"{said}: {told}", new=not same, learner=learner, unit=unit, beware=bool(above)
        )

    def _refused(
        self,
        piece: Piece,
        sheet: AnswerSheet,
        old: bytes,
        receipt: Receipt,
        unit: str,
        *,
        asked: bool,
    ) -> str:
        """Return why what is there stays; nothing when the new work takes its place."""
        most = self.course.attempts
        if asked:
            return later_attempt(sheet, old, unit, most)
        return no_newer(piece.data, sheet, old, receipt.received, unit, most)

    def _settled(self, learner: str, unit: str, key: str) -> None:
        """Let what waited for better work of this learner wait no longer."""
        for one in list(self._waits.values()):
            if one.key == key or (not one.usable and (one.learner, one.unit) == (learner, unit)):
                settle(self.folder, one, f"taken in for {learner}")
                del self._waits[one.key]


def _goes_on(piece: Piece, old: bytes, receipt: Receipt) -> bool:
    """Say whether work may replace what is there: it adds to it, or comes from its owner."""
    if piece.sure or adds_to(piece.data, old):
        return True
    try:
        if not answer_sheet(old, "").answers:
            return True
    except AnswerFileError:
        return True
    return bool(piece.owner) and piece.owner == receipt.owner
