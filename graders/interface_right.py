"""The right choice of each sizing question, from the rules, and what a wrong one shows."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from workbook.cases import Question
from workbook.cases import interface_tubes as tubes
from workbook.cases.babies import Baby, one_mask, published_masks
from workbook.cases.interface_sizing import airway_book, on_airway, pair_id, plain_tube
from workbook.language import _, number
from workbook.rules import RuleBook
from workbook.rules.files import file
from workbook.units import plain

Key = Mapping[str, Any]
Facts = Mapping[str, Any]


def choice(asked: Question, book: RuleBook, key: Key) -> str:
    """Return the id of the right choice."""
    if asked.id in key["right"]:
        return str(key["right"][asked.id])
    if asked.id in ("seal-check", "tube-effect"):
        by, drawn = {"seal-check": ("right_by_cause", "cause"),
                     "tube-effect": ("right_by_facet", "facet")}[asked.id]  # fmt: skip
        return str(key[by][asked.facts[drawn]])
    if asked.id == "suction":
        return _pairs(asked, lambda french, vacuum: _allowed(french, vacuum, book))[0]
    return _BEST[asked.id](asked.facts, book)


def baby_of(facts: Facts) -> Baby:
    """Return the baby that a question was drawn from."""
    return Baby(facts["weeks"], facts["grams"], facts.get("length", 0.0))


def _between(facts: Facts, book: RuleBook) -> str:
    baby = baby_of(facts)
    return "covers-small" if one_mask(baby) == min(published_masks(baby)) else "covers-large"


def _growth(facts: Facts, book: RuleBook) -> str:
    return pair_id(*tubes.laid_out(baby_of(facts))[0])


def _fills(facts: Facts, book: RuleBook) -> str:
    share = tubes.fills(facts["french"], facts["tube"])
    return pair_id(round(share.diameter), round(share.area))


def _airway(facts: Facts, book: RuleBook) -> str:
    named = airway_book(facts, book)
    return "young" if facts["weeks"] < named["supraglottic.from"].value else facts["edition"]


_BEST: dict[str, Callable[[Facts, RuleBook], str]] = {
    "mask-between": _between,
    "tube-weight": lambda facts, book: pair_id(
        tubes.by_weight(facts["grams"]) or 0.0, tubes.blade_of(facts["weeks"])
    ),
    "tube-rules": lambda facts, book: pair_id(*tubes.by_gestation(facts["weeks"])),
    "growth-restricted": _growth,
    "catheter-fills": _fills,
    "supraglottic": _airway,
}


def airway(asked: Question, book: RuleBook) -> RuleBook:
    """Return the rules of the edition that a question on the airway names."""
    return airway_book(asked.facts, book)


def _pairs(asked: Question, holds: Callable[[float, float], bool]) -> list[str]:
    return [o.id for o in asked.options if holds(*pair(o.id))]


def pair(id: str) -> tuple[float, float]:
    """Return the two values of an option's id."""
    one, two = id.split("/")
    return float(one), float(two)


def _allowed(french: float, vacuum: float, book: RuleBook) -> bool:
    return book["port.catheter"].holds(french) and book["suction.limit"].holds(vacuum)


# --- what a wrong choice shows


def slip(asked: Question, chosen: str, book: RuleBook, key: Key) -> tuple[str, bool]:
    """Return (the belief that a wrong choice shows, or none, and whether it could do harm)."""
    if asked.id in _SLIPS:
        return _SLIPS[asked.id](asked, chosen, book)
    critical = chosen in key["critical"].get(asked.id, ())
    return str(key["shows"].get(asked.id, {}).get(chosen, "")) or _filled(asked, chosen), critical


def _filled(asked: Question, chosen: str) -> str:
    return "diameter-is-area" if asked.id == "catheter-fills" else ""


def _slip_tube(asked: Question, chosen: str, book: RuleBook) -> tuple[str, bool]:
    size, blade = pair(chosen)
    best = tubes.by_weight(asked.facts["grams"]) or 0.0
    larger = size > best and blade == tubes.blade_of(asked.facts["weeks"])
    return "larger-tube-better" if larger else "", False


def _slip_rules(asked: Question, chosen: str, book: RuleBook) -> tuple[str, bool]:
    band, tenth = pair(chosen)
    return "tenth-is-the-table" if band == tenth else "", False


def _slip_growth(asked: Question, chosen: str, book: RuleBook) -> tuple[str, bool]:
    best, old = tubes.laid_out(baby_of(asked.facts))
    return "age-alone" if pair(chosen) == old else "", pair(chosen)[1] > best[1]


def _slip_suction(asked: Question, chosen: str, book: RuleBook) -> tuple[str, bool]:
    over = not book["suction.limit"].holds(pair(chosen)[1])
    return "suction-harder" if over else "", over


def _slip_airway(asked: Question, chosen: str, book: RuleBook) -> tuple[str, bool]:
    young = _airway(asked.facts, book) == "young"
    other = "" if chosen == "young" else "airway-one-edition"
    return ("airway-any-baby" if young else other), young


_SLIPS: dict[str, Callable[[Question, str, RuleBook], tuple[str, bool]]] = {
    "tube-weight": _slip_tube,
    "tube-rules": _slip_rules,
    "growth-restricted": _slip_growth,
    "suction": _slip_suction,
    "supraglottic": _slip_airway,
}


# --- what a finding says


def said(asked: Question, book: RuleBook) -> dict[str, str]:
    """Return the words that a question's finding is filled with."""
    return _SAID[asked.id](asked.facts, book) if asked.id in _SAID else {}


def _said_seal(facts: Facts, book: RuleBook) -> dict[str, str]:
    return {name: plain(facts[name], "cmH2O") for name in ("peep", "reading")}


def _said_tube(facts: Facts, book: RuleBook) -> dict[str, str]:
    size = tubes.by_weight(facts["grams"]) or 0.0
    return {"tube": plain_tube(size), "blade": number(tubes.blade_of(facts["weeks"]))}


def _said_rules(facts: Facts, book: RuleBook) -> dict[str, str]:
    band, tenth = tubes.by_gestation(facts["weeks"])
    return {"band": plain_tube(band), "tenth": plain_tube(tenth)}


def _said_estimate(facts: Facts, book: RuleBook) -> dict[str, str]:
    rule = file("sizes").find("tube.downsized", weight=facts["grams"])
    return {"share": rule.text, "weight": plain(facts["grams"] / 1000, "kg")}


def _said_growth(facts: Facts, book: RuleBook) -> dict[str, str]:
    size, depth = tubes.laid_out(baby_of(facts))[0]
    return {"tube": plain_tube(size), "depth": plain(depth, "cm")}


def _said_depth(facts: Facts, book: RuleBook) -> dict[str, str]:
    return {name: plain(v, "cm") for name, v in tubes.small_depths(facts["grams"]).items()}


def _said_fills(facts: Facts, book: RuleBook) -> dict[str, str]:
    share = tubes.fills(facts["french"], facts["tube"])
    by = {"diameter": share.diameter, "area": share.area}
    outside = plain(round(share.catheter, 2), "mm")
    return {"outside": outside, **{n: plain(round(v), "percent") for n, v in by.items()}}


def _said_suction(facts: Facts, book: RuleBook) -> dict[str, str]:
    ids = {"port": "port.catheter", "usual": "suction.set", "limit": "suction.limit"}
    return {name: book[id].shown for name, id in ids.items()}


def _said_airway(facts: Facts, book: RuleBook) -> dict[str, str]:
    named = airway_book(facts, book)
    age = plain(named["supraglottic.from"].value, "week")
    rule = _(on_airway(book)[facts["edition"]].says)
    return {"edition": named.edition.title, "from": age, "rule": rule}


_SAID: dict[str, Callable[[Facts, RuleBook], dict[str, str]]] = {
    "seal-check": _said_seal,
    "tube-weight": _said_tube,
    "tube-rules": _said_rules,
    "tube-estimated": _said_estimate,
    "growth-restricted": _said_growth,
    "tube-effect": lambda facts, book: tubes.effect(facts),
    "depth-small": _said_depth,
    "catheter-fills": _said_fills,
    "suction": _said_suction,
    "supraglottic": _said_airway,
}
