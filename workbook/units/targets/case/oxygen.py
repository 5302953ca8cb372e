"""Turn the oxygen by the table: a baby's saturation, some minutes after birth."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.cases.question import Given, Kind, Option, Question
from workbook.cases.starting import Baby, baby, stated
from workbook.core.quantities import plain
from workbook.rules import Rule, RuleBook, rulebook

QUESTIONS = ("oxygen-1", "oxygen-2")
TURNS = ("raise", "leave", "lower")
PURE = "pure"  # the fourth choice, never the right one here
CHOICES = (*TURNS, PURE)
MINUTES = (1, 2, 3, 4, 5, 10)
FEW = 3  # minutes with a number that make a table
# Its table stands in where an edition has none: copies of it were read.
STAND_IN = "aha-2015"
STEP, SPREAD, TOP = 10, 8, 99  # percent: of oxygen; of what is drawn; the most a sensor is drawn at


def table(book: RuleBook) -> RuleBook:
    """Return the book whose saturation table is gone by: the edition's own, if it has one."""
    found = [m for m in MINUTES if any(r.stated for r in at(book, m))]
    return book if len(found) >= FEW else rulebook(STAND_IN)


def at(book: RuleBook, minute: int) -> tuple[Rule, ...]:
    """Return a book's rules for the saturation in a minute of life, one for each population."""
    return book.all(f"spo2.{minute}min") if f"spo2.{minute}min" in book else ()


def target(book: RuleBook, minute: int, met: Baby) -> Rule | None:
    """Return the saturation a table asks for in a minute of life; None where it is blank."""
    return stated(book, f"spo2.{minute}min", met)


def questions(given: Given) -> list[Question]:
    """Return two babies, whose oxygen is to be turned in two different ways."""
    turns = given.draw.some(TURNS, len(QUESTIONS))
    return given.each(QUESTIONS, turns, question)


def question(id: str, turn: str, given: Given) -> Question:
    """Return one baby for whom a turn is right."""
    draw, book = given.draw, given.book
    met = baby(draw, draw.pick(given.groups), book)
    used = _table_for(turn, book, met)
    possible = [
        (minute, saturation)
        for minute in MINUTES
        if (rule := target(used, minute, met)) is not None
        for saturation in _drawn(turn, rule, book)
    ]
    minute = draw.pick(sorted({minute for minute, _saturation in possible}))
    low, high = book["oxygen.drawn"].band
    facts = {
        "weeks": met.weeks, "kg": met.kg, "minute": minute, "table": used.edition.id,
        "saturation": draw.pick([s for m, s in possible if m == minute]),
        "oxygen": STEP * draw.whole(low // STEP, high // STEP),
    }  # fmt: skip
    return Question(
        id,
        Kind.CHOICE,
        given.texts["asks"],
        context=_says(facts, met, book, given.texts),
        options=tuple(Option(choice, given.texts["option"][choice]) for choice in CHOICES),
        facts=facts,
    )


def _table_for(turn: str, book: RuleBook, met: Baby) -> RuleBook:
    """Return whose table is asked about: one with an upper end, where oxygen is to be lowered."""
    used = table(book)
    rules = [target(used, minute, met) for minute in MINUTES]
    open_above = all(rule is None or rule.high is None for rule in rules)
    return rulebook(STAND_IN) if turn == "lower" and open_above else used


def _says(facts: Mapping[str, Any], met: Baby, book: RuleBook, texts: Mapping[str, Any]) -> str:
    told = {
        "baby": met.says,
        "minute": plain(facts["minute"], "min"),
        "oxygen": plain(facts["oxygen"], "percent"),
        "saturation": plain(facts["saturation"], "percent"),
        "whose": rulebook(facts["table"]).edition.named,
        "edition": book.edition.named,
    }
    by = "own" if facts["table"] == book.edition.id else "open" if table(book) is book else "lent"
    return f"{texts['stands']} {texts[by]}".format_map(told)


def _drawn(turn: str, rule: Rule, book: RuleBook) -> list[int]:
    """Return the saturations (percent) at which a turn is right by a rule."""
    low, high = rule.band
    apart, inside = int(book["spo2.apart"].value), int(book["spo2.inside"].value)
    if turn == "raise":
        return [round(low) - apart - n for n in range(SPREAD)]
    if turn == "lower":
        first = round(high) + apart if rule.high is not None else TOP + 1
        return list(range(first, min(first + SPREAD, TOP + 1)))
    top = min(high, low + SPREAD)
    return list(range(round(low) + inside, round(top) - inside + 1))


def found(facts: Mapping[str, Any], book: RuleBook) -> tuple[str, Rule]:
    """Return what is right for a baby's oxygen, and the rule that says so."""
    used = book if facts["table"] == book.edition.id else rulebook(facts["table"])
    rule = target(used, facts["minute"], Baby(facts["weeks"], facts["kg"]))
    if rule is None:
        raise ValueError(f"The table says nothing for this minute: {dict(facts)}.")
    low, high = rule.band
    if facts["saturation"] < low:
        return "raise", rule
    return ("lower" if facts["saturation"] > high else "leave"), rule
