"""What a baby met in a run: when it was at the T-piece, each inflation, and what the gauge had."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from workbook.bench import DIALS, Bench, Hands
from workbook.bench.story import Stretch, replayed, story
from workbook.physics.trace import Trace
from workbook.taps import Taps
from workbook.trial.replay import Replay


@dataclass(frozen=True, slots=True)
class Inflation:
    """One occlusion (s) with the baby attached; ``highest`` is its settled pressure (cmH2O).

    ``brings`` is the most it can bring (mL), by the lung and the two settled pressures;
    ``turned`` says that a control was turned meanwhile.
    """

    start: float
    end: float
    highest: float = float("inf")
    brings: float = float("inf")
    turned: bool = False

    @property
    def length(self) -> float:
        """Return how long it lasted (s)."""
        return self.end - self.start


@dataclass(frozen=True)
class Care:
    """A run as the baby met it.

    ``needs`` are the spans (s) in which the baby needs ventilation. At the bench there are the
    ``stretches`` between two touches, and the run itself to replay where a closed form raises a
    suspicion; tapped counts have neither.
    """

    duration: float
    needs: tuple[tuple[float, float], ...]
    inflations: tuple[Inflation, ...]
    stretches: Sequence[Stretch] = ()
    bench: Bench | None = None
    hands: Hands | None = None

    @cached_property
    def trace(self) -> Trace | None:
        """Return the run replayed; None where there is nothing to replay."""
        if self.bench is None or self.hands is None:
            return None
        return self.bench.record(self.hands).replay()

    def met(self, begin: float, end: float) -> tuple[list[float], list[float]]:
        """Return times (s) and pressures at the T-piece (cmH2O), replayed around them alone."""
        if self.bench is None or self.hands is None:
            return [], []
        return replayed(self.bench, self.hands, begin, end)

    @property
    def meets_baby(self) -> bool:
        """Say whether there was a baby in the run that anything could harm."""
        return bool(self.needs or self.inflations or self.on_baby)

    @cached_property
    def on_baby(self) -> tuple[Stretch, ...]:
        """Return the stretches in which the baby was attached."""
        return tuple(s for s in self.stretches if s.outlet == "lung")


def of_run(
    bench: Bench,
    hands: Hands,
    *,
    ventilates: bool,
    stretches: Sequence[Stretch] | None = None,
) -> Care:
    """Return what the baby met in a run at the bench; ``stretches`` where they are known already.

    ``ventilates`` says that the task is to ventilate: then the baby needs it all the time, mask on
    or off. Else it needs it as soon as somebody has begun to.
    """
    stretches = story(bench, hands) if stretches is None else stretches
    inflations = tuple(_inflations(stretches, bench))
    begins = 0.0 if ventilates else inflations[0].start if inflations else None
    needs = () if begins is None else ((begins, hands.duration),)
    return Care(hands.duration, needs, inflations, stretches, bench, hands)


def _inflations(stretches: Sequence[Stretch], bench: Bench) -> Iterator[Inflation]:
    """Yield each occlusion on the baby; turning a control meanwhile does not end it."""
    inside: list[Stretch] = []
    for stretch in stretches:
        if stretch.held and stretch.outlet == "lung":
            inside.append(stretch)
        elif inside:
            yield _inflation(inside, bench)
            inside = []
    if inside:
        yield _inflation(inside, bench)


def _inflation(inside: Sequence[Stretch], bench: Bench) -> Inflation:
    highest = max(inside, key=lambda s: s.reading)
    resting = Stretch(0.0, 0.0, highest.positions, False, "lung").reading
    brings = bench.lung.compliance * max(0.0, highest.reading - resting)
    turned = any(stretch.touched in DIALS for stretch in inside)
    return Inflation(inside[0].start, inside[-1].end, highest.reading, brings, turned)


def of_trial(replay: Replay) -> Care:
    """Return the inflations of a trial; how long a baby waits in it is a rule of trials."""
    made = tuple(Inflation(begin, end) for begin, end in replay.inflations)
    return Care(replay.trial.duration, (), made)


def of_taps(taps: Taps) -> Care:
    """Return what the baby met in a tapped count; a press the page lost has no end to judge."""
    ends = [*(each.press for each in taps.inflations), taps.duration][1:]
    made = tuple(
        Inflation(each.press, min(each.release or end, end))
        for each, end in zip(taps.inflations, ends, strict=True)
    )
    return Care(taps.duration, ((0.0, taps.duration),), made)
