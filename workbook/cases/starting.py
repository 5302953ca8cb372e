"""What a baby starts with: the settings by the rules, and sets that are wrong in one way each."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

from workbook.cases.draw import Draw
from workbook.language import N_, _, number
from workbook.rules import Rule, RuleBook, editions, rulebook
from workbook.rules.book import PRACTICE
from workbook.units import plain

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
_ADDED = "pip-plus-peep"  # the slip that takes the PIP for a rise above PEEP
FEW = 4  # wrong sets; where the rules give fewer, one more is offered
Set = Mapping[str, float]


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


def ceiling(book: RuleBook, baby: Baby) -> Rule | None:
    """Return the highest PIP for a baby: the edition's, else the textbook's."""
    found = stated(book, "pip.ceiling", baby)
    return found or stated(rulebook(TEXTBOOK), "pip.ceiling", baby)


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
    pips, peeps = (whole(*book[id].band) for id in ("pip.drawn", "peep.drawn"))
    top = highest_relief(book, baby) - book["relief.margin"].value
    fitting = [pip for pip in pips if pip <= top] or pips[:1]
    return [(p, e, r) for p in fitting for e in peeps for r in reliefs(book, baby, p)]


def whole(low: float, high: float) -> list[float]:
    """Return the whole numbers from low to high, both ends included."""
    return [float(n) for n in range(math.ceil(low), math.floor(high) + 1)]


def fits(part: str, value: float, rule: Rule) -> bool:
    """Say whether a setting is what its rule asks for; a relief is one number."""
    return value == one(rule) if part == "relief" else rule.holds(value)


def right(draw: Draw, book: RuleBook, baby: Baby) -> dict[str, float]:
    """Return a set in which every part fits its rule, PIP below the relief."""
    rules = wanted(book, baby)
    relief = one(rules["relief"])
    highest = relief - 2 * book["pip.accept"].value
    pips = [value for value in ends(rules["pip"]) if value <= highest]
    made = {"pip": draw.pick(pips or ends(rules["pip"])[:1])}
    made |= {"peep": draw.pick(ends(rules["peep"])), "relief": relief}
    if "oxygen" in rules:
        made["oxygen"] = draw.pick(ends(rules["oxygen"]))
    return made


def wrong(draw: Draw, good: Set, book: RuleBook, baby: Baby) -> dict[str, dict[str, float]]:
    """Return slip -> a set with one part changed, each wrong in that one way only."""
    rules = wanted(book, baby)
    others = _others(book, baby)
    changed: dict[str, Sequence[tuple[str, float]]] = {
        "oxygen-pure": [("oxygen", book["oxygen.pure"].value)],
        "relief-below-pip": [("relief", good["pip"] - book["target.relief-gap"].value)],
        "peep-none": [("peep", 0.0)],
        **others,
    }
    made: dict[str, dict[str, float]] = {}
    for slip, changes in changed.items():
        # The other parts are drawn anew within their rules, so that no set is like most others.
        sets = [{**right(draw, book, baby), part: value} for part, value in changes if part in good]
        shown = [each for each in sets if _slip(each, book, rules, others) == slip]
        if shown:
            made[slip] = draw.pick(shown)
    if len(made) < FEW:
        sums = {**good, "pip": good["pip"] + good["peep"]}
        made |= {_ADDED: sums} if _slip(sums, book, rules, others) == _ADDED else {}
    return made


@lru_cache(maxsize=4096)
def _others(book: RuleBook, baby: Baby) -> Mapping[str, tuple[tuple[str, float], ...]]:
    """Return what is asked for elsewhere and wrong here, by the slip that takes it."""
    rules = wanted(book, baby)
    return {
        "other-baby": tuple(_other_babies(rules, book)),
        "other-edition": tuple(_other_editions(rules, baby)),
    }


def _other_babies(rules: Mapping[str, Rule], book: RuleBook) -> Iterator[tuple[str, float]]:
    """Yield what the same book asks for babies of another gestation."""
    for part, rule in rules.items():
        if stands_in(part, rule):
            continue
        for other in book.all(rule.id):
            if other.stated and other is not rule:
                numbers = [one(other)] if part == "relief" else ends(other)
                yield from ((part, value) for value in numbers if not fits(part, value, rule))


def _other_editions(rules: Mapping[str, Rule], baby: Baby) -> Iterator[tuple[str, float]]:
    """Yield what other editions ask for the same baby; the relief is no edition's number."""
    for part, rule in rules.items():
        if part == "relief" or stands_in(part, rule):
            continue
        for edition in editions():
            other = stated(rulebook(edition), rule.id, baby)
            if other is not None:
                yield from ((part, value) for value in ends(other) if not fits(part, value, rule))


def broken(chosen: Set, book: RuleBook, baby: Baby) -> list[str]:
    """Return the parts of a set that their rules do not ask for."""
    return _broken(chosen, wanted(book, baby))


def _broken(chosen: Set, rules: Mapping[str, Rule]) -> list[str]:
    return [p for p in PARTS if p in rules and p in chosen and not fits(p, chosen[p], rules[p])]


def slip_of(chosen: Set, book: RuleBook, baby: Baby) -> str:
    """Return in which one way a set is wrong; empty where it is right, or wrong in another way."""
    rules = wanted(book, baby)
    return _slip(chosen, book, rules, _others(book, baby))


def _slip(
    chosen: Set,
    book: RuleBook,
    rules: Mapping[str, Rule],
    others: Mapping[str, Collection[tuple[str, float]]],
) -> str:
    wrong_parts = _broken(chosen, rules)
    if len(wrong_parts) != 1:
        return ""
    part = wrong_parts[0]
    if part == "oxygen" and chosen[part] == book["oxygen.pure"].value:
        return "oxygen-pure"
    if part == "peep" and chosen[part] == 0:
        return "peep-none"
    if chosen["relief"] <= chosen["pip"]:
        return "relief-below-pip" if part == "relief" else ""
    for slip, numbers in others.items():
        if (part, chosen[part]) in numbers:
            return slip
    added = part == "pip" and fits("pip", chosen["pip"] - chosen["peep"], rules["pip"])
    return _ADDED if added else ""


def says(chosen: Set) -> str:
    """Return a set as a choice says it."""
    told = {part: number(value, ".4g") for part, value in chosen.items()}
    if "oxygen" not in chosen:
        return _("PIP {pip}, PEEP {peep}, relief {relief} cmH2O.").format(**told)
    told["oxygen"] = plain(chosen["oxygen"], "percent")
    return _("PIP {pip}, PEEP {peep}, relief {relief} cmH2O, oxygen {oxygen}.").format(**told)


def whose(book: RuleBook) -> str:
    """Return whose numbers are asked for."""
    if not book.protocol:
        return book.edition.title
    return _("{edition}, and {protocol} where it says otherwise").format(
        edition=book.edition.title, protocol=book.protocol
    )


def asks(book: RuleBook, baby: Baby) -> str:
    """Return whom a learner prepares for, and by whose numbers."""
    says = _("You prepare for {baby}. You go by {whose}.")
    return says.format(baby=baby.says, whose=whose(book))


def notes(book: RuleBook, baby: Baby) -> list[str]:
    """Return what the edition gives no number for, and what is taken instead."""
    rules, title = wanted(book, baby), book.edition.title
    practice = book.edition.id == PRACTICE
    who = _("Common practice") if practice else title
    lent = [_(NAMES[part]) for part, rule in rules.items() if stands_in(part, rule)]
    example = _(
        "{who} states no starting {what} for this baby: take the usual teaching example."
    ).format(who=who, what=_(" and no starting ").join(lent))
    said = [example] if lent else []
    if rules["relief"].edition == PRACTICE and not practice and not rules["relief"].from_site:
        said.append(_("For the relief take the usual limit at this gestation."))
    if "oxygen" not in rules:
        none = _("{who} states no starting oxygen for this baby, so none is asked for.")
        said.append(none.format(who=who))
    return said
