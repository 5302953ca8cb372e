"""Teams at a birth who hold a belief, each from what the belief's sentence says and no more.

Like the others: none of it was made from how a case is marked. In all else they are careful
hands (`hands_born.py`), who go by the edition's steps.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from random import Random
from typing import Any

from tests.hands_born import Careful
from workbook.bench import DIALS
from workbook.cases import Case
from workbook.rules import RuleBook
from workbook.scenario.record import Played
from workbook.scenario.replay import PERCENT, Inflation
from workbook.units.scenario.case.questions import CASES

Born = Callable[[Case, RuleBook, Random], dict[str, Any]]
WATCHED = ("listen", "heart-rate", "oximeter", "leads")
WRONG = ("leak", "position", "laryngeal-mask")  # chests that mask and head, or an airway, move


class Oxygen(Careful):
    """A blue baby needs oxygen first: it is given before a breath is."""

    def prepare(self) -> None:
        """Dry, have the saturation shown, give oxygen, and watch whether it helps."""
        super().prepare()
        self.turn(min(PERCENT, self.oxygen + self.chance.choice((30, 50, 79))))
        self.wait(self.chance.uniform(70, 110) - self.time)


class Chest(Careful):
    """The chest moves, so all is well: nobody asks for the heart any more."""

    def prepare(self) -> None:
        """Dry, and lay the head; a monitor is for those whose chest does not move."""
        self.do("dry")
        self.do("reposition")

    def do(self, act: str, what: object = None) -> None:
        """Ask for no heart rate once the chest has moved."""
        heart = act in WATCHED or what == "heart-please"
        if not (heart and self.moving_since is not None):
            super().do(act, what)

    def go_on(self) -> None:
        """Inflate on; who is well needs no count."""
        if self.moving_since is not None:
            self.counting, self.next_heart = None, self.limit
        super().go_on()


class Pressure(Careful):
    """A chest that does not move needs more pressure."""

    def correct(self) -> None:
        """Turn PIP up; when it is as high as it may be, go on as others do."""
        self.moving_since = None
        if self.higher:
            self.raise_pip()
        else:
            super().correct()


class Repeats(Careful):
    """A step that did not help has to be done better."""

    def correct(self) -> None:
        """Do it once more, and once more."""
        self.moving_since = None
        self.do(self.way)

    @property
    def way(self) -> str:
        """Return the step: the same for one baby."""
        return ("mask-adjust", "reposition")[len(self.case.id + self.case.hidden.id) % 2]


class Compresses(Careful):
    """A slow heart needs compressions at once."""

    def first(self) -> None:
        """Have a slow heart compressed as soon as it is known to be slow; then ventilate."""
        self.wait(max(0.0, self.free - self.time))
        if self.counted(self.free) < (self.asked.number("ventilate") or 0.0):
            self.do("compress")
            self.pressed = True
        super().first()


ANEW = ("two-hands", "reposition", "suction", "open-mouth")


class GoesOn(Careful):
    """Whoever goes on long enough will succeed."""

    def new_airway(self) -> None:
        """Do what was done before, now this and now that, and go on."""
        last = next((one.act for one in reversed(self.done) if one.act in ANEW), "")
        self.do(self.chance.choice([act for act in ANEW if act != last]))

    @property
    def moved_long(self) -> bool:
        """Never long enough."""
        return False


class More(Careful):
    """More oxygen does no harm."""

    def turn(self, percent: float) -> None:
        """Turn it up, plenty; never back."""
        if percent > self.oxygen:
            super().turn(PERCENT)

    def turn_oxygen(self) -> None:
        """A number that is not full can be better."""
        if self.saturation() is not None and not self.bag and self.oxygen < PERCENT:
            self.turn(PERCENT)


class Small(Careful):
    """Every small baby has to be ventilated."""

    @property
    def breathes(self) -> bool:
        """What it does by itself does not count."""
        return False


class Leaves(Careful):
    """A baby who breathes needs no mask."""

    def play(self) -> Played:
        """Dry it, watch it, have the heart counted now and then."""
        self.prepare()
        while self.time < self.limit - 30:
            self.do("say", "heart-please")
            self.do("listen")
            self.wait(max(0.0, self.free - self.time))
            self.do("heart-rate", round(self.counted(self.free)))
            self.wait(self.chance.uniform(25, 50))
        self.wait(self.limit - self.time)
        return self.played


class Waits(Careful):
    """Without a number on the monitor nothing can be decided."""

    def prepare(self) -> None:
        """Have a monitor put on, and look at it until it shows something."""
        self.do("dry")
        self.do("oximeter")
        while self.saturation() is None and self.time < self.limit:
            self.wait(0.5)

    def ask(self) -> None:
        """The monitor says the rate; nobody counts."""
        self.counting = self.time
        self.next_heart = self.time + (self.asked.number("reassess") or 30.0)


class Device(Careful):
    """What does not work has to be set right first: flow, PEEP, relief."""

    known = False

    def look(self, given: Inflation | None) -> None:
        """Turn the device's controls, and back, before the baby is looked at."""
        if given is not None and given.chest != "moves" and not self.known:
            self.known = True
            self.do("say", "chest-still")
            for dial in self.chance.sample(("flow", "peep", "relief"), 3):
                up = min(DIALS[dial].clicks, self.at[dial] + self.chance.randint(3, 8))
                self.do(dial, up)
                self.wait(self.chance.uniform(2, 5))
                self.do(dial, self.at[dial])
            return
        super().look(given)


class Silent(Careful):
    """Who knows what to do need not say it."""

    def do(self, act: str, what: object = None) -> None:
        """Do all but talk."""
        if act not in ("say", "call", "heart-rate"):
            super().do(act, what)


def _played(who: type[Careful], where: tuple[str, ...] = (), breathes: bool | None = None) -> Born:
    """Return the play of a believer in those cases in which the belief has something to act on."""

    def play(case: Case, book: RuleBook, chance: Random) -> dict[str, Any]:
        births = {id: case[id].facts["case"] for id in CASES}
        return {
            id: who(born, book, chance).play().to_data()
            for id, born in births.items()
            if (not where or born.hidden.id in where)
            and (breathes is None or (born.hidden.id == "breather") == breathes)
        }

    return play


BORN: Mapping[str, Born] = {
    "colour-or-saturation-first": _played(Oxygen),
    "chest-is-enough": _played(Chest, breathes=False),
    "pressure-before-position": _played(Pressure, WRONG),
    "repeats-one-step": _played(Repeats, ("position", "laryngeal-mask")),
    "compress-too-early": _played(Compresses, ("compressions", "overshoot")),
    "never-escalates": _played(GoesOn, ("laryngeal-mask", "compressions")),
    "oxygen-up-never-down": _played(
        More, ("easy", "leak", "position", "stiff", "laryngeal-mask", "compressions", "overshoot",
               "breather")),
    "ventilates-a-breather": _played(Small, breathes=True),
    "no-cpap": _played(Leaves, breathes=True),
    "waits-for-the-monitor": _played(Waits),
    "device-before-baby": _played(Device, (*WRONG, "gas-fails")),
    "silent-leader": _played(Silent),
}  # fmt: skip
