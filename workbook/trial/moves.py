"""The moves of a trial: what a hand can do, on which part of the picture, and how long it takes.

How long each takes is a rule (`trial.time.*`), an assumption that a site may replace.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from workbook.core.language import N_, _
from workbook.rules import RuleBook

BEFORE, BABY = "before", "baby"
SETTINGS = (BEFORE, BABY)


@dataclass(frozen=True, slots=True)
class Move:
    """One move: its words, the part of the picture it belongs to, and the rule of its time.

    ``does`` is the kind of move; ``baby`` says that it is offered with a baby only.
    """

    text: str
    part: str
    does: str
    time: str = ""
    baby: bool = False

    def seconds(self, book: RuleBook) -> float:
        """Return how long the move keeps the hands busy (s)."""
        return float(book[f"trial.time.{self.time}"].value) if self.time else 0.0


MOVES: Mapping[str, Move] = {
    "occlude": Move(N_("Cover the hole (occlude)"), "hole", "hold"),
    "release": Move(N_("Let go of the hole (release)"), "hole", "hold"),
    "open": Move(N_("Take the mask off the face"), "mask", "outlet", "hand"),
    "connect": Move(N_("Put the mask on the baby"), "mask", "outlet", "hand", baby=True),
    "cap": Move(N_("Cap the outlet of the T"), "outlet", "outlet", "hand"),
    "look-flow": Move(N_("Look at the flow meter"), "flow-meter", "look", "look"),
    "look-supply": Move(N_("Look at the gas supply"), "supply", "look", "look"),
    "look-blender": Move(N_("Read blender and oxygen analyser"), "blender", "look", "look"),
    "follow-hose": Move(N_("Follow the hose with your hand"), "hose", "look", "hose"),
    "listen-box": Move(N_("Listen at the device"), "box", "look", "listen"),
    "listen-t": Move(N_("Listen at the hole of the T"), "t", "look", "listen"),
    "listen-mask": Move(N_("Listen at the rim of the mask"), "mask", "look", "listen", baby=True),
    "swap-mask": Move(N_("Change the mask"), "mask", "part", "swap", baby=True),
    "swap-t": Move(N_("Change the T"), "t", "part", "swap"),
    "reposition": Move(N_("Reposition the head"), "head", "care", "head", baby=True),
    "ease-hold": Move(N_("Press less with the mask"), "hand", "care", "hand", baby=True),
    "bag": Move(N_("Take the bag"), "bag", "bag", "bag"),
    "call": Move(N_("Call for help"), "help", "say", "call"),
    "flow": Move(N_("Turn the flow"), "flow-meter", "dial"),
    "pip": Move(N_("Turn the PIP control"), "box", "dial"),
    "relief": Move(N_("Turn the relief"), "box", "dial"),
    "peep": Move(N_("Turn the PEEP control"), "t", "dial"),
    "name": Move(N_("Say what is wrong"), "panel", "say"),
    "sure": Move(N_("Say how sure you are"), "panel", "say"),
    "mend": Move(N_("Mend what you named"), "panel", "mend", "mend"),
    "read": Move(N_("Read both pressures again"), "panel", "read", "read"),
}
DIALLED = tuple(id for id, move in MOVES.items() if move.does == "dial")
LASTING = tuple(id for id, move in MOVES.items() if move.does in ("part", "care"))
SURE: Mapping[str, str] = {
    "sure": N_("I am sure."),
    "fairly": N_("I am fairly sure."),
    "guess": N_("It is a guess."),
}
_BEFORE = {"open": N_("Take the cap off the outlet"), "bag": N_("Lay the bag ready")}


def offered(setting: str, book: RuleBook) -> list[dict[str, Any]]:
    """Return the moves of a setting as data for a page: id, text, part, does, seconds."""
    before = _BEFORE if setting == BEFORE else {}
    return [
        {
            "id": id, "text": _(before.get(id, move.text)), "part": move.part, "does": move.does,
            "seconds": move.seconds(book),
        }
        for id, move in MOVES.items()
        if may(id, setting)
    ]  # fmt: skip


def may(move: str, setting: str) -> bool:
    """Say whether a setting offers a move."""
    return move in MOVES and (setting == BABY or not MOVES[move].baby)
