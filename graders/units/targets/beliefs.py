"""Which beliefs the drawn questions on pressures show."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from graders.marks.shown import Beliefs, Shown, Spoken, Typed
from graders.units.targets import heart_and_chest, raise_pip, raise_plays
from graders.units.targets import marks as pressure_targets
from workbook.cases import Question
from workbook.rules import RuleBook
from workbook.units.targets.case import corrective, oxygen, predictions, starting_sets, two_editions
from workbook.units.targets.case.questions import GAUGES, TARGETS

_SEALS = [id for id in heart_and_chest.POINTS if id != corrective.QUESTION]


def _target(asked: Question, book: RuleBook) -> Beliefs:
    met, said = pressure_targets.baby_of(asked), pressure_targets.key()["set"]
    made = [starting_sets.slips(each, book, met) for each in asked.facts["sets"].values()]
    shown = [{said.get(slip, {}).get("belief", "") for slip in each.values()} for each in made]
    return [belief for each in shown for belief in each if belief]


def _also_set(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs by which the very same set may have been chosen."""
    met, said = pressure_targets.baby_of(asked), pressure_targets.key()["set"]
    chosen = asked.facts["sets"].get(value, {}) if isinstance(value, str) else {}
    found: dict[str, None] = {}
    for part, slip in starting_sets.slips(chosen, book, met).items() if chosen else ():
        if said.get(slip, {}).get("belief") == sign:
            also = starting_sets.explained(part, chosen, book, met)
            found |= dict.fromkeys(said[other]["belief"] for other in also)
    return tuple(belief for belief in found if belief not in ("", sign))


def _typed(asked: Question, book: RuleBook) -> Typed:
    stands = asked.facts["value"]
    slips = pressure_targets.needle_slips(stands, book)
    return Typed(float(stands), book["gauge.accept"].value, slips)


def _needle(asked: Question, book: RuleBook) -> Beliefs:
    return _typed(asked, book).shown()


def shared(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs that lead to the very same answer as a sign that was shown."""
    if asked.id in TARGETS:
        return _also_set(asked, value, sign, book)
    return _typed(asked, book).shared(sign) if asked.id in GAUGES else ()


def _two(asked: Question, book: RuleBook) -> Beliefs:
    named = pressure_targets.key()["two"]
    return [b for b in (named.get(asked.facts["concluded"], ""), *[named["swapped"]] * 2) if b]


def _by_pairs(is_so: str, pairs: Mapping[str, str]) -> Beliefs:
    return [belief for pair, belief in pairs.items() if pair.split(">")[0] == is_so]


def _oxygen(asked: Question, book: RuleBook) -> Beliefs:
    turn, _rule = oxygen.found(asked.facts, book)
    return _by_pairs(turn, pressure_targets.key()["oxygen"]["beliefs"])


def _predict(asked: Question, book: RuleBook) -> Beliefs:
    return _by_pairs(asked.facts["state"], pressure_targets.key()["reading"]["beliefs"])


def _turn(asked: Question, book: RuleBook) -> Beliefs:
    return _by_pairs(asked.facts["turned"], pressure_targets.key()["turned"]["beliefs"])


def _leak(asked: Question, book: RuleBook) -> Beliefs:
    return [b for b in pressure_targets.offered_pairs(asked, book) if b in _PAIRS]


_PAIRS = ("leak-unseen", "leak-spares-peep", "leak-spares-pip")


def _chest(asked: Question, book: RuleBook) -> Beliefs:
    right = heart_and_chest.right(asked, book)
    wrong = (option.id for option in asked.options if option.id != right)
    return [b for id in wrong if (b := heart_and_chest.belief_of(asked, id, book))]


def _raise(asked: Question, book: RuleBook) -> Beliefs:
    made = raise_plays.BELIEFS.items()
    return [b for b, play in made if raise_plays.shows_at_bench(asked, play, book)]


def _chest_says() -> Iterable[str]:
    return [b for part in heart_and_chest.key().values() for b in part.get("beliefs", {}).values()]


SHOWN: Shown = {
    **dict.fromkeys(GAUGES, _needle),
    **dict.fromkeys(TARGETS, _target),
    two_editions.QUESTION: _two,
    **dict.fromkeys(oxygen.QUESTIONS, _oxygen),
    **dict.fromkeys(predictions.READINGS, _predict),
    **dict.fromkeys(predictions.TURNS, _turn),
    predictions.LEAK: _leak,
    **dict.fromkeys(_SEALS, _chest),
    corrective.QUESTION: lambda asked, book: ["pressure-first"],
    raise_pip.QUESTION: _raise,
}


def _key() -> Mapping[str, Any]:
    return pressure_targets.key()


SPOKEN: Spoken = {
    **dict.fromkeys(GAUGES, lambda: ("small-mark-is-one", "nearest-number")),
    **dict.fromkeys(TARGETS, lambda: [said["belief"] for said in _key()["set"].values()]),
    two_editions.QUESTION: lambda: list(_key()["two"].values()),
    **dict.fromkeys(oxygen.QUESTIONS, lambda: _key()["oxygen"]["beliefs"].values()),
    **dict.fromkeys(predictions.READINGS, lambda: _key()["reading"]["beliefs"].values()),
    **dict.fromkeys(predictions.TURNS, lambda: _key()["turned"]["beliefs"].values()),
    predictions.LEAK: lambda: _PAIRS,
    **dict.fromkeys(_SEALS, _chest_says),
    corrective.QUESTION: lambda: ("pressure-first",),
    raise_pip.QUESTION: lambda: raise_plays.BELIEFS,
}
