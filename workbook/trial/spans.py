"""A trial as spans between two changes: what stood when, and what was altered by then.

Needles settle within a fifth of a second, so every span is the closed form of how things stand.
Pure, and bounded by the number of moves.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from operator import attrgetter, itemgetter
from typing import Any, NamedTuple

from workbook.core.once import once
from workbook.trial.moves import BABY, DIALLED, LASTING
from workbook.trial.record import Act, Trial
from workbook.trial.scene import Scene
from workbook.trial.state import OUTLETS, State

HOLE = ("occlude", "release")
ALTERS = frozenset((*OUTLETS, *DIALLED, *LASTING, "mend"))
_end = attrgetter("end")


class Span(NamedTuple):
    """A time (s) in which nothing changes; ``after`` counts the moves that altered the state."""

    start: float
    end: float
    state: State
    held: bool
    bagged: bool
    after: int

    @property
    def length(self) -> float:
        """Return how long it lasts (s)."""
        return self.end - self.start


@dataclass(frozen=True)
class Played:
    """A trial as it went in its scene; ``seconds`` is how long each move takes (s)."""

    scene: Scene
    trial: Trial
    seconds: Mapping[str, float]

    @once
    def spans(self) -> tuple[Span, ...]:
        """Return the trial as spans between two changes, the first from its beginning."""
        return tuple(span for span in self._spans if span.end > span.start)

    @once
    def alters(self) -> tuple[tuple[str, Any], ...]:
        """Return the moves that altered the state, in order, each with what was done by it."""
        ready = ("bag",) if self.scene.setting != BABY else ()  # before birth it only lies ready
        acts = enumerate(self.trial.acts)
        altering = [(n, act) for n, act in acts if act.move in ALTERS and act.move not in ready]
        return tuple((act.move, self._what(n)) for n, act in altering)

    def _what(self, n: int) -> Any:
        act = self.trial.acts[n]
        if act.move != "mend":
            return act.what
        return next(a.what for a in reversed(self.trial.acts[:n]) if a.move == "name")

    @once
    def _spans(self) -> list[Span]:
        begun, state, held, bagged, after = 0.0, self.scene.start, False, False, 0
        found, last = list[Span](), self.trial.duration
        for time, kind, what in sorted(self._changes(), key=itemgetter(0)):
            at = min(time, last)
            found.append(Span(begun, at, state, held, bagged, after))
            begun = at
            if kind == "held":
                held = what
            elif kind == "bagged":
                bagged = what
            else:
                state, after = self.scene.after(state, kind, what), after + 1
        return [*found, Span(begun, last, state, held, bagged, after)]

    def _changes(self) -> Iterator[tuple[float, str, Any]]:
        """Yield when each move changes what: most have done so once their time is over."""
        on_baby = self.scene.setting == BABY
        for n, (time, move, _what) in enumerate(self.trial.acts):
            if move in HOLE:
                yield time, "held", move == "occlude"
                continue
            ends = time + self.seconds.get(move, 0.0)
            if move == "read":
                yield time, "held", True
                yield (time + ends) / 2, "held", False
            elif move == "bag" and on_baby:
                yield time, "bag", None
                yield ends, "bagged", True
            elif move in ALTERS and move != "bag":
                if move == "connect":
                    yield time, "bagged", False
                yield ends, move, self._what(n)

    def at(self, time: float) -> Span:
        """Return the span at a time (s): the one that ends there, not the one that begins."""
        n = bisect_left(self.spans, time, key=_end)
        within = time > 0 and n < len(self.spans)
        return self.spans[n] if within else self._spans[0]

    def moved(self, *moves: str) -> list[Act]:
        """Return the moves of some kinds, in order."""
        if self._done.isdisjoint(moves):
            return []
        return [act for act in self.trial.acts if act.move in moves]

    @once
    def _done(self) -> frozenset[str]:
        return frozenset(act.move for act in self.trial.acts)
