"""How a learner who holds a misconception of fault finding goes through a trial."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from graders.units.faults.expert import Hand, begin, test
from graders.units.faults.slips import AT_ZERO, FAR_TOO_HIGH, GAUGE_FAULTS
from workbook.cases import Case, Question
from workbook.rules import RuleBook, rulebook
from workbook.trial.moves import BABY
from workbook.units.faults.case.questions import TRIALS

Facts = Mapping[str, Any]
Play = Callable[[Hand, str], None]
UP, FURTHER = 6, 12  # clicks that a flow, and a pressure, are turned
AGAIN = 8  # inflations that somebody gives who sees nothing wrong in them
TOO_LOW = ("no-gas", "hose-off", "outlet-open", "gauge-blocked", "cap-under-finger", "gas-fading",
           "leak-large", "cap-beside-finger")  # fmt: skip
SEARCH = ("look-supply", "look-flow", "look-blender", "follow-hose", "listen-box", "listen-t")
SEARCHED = 2  # rounds of looking


def _truth(hand: Hand, fault: str) -> None:
    """Take the needle at its word, and name what would make it stand so."""
    says = {"gauge-blocked": "hose-off", "needle-sticks": "hose-blocked"}
    begin(hand)
    hand.do("look-flow")
    hand.say(says.get(fault, "flow-high"))
    hand.finish()


def _flow(hand: Hand, fault: str) -> None:
    """Turn the flow up, whatever is wrong; then go on as an expert does."""
    begin(hand)
    hand.do("flow", hand.at["flow"] + UP)
    test(hand, fault)
    hand.say(fault)
    hand.finish()


def _search(hand: Hand, fault: str) -> None:
    """Look everywhere first; the bag comes later."""
    hand.cover()
    for _ in range(SEARCHED):
        for look in SEARCH:
            hand.do(look)
    hand.do("bag")
    test(hand, fault)
    hand.say(fault)
    hand.finish()


def _empty(hand: Hand, fault: str) -> None:
    """See the needle at zero, and take the supply for empty."""
    begin(hand)
    hand.say("no-gas")
    hand.finish()


def _stays(hand: Hand, fault: str) -> None:
    """Inflate on and on, with a needle that does not come back."""
    for _ in range(AGAIN):
        hand.cover()
        hand.time += 1.0
    hand.do("bag")
    test(hand, fault)
    hand.say(fault)
    hand.finish()


def _by_gauge(hand: Hand, fault: str) -> None:
    """Turn PIP until the gauge would be right."""
    begin(hand)
    more = FURTHER if fault == "gauge-blocked" else -FURTHER
    hand.do("pip", hand.at["pip"] + more)
    test(hand, fault)
    hand.say(fault)
    hand.finish()


def _alarm(hand: Hand, fault: str) -> None:
    """Name what alarms."""
    begin(hand)
    hand.say("oxygen-out")
    hand.finish()


def _swap(hand: Hand, fault: str) -> None:
    """Change every part, then see."""
    hand.cover()
    if hand.on_baby:
        hand.do("bag")
        hand.do("swap-mask")
    hand.do("swap-t")
    hand.say(fault, "guess")
    hand.finish()


def _no_look(hand: Hand, fault: str) -> None:
    """Mend it, and go on."""
    begin(hand)
    test(hand, fault)
    hand.say(fault)
    hand.do("mend")
    if hand.on_baby:
        hand.do("connect")


PLAYS: Mapping[str, Play] = {
    "needle-is-truth": _truth,
    "flow-cures-all": _flow,
    "search-before-bag": _search,
    "zero-means-empty": _empty,
    "high-rest-is-good-peep": _stays,
    "chest-proves-gauge": _by_gauge,
    "alarm-is-fault": _alarm,
    "swap-everything": _swap,
    "new-baby-same-device": _no_look,
}


def shown_by(facts: Facts) -> list[str]:
    """Return the misconceptions that a trial can show."""
    fault, baby = facts["fault"], facts["setting"] == BABY
    far = fault in FAR_TOO_HIGH
    may = {
        "needle-is-truth": fault in GAUGE_FAULTS,
        "flow-cures-all": fault in TOO_LOW,
        "search-before-bag": baby and fault != "limits-fail" and not far,
        "zero-means-empty": fault in AT_ZERO,
        "high-rest-is-good-peep": baby and far,
        "chest-proves-gauge": fault in GAUGE_FAULTS,
        "alarm-is-fault": facts["alarm"] and fault != "oxygen-out",
        "swap-everything": True,
        "new-baby-same-device": fault != "pip-open",  # there the test itself reads both again
    }
    return [belief for belief, can in may.items() if can]


def played(asked: Question, misconception: str, book: RuleBook) -> dict[str, Any]:
    """Return the trial of a learner who holds the misconception."""
    hand = Hand(asked, book)
    PLAYS[misconception](hand, asked.facts["fault"])
    return hand.trial.to_data()


def play(answers: dict[str, Any], case: Case, book: RuleBook, misconception: str) -> None:
    """Change right answers into those of a learner who holds the misconception."""
    for id in TRIALS:
        if misconception in shown_by(case[id].facts):
            answers[id] = played(case[id], misconception, book)


def shows(case: Case, misconception: str) -> bool:
    """Say whether a case has a trial in which this misconception can show."""
    book = rulebook(case.edition)
    answers: dict[str, Any] = {}
    play(answers, case, book, misconception)
    return bool(answers)
