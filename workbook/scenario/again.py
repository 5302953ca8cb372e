"""The same baby again from a second: a record cut there, how things then stand, and going on.

A cut record is a record: what had begun by then stays in it, whoever's hands it still keeps busy,
and a hole that is covered stays covered. Replayed with what is done after it, it gives the very
course that the whole record gives.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import takewhile
from typing import Any

from workbook.rules import RuleBook
from workbook.scenario.acts import ACTS, HAND, HELPER, NEW_AIRWAYS, seconds
from workbook.scenario.case import Case
from workbook.scenario.changes import DIALLED, Change, Ordered, changes, ordered
from workbook.scenario.demands import demands
from workbook.scenario.record import Done, Played
from workbook.scenario.replay import Run

MASK, T_PIECE, BAG = "mask", "t-piece", "bag"


@dataclass(frozen=True)
class Start:
    """Where a case goes on from: its record until then, and how hands and things stand.

    ``hands`` and ``helper`` are until when they are busy (s after birth; no later than the cut
    where they are free), ``under_way`` the acts that are not over. ``face`` is what is on the face,
    `T_PIECE`, `BAG` or nothing, ``airway`` the way it reaches the lung, ``positions`` the clicks of
    each control, ``oxygen`` where the dial stands (percent).
    """

    played: Played
    hands: float
    helper: float
    under_way: tuple[Ordered, ...]
    held: bool
    pressed: bool
    face: str
    airway: str
    positions: Mapping[str, int]
    oxygen: float

    @property
    def time(self) -> float:
        """Return the second of the cut (s after birth)."""
        return self.played.duration

    def to_data(self) -> dict[str, Any]:
        """Return the same as plain data for a page, times in s."""
        acts = [{"act": one.done.act, "begins": one.begins, "ends": one.ends}
                for one in self.under_way]  # fmt: skip
        return {
            "record": self.played.to_data(), "time": self.time, "hands": self.hands,
            "helper": self.helper, "under_way": acts, "held": self.held, "pressed": self.pressed,
            "face": self.face, "airway": self.airway, "positions": dict(self.positions),
            "oxygen": self.oxygen,
        }  # fmt: skip


def cut(played: Played, time: float) -> Played:
    """Return what was done up to a time (s after birth), as a record that broke off there.

    Beyond its ends a record is cut at its end, or at birth.
    """
    at = round(min(max(time, 0.0), played.duration), 3)
    done = tuple(takewhile(lambda one: one.time <= at, played.done))
    return Played(played.case, at, done, midway=True)


def joined(before: Played, done: Iterable[Done], duration: float, *, midway: bool) -> Played:
    """Return one record of a cut one and what was done after it, until ``duration`` (s)."""
    return Played(before.case, duration, (*before.done, *done), midway)


def start(case: Case, played: Played, time: float, book: RuleBook) -> Start:
    """Return where a case goes on from when its record is cut at a time (s after birth)."""
    short = cut(played, time)
    acts = ordered(short, seconds(book))
    positions, oxygen = _dialled(case, acts)
    over = [one for one in acts if one.ends <= short.duration]
    return Start(
        short,
        _busy(acts, HAND, short.duration),
        _busy(acts, HELPER, short.duration),
        tuple(one for one in acts if one.ends > short.duration),
        held=_last(acts, "occlude", "release") == "occlude",
        pressed=_last(acts, "compress", "compress-stop") == "compress",
        face=_face(over),
        airway=_last(over, *NEW_AIRWAYS) or MASK,
        positions=positions,
        oxygen=oxygen,
    )


def _busy(acts: list[Ordered], whose: str, time: float) -> float:
    return max([time, *(one.ends for one in acts if ACTS[one.done.act].by == whose)])


def _last(acts: Iterable[Ordered], *ids: str) -> str:
    """Return which of some acts was done last, or nothing."""
    return next((one.done.act for one in reversed(list(acts)) if one.done.act in ids), "")


def _face(over: list[Ordered]) -> str:
    last = _last(over, "connect", "t-piece", "bag", "open", *NEW_AIRWAYS)
    if last in NEW_AIRWAYS:
        return BAG if _last(over, "connect", "t-piece", "bag") == "bag" else T_PIECE
    return {"connect": T_PIECE, "t-piece": T_PIECE, "bag": BAG}.get(last, "")


def _dialled(case: Case, acts: list[Ordered]) -> tuple[dict[str, int], float]:
    positions, oxygen = dict(case.positions), case.oxygen
    for one in acts:
        if one.done.act in DIALLED:
            positions[one.done.act] = one.done.what
        elif one.done.act == "oxygen":
            oxygen = float(one.done.what)
    return positions, oxygen


def resumed(case: Case, before: Played, book: RuleBook) -> tuple[Run, list[Change]]:
    """Return a case as a cut record left it, and the changes that its acts will still bring.

    The run stands at the last change up to the cut, so that going on steps as a whole replay does.
    """
    run = Run(case, demands(book, case.weeks, case.kg), book)
    waiting = list(changes(before, seconds(book), case.hidden.fails))
    while waiting and waiting[0].time <= before.duration:
        change = waiting.pop(0)
        run.go(change.time)
        run.do(change)
    return run, waiting
