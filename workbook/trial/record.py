"""What was done in a trial: an answer as data, read with suspicion."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from workbook.bench import DIALS
from workbook.language import _, number
from workbook.trial.moves import DIALLED, MOVES, SURE, may
from workbook.trial.named import NAMED, UNKNOWN

FORMAT, VERSION = "tpiece-trial", 1
MOST = 400  # moves in one trial
FORGIVEN = 50  # ms by which a move may begin before the one before has ended
NOUNS = ("name", "sure", *DIALLED)


class TrialError(ValueError):
    """A record that cannot have happened; the message is one sentence: what, and where."""


@dataclass(frozen=True, slots=True)
class Act:
    """One move at a time (s); ``what`` is a click, a fault's id, or how sure somebody is."""

    time: float
    move: str
    what: Any = None


@dataclass(frozen=True, slots=True)
class Trial:
    """All that was done in a trial, in order, and how long it lasted (s)."""

    duration: float
    acts: tuple[Act, ...]

    def to_data(self) -> dict[str, Any]:
        """Return the trial as data for JSON, as a page sends it."""
        rows = [
            [round(1000 * a.time), a.move, *([] if a.what is None else [a.what])] for a in self.acts
        ]
        head = {"format": FORMAT, "version": VERSION, "duration": round(1000 * self.duration)}
        return {**head, "moves": rows}


def read_trial(data: object, setting: str, seconds: Mapping[str, float], limit: float) -> Trial:
    """Return the trial that an answer describes; TrialError with one sentence when it cannot be.

    ``setting`` decides which moves there are, ``seconds`` how long each takes, ``limit`` (s) how
    long a trial may last.
    """
    if not isinstance(data, Mapping) or data.get("format") != FORMAT:
        raise TrialError(_("this is no record of a trial."))
    if data.get("version") != VERSION:
        says = _("the record is of version {given}; this workbook reads version {version}.")
        raise TrialError(says.format(given=repr(str(data.get("version"))[:20]), version=VERSION))
    rows = data.get("moves")
    if not isinstance(rows, list):
        raise TrialError(_("the record has no list of moves."))
    if len(rows) > MOST:
        many = _("the record holds {count} moves; at most {most} are read.")
        raise TrialError(many.format(count=len(rows), most=MOST))
    end = _milliseconds(data.get("duration"), limit, _("the record's end"))
    acts = tuple(_act(row, n, setting, limit) for n, row in enumerate(rows, start=1))
    for problem in _impossible(acts, seconds, end):
        raise TrialError(problem)
    return Trial(end / 1000, acts)


def _act(row: object, n: int, setting: str, limit: float) -> Act:
    if not isinstance(row, list) or not 2 <= len(row) <= 3 or not isinstance(row[1], str):
        raise TrialError(_("move {n} is not a time and a move.").format(n=n))
    time, move = _milliseconds(row[0], limit, _("move {n}").format(n=n)), row[1]
    if move not in MOVES:
        says = _("move {n} is nothing that can be done here: {move}.")
        raise TrialError(says.format(n=n, move=repr(move[:20])))
    if not may(move, setting):
        says = _("move {n} is not offered in this trial: {move}.")
        raise TrialError(says.format(n=n, move=_(MOVES[move].text)))
    what = row[2] if len(row) == 3 else None
    if (what is not None) != (move in NOUNS) or not _fits(move, what):
        says = _("move {n} says something that cannot be said of it: {move}.")
        raise TrialError(says.format(n=n, move=_(MOVES[move].text)))
    return Act(time / 1000, move, what)


def _fits(move: str, what: object) -> bool:
    if move == "name":
        return isinstance(what, str) and (what in NAMED or what == UNKNOWN)
    if move == "sure":
        return isinstance(what, str) and what in SURE
    if move in DIALLED:
        return type(what) is int and 0 <= what <= DIALS[move].clicks
    return True


def _impossible(acts: tuple[Act, ...], seconds: Mapping[str, float], end: int) -> Iterator[str]:
    """Yield what cannot have happened: two at once, out of order, after the end, nothing named."""
    free, held, named = 0.0, False, False
    for n, act in enumerate(acts, start=1):
        if act.time < free - FORGIVEN / 1000:
            yield _("move {n} begins before the one before it has ended.").format(n=n)
        if 1000 * act.time > end + FORGIVEN:
            yield _("move {n} lies after the end of the trial.").format(n=n)
        if act.move in ("occlude", "release"):
            if held == (act.move == "occlude"):
                yield _("move {n} covers or frees a hole that is so already.").format(n=n)
            held = act.move == "occlude"
        if act.move in ("mend", "sure") and not named:
            yield _("move {n} comes before anything was named.").format(n=n)
        if act.move == "read" and held:
            yield _("move {n} begins while the hole is covered.").format(n=n)
        named = named or act.move == "name"
        free = act.time + seconds.get(act.move, 0.0)


def _milliseconds(value: object, limit: float, what: str) -> int:
    if type(value) is not int:
        raise TrialError(_("{what} has no time in milliseconds.").format(what=what))
    if not 0 <= value <= 1000 * limit + FORGIVEN:
        says = _("{what} is at {given} ms; a trial runs from 0 to {most} s.")
        raise TrialError(says.format(what=what, given=str(value)[:20], most=number(limit)))
    return value
