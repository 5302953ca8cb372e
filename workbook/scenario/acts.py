"""The acts of a case: what a team can do, at which part, by whom, and how long it takes.

They are offered by part and then by their words, all of them all the time, so that the order gives
no step away. How long each takes is a rule, an assumption that a site may replace.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from workbook.core.language import N_, _
from workbook.rules import RuleBook
from workbook.trial.moves import MOVES

HAND, HELPER = "hand", "helper"
PARTS = ("baby", "head", "mask", "hole", "box", "gas", "airway", "heart", "chest", "people")


@dataclass(frozen=True, slots=True)
class Act:
    """One act: its words, its part, the rule of its time, and whose hands it keeps busy.

    ``says`` names what it is said with: a dial's click, a percentage, a heart rate, a line.
    """

    text: str
    part: str
    time: str = ""
    by: str = HAND
    says: str = ""

    def seconds(self, book: RuleBook) -> float:
        """Return how long the act takes (s)."""
        return float(book[self.time].value) if self.time else 0.0


def _as_in_a_trial(move: str, part: str, says: str = "") -> Act:
    one = MOVES[move]
    return Act(one.text, part, f"trial.time.{one.time}" if one.time else "", says=says)


ACTS: Mapping[str, Act] = {
    "dry": Act(N_("Warm and dry the baby"), "baby", "scenario.time.dry"),
    "rub": Act(N_("Rub the back"), "baby", "scenario.time.rub"),
    "reposition": _as_in_a_trial("reposition", "head"),
    "suction": Act(N_("Suction mouth and nose"), "head", "scenario.time.suction"),
    "open-mouth": Act(N_("Open the mouth, lift the jaw"), "head", "scenario.time.mouth"),
    "connect": _as_in_a_trial("connect", "mask"),
    "open": _as_in_a_trial("open", "mask"),
    "mask-adjust": Act(N_("Place the mask anew"), "mask", "scenario.time.adjust"),
    "two-hands": Act(N_("Hold the mask with two hands"), "mask", "scenario.time.adjust"),
    "occlude": _as_in_a_trial("occlude", "hole"),
    "release": _as_in_a_trial("release", "hole"),
    "flow": _as_in_a_trial("flow", "box", "click"),
    "pip": _as_in_a_trial("pip", "box", "click"),
    "peep": _as_in_a_trial("peep", "box", "click"),
    "relief": _as_in_a_trial("relief", "box", "click"),
    "oxygen": Act(N_("Turn the oxygen dial"), "gas", "scenario.time.dial", says="percent"),
    "bag": Act(N_("Ventilate with the bag"), "gas", "trial.time.bag"),
    "t-piece": Act(N_("Go back to the T-piece"), "gas", "trial.time.hand"),
    "cpap": Act(N_("Do not inflate: hold PEEP by the mask"), "gas"),
    "laryngeal-mask": Act(
        N_("Place a laryngeal mask"), "airway", "scenario.time.laryngeal-mask"),
    "tube": Act(N_("Place a tracheal tube"), "airway", "scenario.time.tube"),
    "confirm": Act(N_("Confirm that the new airway is right"), "airway", "scenario.time.confirm"),
    "listen": Act(
        N_("Have the heart beats counted"), "heart", "scenario.time.listen", HELPER),
    "heart-rate": Act(N_("Say the heart rate"), "heart", says="rate"),
    "oximeter": Act(
        N_("Have the oximeter put on the right hand"), "heart", "scenario.time.oximeter", HELPER),
    "leads": Act(N_("Have the leads put on"), "heart", "scenario.time.leads", HELPER),
    "compress": Act(N_("Begin compressions"), "chest", "scenario.time.compressions", HELPER),
    "compress-stop": Act(N_("Stop compressions"), "chest"),
    "call": Act(MOVES["call"].text, "people", "trial.time.call"),
    "say": Act(N_("Say aloud"), "people", "scenario.time.say", says="line"),
}  # fmt: skip
LINES: Mapping[str, str] = {
    "chest-still": N_("The chest does not move."),
    "chest-moves": N_("The chest moves."),
    "heart-please": N_("Heart rate, please."),
    "oxygen-is": N_("Is the oxygen where I said?"),
    "gas-fails": N_("The gas fails."),
}
NEW_AIRWAYS = ("laryngeal-mask", "tube")
CORRECTIVE = ("mask-adjust", "two-hands", "reposition", "suction", "open-mouth", "pip-up",
              *NEW_AIRWAYS)  # fmt: skip


def offered(book: RuleBook) -> list[dict[str, Any]]:
    """Return the acts as data for a page, by part and then by their words."""
    rows = [
        {
            "id": id, "text": _(act.text), "part": act.part, "by": act.by, "says": act.says,
            "seconds": act.seconds(book),
        }
        for id, act in ACTS.items()
    ]  # fmt: skip
    return sorted(rows, key=lambda row: (PARTS.index(str(row["part"])), str(row["text"])))


def seconds(book: RuleBook) -> dict[str, float]:
    """Return how long each act takes (s) by a book."""
    return {id: act.seconds(book) for id, act in ACTS.items()}
