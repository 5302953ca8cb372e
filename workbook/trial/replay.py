"""A trial replayed: what stood when, what the baby met, what was seen before a name was given.

Needles settle within a fifth of a second, so every span between two moves is the closed form of
how things stand. Pure, and bounded by the number of moves.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Any

from workbook.physics import coefficients as c
from workbook.trial.apart import Seen
from workbook.trial.moves import BABY, DIALLED, LASTING, MOVES
from workbook.trial.named import UNKNOWN
from workbook.trial.record import Act, Trial
from workbook.trial.scene import OUTLETS, Scene, State
from workbook.trial.tells import bag_helps

ALTERS = (*OUTLETS, *DIALLED, *LASTING, "mend")


@dataclass(frozen=True, slots=True)
class Limits:
    """What the rules say of a trial: times in s, ``ceiling`` and ``rest`` in cmH2O.

    ``share`` is of a right inflation; ``read`` how long a needle has to stand to be read.
    """

    act: float
    unventilated: float
    high: float
    stuck: float
    share: float
    read: float
    ceiling: float
    rest: float


@dataclass(frozen=True, slots=True)
class Span:
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
class Replay:
    """A trial as it went in its scene; ``seconds`` is how long each move takes (s)."""

    scene: Scene
    trial: Trial
    seconds: Mapping[str, float]
    limits: Limits

    @cached_property
    def spans(self) -> tuple[Span, ...]:
        """Return the trial as spans between two changes, the first from its beginning."""
        return tuple(span for span in self._spans if span.length > 0)

    @cached_property
    def alters(self) -> tuple[tuple[str, Any], ...]:
        """Return the moves that altered the state, in order, each with what was done by it."""
        return tuple((act.move, self._what(n)) for n, act in self._altering)

    @cached_property
    def _altering(self) -> list[tuple[int, Act]]:
        ready = ("bag",) if self.scene.setting != BABY else ()  # before birth it only lies ready
        acts = enumerate(self.trial.acts)
        return [(n, act) for n, act in acts if act.move in ALTERS and act.move not in ready]

    def _what(self, n: int) -> Any:
        act = self.trial.acts[n]
        if act.move != "mend":
            return act.what
        return next(a.what for a in reversed(self.trial.acts[:n]) if a.move == "name")

    @cached_property
    def _spans(self) -> list[Span]:
        begun, state, held, bagged, after = 0.0, self.scene.start, False, False, 0
        found, last = list[Span](), self.trial.duration
        for time, kind, what in sorted(self._changes, key=lambda each: each[0]):
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

    @cached_property
    def _changes(self) -> list[tuple[float, str, Any]]:
        return [change for n, act in enumerate(self.trial.acts) for change in self._change(n, act)]

    def _change(self, n: int, act: Act) -> Iterator[tuple[float, str, Any]]:
        """Yield when a move changes what: most have done so once their time is over."""
        ends = act.time + self.seconds.get(act.move, 0.0)
        if act.move in ("occlude", "release"):
            yield act.time, "held", act.move == "occlude"
        elif act.move == "read":
            yield act.time, "held", True
            yield (act.time + ends) / 2, "held", False
        elif act.move == "bag" and self.scene.setting == BABY:
            yield act.time, "bag", None
            yield ends, "bagged", True
        elif act.move in ALTERS and act.move != "bag":
            if act.move == "connect":
                yield act.time, "bagged", False
            yield ends, act.move, self._what(n)

    # --- what was named, and what was seen before it

    @cached_property
    def name(self) -> Act | None:
        """Return the last name that was given."""
        return next((a for a in reversed(self.trial.acts) if a.move == "name"), None)

    @property
    def unknown(self) -> bool:
        """Say whether “I do not know” was the last name."""
        return self.name is not None and self.name.what == UNKNOWN

    @property
    def sure(self) -> str:
        """Return how sure somebody said to be; nothing where nothing was said."""
        said = [a.what for a in self.trial.acts if a.move == "sure"]
        return str(said[-1]) if said else ""

    def looks(self, begin: float, end: float) -> list[Act]:
        """Return the looks and changes of parts between two times (s)."""
        does = ("look", "part")
        return [a for a in self.trial.acts if begin <= a.time < end and MOVES[a.move].does in does]

    @cached_property
    def named_at(self) -> float:
        """Return when the last name was given (s), or the end."""
        return self.trial.duration if self.name is None else self.name.time

    @cached_property
    def seen(self) -> tuple[Seen, ...]:
        """Return all that was observed before the last name, each thing once."""
        found: dict[Seen, None] = {}
        for span in self.spans:
            if span.start < self.named_at and span.length >= self.limits.read:
                found[Seen(span.after, "needle", span.held)] = None
                if span.held and span.state.outlet == "lung":
                    found[Seen(span.after, "chest", held=True)] = None
        for act in self.trial.acts:
            if act.time < self.named_at and MOVES[act.move].does in ("look", "bag"):
                span = self.at(act.time)
                found[Seen(span.after, act.move, span.held)] = None
        return tuple(found)

    def at(self, time: float) -> Span:
        """Return the span at a time (s): the one that ends there, not the one that begins."""
        return next((s for s in self.spans if s.start < time <= s.end), self._spans[0])

    # --- what the baby met

    @cached_property
    def ventilated(self) -> list[tuple[float, float]]:
        """Return when the baby was ventilated (s): by bag or inflations that moved its chest."""
        return [(s.start, s.end) for s in self.spans if self._inflates(s)]

    def _inflates(self, span: Span) -> bool:
        if span.bagged:
            return bag_helps(self.scene, span.state)
        if not span.held or span.state.outlet != "lung":
            return False
        return self.scene.brings(span.state) >= self.limits.share

    @cached_property
    def inflations(self) -> list[tuple[float, float]]:
        """Return when a hand kept the hole covered and gas reached the lung (s).

        While both pressures are read again the page covers the hole: that is no inflation.
        """
        reads = [(a.time, a.time + self.seconds["read"]) for a in self.moved("read")]
        found: list[tuple[float, float]] = []
        for span in self.spans:
            by_page = any(begin <= span.start < end for begin, end in reads)
            if by_page or not span.held or not self._reaches(span):
                continue
            if found and found[-1][1] == span.start:
                found[-1] = (found[-1][0], span.end)
            else:
                found.append((span.start, span.end))
        return found

    def _reaches(self, span: Span) -> bool:
        attached = span.state.outlet == "lung" and not span.bagged
        return attached and self.scene.brings(span.state) > 0.0

    @cached_property
    def past(self) -> float | None:
        """Return when a bag was first at work that moved no chest (s); None where it never was."""
        bagged = next((span for span in self.spans if span.bagged), None)
        return bagged.start if bagged and not self._inflates(bagged) else None

    @cached_property
    def told(self) -> float:
        """Return when somebody whose bag moved no chest had said so, with help there (s).

        From then on two look after the baby, and a trial shows no more of what is done for it.
        The end, where that never was, or where the mask was put on again.
        """
        end, called, connects = self.trial.duration, self.moved("call"), self.moved("connect")
        if self.past is None or not self.unknown or not called:
            return end
        told = max(self.named_at, called[0].time, self.past)
        return end if connects and connects[-1].time > told else told

    @cached_property
    def gap(self) -> tuple[float, float]:
        """Return the longest time (s) without ventilation: from when to when.

        A bag that moves no chest was the right beginning, so the time begins anew there, once;
        nothing makes good what was too long before it.
        """
        anew = [] if self.past is None else [(self.past, self.past)]
        edges = sorted([(0.0, 0.0), *self.ventilated, *anew, (self.told, self.trial.duration)])
        gaps = [(one[1], two[0]) for one, two in pairwise(edges)]
        first = [gap for gap in gaps if self.past is None or gap[0] < self.past]
        longest = max(first, key=_length)
        return longest if _length(longest) > self.limits.unventilated else max(gaps, key=_length)

    @cached_property
    def high(self) -> float:
        """Return how long in all (s) pressure at the baby lay above the ceiling."""
        over = (s.length for s in self.spans if self._at_baby(s) > self.limits.ceiling)
        return sum(over)

    @cached_property
    def stuck(self) -> float:
        """Return the longest time (s) in which pressure at the baby never fell near PEEP."""
        longest = now = 0.0
        for span in self.spans:
            now = now + span.length if self._at_baby(span) > self.limits.rest else 0.0
            longest = max(longest, now)
        return longest

    def _at_baby(self, span: Span) -> float:
        """Return the pressure at the T (cmH2O) with the baby attached; nothing without it."""
        if not self._reaches(span):
            return 0.0
        return min(self.scene.steady(span.state, held=span.held).at_t, c.GAUGE_TOP.value)

    @cached_property
    def safe_at(self) -> float | None:
        """Return when the first safe act began (s): the bag, or an inflation that moved a chest."""
        bags = [act.time for act in self.trial.acts if act.move == "bag"]
        begun = [*bags, *(start for start, _ in self.ventilated)]
        return min(begun, default=None)

    # --- how it ended

    @property
    def last(self) -> Span:
        """Return how it all stood at the end."""
        return self._spans[-1]

    @property
    def mended(self) -> bool:
        """Say whether the fault was gone at the end."""
        return not self.scene.present(self.last.state)

    @cached_property
    def read_again(self) -> bool:
        """Say whether both pressures were read, in one way to stand, once the fault was gone."""
        gone = [
            span
            for span in self.spans
            if not self.scene.present(span.state)
            and span.state.outlet != "open"
            and span.length >= self.limits.read
        ]
        last = self.last.state
        now = {s.held for s in gone if s.state.positions == last.positions}
        return self.mended and now == {True, False}

    @property
    def read_open(self) -> bool:
        """Say whether the last reading was of a needle with the outlet open to the air."""
        reads = self.moved("read")
        return bool(reads) and self.at(reads[-1].time).state.outlet == "open"

    def moved(self, *moves: str) -> list[Act]:
        """Return the moves of some kinds, in order."""
        return [act for act in self.trial.acts if act.move in moves]


def _length(gap: tuple[float, float]) -> float:
    return gap[1] - gap[0]
