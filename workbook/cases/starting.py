"""What a baby starts with: the settings by the rules, and what a drawn T-piece may be set to."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from workbook.cases.draw import Draw
from workbook.core.language import N_, _
from workbook.core.quantities import plain
from workbook.rules import Rule, RuleBook, rulebook
from workbook.rules.edition import PRACTICE

PARTS = ("pip", "peep", "relief", "oxygen")
NAMES = {"pip": "PIP", "peep": "PEEP", "relief": N_("relief"), "oxygen": N_("oxygen")}
_RULES = {
    "pip": "pip.start",
    "peep": "peep.start",
    "relief": "relief.limit",
    "oxygen": "oxygen.start",
}
# What common practice shows where an edition gives no number; oxygen is left out instead.
_EXAMPLES = {"pip": "pip.example", "peep": "peep.example", "relief": "relief.example"}
TEXTBOOK = "textbook-2021"  # where an edition names no highest PIP, its number stands in


@dataclass(frozen=True, slots=True)
class Baby:
    """A drawn baby: ``weeks`` of gestation, weight in ``kg``."""

    weeks: int
    kg: float

    @property
    def says(self) -> str:
        """Return the baby in words."""
        return _("a baby of {weeks} and {weight}").format(
            weeks=plain(self.weeks, "week"), weight=plain(self.kg, "kg")
        )


def baby(draw: Draw, group: str, book: RuleBook) -> Baby:
    """Return a drawn baby of a group such as ``term``."""
    weeks = draw.whole(*book[f"drawn.{group}.gestation"].band)
    low, high = book[f"drawn.{group}.weight"].band
    return Baby(weeks, draw.whole(round(10 * low), round(10 * high)) / 10)


@lru_cache(maxsize=16384)  # editions, rules and babies are few, and asked for over and over
def stated(book: RuleBook, id: str, baby: Baby) -> Rule | None:
    """Return what a book itself says for a baby; None where it gives no number."""
    rules = book.all(id) if id in book else ()
    found = [r for r in rules if r.population.includes(baby.weeks, 1000 * baby.kg) and r.stated]
    return found[0] if found else None


@lru_cache(maxsize=4096)
def wanted(book: RuleBook, baby: Baby) -> Mapping[str, Rule]:
    """Return the rule each setting is started by; without oxygen where no number is given."""
    made: dict[str, Rule] = {}
    for part, id in _RULES.items():
        rule = stated(book, id, baby)
        if rule is None and part in _EXAMPLES:
            rule = book[_EXAMPLES[part]]
        if rule is not None:
            made[part] = rule
    return MappingProxyType(made)


def stands_in(part: str, rule: Rule) -> bool:
    """Say whether a rule stands in for a number the edition does not give."""
    return rule.id == _EXAMPLES.get(part)


def one(rule: Rule) -> float:
    """Return one number of a rule: the one it names, else its upper end."""
    named = (rule.typical, rule.high, rule.low)
    return next(value for value in named if value is not None)


def ends(rule: Rule) -> list[float]:
    """Return the numbers a rule names: its ends and the typical one."""
    named = {rule.low, rule.typical, None if rule.below else rule.high}
    return sorted(value for value in named if value is not None)


# --- how high a relief may stand


@lru_cache(maxsize=4096)
def ceiling(book: RuleBook, baby: Baby) -> Rule | None:
    """Return the highest PIP for a baby: the edition's, else the textbook's."""
    found = stated(book, "pip.ceiling", baby)
    return found or stated(rulebook(TEXTBOOK), "pip.ceiling", baby)


@lru_cache(maxsize=4096)
def highest_relief(book: RuleBook, baby: Baby) -> float:
    """Return the highest relief (cmH2O) a drawn T-piece may have: its limit, or the PIP ceiling."""
    limit, top = one(wanted(book, baby)["relief"]), ceiling(book, baby)
    return limit if top is None else min(limit, one(top))


def reliefs(book: RuleBook, baby: Baby, pip: float) -> list[float]:
    """Return the reliefs (cmH2O) a T-piece may be drawn with for a baby at a PIP, lowest first.

    Each lies above the PIP by the margin. Where a site leaves no such room, its highest is left.
    """
    highest = highest_relief(book, baby)
    usual = {book["relief.example"].value, highest, *(one(r) for r in book.all("relief.limit"))}
    least = pip + book["relief.margin"].value
    return sorted(each for each in usual if least <= each <= highest) or [highest]


def settings_for(book: RuleBook, baby: Baby) -> list[tuple[float, float, float]]:
    """Return the (PIP, PEEP, relief) in cmH2O a T-piece may be drawn with for a baby."""
    return list(_settings_for(book, baby))


@lru_cache(maxsize=4096)
def _settings_for(book: RuleBook, baby: Baby) -> tuple[tuple[float, float, float], ...]:
    pips, peeps = (whole(*book[id].band) for id in ("pip.drawn", "peep.drawn"))
    top = highest_relief(book, baby) - book["relief.margin"].value
    fitting = [pip for pip in pips if pip <= top] or pips[:1]
    lifted = {pip: reliefs(book, baby, pip) for pip in fitting}
    return tuple((p, e, r) for p in fitting for e in peeps for r in lifted[p])


def whole(low: float, high: float) -> list[float]:
    """Return the whole numbers from low to high, both ends included."""
    return [float(n) for n in range(math.ceil(low), math.floor(high) + 1)]


# --- in words


def whose(book: RuleBook) -> str:
    """Return whose numbers are asked for."""
    if not book.protocol:
        return book.edition.named
    return _("{edition}, and {protocol} where it says otherwise").format(
        edition=book.edition.named, protocol=book.protocol
    )


def asks(book: RuleBook, baby: Baby) -> str:
    """Return whom a learner prepares for, and by whose numbers."""
    says = _("You prepare for {baby}. You go by {whose}.")
    return says.format(baby=baby.says, whose=whose(book))


def notes(book: RuleBook, baby: Baby) -> list[str]:
    """Return what the edition gives no number for, and what stands in for it."""
    rules, practice = wanted(book, baby), book.edition.id == PRACTICE
    lent = [_(NAMES[part]) for part, rule in rules.items() if stands_in(part, rule)]
    says = _("We have not read its {what}: the usual teaching example is used.")
    said = [says.format(what=_(" and ").join(lent))] if lent else []
    if rules["relief"].edition == PRACTICE and not practice and not rules["relief"].from_site:
        said.append(_("The relief is by common practice."))
    if "oxygen" not in rules:
        said.append(_("We have not read its starting oxygen, so none is asked for."))
    return said


def step(book: RuleBook) -> Rule:
    """Return how far PIP is raised at a time: the edition's step, else the textbook's."""
    return book["pip.step"] if "pip.step" in book else rulebook(TEXTBOOK)["pip.step"]
