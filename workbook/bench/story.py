"""What stood when: a run at the bench as stretches between two touches, with the gauge's reading.

Off the baby the gauge settles within a fifth of a second, so its reading is the closed form of
how the controls stand; a test holds it against the stepper.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from workbook.bench.dial import DIALS
from workbook.bench.hands import Bench, Hands, Touch, circuit_at
from workbook.physics import steady_reading
from workbook.physics.solver.stepper import Outlet
from workbook.physics.trace import Trace

_ENDS: Mapping[str, Outlet] = {"cap": "capped", "open": "open", "connect": "lung"}
AROUND = 4.0  # s of needle shown before the moment that matters; half of it after
POINTS = 60
LEAD = 0.5  # s


@dataclass(frozen=True, slots=True)
class Stretch:
    """A time (s) in which nothing is touched; ``touched`` is what was done at its beginning."""

    start: float
    end: float
    positions: tuple[int, ...]
    held: bool
    outlet: Outlet
    touched: str = ""

    @property
    def length(self) -> float:
        """Return how long it lasts in seconds."""
        return self.end - self.start

    def at(self, dial: str) -> int:
        """Return a control's position."""
        return self.positions[_PLACE[dial]]

    def value(self, dial: str) -> float | None:
        """Return what the model has for a control's position."""
        return DIALS[dial].value(self.at(dial))

    def turned(self, **dials: int) -> Stretch:
        """Return the same with controls at other positions."""
        positions = tuple(
            dials.get(name, at) for name, at in zip(DIALS, self.positions, strict=True)
        )
        return Stretch(self.start, self.end, positions, self.held, self.outlet, self.touched)

    @property
    def reading(self) -> float:
        """Return what the gauge shows (cmH2O) once it has settled."""
        lung = self.outlet == "lung"
        return reading(self.positions, held=self.held, open_end=self.outlet == "open", leaky=lung)


_PLACE = {name: n for n, name in enumerate(DIALS)}


@lru_cache(maxsize=4096)
def reading(
    positions: tuple[int, ...], *, held: bool, open_end: bool = False, leaky: bool = False
) -> float:
    """Return the settled reading (cmH2O) with the controls at these positions.

    A mask leaks only where there is a face: ``leaky`` says that the baby is attached. Without
    flow the reading is zero, though a circuit that is closed all round keeps what it had.
    """
    stands = dict(zip(DIALS, positions, strict=True))
    circuit = circuit_at(stands if leaky else {**stands, "leak": 0})
    return steady_reading(circuit, held=held, outlet="open" if open_end else "capped")


def held_at(bench: Bench, **turned: int) -> float:
    """Return what PIP reads (cmH2O) with some controls turned and the others as at the start."""
    stands = {**bench.positions, **turned}
    return reading(tuple(stands[name] for name in DIALS), held=True)


def story(bench: Bench, hands: Hands) -> list[Stretch]:
    """Return a run as stretches, the first from before the first touch."""
    return list(_stretches(bench, hands))


def _stretches(bench: Bench, hands: Hands) -> Iterator[Stretch]:
    now = dict(bench.positions)
    held, outlet, begun, touched = False, bench.outlet, 0.0, ""
    for touch in hands.touches:
        yield Stretch(begun, touch.time, _tuple(now), held, outlet, touched)
        if touch.position is not None:
            now[touch.kind] = touch.position
        held = touch.kind == "occlude" if touch.kind in ("occlude", "release") else held
        outlet = _ENDS.get(touch.kind, outlet)
        begun, touched = touch.time, touch.kind
    yield Stretch(begun, hands.duration, _tuple(now), held, outlet, touched)


def _tuple(positions: Mapping[str, int]) -> tuple[int, ...]:
    return tuple(positions[name] for name in DIALS)


def needle(bench: Bench, hands: Hands, moment: float) -> list[tuple[float, float]]:
    """Return the needle (s, cmH2O) around a moment: as replayed, where the baby is attached.

    More than one finding may show the same moment of a run: it is worked out once.
    """
    if _shown[0] is not bench or _shown[1] is not hands:
        _shown[:] = [bench, hands, {}]
    kept: dict[float, list[tuple[float, float]]] = _shown[2]
    if moment not in kept:
        kept[moment] = _needle(bench, hands, moment)
    return kept[moment]


def moment_of(shown: Sequence[tuple[float, float]], duration: float) -> float:
    """Return the moment (s) of a run that ``needle`` shows what is around of."""
    begin, end = shown[0][0], shown[-1][0]
    if begin > 0:
        return begin + AROUND
    return max(0.0, end - AROUND / 2) if end < duration else begin


_shown: list[Any] = [None, None, {}]  # the run shown last, and its needle by moment


def _needle(bench: Bench, hands: Hands, moment: float) -> list[tuple[float, float]]:
    begin, end = max(0.0, moment - AROUND), min(hands.duration, moment + AROUND / 2)
    times = [begin + (end - begin) * n / (POINTS - 1) for n in range(POINTS)]
    seen = [s for s in story(bench, hands) if s.end >= begin and s.start <= end]
    on_baby = any(stretch.outlet == "lung" for stretch in seen)
    shown = _replayed(bench, hands, times) if on_baby else _settled(seen, times)
    return [(round(t, 2), round(p, 1)) for t, p in zip(times, shown, strict=True)]


def _settled(stretches: list[Stretch], times: list[float]) -> list[float]:
    starts = [stretch.start for stretch in stretches]
    return [stretches[max(bisect_right(starts, time) - 1, 0)].reading for time in times]


def _replayed(bench: Bench, hands: Hands, times: list[float]) -> list[float]:
    trace, since = _around(bench, hands, times[0], times[-1])
    return trace.at([time - since for time in times])


def replayed(
    bench: Bench, hands: Hands, begin: float, end: float
) -> tuple[list[float], list[float]]:
    """Return times (s) and pressures at the T-piece (cmH2O) of one part of a run."""
    trace, since = _around(bench, hands, begin, end)
    first, last = trace.between(begin - since, end - since)
    inside = range(max(first - 1, 0), last)
    return [trace.time[n] + since for n in inside], [trace.pressure_t[n] for n in inside]


def _around(bench: Bench, hands: Hands, begin: float, end: float) -> tuple[Trace, float]:
    """Replay from a little before a time, so that the gauge has settled; say from when (s)."""
    since = max(0.0, begin - LEAD)
    first = next(s for s in reversed(story(bench, hands)) if s.start <= since)
    stands = dict(zip(DIALS, first.positions, strict=True))
    later = [replace(t, time=t.time - since) for t in hands.touches if since < t.time <= end]
    touches = [Touch(0.0, "occlude"), *later] if first.held else later
    there = replace(bench, positions=stands, outlet=first.outlet)
    return there.record(Hands(end - since, tuple(touches))).replay(), since
