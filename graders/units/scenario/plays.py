"""How a learner who holds a belief of the first minutes goes through a case.

Each is written from what is believed, not from how it is recognised: an expert in all else.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from graders.units.scenario import note
from graders.units.scenario.marks import facts_of
from workbook.bench import DIALS
from workbook.cases import Case
from workbook.rules import RuleBook
from workbook.scenario import Case as Birth
from workbook.scenario import Played
from workbook.scenario.acts import ACTS
from workbook.scenario.expert import LOOK, Expert
from workbook.scenario.replay import PERCENT, Inflation
from workbook.units.scenario.case.questions import CASE_OF, CASES

LONG = 100.0  # s that somebody looks on who thinks that time will do it
TURNS = 6  # clicks that a control is turned by who sets the device right
NEEDS_HANDS = ("easy", "leak", "position", "stiff", "gas-fails", "laryngeal-mask", "compressions",
               "overshoot")  # fmt: skip


class Colour(Expert):
    """Waits for saturation to get better by oxygen; ventilates when it does not."""

    def prepare(self) -> None:
        """Put the oximeter on, give oxygen, and look at the number."""
        super().prepare()
        self.turn(PERCENT)
        self.wait(LONG - self.time)


class Chest(Expert):
    """Has no monitor put on, and asks for no heart rate once the chest moves."""

    def do(self, act: str, what: object = None) -> None:
        """Leave out what shows a heart rate."""
        if act in ("oximeter", "leads"):
            return
        if act == "listen" and self.moving_since is not None:
            return
        super().do(act, what)

    def ask(self) -> None:
        """Ask only as long as the chest does not move."""
        if self.moving_since is None:
            super().ask()
        else:
            self.next_heart = self.limit


class Pressure(Expert):
    """Raises the pressure as soon as a chest does not move well."""

    def look(self, given: Inflation | None) -> None:
        """Raise it after one inflation that did not move the chest; then go on as others do."""
        if given is not None and given.chest != "moves" and self.run.gas and self.higher:
            self.tell("chest-still")
            self.raise_pip()
            return
        super().look(given)


class Repeats(Expert):
    """Places the mask anew whenever the chest does not move."""

    def correct(self) -> None:
        """Do the same step again."""
        self.moving_since = None
        self.do("mask-adjust")


class Compresses(Expert):
    """Compresses as soon as a heart rate is slow."""

    def first(self) -> None:
        """Wait for the count; have the chest compressed before anything else if it is slow."""
        self.wait(max(0.0, self.free - self.time))
        if self.counted(self.free) < (self.asked.number("ventilate") or 0.0):
            self.do("call")
            self.do("compress")
            self.pressed = True
        super().first()

    @property
    def moved_long(self) -> bool:
        """Ask for no chest that moves."""
        return True


class Never(Expert):
    """Goes on with what it does: no airway, no compressions."""

    def new_airway(self) -> None:
        """Go on inflating."""

    def do(self, act: str, what: object = None) -> None:
        """Leave out compressions."""
        if act not in ("compress", "compress-stop"):
            super().do(act, what)


class Oxygen(Expert):
    """Turns oxygen all the way up when saturation is low, and leaves it."""

    def turn(self, percent: float) -> None:
        """Turn it up, never down."""
        if percent > self.oxygen:
            super().turn(PERCENT)

    def turn_oxygen(self) -> None:
        """Give all of it as soon as a number is shown that is not full."""
        if self.saturation() is not None and not self.bag:
            self.turn(PERCENT)


class Inflates(Expert):
    """Inflates every small baby, breathing or not."""

    @property
    def breathes(self) -> bool:
        """See no breathing."""
        return False


class NoMask(Expert):
    """Leaves a baby who breathes without a mask."""

    def play(self) -> Played:
        """Dry, look and count; hold no mask."""
        self.do("oximeter")
        self.do("dry")
        self.do("reposition")
        while self.time < self.limit - LONG / 2:
            self.do("say", "heart-please")
            self.do("listen")
            self.wait(LONG / 4)
            self.do("heart-rate", round(self.counted(self.free)))
        self.wait(self.limit - self.time)
        return self.played


class Monitor(Expert):
    """Decides nothing before a monitor shows a number."""

    def prepare(self) -> None:
        """Dry, have the oximeter put on, and wait for it."""
        self.do("dry")
        self.do("oximeter")
        while self.saturation() is None and self.time < self.limit:
            self.wait(1.0)
        self.do("reposition")

    def ask(self) -> None:
        """Read the number off the monitor: nobody counts."""
        self.next_heart = self.time + (self.asked.number("reassess") or LOOK)
        self.counting = self.time


class Device(Expert):
    """Sets the device right before anything else, when a chest does not move."""

    def look(self, given: Inflation | None) -> None:
        """Turn flow, PEEP and relief first; then go on as others do."""
        if given is not None and given.chest != "moves" and not self.turned_once:
            self.turned_once = True
            self.tell("chest-still")
            for dial in ("flow", "peep", "relief"):
                up = min(DIALS[dial].clicks, self.at[dial] + TURNS)
                self.do(dial, up)
                self.wait(LOOK)
                self.do(dial, self.at[dial])
            return
        if given is not None and given.chest == "moves":
            self.turned_once = False
        super().look(given)

    turned_once = False


class Silent(Expert):
    """Does all of it, and says nothing."""

    def do(self, act: str, what: object = None) -> None:
        """Leave out what is said."""
        if ACTS[act].part != "people" and act != "heart-rate":
            super().do(act, what)


PLAYS: Mapping[str, type[Expert]] = {
    "colour-or-saturation-first": Colour,
    "chest-is-enough": Chest,
    "pressure-before-position": Pressure,
    "repeats-one-step": Repeats,
    "compress-too-early": Compresses,
    "never-escalates": Never,
    "oxygen-up-never-down": Oxygen,
    "ventilates-a-breather": Inflates,
    "no-cpap": NoMask,
    "waits-for-the-monitor": Monitor,
    "device-before-baby": Device,
    "silent-leader": Silent,
}
# In which courses a belief can show; of what is not named, in every one.
SHOWS: Mapping[str, tuple[str, ...]] = {
    "chest-is-enough": NEEDS_HANDS,
    "pressure-before-position": ("leak", "position", "laryngeal-mask"),
    "repeats-one-step": ("position", "laryngeal-mask"),
    "compress-too-early": ("compressions", "overshoot"),
    "never-escalates": ("laryngeal-mask", "compressions"),
    "oxygen-up-never-down": tuple(id for id in (*NEEDS_HANDS, "breather") if id != "gas-fails"),
    "ventilates-a-breather": ("breather",),
    "no-cpap": ("breather",),
    "device-before-baby": ("leak", "position", "gas-fails", "laryngeal-mask"),
}


def shown_by(course: str) -> list[str]:
    """Return the beliefs that a hidden course can show."""
    return [id for id in PLAYS if id not in SHOWS or course in SHOWS[id]]


def played(case: Birth, belief: str, book: RuleBook) -> Played:
    """Return how a case goes with a learner who holds a belief."""
    return PLAYS[belief](case, book).play()


def play(answers: dict[str, Any], case: Case, book: RuleBook, misconception: str) -> None:
    """Change right answers into those of a learner who holds the misconception.

    The note tells truly what that learner did.
    """
    for told, id in CASE_OF.items():
        drawn = case[id].facts["case"]
        if misconception in shown_by(drawn.hidden.id):
            answers[id] = played(drawn, misconception, book).to_data()
            answers[told] = note.of(facts_of(drawn, answers[id], book))


def shows(case: Case, misconception: str) -> bool:
    """Say whether a case has a course in which this misconception can show."""
    courses = (case[id].facts["case"].hidden.id for id in CASES)
    return any(misconception in shown_by(course) for course in courses)
