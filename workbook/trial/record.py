"""What was done in a trial: an answer as data, read with suspicion."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, NamedTuple

from workbook.bench import DIALS
from workbook.core.language import N_, _
from workbook.core.timed import FORGIVEN, Form, Switch, as_rows
from workbook.trial.moves import DIALLED, MOVES, SURE, may
from workbook.trial.named import NAMED, UNKNOWN

FORMAT, VERSION = "tpiece-trial", 1
MOST = 400  # moves in one trial
NOUNS = frozenset(("name", "sure", *DIALLED))


class TrialError(ValueError):
    """A record that cannot have happened; the message is one sentence: what, and where."""


class Act(NamedTuple):
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
        rows = as_rows((a.time, a.move, a.what) for a in self.acts)
        head = {"format": FORMAT, "version": VERSION, "duration": round(1000 * self.duration)}
        return {**head, "moves": rows}


FORM = Form(
    TrialError,
    FORMAT,
    VERSION,
    rows="moves",
    most=MOST,
    none=N_("this is no record of a trial."),
    no_rows=N_("the record has no list of moves."),
    many=N_("the record holds {count} moves; at most {most} are read."),
    no_row=N_("move {n} is not a time and a move."),
    row=N_("move {n}"),
    word="move",
    unknown=N_("move {n} is nothing that can be done here: {move}."),
    beyond=N_("{what} is at {given} ms; a trial runs from 0 to {most} s."),
)


def read_trial(data: object, setting: str, seconds: Mapping[str, float], limit: float) -> Trial:
    """Return the trial that an answer describes; TrialError with one sentence when it cannot be.

    ``setting`` decides which moves there are, ``seconds`` how long each takes, ``limit`` (s) how
    long a trial may last.
    """
    record = FORM.opened(data)
    rows = FORM.listed(record)
    end = FORM.milliseconds(record.get("duration"), limit, N_("the record's end"))
    acts = tuple([_act(row, n, setting, limit) for n, row in enumerate(rows, start=1)])
    for problem in _impossible(acts, seconds, end):
        raise TrialError(problem)
    return Trial(end / 1000, acts)


def _act(row: object, n: int, setting: str, limit: float) -> Act:
    time, move, what = FORM.entry(row, n, limit, MOVES)
    if not may(move, setting):
        says = _("move {n} is not offered in this trial: {move}.")
        raise TrialError(says.format(n=n, move=_(MOVES[move].text)))
    if (what is not None or move in NOUNS) and not _fits(move, what):
        says = _("move {n} says something that cannot be said of it: {move}.")
        raise TrialError(says.format(n=n, move=_(MOVES[move].text)))
    return Act(time, move, what)


def _fits(move: str, what: object) -> bool:
    if move == "name":
        return isinstance(what, str) and (what in NAMED or what == UNKNOWN)
    if move == "sure":
        return isinstance(what, str) and what in SURE
    if move in DIALLED:
        return type(what) is int and 0 <= what <= DIALS[move].clicks
    return False


def _impossible(acts: tuple[Act, ...], seconds: Mapping[str, float], end: int) -> Iterator[str]:
    """Yield what cannot have happened: two at once, out of order, after the end, nothing named."""
    free, named, hole = 0.0, False, Switch("occlude", "release")
    for n, (time, move, _what) in enumerate(acts, start=1):
        if time < free - FORGIVEN / 1000:
            yield _("move {n} begins before the one before it has ended.").format(n=n)
        if 1000 * time > end + FORGIVEN:
            yield _("move {n} lies after the end of the trial.").format(n=n)
        if hole.repeated(move):
            yield _("move {n} covers or frees a hole that is so already.").format(n=n)
        if move in ("mend", "sure") and not named:
            yield _("move {n} comes before anything was named.").format(n=n)
        if move == "read" and hole.is_on:
            yield _("move {n} begins while the hole is covered.").format(n=n)
        named = named or move == "name"
        free = time + seconds.get(move, 0.0)
