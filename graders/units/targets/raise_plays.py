"""Raising PIP played at the bench: an expert, and scripted mistakes, for the demo and tests."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from graders.units.targets.raise_pip import bounds_of
from graders.units.targets.raise_slips import Bounds
from workbook.bench import DIALS, Hands, Touch
from workbook.cases import Question
from workbook.cases.inflation import SHARE
from workbook.rules import RuleBook
from workbook.units.targets.case.raise_pip import pip_at

BEGIN = 1.0  # s before the first inflation
LOOKS = 2  # inflations given beyond those that are asked for
BELOW_TOP = 1.0  # of a cmH2O that the expert keeps below the limit
FASTER, SLOWER = 1.3, 0.7
OVER = 0.3  # s beyond the longest ordinary inflation
QUICK = 0.1  # s; a slip of the thumb
FEW = 1  # inflation between two hurried steps


@dataclass
class Hand:
    """A hand at the bench: it keeps the count and turns controls between two inflations."""

    asked: Question
    bounds: Bounds
    period: float
    held: float
    time: float = BEGIN
    touches: list[Touch] = field(default_factory=list)

    @property
    def enough(self) -> int:
        """Return how many inflations it gives at each pressure."""
        return self.bounds.inflations + LOOKS

    def inflate(self, times: int) -> None:
        """Give inflations in the count."""
        for _ in range(times):
            self.occlude(self.held)
            self.time += self.period - self.held

    def occlude(self, seconds: float) -> None:
        """Hold the aperture shut for a time."""
        self.touches.append(Touch(self.time, "occlude"))
        self.time += seconds
        self.touches.append(Touch(self.time, "release"))

    def turn(self, dial: str, position: int) -> None:
        """Turn a control before the next inflation, while the aperture is released."""
        before = self.time - (self.period - self.held) / 2
        self.touches.append(Touch(before, dial, position))

    @property
    def answer(self) -> dict[str, Any]:
        """Return what was done as an answer."""
        return Hands(self.time + BEGIN, tuple(self.touches)).to_data()


def _hand(asked: Question, book: RuleBook) -> Hand:
    period = 60 / asked.facts["rate"]
    return Hand(asked, bounds_of(asked, book), period, period * SHARE)


def pressures(hand: Hand, size: float | None = None) -> list[int]:
    """Return the positions of PIP an expert goes through, until the chest moves."""
    return [
        hand.asked.facts["bench"]["positions"]["pip"],
        *(_position(hand, now) for now in readings(hand, hand.asked.facts["pip"], size)),
    ]


def readings(hand: Hand, now: float, size: float | None = None) -> list[float]:
    """Return what the gauge shows after each further step, until the chest moves."""
    made: list[float] = []
    highest = hand.asked.facts["top"] - BELOW_TOP
    while _position(hand, now) < hand.bounds.moves and now < highest:
        now = min(now + (hand.bounds.step[0] if size is None else size), highest)
        made.append(now)
    return made


def _position(hand: Hand, reading: float) -> int:
    return pip_at(hand.asked.facts["bench"]["positions"], reading)


def _stepped(hand: Hand, positions: list[int], counts: Callable[[int], int]) -> None:
    """Inflate at each position in turn; ``counts`` says how often, by the place in the list."""
    for place, position in enumerate(positions):
        if place:
            hand.turn("pip", position)
        hand.inflate(counts(place))


def expert(asked: Question, book: RuleBook) -> dict[str, Any]:
    """Return the run of somebody who raises PIP step by step while the count goes on."""
    hand = _hand(asked, book)
    _stepped(hand, pressures(hand), lambda place: hand.enough)
    return hand.answer


def _all(hand: Hand) -> None:
    _stepped(hand, pressures(hand), lambda place: hand.enough)


def _held(hand: Hand, *, turning: bool) -> None:
    """Hold one inflation far too long, with or without turning PIP meanwhile."""
    first, *later = pressures(hand)
    hand.inflate(hand.enough)
    begun = hand.time
    hand.occlude(2 * hand.bounds.long)
    if turning:
        hand.touches.insert(-1, Touch(begun + hand.bounds.long / 2, "pip", later[0]))
        hand.time += hand.period
        hand.inflate(hand.enough)
    else:
        hand.time += hand.period
    _stepped(hand, later if turning else [first, *later], lambda place: hand.enough)


def _at_rate(factor: Callable[[Bounds], float]) -> Callable[[Hand], None]:
    def played(hand: Hand) -> None:
        hand.period = 60 / factor(hand.bounds)
        hand.held = min(hand.held, hand.period * SHARE)
        _all(hand)

    return played


def _times(length: Callable[[Bounds], float]) -> Callable[[Hand], None]:
    def played(hand: Hand) -> None:
        hand.held = length(hand.bounds)
        if hand.held > hand.period * SHARE:
            hand.period = 60 / (hand.bounds.rate[0] + 1)
        _all(hand)

    return played


def _stop_to_turn(hand: Hand) -> None:
    later = pressures(hand)[1:]
    hand.inflate(hand.enough)
    hand.time += 3 * max(hand.bounds.gap, 60 / hand.bounds.rate[0])
    hand.turn("pip", later[0])
    hand.inflate(hand.enough)
    _stepped(hand, later, lambda place: hand.enough)


def _jump(hand: Hand) -> None:
    _stepped(hand, [pressures(hand)[0], *_far(hand)], lambda place: hand.enough)


def _far(hand: Hand) -> list[int]:
    """Return a position that one step cannot reach, and those after it."""
    far = hand.asked.facts["pip"] + hand.bounds.step[1] + 2 * hand.bounds.accept
    return [_position(hand, now) for now in (far, *readings(hand, far))]


def _hurry(hand: Hand) -> None:
    half = _position(hand, hand.asked.facts["pip"] + hand.bounds.step[0])
    places = [pressures(hand)[0], half, *_far(hand)]
    _stepped(hand, places, lambda place: FEW if place == 1 else hand.enough)


def cautious(asked: Question, book: RuleBook) -> dict[str, Any]:
    """Return an expert's run in steps smaller than the edition names: careful, and no error."""
    hand = _hand(asked, book)
    size = hand.bounds.step[0] / 2
    _stepped(hand, pressures(hand, size), lambda place: hand.enough)
    return hand.answer


def _past(hand: Hand) -> None:
    """Open the relief, and go on past the ceiling."""
    hand.inflate(hand.enough)
    hand.turn("relief", DIALS["relief"].clicks)
    end = hand.bounds.ceiling + 2 * hand.bounds.accept + QUICK
    bench = hand.asked.facts["bench"]["positions"]
    opened = {**bench, "relief": DIALS["relief"].clicks}
    now, places = hand.asked.facts["pip"], [bench["pip"]]
    while now < end:
        now = min(now + hand.bounds.step[0], end)
        places.append(pip_at(opened, now))
    _stepped(hand, places, lambda place: hand.enough)


def _against(hand: Hand) -> None:
    """Go on in steps up to the relief, wherever the chest began to move, and once more."""
    now, end = hand.asked.facts["pip"], hand.asked.facts["relief"]
    places = [pressures(hand)[0]]
    while now < end:
        now = min(now + hand.bounds.step[0], end)
        places.append(_position(hand, now))
    once_more = places[-1] + round(hand.bounds.step[0] / DIALS["pip"].step)
    _stepped(hand, [*places, min(once_more, DIALS["pip"].clicks)], lambda place: hand.enough)


def _with(dial: str, clicks: int) -> Callable[[Hand], None]:
    def played(hand: Hand) -> None:
        hand.inflate(hand.enough)
        hand.turn(dial, hand.asked.facts["bench"]["positions"][dial] + clicks)
        _all(hand)

    return played


def _went_on(hand: Hand) -> None:
    more = min(_reading(hand) + hand.bounds.step[0], hand.asked.facts["top"] - BELOW_TOP)
    places = [*pressures(hand), _position(hand, more)]
    _stepped(hand, places, lambda place: hand.enough)


def _reading(hand: Hand) -> float:
    """Return what the gauge shows once an expert stops."""
    start = float(hand.asked.facts["pip"])
    return [start, *readings(hand, start)][-1]


def _short(hand: Hand) -> None:
    _stepped(hand, pressures(hand)[:-1], lambda place: hand.enough)


def _unseen(hand: Hand) -> None:
    places = pressures(hand)
    _stepped(hand, places, lambda place: hand.enough if place < len(places) - 1 else FEW)


def _taken_off(hand: Hand) -> None:
    hand.inflate(hand.enough)
    hand.touches.append(Touch(hand.time - QUICK, "open"))
    hand.touches.append(Touch(hand.time - QUICK / 2, "connect"))
    _all(hand)


PLAYS: Mapping[str, Callable[[Hand], None]] = {
    "held-turning": lambda hand: _held(hand, turning=True),
    "held-long": lambda hand: _held(hand, turning=False),
    "times-long": _times(lambda bounds: bounds.longest + OVER),
    "times-short": _times(lambda bounds: QUICK),
    "count-stopped": _stop_to_turn,
    "count-slow": _at_rate(lambda bounds: bounds.rate[0] * SLOWER),
    "count-fast": _at_rate(lambda bounds: bounds.rate[1] * FASTER),
    "never-raised": lambda hand: hand.inflate(2 * hand.enough),
    "step-jumped": _jump,
    "steps-hurried": _hurry,
    "past-ceiling": _past,
    "against-relief": _against,
    "flow-turned": _with("flow", 4),
    "peep-turned": _with("peep", 12),
    "relief-turned": _with("relief", 12),
    "taken-off": _taken_off,
    "went-on": _went_on,
    "stopped-short": _short,
    "not-looked": _unseen,
}

# How a belief shows at the bench.
BELIEFS = {
    "hold-to-turn": "held-turning",
    "longer-opens-better": "times-long",
    "stop-to-turn": "count-stopped",
    "pip-is-fixed": "never-raised",
    "all-at-once": "step-jumped",
    "pressure-without-limit": "against-relief",
    "flow-for-pressure": "flow-turned",
    "peep-for-chest": "peep-turned",
    "relief-in-care": "relief-turned",
    "more-is-better": "went-on",
}


def shows_at_bench(asked: Question, mistake: str, book: RuleBook) -> bool:
    """Say whether a mistake can be made in a case: there may be no room for a jump."""
    hand, facts = _hand(asked, book), asked.facts
    most, accept = hand.bounds.step[1], hand.bounds.accept
    room = facts["top"] - BELOW_TOP - facts["pip"]
    if mistake in ("step-jumped", "steps-hurried"):
        return bool(room > most + 2 * accept)
    if mistake == "went-on":
        return bool(facts["top"] - BELOW_TOP - _reading(hand) > 2 * accept)
    if mistake == "stopped-short":
        return len(pressures(hand)) > 2
    return True


def run_with(asked: Question, mistake: str, book: RuleBook) -> dict[str, Any]:
    """Return a run at a question's bench with one mistake in it."""
    hand = _hand(asked, book)
    PLAYS[mistake](hand)
    return hand.answer
