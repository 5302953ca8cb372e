"""Four other ways to play a case: nothing, the same for everybody, all the oxygen, hands first."""

from __future__ import annotations

from workbook.rules import RuleBook
from workbook.scenario import Case, Played
from workbook.scenario.expert import Expert
from workbook.scenario.hand import Hand
from workbook.scenario.replay import PERCENT


def do_nothing(case: Case, book: RuleBook) -> Played:
    """Return a play in which nobody does anything."""
    hand = Hand(case, book)
    hand.wait(hand.limit)
    return hand.played


def ventilate_everybody(case: Case, book: RuleBook) -> Played:
    """Return the play of somebody who inflates whoever it is, and looks at nothing."""
    hand = Expert(case, book)
    hand.do("connect")
    while hand.time < hand.limit - hand.period:
        hand.inflate(hand.held, hand.period)
    hand.wait(hand.limit - hand.time)
    return hand.played


class _AllOxygen(Expert):
    """An expert but for the oxygen: all of it, all the time."""

    def turn_oxygen(self) -> None:
        """Leave it where it stands."""


def oxygen_for_all(case: Case, book: RuleBook) -> Played:
    """Return the play of somebody who gives pure oxygen from the beginning and leaves it."""
    hand = _AllOxygen(case, book)
    hand.turn(PERCENT)
    return hand.play()


class _CompressFirst(Expert):
    """Compressions before any ventilation, and ventilation late."""

    def first(self) -> None:
        """Compress for a minute before the first inflation."""
        self.do("compress")
        self.wait(60.0)
        self.do("compress-stop")
        super().first()


def compress_first(case: Case, book: RuleBook) -> Played:
    """Return the play of somebody who compresses before the chest was ever moved."""
    return _CompressFirst(case, book).play()
