"""Four starting sets for one baby: two settings are right or wrong in every combination.

So each value stands in two of the four sets, and how often it stands there tells nothing.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

from workbook.cases.draw import Draw
from workbook.cases.starting import (
    NAMES,
    PARTS,
    Baby,
    ends,
    highest_relief,
    one,
    reliefs,
    stands_in,
    stated,
    wanted,
)
from workbook.core.errors import PlainError
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.rules import Rule, RuleBook, editions, rulebook
from workbook.rules.signed import kept

Set = Mapping[str, float]
# The slips that a set may show, each in the part that it changes.
OTHER_BABY, OTHER_EDITION = "other-baby", "other-edition"

_TRIES = 100  # draws of a right set; the first one serves in every edition shipped
_NO_SETS = (
    "No starting settings can be asked about: in these rules no two of them can be set wrong."
    " Look at PIP, PEEP, relief and oxygen in the local protocol."
)


class Change(NamedTuple):
    """One part of a set, set wrong, and the slip by which it is."""

    part: str
    value: float
    slip: str


def broken(chosen: Set, book: RuleBook, baby: Baby) -> list[str]:
    """Return the parts of a set that their rules do not ask for.

    A relief is right from the margin above the PIP of the set up to its limit.
    """
    rules, margin = wanted(book, baby), book["relief.margin"].value

    def fits(part: str) -> bool:
        if part == "relief":
            return chosen["pip"] + margin <= chosen[part] <= highest_relief(book, baby)
        return rules[part].holds(chosen[part])

    return [part for part in PARTS if part in rules and part in chosen and not fits(part)]


def right(draw: Draw, book: RuleBook, baby: Baby) -> dict[str, float]:
    """Return a set in which every part fits its rule; the relief may be any safe one."""
    rules, margin = wanted(book, baby), book["relief.margin"].value
    pips = [pip for pip in _pips(rules["pip"]) if pip + margin <= reliefs(book, baby, pip)[-1]]
    pip = draw.pick(pips or ends(rules["pip"])[:1])
    made = {
        "pip": pip,
        "peep": draw.pick(ends(rules["peep"])),
        "relief": draw.pick(reliefs(book, baby, pip)),
    }
    if "oxygen" in rules:
        made["oxygen"] = draw.pick(ends(rules["oxygen"]))
    return made


def _pips(rule: Rule) -> list[float]:
    """Return the ends of the PIP's band and, where it is a whole number, its middle."""
    found = ends(rule)
    middle = (found[0] + found[-1]) / 2
    return sorted({*found, middle} if middle == int(middle) else found)


def four(draw: Draw, book: RuleBook, baby: Baby) -> list[dict[str, float]]:
    """Return four sets in a drawn order: two parts right or wrong in every combination.

    Whether the wrong values lie above or below the right ones is drawn first.

    Raises:
        PlainError: If the rules leave no two parts that can be set wrong each in its own way.
    """
    right(draw, book, baby)  # drawn and left, so that earlier draws stay what they were
    for _try in range(_TRIES):
        good = right(draw, book, baby)
        if pairs := _pairs(tuple(good.items()), book, baby):
            break
    else:
        raise PlainError(_NO_SETS)
    ways = sorted({_way(pair, good) for pair in pairs})
    way = draw.pick(ways)
    parts = sorted({(a.part, b.part) for a, b in pairs if _way((a, b), good) == way})
    of = draw.pick(parts)
    fitting = [p for p in pairs if _way(p, good) == way and (p[0].part, p[1].part) == of]
    return draw.shuffled(_combined(good, *draw.pick(fitting)))


def _way(pair: tuple[Change, Change], good: Set) -> tuple[bool, ...]:
    return tuple(change.value > good[change.part] for change in pair)


def _combined(good: Set, one: Change, two: Change) -> list[dict[str, float]]:
    first, second = ({each.part: each.value} for each in (one, two))
    return [{**good}, {**good, **first}, {**good, **second}, {**good, **first, **second}]


@lru_cache(maxsize=4096)  # few babies, few right sets, many learners
def _pairs(
    right_set: tuple[tuple[str, float], ...], book: RuleBook, baby: Baby
) -> tuple[tuple[Change, Change], ...]:
    """Return the pairs of changes of which each is wrong in its own way, alone and together."""
    good = dict(right_set)

    def shows(*changes: Change) -> bool:
        made = {**good, **{change.part: change.value for change in changes}}
        return slips(made, book, baby) == {change.part: change.slip for change in changes}

    clear = [c for c in _changes(good, book, baby) if c.part in good and shows(c)]
    pairs = [pair for pair in combinations(clear, 2) if pair[0].part != pair[1].part]
    # Only PIP, which comes first, has a say in what is right of the other parts.
    return tuple(pair for pair in pairs if pair[0].part != "pip" or shows(*pair))


def _changes(good: Set, book: RuleBook, baby: Baby) -> list[Change]:
    """Return every way to set one part of a set wrong, in the order of the parts."""
    rules = wanted(book, baby)
    beyond = book["target.beyond"].value
    made = [
        Change("peep", 0.0, "peep-none"),
        Change("peep", highest("peep.start") + beyond, "peep-high"),
        Change("relief", good["pip"] - book["target.relief-gap"].value, "relief-below-pip"),
        Change("relief", one(rules["relief"]) + book["target.relief-over"].value, "relief-high"),
        Change("oxygen", book["oxygen.pure"].value, "oxygen-pure"),
    ]
    if not stands_in("pip", rules["pip"]):
        made.append(Change("pip", good["pip"] + good["peep"], "pip-plus-peep"))
        made.append(Change("pip", ends(rules["pip"])[0] - 2 * beyond, "pip-low"))
    for slip, changes in _elsewhere(book, baby).items():
        made += [Change(part, value, slip) for part, value in changes]
    unique = {(change.part, change.value): change for change in reversed(made)}
    return sorted(unique.values(), key=lambda c: (PARTS.index(c.part), c.value))


@kept
def highest(id: str) -> float:
    """Return the highest number that any edition gives under a rule's id."""
    books = [rulebook(edition) for edition in editions()]
    rules = [rule for book in books if id in book for rule in book.all(id) if rule.stated]
    return max(ends(rule)[-1] for rule in rules)


@lru_cache(maxsize=4096)
def _elsewhere(book: RuleBook, baby: Baby) -> Mapping[str, tuple[tuple[str, float], ...]]:
    """Return what is asked for elsewhere and wrong here, by the slip that takes it."""
    rules = wanted(book, baby)
    return {
        OTHER_BABY: tuple(_other_babies(rules, book)),
        OTHER_EDITION: tuple(_other_editions(rules, baby)),
    }


def _other_babies(rules: Mapping[str, Rule], book: RuleBook) -> Iterator[tuple[str, float]]:
    """Yield what the same book asks for babies of another gestation."""
    for part, rule in rules.items():
        if part == "relief" or stands_in(part, rule):
            continue
        for other in book.all(rule.id):
            if other.stated and other is not rule:
                yield from ((part, value) for value in ends(other) if not rule.holds(value))


def _other_editions(rules: Mapping[str, Rule], baby: Baby) -> Iterator[tuple[str, float]]:
    """Yield what other editions ask for the same baby; the relief is no edition's number."""
    for part, rule in rules.items():
        if part == "relief" or stands_in(part, rule):
            continue
        for edition in editions():
            other = stated(rulebook(edition), rule.id, baby)
            if other is not None:
                yield from ((part, value) for value in ends(other) if not rule.holds(value))


def slips(chosen: Set, book: RuleBook, baby: Baby) -> dict[str, str]:
    """Return each wrong part of a set with the slip it shows; empty where it has no name."""
    rules, elsewhere = wanted(book, baby), _elsewhere(book, baby)

    def of(part: str) -> str:
        value = chosen[part]
        if part == "oxygen" and value == book["oxygen.pure"].value:
            return "oxygen-pure"
        if part == "peep" and value == 0:
            return "peep-none"
        if part == "relief":
            return "relief-high" if value > highest_relief(book, baby) else "relief-below-pip"
        for slip, numbers in elsewhere.items():
            if (part, value) in numbers:
                return slip
        if part == "peep":
            return "peep-high" if value > highest("peep.start") else ""
        if part == "pip" and value < ends(rules["pip"])[0]:
            return "pip-low"
        added = part == "pip" and rules["pip"].holds(value - chosen["peep"])
        return "pip-plus-peep" if added else ""

    return {part: of(part) for part in broken(chosen, book, baby)}


def explained(part: str, chosen: Set, book: RuleBook, baby: Baby) -> tuple[str, ...]:
    """Return every slip by which a wrong part of a set may have come about; one number may be
    asked for both elsewhere and of another baby.
    """
    value, rules = chosen[part], wanted(book, baby)
    found = [slip for slip, numbers in _elsewhere(book, baby).items() if (part, value) in numbers]
    if part == "pip" and rules["pip"].holds(value - chosen["peep"]):
        found.append("pip-plus-peep")
    return tuple(found)


def asked_of(part: str, rules: Mapping[str, Rule], book: RuleBook, baby: Baby) -> str:
    """Return what is asked for in one part of a set; of a relief, between what it may stand."""
    name, rule = _(NAMES[part]), rules[part]
    if part != "relief":
        return f"{name}: {rule.shown}"
    highest = highest_relief(book, baby)
    says = _("relief: {margin} or more above PIP, and no higher than {limit}")
    if highest < one(rule):
        says = _("relief: {margin} or more above PIP, and no higher than {limit} for this baby")
    margin = plain(book["relief.margin"].value, "cmH2O")
    return says.format(margin=margin, limit=plain(highest, "cmH2O"))


def says(chosen: Set) -> str:
    """Return a set as a choice says it."""
    told = {part: number(value, ".4g") for part, value in chosen.items()}
    if "oxygen" not in chosen:
        return _("PIP {pip}, PEEP {peep}, relief {relief} cmH2O.").format(**told)
    told["oxygen"] = plain(chosen["oxygen"], "percent")
    return _("PIP {pip}, PEEP {peep}, relief {relief} cmH2O, oxygen {oxygen}.").format(**told)
