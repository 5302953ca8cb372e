"""A trial replayed: what the baby met, what was seen before a name was given, how it ended."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from workbook.core.once import once
from workbook.physics import coefficients as c
from workbook.trial.apart import Seen
from workbook.trial.moves import MOVES
from workbook.trial.named import UNKNOWN
from workbook.trial.record import Act
from workbook.trial.spans import Played, Span
from workbook.trial.tells import bag_helps


class Limits(NamedTuple):
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


class Met(NamedTuple):
    """What the baby met in a span: nothing, where the mask was off or somebody used the bag.

    ``share`` is what an inflation brings, of a right one; ``pressure`` that at the T (cmH2O).
    """

    span: Span
    share: float = 0.0
    pressure: float = 0.0


@dataclass(frozen=True)
class Replay(Played):
    """A trial as it went in its scene, by what the rules say of trials."""

    limits: Limits

    # --- what was named, and what was seen before it

    @once
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

    @once
    def named_at(self) -> float:
        """Return when the last name was given (s), or the end."""
        return self.trial.duration if self.name is None else self.name.time

    @once
    def seen(self) -> tuple[Seen, ...]:
        """Return all that was observed before the last name, each thing once."""
        found: dict[Seen, None] = {}
        named_at, read = self.named_at, self.limits.read
        for span in self.spans:
            if span.start < named_at and span.end - span.start >= read:
                found[Seen(span.after, "needle", span.held)] = None
                if span.held and span.state.outlet == "lung":
                    found[Seen(span.after, "chest", held=True)] = None
        for act in self.trial.acts:
            if act.time < named_at and MOVES[act.move].does in ("look", "bag"):
                span = self.at(act.time)
                found[Seen(span.after, act.move, span.held)] = None
        return tuple(found)

    # --- what the baby met

    @once
    def met(self) -> tuple[Met, ...]:
        """Return what the baby met, span by span."""
        return tuple(map(self._met, self.spans))

    def _met(self, span: Span) -> Met:
        if span.bagged or span.state.outlet != "lung":
            return Met(span)
        stands = span.after, span.held
        if stands not in self._at_lung:
            self._at_lung[stands] = self._stood(span)
        return Met(span, *self._at_lung[stands])

    @once
    def _at_lung(self) -> dict[tuple[int, bool], tuple[float, float]]:
        """Return what is known of a state, by how many moves altered it, and the hole."""
        return {}

    def _stood(self, span: Span) -> tuple[float, float]:
        """Return what an inflation brings (share) and the pressure at the T (cmH2O) in a span."""
        share = self.scene.brings(span.state)
        if share <= 0.0:
            return 0.0, 0.0
        return share, min(self.scene.steady(span.state, held=span.held).at_t, c.GAUGE_TOP.value)

    @once
    def ventilated(self) -> list[tuple[float, float]]:
        """Return when the baby was ventilated (s): by bag or inflations that moved its chest."""
        return [(m.span.start, m.span.end) for m in self.met if self._inflates(m)]

    def _inflates(self, met: Met) -> bool:
        if met.span.bagged:
            return bag_helps(self.scene, met.span.state)
        return met.span.held and met.share > 0.0 and met.share >= self.limits.share

    @once
    def inflations(self) -> list[tuple[float, float]]:
        """Return when a hand kept the hole covered and gas reached the lung (s).

        While both pressures are read again the page covers the hole: that is no inflation.
        """
        reads = [(a.time, a.time + self.seconds["read"]) for a in self.moved("read")]
        found: list[tuple[float, float]] = []
        for span in (met.span for met in self.met if met.span.held and met.share > 0.0):
            if any(begin <= span.start < end for begin, end in reads):
                continue
            if found and found[-1][1] == span.start:
                found[-1] = (found[-1][0], span.end)
            else:
                found.append((span.start, span.end))
        return found

    @once
    def past(self) -> float | None:
        """Return when a bag was first at work that moved no chest (s); None where it never was."""
        bagged = next((span for span in self.spans if span.bagged), None)
        helps = bagged is None or bag_helps(self.scene, bagged.state)
        return None if bagged is None or helps else bagged.start

    @once
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

    @once
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

    @once
    def high(self) -> float:
        """Return how long in all (s) pressure at the baby lay above the ceiling."""
        return sum(met.span.length for met in self.met if met.pressure > self.limits.ceiling)

    @once
    def stuck(self) -> float:
        """Return the longest time (s) in which pressure at the baby never fell near PEEP."""
        longest = now = 0.0
        for met in self.met:
            now = now + met.span.length if met.pressure > self.limits.rest else 0.0
            longest = max(longest, now)
        return longest

    @once
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

    @once
    def mended(self) -> bool:
        """Say whether the fault was gone at the end."""
        return not self.scene.present(self.last.state)

    @once
    def read_again(self) -> bool:
        """Say whether both pressures were read, in one way to stand, once the fault was gone."""
        last = self.last.state
        now = {
            span.held
            for span in self.spans
            if span.length >= self.limits.read
            and span.state.positions == last.positions
            and span.state.outlet != "open"
            and not self.scene.present(span.state)
        }
        return self.mended and now == {True, False}

    @once
    def read_on_baby(self) -> bool:
        """Say whether a mask that was off when the fault was gone went on before both were read."""
        gone = next(n for n, s in enumerate(self.spans) if not self.scene.present(s.state))
        seen = set[bool]()
        for span in self.spans[gone:]:
            if span.state.outlet == "lung":
                return seen != {True, False} and span is not self.spans[gone]
            if span.length >= self.limits.read and span.state.outlet == "capped":
                seen.add(span.held)
        return False

    @property
    def read_open(self) -> bool:
        """Say whether the last reading was of a needle with the outlet open to the air."""
        reads = self.moved("read")
        return bool(reads) and self.at(reads[-1].time).state.outlet == "open"


def _length(gap: tuple[float, float]) -> float:
    return gap[1] - gap[0]
