"""The play of somebody who goes by the edition's steps, written from these and not from any marks.

The same baby as the learner's, worked out and never stored.
"""

from __future__ import annotations

from typing import Any

from workbook.bench import DIALS
from workbook.rules import RuleBook, rulebook
from workbook.scenario.acts import ACTS
from workbook.scenario.case import Case
from workbook.scenario.demands import demands, highest, one
from workbook.scenario.hand import Hand
from workbook.scenario.helper import answers
from workbook.scenario.record import Played
from workbook.scenario.replay import PERCENT, Inflation

LOOK = 5.0  # s between two looks at a baby who is not inflated
STEPS = (("mask-adjust", "reposition"), ("suction", "open-mouth"), ("pip-up",), ("new-airway",))
BANDS = "aha-2020"  # where an edition states a floor of saturation only, its upper end


class Expert(Hand):
    """Somebody who ventilates early, corrects in order, escalates when due, and turns oxygen."""

    def __init__(self, case: Case, book: RuleBook) -> None:
        super().__init__(case, book)
        asked = self.asked
        rate = asked.band("rate") or book["count.rate"].band
        self.period = 60 / (sum(rate) / 2)
        self.held = min(
            self.period / 2,
            book["inflation-time"].value
            if asked.number("inflation-time")
            else book["inflation-time.usual"].value,
        )
        self.tries = int(asked.number("try") or 1)
        self.step, self.still = 0, 0
        self.moving_since: float | None = None
        self.at, self.oxygen, self.turned = dict(self.case.positions), self.case.oxygen, 0.0
        self.next_heart, self.pressed, self.bag, self.calm = 0.0, False, False, False
        self.counting: float | None = None  # when the count that was asked for is over
        self.chest = ""

    def play(self) -> Played:
        """Return the whole play."""
        self.prepare()
        return self.attend()

    def do(self, act: str, what: Any = None) -> None:
        """Do an act; a line that the helper misheard is said again."""
        super().do(act, what)
        if ACTS[act].says in ("line", "rate") and not answers(self.case, self.done)[-1].right:
            super().do(act, what)

    def prepare(self) -> None:
        """Have the oximeter put on, dry the baby, lay its head right."""
        self.do("oximeter")
        self.do("dry")
        self.do("reposition")

    def attend(self) -> Played:
        """Have the heart rate counted, put the mask on, and go on to the end."""
        self.do("say", "heart-please")
        self.ask()
        self.do("connect")
        self.calm = self.breathes
        if self.calm:
            self.do("cpap")
        else:
            self.first()
        while self.time < self.limit - self.period:
            self.go_on()
        self.wait(self.limit - self.time)
        return self.played

    def first(self) -> None:
        """Give the edition's long first inflations, if it states any."""
        count, time = self.asked.number("first"), self.asked.band("first-time")
        if count and time:
            for _ in range(int(count)):
                self.look(self.inflate(sum(time) / 2, sum(time) / 2 + self.held))

    def go_on(self) -> None:
        """Inflate once, or watch a baby who breathes; then look at heart and oxygen when due."""
        if self.calm or self.bag:
            self.wait(LOOK)
        else:
            self.look(self.inflate(self.held, self.period))
        if self.counting is not None and self.time >= self.counting:
            self.heart()
        if self.counting is None and self.time >= self.next_heart:
            self.ask()
        self.turn_oxygen()

    def look(self, given: Inflation | None) -> None:
        """Look at the chest and the needle after an inflation, and correct after some tries."""
        if given is None:
            return
        if given.chest == "moves":
            self.tell("chest-moves")
            self.still = 0
            self.moving_since = self.time if self.moving_since is None else self.moving_since
            return
        self.still += 1
        if given.top < self.run.ways.rest + self.book["pip.accept"].value and not self.run.gas:
            self.do("say", "gas-fails")
            self.do("bag")
            self.do("call")
            self.bag = True
        elif self.still >= self.tries:
            self.still = 0
            self.tell("chest-still")
            self.correct()

    def tell(self, line: str) -> None:
        """Say aloud what the chest does, when it is something new."""
        if line != self.chest:
            self.chest = line
            self.do("say", line)

    def correct(self) -> None:
        """Take the next corrective step; the last is another airway."""
        self.moving_since = None
        for act in STEPS[min(self.step, len(STEPS) - 1)]:
            if act == "pip-up":
                self.raise_pip()
            elif act == "new-airway":
                self.new_airway()
            else:
                self.do(act)
        if self.step != STEPS.index(("pip-up",)) or not self.higher:
            self.step += 1

    @property
    def higher(self) -> bool:
        """Say whether PIP may still be raised by a step."""
        return self._raised() > self.at["pip"]

    def _raised(self) -> int:
        step = self.asked.band("step") or rulebook("textbook-2021")["pip.step"].band
        clicks = round(step[0] / DIALS["pip"].step)
        top = highest(self.book, self.case.weeks, self.case.kg)
        start = self.asked.number("pip") or self.book["pip.example"].value
        most = self.case.positions["pip"] + round((one(top) - start) / DIALS["pip"].step)
        return max(self.at["pip"], min(self.at["pip"] + clicks, most))

    def raise_pip(self) -> None:
        """Raise PIP by one step, no higher than the ceiling."""
        self.at["pip"] = self._raised()
        self.do("pip", self.at["pip"])

    def new_airway(self) -> None:
        """Call for help, place another airway where none is, and confirm it."""
        if any(d.act in ("laryngeal-mask", "tube") for d in self.done):
            return
        self.do("call")
        least = self.asked.band("supraglottic")
        may = least is not None and self.case.weeks >= least[0]
        self.do("laryngeal-mask" if may else "tube")
        self.do("confirm")

    def ask(self) -> None:
        """Have the heart beats counted; what they come to is known when the count is over."""
        self.do("listen")
        self.counting = self.free
        self.next_heart = self.time + (self.asked.number("reassess") or LOOK)

    def heart(self) -> None:
        """Act on the heart rate that was counted: compress, stop, or let a baby breathe."""
        rate = self.counted(self.free if self.counting is None else self.counting)
        self.counting = None
        self.do("heart-rate", round(rate))
        if 0 <= rate - (self.asked.number("compress") or 0.0) < 60 / self.takes["listen"]:
            self.next_heart = self.time + LOOK  # one beat decides: count again at once
        slow = self.asked.number("compress") or 0.0
        fast = self.asked.number("ventilate") or 0.0
        if self.pressed and rate >= slow:
            self.do("compress-stop")
            self.pressed = False
        elif not self.pressed and rate < slow and self.moved_long:
            self.do("call")
            self.turn(PERCENT)
            self.do("compress")
            self.pressed = True
        elif rate >= fast and self.breathes and not self.calm:
            self.calm = True
            if not self.bag:
                self.do("cpap")
        elif self.calm and rate < fast:
            self.calm = False

    @property
    def moved_long(self) -> bool:
        """Say whether the chest has moved for the edition's time."""
        long = self.asked.number("reassess") or LOOK
        return self.moving_since is not None and self.time - self.moving_since >= long

    def turn_oxygen(self) -> None:
        """Turn oxygen up or down towards the edition's saturation, and wait for it to arrive."""
        if self.pressed or self.bag:
            return
        if self.time - self.turned < (self.asked.number("reassess") or LOOK):
            return
        shown, target = self.saturation(), self.target()
        if shown is None or target is None:
            return
        top = min(target[1], rulebook(BANDS)["spo2.10min"].band[1])
        by = self.book["oxygen.drawn"].band[0] / 2
        if shown < target[0]:
            self.turn(min(PERCENT, self.oxygen + 2 * by))
        elif shown > top and self.oxygen > self.least:
            self.turn(max(self.least, self.oxygen - by))

    def target(self) -> tuple[float, float] | None:
        """Return the saturation aimed for: the edition's, else one that is known."""
        if any(name.startswith("spo2") for name in self.asked.rules):
            return self.asked.target(self.time)
        known = demands(rulebook(BANDS), self.case.weeks, self.case.kg)
        return known.target(self.time)

    @property
    def least(self) -> float:
        """Return the share of oxygen in air (percent)."""
        return round(self.run.bag_drive.oxygen * PERCENT)

    def turn(self, percent: float) -> None:
        """Turn the dial, if it does not stand there."""
        if percent != self.oxygen:
            self.oxygen, self.turned = percent, self.time
            self.do("oxygen", round(percent))


def expert(case: Case, book: RuleBook) -> Played:
    """Return the play of somebody who goes by the edition's steps."""
    return Expert(case, book).play()
