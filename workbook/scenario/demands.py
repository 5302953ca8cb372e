"""What an edition, and a site's protocol over it, asks of a case; a blank is not judged."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from workbook.core.language import N_, _
from workbook.rules import Rule, RuleBook, rulebook

MINUTES = (1, 2, 3, 4, 5, 10)
TEXTBOOK = "textbook-2021"  # where an edition names no highest PIP, its number stands in
# What a case is judged by: the name of the demand, its rule, and its words.
ASKED: Mapping[str, tuple[str, str]] = {
    "pip": ("pip.start", N_("the pressure to begin with")),
    "ceiling": ("pip.ceiling", N_("the highest pressure")),
    "peep": ("peep.start", N_("the PEEP to begin with")),
    "oxygen": ("oxygen.start", N_("the oxygen to begin with")),
    "first": ("inflations.first", N_("long first inflations")),
    "first-time": ("inflations.first-time", N_("the length of the first inflations")),
    "rate": ("rate", N_("the rate of inflations")),
    "inflation-time": ("inflation-time", N_("the length of an inflation")),
    "within": ("ppv.within", N_("how soon to ventilate")),
    "ventilate": ("hr.ventilate", N_("the heart rate below which to ventilate")),
    "compress": ("hr.compress", N_("the heart rate below which to compress")),
    "reassess": ("hr.reassess", N_("when to look at the heart rate again")),
    "events": ("compressions.events", N_("compressions and inflations together")),
    "compressions-oxygen": ("compressions.oxygen", N_("oxygen during compressions")),
    "order": ("corrective.order", N_("the order of corrective steps")),
    "try": ("corrective.try", N_("inflations between corrective steps")),
    "supraglottic": ("supraglottic.from", N_("from when a laryngeal mask may be placed")),
    "step": ("pip.step", N_("by how much to raise the pressure")),
    **{f"spo2-{m}": (f"spo2.{m}min", N_("the saturation to aim for")) for m in MINUTES},
}


@dataclass(frozen=True)
class Demands:
    """The rules in force for one baby, by the names of ``ASKED``; what is blank is not there."""

    edition: str
    rules: Mapping[str, Rule]
    blank: tuple[str, ...]

    def band(self, name: str) -> tuple[float, float] | None:
        """Return the band of a demand, or None where nothing is stated."""
        rule = self.rules.get(name)
        return None if rule is None or rule.unit is None else rule.band

    def number(self, name: str) -> float | None:
        """Return one number of a demand: the one it names, else its upper or its lower end."""
        rule = self.rules.get(name)
        if rule is None or rule.unit is None:
            return None
        return one(rule)

    @property
    def unjudged(self) -> tuple[str, ...]:
        """Return a sentence for each demand that is blank: it is not judged."""
        says = _("{edition} does not state {what} here: it is not judged.")
        names = dict.fromkeys(_(ASKED[name][1]) for name in self.blank)
        return tuple(says.format(edition=self.edition, what=what) for what in names)

    def target(self, time: float) -> tuple[float, float] | None:
        """Return the saturation to aim for (percent) at a time (s); None before any is stated.

        The last minute that is stated goes on until the next that is.
        """
        stated = [m for m in MINUTES if f"spo2-{m}" in self.rules and 60 * m <= time]
        return self.band(f"spo2-{stated[-1]}") if stated else None


def demands(book: RuleBook, weeks: float, kg: float) -> Demands:
    """Return what a book asks for a baby of ``weeks`` and ``kg``."""
    found, blank = dict[str, Rule](), list[str]()
    for name, (id, _says) in ASKED.items():
        rules: tuple[Any, ...] = book.all(id) if id in book else ()
        mine = [r for r in rules if r.population.includes(weeks, 1000 * kg) and r.stated]
        if mine:
            found[name] = mine[0]
        else:
            blank.append(name)
    return Demands(book.edition.named, found, tuple(blank))


def one(rule: Rule) -> float:
    """Return one number of a rule: the one it names, else its upper or its lower end."""
    named = (rule.typical, rule.high, rule.low)
    return next(value for value in named if value is not None)


def highest(book: RuleBook, weeks: float, kg: float) -> Rule:
    """Return the rule of the highest pressure for a baby.

    The edition's ceiling, else the textbook's, else the limit of the relief.
    """
    for each in (book, rulebook(TEXTBOOK)):
        rule = demands(each, weeks, kg).rules.get("ceiling")
        if rule is not None:
            return rule
    return book.find("relief.limit", gestation=weeks)
