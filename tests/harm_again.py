"""Harm played once more, in other shapes: brief and again, slowly creeping, half the run.

Written from what each hazard is said to be (the rules and words of the watch), by another way than
``tests.harm``: a run is made anew, inflation by inflation, with a needle or a rhythm that changes
on its way. Nothing of how the watch finds a hazard is used here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from random import Random
from typing import Any

from workbook.bench import DIALS, Hands, Touch

TOP = {dial: DIALS[dial].clicks for dial in DIALS}
PLACES = ("start", "middle", "end")


@dataclass
class Player:
    """A hand that ventilates at a pace; ``stands`` is where the controls are now."""

    chance: Random
    period: float
    stands: dict[str, int]
    time: float
    touches: list[Touch] = field(default_factory=list)

    def turn(self, dial: str, position: int) -> None:
        """Turn a control now."""
        self.stands[dial] = position
        self.touches.append(Touch(self.time, dial, position))
        self.time += 0.02

    def inflate(self, held: float | None = None, period: float | None = None) -> None:
        """Give one inflation."""
        period = self.period if period is None else period
        held = period / 3 if held is None else held
        self.touches.append(Touch(self.time, "occlude"))
        self.touches.append(Touch(self.time + held, "release"))
        self.time += max(period, held + 0.3)

    def care(self, seconds: float) -> None:
        """Ventilate as asked for a time."""
        for _n in range(max(1, round(seconds / self.period))):
            self.inflate()

    def mask(self, seconds: float) -> None:
        """Lift the mask and put it back."""
        self.touches.append(Touch(self.time, "open"))
        self.time += seconds
        self.touches.append(Touch(self.time, "connect"))
        self.time += 0.05


Play = Callable[[Player, Mapping[str, Any]], None]


def _opened(hand: Player, seconds: float, times: int, between: float) -> None:
    """Open relief and PIP wide for some inflations, so many times."""
    was = dict(hand.stands)
    for n in range(times):
        if n:
            hand.care(between)
        hand.turn("relief", TOP["relief"])
        hand.turn("pip", TOP["pip"] - 1)
        hand.inflate(seconds, seconds + 0.4)
        hand.turn("pip", was["pip"])
        hand.turn("relief", was["relief"])


def brief_twice(hand: Player, told: Mapping[str, Any]) -> None:
    """High pressure for one inflation, care for some seconds, and the same again."""
    _opened(hand, 0.9, 2, 6.0)


def brief_once(hand: Player, told: Mapping[str, Any]) -> None:
    """High pressure for one inflation, turned back at once."""
    _opened(hand, 0.9, 1, 0.0)


def creeping(hand: Player, told: Mapping[str, Any]) -> None:
    """PIP crept up by a few clicks after each inflation, and back in one go."""
    was = dict(hand.stands)
    hand.turn("relief", TOP["relief"])
    while hand.stands["pip"] < TOP["pip"] - 14:
        hand.turn("pip", hand.stands["pip"] + 12)
        hand.inflate()
    for _n in range(3):
        hand.inflate(0.9, 1.3)
    hand.turn("pip", was["pip"])
    hand.turn("relief", was["relief"])


def flow_knocked(hand: Player, told: Mapping[str, Any]) -> None:
    """The flow knocked up with relief and PIP open."""
    was = dict(hand.stands)
    hand.turn("flow", TOP["flow"])
    hand.turn("relief", TOP["relief"])
    hand.turn("pip", TOP["pip"] - 20)
    hand.inflate(0.9, 1.3)
    for dial in ("pip", "relief", "flow"):
        hand.turn(dial, was[dial])


def held_half(hand: Player, told: Mapping[str, Any]) -> None:
    """One inflation held for a quarter of a minute."""
    hand.inflate(15.0)


def held_twice(hand: Player, told: Mapping[str, Any]) -> None:
    """Two inflations of some four seconds, with care between them."""
    hand.inflate(4.2)
    hand.care(3.0)
    hand.inflate(4.2)


def all_a_little_long(hand: Player, told: Mapping[str, Any]) -> None:
    """Every inflation somewhat longer than the longest ordinary one, for a third of a minute."""
    for _n in range(12):
        hand.inflate(told["longest"] + 0.35, told["longest"] + 0.9)


def every_other_long(hand: Player, told: Mapping[str, Any]) -> None:
    """Long, long, short, over and over."""
    for n in range(15):
        long = n % 3 < 2
        hand.inflate(told["longest"] + 0.5 if long else 0.4, told["longest"] + 0.9)


def two_stops(hand: Player, told: Mapping[str, Any]) -> None:
    """Two stops of six seconds."""
    hand.time += told["gap"]
    hand.care(4.0)
    hand.time += told["gap"]


def masked_each_third(hand: Player, told: Mapping[str, Any]) -> None:
    """The mask lifted after each third inflation, each time for too long."""
    for _n in range(3):
        hand.care(3 * hand.period)
        hand.mask(told["gap"])


def nothing_but_puffs(hand: Player, told: Mapping[str, Any]) -> None:
    """PIP turned right down: the aperture moves, and hardly any pressure comes."""
    was = hand.stands["pip"]
    hand.turn("pip", 0)
    hand.care(told["gap"] + 4.0)
    hand.turn("pip", was)


def quickening(hand: Player, told: Mapping[str, Any]) -> None:
    """Quicker from inflation to inflation, up to twice what is asked, then held there."""
    fastest = 60 / (1.7 * told["rate"][1])
    period = hand.period
    while period > fastest:
        hand.inflate(None, period)
        period *= 0.93
    for _n in range(round(16 / fastest)):
        hand.inflate(None, fastest)


def in_bursts(hand: Player, told: Mapping[str, Any]) -> None:
    """Fast for a dozen seconds, slow enough after it that the mean is right."""
    fastest = 60 / (1.5 * told["rate"][1])
    for _n in range(round(14 / fastest)):
        hand.inflate(None, fastest)
    for _n in range(4):
        hand.inflate(None, 1.2 * 60 / told["rate"][0])


def drowsy(hand: Player, told: Mapping[str, Any]) -> None:
    """Slower from inflation to inflation, and slow for a quarter of a minute."""
    slowest = min(60 / (told["rate"][0] / 1.5), 4.6)
    period = hand.period
    while period < slowest:
        hand.inflate(0.5, period)
        period *= 1.1
    for _n in range(round(17 / slowest) + 1):
        hand.inflate(0.5, slowest)


def peep_knocked(hand: Player, told: Mapping[str, Any]) -> None:
    """PEEP shut right down on the baby, and later back."""
    was = hand.stands["peep"]
    hand.turn("peep", TOP["peep"])
    hand.care(16.0)
    hand.turn("peep", was)


def peep_opened(hand: Player, told: Mapping[str, Any]) -> None:
    """PEEP opened right up on the baby, and later back."""
    was = hand.stands["peep"]
    hand.turn("peep", 0)
    hand.care(16.0)
    hand.turn("peep", was)


def off_and_turned(hand: Player, told: Mapping[str, Any]) -> None:
    """Mask off, PIP turned and back by a little less, mask on: nobody has read it."""
    was = hand.stands["pip"]
    hand.touches.append(Touch(hand.time, "open"))
    hand.time += 0.3
    hand.turn("pip", max(0, was - 20))
    hand.time += 0.2
    hand.turn("pip", was - 5)
    hand.time += 0.2
    hand.touches.append(Touch(hand.time, "connect"))
    hand.time += 0.05
    hand.care(3.0)
    hand.turn("pip", was)


# Each shape, and the hazard it is.
SHAPES: Mapping[str, tuple[Play, str]] = {
    "brief pressure twice": (brief_twice, "pressure"),
    "brief pressure once": (brief_once, "pressure"),
    "creeping pressure": (creeping, "pressure"),
    "flow knocked": (flow_knocked, "pressure"),
    "held for a quarter of a minute": (held_half, "long"),
    "held twice": (held_twice, "long"),
    "all a little long": (all_a_little_long, "long"),
    "two of three long": (every_other_long, "long"),
    "two stops": (two_stops, "gap"),
    "mask lifted each third inflation": (masked_each_third, "gap"),
    "only puffs": (nothing_but_puffs, "gap"),
    "quickening": (quickening, "fast"),
    "in bursts": (in_bursts, "fast"),
    "drowsy": (drowsy, "slow"),
    "PEEP shut": (peep_knocked, "peep-high"),
    "PEEP opened": (peep_opened, "peep-lost"),
    "mask off and PIP turned": (off_and_turned, "unread"),
}
ONCE = ("brief pressure once", "flow knocked")  # ended at once, and so told apart
TAPPED = ("held for a quarter of a minute", "held twice", "all a little long", "two of three long",
          "two stops", "quickening", "in bursts", "drowsy")  # fmt: skip


def with_harm(
    shape: str, place: str, before: Hands, stands: Mapping[str, int], told: Mapping[str, Any],
    chance: Random,
) -> Hands:  # fmt: skip
    """Return a run that goes on after ``before`` with half a minute of care and a harm in it."""
    last = max((t.time for t in before.touches), default=0.0)
    hand = Player(chance, 120 / sum(told["rate"]), dict(stands), last + 0.5)
    lead = {"start": 0.0, "middle": 15.0, "end": 30.0}[place]
    if lead:
        hand.care(lead)
    SHAPES[shape][0](hand, told)
    if lead < 30:
        hand.care(30.0 - lead)
    return Hands(hand.time + 0.2, (*before.touches, *hand.touches))
