"""Careful human hands: experts who read, count, place and turn as nearly as a person can.

How near that is, stands here alone, each with its reason. All of it is assumed for the tests: no
study of learners at this workbook exists. A hand knows everything and wants to do it right; what
it gets wrong is precision only, so it must lose no mark for it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from random import Random
from typing import Any

from graders.units.faults.expert import expert
from graders.units.rate import tap_marks
from graders.units.rate.marks import strip_reach
from graders.units.setup import gauge as setup_gauge
from graders.units.sizing import mask_place
from graders.units.sizing.marks import _right_depth as depth
from graders.units.targets.raise_pip import bounds_of
from tests.hands_born import looked_after, written
from workbook.bench import DIALS, Bench, Hands, Touch
from workbook.cases import Question
from workbook.cases.dials import set_for
from workbook.cases.inflation import inflated
from workbook.cases.question import Kind
from workbook.core.quantities import convert
from workbook.face.mask import PLACE_STEP, TURN_STEP
from workbook.rules import RuleBook
from workbook.trial import Act, Trial
from workbook.units.faults.case.questions import seconds
from workbook.units.targets.case.raise_pip import pip_at

# Of a small mark (SD). An eye that is careful tells a needle to half a mark; that is two SD.
READS = 0.25
# s (SD), each hand its own, of each press and each release: an assumption, like all of these.
TAPS = (0.03, 0.05)
PACE = 0.02  # of the pace asked for (SD): a hand that counted with a clock keeps to it so nearly
DRIFTS = 0.02  # of the pace (SD): how much it changes from the first inflation to the last
LONG = 0.08  # of a long inflation (SD): people tell a few seconds to about a tenth
BOUNCES, BOUNCE = 0.02, (0.03, 0.07)  # chance that a finger touches twice, s between the touches
LATES, LATE = 0.02, 0.2  # chance of a late touch, s
PLACES, TURNS = 1.0, 3.0  # mm and degrees (SD): a disc laid with the eye on a drawing
MISCOUNTS = 0.1  # chance that an inflation at the edge of a strip is left out or counted twice
THINKS = (0.5, 4.0)  # s a hand stops, where no baby waits
TURNED = (0.3, 1.0)  # s that a turn of a control takes
FIRST, BETWEEN, COVERS = (0.4, 2.0), (0.2, 1.2), (0.4, 1.2)  # s in a trial, where a baby waits
OVER = 2  # clicks too far, and back
# Where people stop typing: the places behind the point, the commonest last.
PLACES_TYPED: Mapping[str, tuple[float, ...]] = {
    "cmH2O": (0.5, 1.0), "hPa": (0.5, 1.0), "kPa": (0.01, 0.1), "mmHg": (0.1, 1.0),
    "cm": (0.1, 0.5), "mm": (1.0, 5.0), "1/min": (1.0,),
}  # fmt: skip

# The questions that are timed, placed, read or worked out, and not chosen.
KINDS = (Kind.NUMBER, Kind.TAPS, Kind.FACE, Kind.BENCH, Kind.TRIAL, Kind.CASE, Kind.NOTE)


def typed(value: float, unit: str, chance: Random) -> dict[str, str]:
    """Return a value as somebody types it: rounded to a place that people stop at."""
    place = chance.choice(PLACES_TYPED[unit])
    return {"text": f"{round(value / place) * place:.6g}", "unit": unit}


def numbered(asked: Question, unit: str, book: RuleBook, chance: Random) -> dict[str, str]:
    """Return the number a careful person types, in a unit."""
    facts = asked.facts
    if "figure" in asked.shows:  # a needle, read by eye
        stands = facts["value"] + chance.gauss(0, READS * book["gauge.mark"].value)
        return typed(convert(stands, "cmH2O", unit), unit, chance)
    if asked.id in setup_gauge.GAUGES:
        return typed(convert(setup_gauge.needle(asked, book).right, "cmH2O", unit), unit, chance)
    if asked.id == "strip-rate":
        off = chance.choice((-1, 1)) if chance.random() < MISCOUNTS else 0
        return typed((facts["inflations"] + off) * strip_reach(asked), unit, chance)
    return typed(convert(depth(asked), "cm", unit), unit, chance)


def laid(asked: Question, chance: Random) -> dict[str, Any]:
    """Return a mask laid by hand or, one in two, by the keys, which move it by whole steps."""
    made = mask_place.model(asked)
    off = {"x": PLACES, "y": PLACES, "turn": TURNS}
    for name, spread in off.items():
        made[name] += chance.gauss(0, spread)
    if chance.random() < 0.5:
        for name, step in (("x", PLACE_STEP), ("y", PLACE_STEP), ("turn", TURN_STEP)):
            made[name] = round(made[name] / step) * step
    return made


@dataclass
class Finger:
    """A finger at the aperture or the button: it keeps a pace, nearly, and bounces at times."""

    chance: Random
    pace: float
    share: float
    lasts: float

    def __post_init__(self) -> None:
        self.spread = self.chance.uniform(*TAPS)
        self.own = self.pace * (1 + self.chance.gauss(0, PACE))
        self.drift = self.chance.gauss(0, DRIFTS)
        self.time = 0.0
        self.made: list[tuple[float, str]] = []

    def touch(self, time: float, what: str) -> None:
        """Press or let go at about a time (s), never before what came before."""
        late = LATE if self.chance.random() < LATES else 0.0
        at = time + late + self.chance.gauss(0, self.spread)
        last = self.made[-1][0] if self.made else 0.0
        self.made.append((max(at, last + 0.02), what))

    def inflate(self, held: float | None = None) -> None:
        """Give one inflation, of the pace's own length or of ``held`` seconds."""
        far = self.time / self.lasts - 0.5
        period = 60 / (self.own * (1 + self.drift * far))
        long = period * self.share if held is None else held
        self.touch(self.time, "press")
        if self.chance.random() < BOUNCES:
            at = self.made[-1][0]
            gap = self.chance.uniform(*BOUNCE)
            self.made += [(at + gap, "release"), (at + 2 * gap, "press")]
        self.touch(self.time + long, "release")
        self.time += period if held is None else held + period * (1 - self.share)


def tapped(asked: Question, book: RuleBook, chance: Random) -> dict[str, Any]:
    """Return a tapped count of a careful hand, for the whole time asked for."""
    lasts = float(asked.facts["duration"])
    finger = Finger(chance, asked.facts["rate"], 1 / 3, lasts)
    finger.time = chance.uniform(0.3, 2.0)
    for wanted in tap_marks.begun(asked, book):
        finger.inflate(wanted * (1 + chance.gauss(0, LONG)))
    while finger.time < lasts:
        finger.inflate()
    events = [[round(time, 4), what] for time, what in finger.made if time <= lasts]
    return tap_marks.model_taps(asked, book) | {"events": events}


@dataclass
class Person:
    """Somebody at the bench, who turns a control until the needle looks right."""

    chance: Random
    mark: float
    time: float = 0.5

    def __post_init__(self) -> None:
        self.touches: list[Touch] = []

    def sees(self, wanted: float) -> float:
        """Return where the needle stands when it looks as if it stood where it is wanted."""
        return wanted + self.chance.gauss(0, READS * self.mark)

    def wait(self, seconds: Sequence[float]) -> None:
        """Let time go by."""
        self.time += self.chance.uniform(*seconds)

    def do(self, kind: str, position: int | None = None) -> None:
        """Touch something, and take the time that it takes."""
        self.touches.append(Touch(self.time, kind, position))
        self.wait(TURNED)

    def turn(self, dial: str, start: int, end: int) -> None:
        """Turn a control there in a few goes, at times too far and back."""
        ways = [start + (end - start) * n // 3 for n in (1, 2)]
        over = end + OVER if end > start else end - OVER
        if self.chance.random() < 0.5 and 0 <= over < DIALS[dial].clicks:
            ways.append(over)
        for at in (*ways, end):
            self.touches.append(Touch(self.time, dial, at))
            self.time += self.chance.uniform(0.05, 0.4)
        self.wait(TURNED)

    def occlude(self) -> None:
        """Cover the hole; a thumb bounces at times."""
        self.do("occlude")
        if self.chance.random() < BOUNCES:
            gap = self.chance.uniform(*BOUNCE)
            at = self.touches[-1].time
            self.touches += [Touch(at + gap, "release"), Touch(at + 2 * gap, "occlude")]

    @property
    def run(self) -> dict[str, Any]:
        """Return what was done as an answer."""
        made = sorted(self.touches, key=lambda touch: touch.time)
        return Hands(max(self.time, made[-1].time) + 0.5, tuple(made)).to_data()


def set_up(asked: Question, book: RuleBook, chance: Random) -> dict[str, Any]:
    """Return a set-up in a safe order, each needle set by eye, both read at the end."""
    facts, left = asked.facts, asked.facts["bench"]["positions"]
    hand = Person(chance, book["gauge.mark"].value)
    at = _set_by_eye(facts, hand)
    hand.wait(THINKS)
    hand.do("cap")
    hand.turn("flow", left["flow"], at["flow"])
    hand.turn("pip", left["pip"], DIALS["pip"].clicks)
    hand.occlude()
    hand.turn("relief", left["relief"], at["relief"])
    hand.wait((0.6, 2.0))
    hand.turn("pip", DIALS["pip"].clicks, at["pip"])
    hand.wait((0.6, 2.0))
    hand.do("release")
    hand.turn("peep", left["peep"], at["peep"])
    hand.wait(THINKS)
    hand.occlude()
    hand.wait((0.6, 2.0))
    hand.do("release")
    hand.wait((0.6, 2.0))
    hand.wait(THINKS)
    hand.do("connect")
    return hand.run


def _set_by_eye(facts: Mapping[str, Any], hand: Person) -> dict[str, int]:
    """Return where the controls end up, each turned until the needle looks right."""
    at = set_for({**facts, "relief": hand.sees(facts["relief"])})
    stands = {"relief": at["relief"]}
    stands["pip"] = set_for({**facts, "pip": hand.sees(facts["pip"])}, stands)["pip"]
    stands["peep"] = set_for({**facts, "peep": hand.sees(facts["peep"])}, stands)["peep"]
    return {**at, **stands}


@dataclass
class Raising:
    """Somebody who raises PIP by steps, by a needle read by eye, until the chest moves."""

    asked: Question
    book: RuleBook
    chance: Random

    @cached_property
    def sees(self) -> Person:
        """Return the eye."""
        return Person(self.chance, self.book["gauge.mark"].value)

    def moves(self, position: int, rate: float) -> bool:
        """Say whether the chest is seen to move at a position and the hand's own pace."""
        facts = self.asked.facts
        at = {**facts["bench"]["positions"], "pip": position}
        bench = Bench.from_data(facts["bench"])
        low = self.book["volume.window"].band[0]
        return inflated(tuple(at.items()), bench.lung, rate) >= low * bench.weight

    def run(self) -> dict[str, Any]:
        """Return the run."""
        facts, chance = self.asked.facts, self.chance
        bounds = bounds_of(self.asked, self.book)
        finger = Finger(chance, facts["rate"], 1 / 3, 60.0)
        finger.time = chance.uniform(0.3, 1.5)
        turns: list[Touch] = []
        wanted, position = float(facts["pip"]), facts["bench"]["positions"]["pip"]
        more = chance.randint(0, 3)
        while True:
            for _n in range(bounds.inflations + more):
                finger.inflate()
            moved = self.moves(position, finger.own)
            if moved or wanted >= facts["top"] - 1:
                break
            wanted = min(wanted + bounds.step[0], facts["top"] - 1)
            last = finger.made[-1][0]
            room = finger.time - last
            there = pip_at(facts["bench"]["positions"], self.sees.sees(wanted))
            ways = [*range(position, there, 4)][1:]
            for n, at in enumerate((*ways, there)):
                turns.append(Touch(last + room * (0.2 + 0.5 * n / (len(ways) + 1)), "pip", at))
            position = there
        names = {"press": "occlude", "release": "release"}
        touches = [*turns, *(Touch(time, names[what]) for time, what in finger.made)]
        made = sorted(touches, key=lambda touch: touch.time)
        end = max(finger.time, made[-1].time) + chance.uniform(0.2, 3.0)
        return Hands(end, tuple(made)).to_data()


def raised(asked: Question, book: RuleBook, chance: Random) -> dict[str, Any]:
    """Return a run in which a careful person raises PIP while the count goes on."""
    return Raising(asked, book, chance).run()


def tried(asked: Question, book: RuleBook, chance: Random) -> dict[str, Any]:
    """Return a trial of somebody who knows, at a person's pace: waits, and covers unevenly."""
    takes, now, made = seconds(book), chance.uniform(*FIRST), list[Act]()
    for act in expert(asked, book).acts:
        now += chance.uniform(*COVERS) if act.move == "release" else 0.0
        made.append(Act(round(now, 3), act.move, act.what))
        now += takes.get(act.move, 0.0)
        now += 0.0 if act.move == "occlude" else chance.uniform(*BETWEEN)
    return Trial(round(now, 3), tuple(made)).to_data()


def by_hand(asked: Question, book: RuleBook, chance: Random, unit: str = "") -> Any:
    """Return the answer of a careful person to a timed, placed, read or worked out question."""
    if asked.kind is Kind.NUMBER:
        return numbered(asked, unit, book, chance)
    if asked.kind is Kind.FACE:
        return laid(asked, chance)
    if asked.kind is Kind.TAPS:
        return tapped(asked, book, chance)
    if asked.kind is Kind.TRIAL:
        return tried(asked, book, chance)
    if asked.kind is Kind.CASE:
        return looked_after(asked.facts["case"], book)
    if asked.kind is Kind.NOTE:
        return written(asked.facts["case"], book, chance)
    return raised(asked, book, chance) if asked.id == "raise" else set_up(asked, book, chance)
