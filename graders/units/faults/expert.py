"""A hand in a trial, and the trial of somebody who knows what is wrong and how to show it."""

from __future__ import annotations

from typing import Any

from graders.units.faults.slips import LEAKS
from workbook.cases import Question
from workbook.core.timed_hand import TimedHand
from workbook.rules import RuleBook
from workbook.trial import NAMED, UNKNOWN, Act, Trial
from workbook.trial.moves import BABY
from workbook.units.faults.case.questions import seconds

BEGIN = 0.6  # s until the first touch
THINKS = 0.4  # s between two moves
LOOKS = 0.8  # s for which a needle is looked at

# The moves that part each fault from its look-alikes; each is held to the model by a test.
TESTS = {
    "no-gas": ("look-flow", "look-supply"),
    "hose-off": ("follow-hose",),
    "outlet-open": ("listen-mask",),
    "gauge-blocked": ("listen-t", "look-flow"),
    "needle-sticks": ("listen-t",),
    "hose-blocked": ("follow-hose",),
    "hole-narrow": ("listen-t",),
    "cap-under-finger": ("look-flow",),
    "flow-low": ("look-supply", "look-flow"),
    "gas-fading": ("look-supply",),
    "flow-high": ("look-flow",),
    "pip-open": ("pip-back",),
    "limits-fail": ("pip-back",),
    "hose-kinked": ("follow-hose",),
    "leak-some": ("listen-mask",),
    "leak-large": ("listen-mask", "cap-held"),
    "cap-beside-finger": ("cap-held",),
    "airway-blocked": (),
    "lung-stiff": ("listen-mask",),
    "oxygen-out": ("look-blender",),
    "needle-off-zero": ("gas-off",),
    "relief-low": ("pip-up",),
}
PARTED_BY_BAG = ("airway-blocked",)  # the bag moves no chest either


class Hand(TimedHand[Act]):
    """A hand in a trial: it knows how long each move takes, and begins none before."""

    def __init__(self, asked: Question, book: RuleBook, thinks: float = THINKS) -> None:
        super().__init__(Act, seconds(book), BEGIN)
        self.book = book
        self.asked, self.thinks = asked, thinks

    @property
    def on_baby(self) -> bool:
        """Say whether a baby is there."""
        return bool(self.asked.facts["setting"] == BABY)

    @property
    def at(self) -> dict[str, int]:
        """Return where each control stood at the beginning."""
        return dict(self.asked.facts["bench"]["positions"])

    def do(self, move: str, what: Any = None) -> None:
        """Do a move, and wait until it is over."""
        self.begin(move, what)
        self.time += self.takes.get(move, 0.0) + self.thinks

    def cover(self, looks: float = LOOKS) -> None:
        """Cover the hole for a look, and let go."""
        self.do("occlude")
        self.time += looks - self.thinks
        self.do("release")

    def say(self, fault: str, sure: str = "sure") -> None:
        """Name a fault."""
        self.do("name", fault)
        self.do("sure", sure)

    def finish(self) -> None:
        """Mend what was named, read both pressures, put the mask on again; a seal is read on it."""
        self.do("mend")
        outlets = [act.move for act in self.done if act.move in ("cap", "open", "connect", "bag")]
        off = self.on_baby and bool(outlets) and outlets[-1] != "connect"
        seal = self.asked.facts["fault"] in LEAKS
        if off and seal:
            self.do("connect")
        elif outlets and outlets[-1] in ("open", "bag"):
            self.do("cap")
        self.do("read")
        if off and not seal:
            self.do("connect")

    @property
    def trial(self) -> Trial:
        """Return what was done."""
        return Trial(round(self.time + THINKS, 3), tuple(self.done))


def expert(asked: Question, book: RuleBook) -> Trial:
    """Return the trial of somebody who keeps the baby safe, tests, names, mends and reads."""
    hand = Hand(asked, book)
    begin(hand)
    test(hand, asked.facts["fault"])
    hand.say(asked.facts["fault"])
    hand.finish()
    return hand.trial


def begin(hand: Hand) -> None:
    """Look once, covered and let go; with a baby, test the mask's rim, then take the bag."""
    hand.cover()
    if hand.on_baby:
        if "listen-mask" in TESTS[hand.asked.facts["fault"]]:
            hand.do("listen-mask")
        hand.do("bag")


def test(hand: Hand, fault: str) -> None:
    """Do the moves that part a fault from its look-alikes."""
    for move in TESTS[fault]:
        if move in ("pip-back", "pip-up"):
            _follow_pip(hand, up=move == "pip-up")
        elif move == "cap-held":
            hand.do("cap")
            hand.cover()
        elif move == "gas-off":
            hand.do("flow", 0)
            hand.time += LOOKS
            hand.do("flow", hand.at["flow"])
        elif move != "listen-mask" or not hand.on_baby:
            hand.do(move)


def _follow_pip(hand: Hand, *, up: bool) -> None:
    """Turn PIP, look whether the needle follows, and turn it back where it was not at fault."""
    hand.do("cap")
    at = hand.at["pip"]
    right = hand.asked.facts["right"]["pip"]
    hand.do("pip", at + 8 if up else min(right, at - 8))
    hand.cover()
    if hand.asked.facts["fault"] != "pip-open":
        hand.do("pip", at)


def unknown(asked: Question, book: RuleBook) -> Trial:
    """Return the trial of somebody who takes the bag and says that they do not know."""
    hand = Hand(asked, book)
    hand.cover()
    hand.do("bag")
    hand.do("call")
    hand.do("name", UNKNOWN)
    return hand.trial


__all__ = ["NAMED", "TESTS", "Hand", "begin", "expert", "test", "unknown"]
