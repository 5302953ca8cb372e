"""The right choice of each sizing question, from the rules, and what a wrong one shows."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from workbook.cases import Question
from workbook.core.language import number
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.units.sizing.case import tubes
from workbook.units.sizing.case.babies import Baby
from workbook.units.sizing.case.questions import airway_source, pair_id, plain_tube

Key = Mapping[str, Any]
Facts = Mapping[str, Any]


def choices(asked: Question, key: Key) -> tuple[str, ...]:
    """Return the ids of the right choices, the best one first."""
    if asked.id in _BEST:
        return (_BEST[asked.id](asked.facts),)
    return tuple(key["right"][asked.id][situation(asked)])


def situation(asked: Question) -> str:
    """Return which of its situations a question has drawn."""
    return str(asked.facts.get("situation") or asked.facts["needle"])


def baby_of(facts: Facts) -> Baby:
    """Return the baby that a question was drawn from."""
    return Baby(facts["weeks"], facts["grams"], facts.get("length", 0.0))


def _tube(facts: Facts) -> str:
    return pair_id(tubes.by_weight(facts["grams"]) or 0.0, tubes.blade_of(facts["weeks"]))


def _held(facts: Facts) -> str:
    """Return how the depth of a held tube compares with every rule."""
    low, high = sorted(tubes.depths(facts["grams"]).values())
    if facts["held"] > high:
        return "deep"
    return "shallow" if facts["held"] < low else "within"


_BEST: dict[str, Callable[[Facts], str]] = {"tube-weight": _tube, "depth-small": _held}


def pair(id: str) -> tuple[float, float]:
    """Return the two values of an option's id."""
    one, two = id.split("/")
    return float(one), float(two)


# --- what a wrong choice shows


def slip(asked: Question, chosen: str, key: Key) -> tuple[str, bool]:
    """Return (the belief that a wrong choice shows, or none, and whether it could do harm)."""
    if asked.id == "tube-weight":
        return _slip_tube(asked.facts, chosen), False
    at = _held(asked.facts) if asked.id == "depth-small" else situation(asked)
    belief = key["shows"].get(asked.id, {}).get(chosen, {})
    harmful = key["critical"].get(asked.id, {}).get(chosen, ())
    return str(belief.get(at, "")), at in harmful


def half(asked: Question, chosen: str, key: Key) -> str:
    """Return what is said first of a choice that is safe and not best; nothing of any other."""
    table = key["half"].get(asked.id, {})
    if asked.id == "tube-weight":
        right_tube = pair(chosen)[0] == tubes.by_weight(asked.facts["grams"])
        return str(table["tube"]) if right_tube else ""
    return str(table[chosen].get(situation(asked), "")) if chosen in table else ""


def _slip_tube(facts: Facts, chosen: str) -> str:
    by_weeks = pair(chosen)[0] == tubes.by_gestation(facts["weeks"])
    return "age-alone" if by_weeks else ""


# --- what a finding says


def said(asked: Question, book: RuleBook) -> dict[str, str]:
    """Return the words that a question's finding is filled with."""
    return _SAID[asked.id](asked.facts, book) if asked.id in _SAID else {}


def _said_seal(facts: Facts, book: RuleBook) -> dict[str, str]:
    return {name: plain(facts[name], "cmH2O") for name in ("peep", "reading")}


def _said_next(facts: Facts, book: RuleBook) -> dict[str, str]:
    return {"source": airway_source(book), "weeks": plain(facts["weeks"], "week")}


def _said_tube(facts: Facts, book: RuleBook) -> dict[str, str]:
    size = tubes.by_weight(facts["grams"]) or 0.0
    return {"tube": plain_tube(size), "blade": number(tubes.blade_of(facts["weeks"]))}


def _said_depth(facts: Facts, book: RuleBook) -> dict[str, str]:
    words = {name: plain(v, "cm") for name, v in tubes.depths(facts["grams"]).items()}
    return {**words, "held": plain(facts["held"], "cm")}


def _said_suction(facts: Facts, book: RuleBook) -> dict[str, str]:
    return {"seconds": book["suction.brief"].text}


_SAID: dict[str, Callable[[Facts, RuleBook], dict[str, str]]] = {
    "seal-check": _said_seal,
    "interface-next": _said_next,
    "tube-weight": _said_tube,
    "depth-small": _said_depth,
    "suction": _said_suction,
}
