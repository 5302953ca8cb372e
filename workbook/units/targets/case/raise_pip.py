"""Raise PIP on the bench: a stiff lung, an attached baby, and a count that must not break."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from workbook.bench import DIALS, Bench, circuit_at
from workbook.cases.dials import set_for
from workbook.cases.draw import Draw
from workbook.cases.inflation import inflated
from workbook.cases.pace import first_inflations, longest, rate_band, rates
from workbook.cases.question import Kind, Question
from workbook.cases.starting import (
    TEXTBOOK,
    Baby,
    baby,
    ceiling,
    ends,
    highest_relief,
    one,
    step,
    wanted,
    whose,
)
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.physics import Lung, set_pip
from workbook.physics import coefficients as c
from workbook.rules import RuleBook, rulebook

QUESTION = "raise"
GUESSES = 6  # of where the chest begins to move, before halving ends the search
LEAST = 1e-3  # mL; no click is taken to add less
MARGIN = 0.5  # of a cmH2O: the chest moves this much before the drawn PIP


def question(
    draw: Draw, groups: tuple[str, ...], book: RuleBook, texts: Mapping[str, str]
) -> Question:
    """Return the question; its bench stands ready at the starting PIP, the baby attached."""
    met = baby(draw, draw.pick([g for g in groups if ceiling(book, baby(draw, g, book))]), book)
    facts = _drawn(draw, met, book)
    bench = Bench.from_data(facts["bench"])
    low, high = book["volume.window"].band
    return Question(
        QUESTION,
        Kind.BENCH,
        texts["raise"],
        context=texts["raise-context"].format_map(_told(facts, met, book)),
        help=texts["raise-help"].format_map(_told(facts, met, book)),
        facts=facts,
        shows={
            "bench": bench.to_data(),
            "outlets": ["lung"],
            "chest": {"low": low, "high": high},
            "goal": texts["raise-goal"].format_map(_told(facts, met, book)),
        },
    )


def enough(book: RuleBook) -> int:
    """Return how many inflations a step is looked at for, as the corrective steps are."""
    return int(book["corrective.try"].value)


def _drawn(draw: Draw, met: Baby, book: RuleBook) -> dict[str, Any]:
    rules, limit = wanted(book, met), ceiling(book, met)
    # No higher than the baby's ceiling: a relief guards more than the hand does.
    relief = top = highest_relief(book, met)
    room = book["raise.room"].value
    # A site's relief may leave little room above the starting PIP; then the case begins lower.
    pip = min(ends(rules["pip"])[0], top - 2 * room - book["pip.accept"].value)
    numbers = {
        "flow": book["flow.start"].value, "relief": relief, "pip": pip,
        "peep": ends(rules["peep"])[0],
    }  # fmt: skip
    rises = float(draw.whole(pip + room, top - room))
    brings = book["volume.window"].band[0] * met.kg
    lung = Lung(round(brings / (rises - MARGIN - numbers["peep"]), 4), c.AIRWAY.value)
    bench = Bench(set_for(numbers), lung, met.kg, "lung")
    return {
        **numbers,
        "rises": rises, "top": top, "rate": draw.pick(rates(book)), "weeks": met.weeks,
        "ceiling": top if limit is None else one(limit), "bench": bench.to_data(),
    }  # fmt: skip


def _told(facts: Mapping[str, Any], met: Baby, book: RuleBook) -> dict[str, str]:
    low, high = rate_band(book)
    numbers = {k: plain(facts[k], "cmH2O") for k in ("pip", "peep", "relief", "ceiling")}
    return {
        **numbers, "begun": _begun(book), "notes": _notes(book, met),
        "flow": plain(facts["flow"], "L/min"),
        "baby": met.says, "whose": whose(book),
        "rate": plain(facts["rate"], "1/min"), "step": step(book).text,
        "band": _("{low} to {high}").format(low=number(low), high=plain(high, "1/min")),
        "longest": longest(book).text,
        "inflations": number(enough(book)),
    }  # fmt: skip


def _begun(book: RuleBook) -> str:
    """Return a sentence where the edition begins with long inflations: the case is after them."""
    count, _longest = first_inflations(book)
    if not count:
        return ""
    says = _(" The {count} long inflations that {edition} begins with are given.")
    return says.format(count=number(count), edition=book.edition.named)


def _notes(book: RuleBook, met: Baby) -> str:
    """Return a sentence where the textbook's numbers stand in for the edition's."""
    rules = {
        _("step of PIP"): step(book),
        _("ceiling"): ceiling(book, met),
        _("inflations between two steps"): book["corrective.try"],
    }
    lent = [what for what, rule in rules.items() if rule and rule.edition == TEXTBOOK]
    if not lent or book.edition.id == TEXTBOOK:
        return ""
    says = _("\n• By the {textbook}, not {edition}: {lent}.")
    return says.format(
        textbook=rulebook(TEXTBOOK).edition.named,
        edition=book.edition.named,
        lent=", ".join(lent),
    )


def pip_at(positions: Mapping[str, int], reading: float) -> int:
    """Return the position of the PIP control at which the gauge shows a reading."""
    made = set_pip(circuit_at(positions), reading)
    return DIALS["pip"].nearest(None if made.pip_valve is None else made.pip_valve.opens_at)


def moves_from(bench: Bench, facts: Mapping[str, Any], low: float) -> int:
    """Return the lowest position of the PIP control at which an inflation brings ``low`` mL/kg.

    By the model, in the usual count, with every other control as it stood.
    """

    sought = low * bench.weight
    first, last, tries = 0, DIALS["pip"].clicks, 0
    pip = bench.positions["pip"]
    # The first guess has the volume rise evenly from PEEP, later ones as it did last.
    at_peep = pip - (facts["pip"] - facts["peep"]) / DIALS["pip"].step
    before = (at_peep, 0.0)
    while first < last:
        # Guesses come near at once; where a relief makes them fail, halving ends it.
        pip = min(max(pip, first), last - 1) if tries < GUESSES else (first + last) // 2
        at = tuple({**bench.positions, "pip": pip}.items())
        brings = inflated(at, bench.lung, facts["rate"])
        first, last = (pip + 1, last) if brings < sought else (first, pip)
        click = max((brings - before[1]) / (pip - before[0]), LEAST)  # mL that one click adds
        before, further = (pip, brings), math.ceil((sought - brings) / click)
        pip += further if brings < sought else min(further, -1)
        tries += 1
    return first
