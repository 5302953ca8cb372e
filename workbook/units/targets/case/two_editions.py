"""The same baby under two editions of different bodies: what each asks for, and why."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations

from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question
from workbook.cases.starting import Baby, baby, ends, stated
from workbook.core.language import N_, _, number
from workbook.rules import Rule, RuleBook, editions, rulebook
from workbook.rules.edition import PRACTICE

QUESTION = "two-editions"
STARTS = {"pip.start": "PIP", "oxygen.start": N_("oxygen"), "peep.start": "PEEP"}
_ASKS = {
    "pip.start": N_("The starting PIP for {baby}, in two editions."),
    "oxygen.start": N_("The starting oxygen for {baby}, in two editions."),
    "peep.start": N_("The starting PEEP for {baby}, in two editions."),
}
# What is concluded from two different numbers, beside following the unit's choice.
CONCLUDED = ("one-right-number", "averaged", "free-choice")
SWAPPED = "swapped-"  # before a claim: the numbers are given to the wrong editions
_BODY = {"textbook": "aha"}  # its textbook speaks for the body that publishes it
Pair = tuple[str, str, str, str]  # rule, group of babies, one edition, the other


def question(
    draw: Draw, groups: tuple[str, ...], book: RuleBook, texts: Mapping[str, str]
) -> Question:
    """Return the question; an edition without numbers is replaced by two others."""
    babies = {group: baby(draw, group, book) for group in groups}
    every = _pairs(babies, book.edition.id)
    own = [pair for pair in every if book.edition.id in pair[2:]]
    rule, group, *both = draw.pick(_parting(own, babies) or _parting(every, babies))
    one, two = draw.shuffled(both)
    met, title = babies[group], book.edition.named
    note = _(" We have read no such number in {edition}, so two others are shown.")
    note = "" if own else note.format(edition=title)
    facts = {
        "rule": rule, "weeks": met.weeks, "kg": met.kg, "one": one, "two": two,
        "concluded": draw.pick(CONCLUDED),
    }  # fmt: skip
    said = statements(facts, texts)
    ids = "abcd"
    shuffled = draw.shuffled(said.values())
    return Question(
        QUESTION,
        Kind.CHOICE,
        _("Which statement is true?"),
        context=_(_ASKS[rule]).format(baby=met.says) + note,
        options=tuple(Option(ids[n], text) for n, text in enumerate(shuffled)),
        facts=facts,
    )


def whom(facts: Mapping[str, object]) -> Baby:
    """Return the baby of a question."""
    return Baby(int(str(facts["weeks"])), float(str(facts["kg"])))


def rules_of(facts: Mapping[str, object]) -> tuple[Rule, Rule]:
    """Return what the two editions of a question say for its baby."""
    met, rule = whom(facts), str(facts["rule"])
    found = [stated(rulebook(str(facts[e])), rule, met) for e in ("one", "two")]
    one, two = found
    if one is None or two is None:
        raise ValueError(f"One of the editions says nothing: {dict(facts)}.")
    return one, two


def statements(facts: Mapping[str, object], texts: Mapping[str, str]) -> dict[str, str]:
    """Return what each statement claims -> its text; the first claims what is true.

    Right or exchanged numbers and a right or wrong conclusion, in every combination.
    """
    one, two = rules_of(facts)
    known = editions()
    told = {
        "one": known[str(facts["one"])].named,
        "two": known[str(facts["two"])].named,
        "mean": number((_middle(one) + _middle(two)) / 2, ".3g"),
    }
    numbers = {"": {"a": one.text, "b": two.text}, SWAPPED: {"a": two.text, "b": one.text}}
    return {
        mark + claim: f"{texts['numbers']} {texts[claim]}".format_map({**told, **given})
        for claim in ("both", str(facts["concluded"]))
        for mark, given in numbers.items()
    }


def _middle(rule: Rule) -> float:
    numbers = ends(rule)
    return (numbers[0] + numbers[-1]) / 2


def _pairs(babies: Mapping[str, Baby], own: str) -> list[Pair]:
    """Return every pair of editions of two bodies that both give a number for a baby."""
    known = [edition for edition in editions() if edition != PRACTICE]
    made: list[Pair] = []
    for rule in STARTS:
        for group, met in babies.items():
            giving = [edition for edition in known if stated(rulebook(edition), rule, met)]
            pairs = combinations(_in_use(giving, own), 2)
            made += [(rule, group, *pair) for pair in pairs if _body(pair[0]) != _body(pair[1])]
    return made


def _in_use(giving: list[str], own: str) -> list[str]:
    """Return the course's own edition and of every body the latest that gives a number."""
    latest = {_body(edition): edition for edition in sorted(giving, key=lambda e: e[-4:])}
    return [edition for edition in giving if edition in (own, latest[_body(edition)])]


def _body(edition: str) -> str:
    name = edition.split("-")[0]
    return _BODY.get(name, name)


def _parting(pairs: list[Pair], babies: Mapping[str, Baby]) -> list[Pair]:
    """Return the pairs that no number suits; failing those, the ones whose bands differ."""
    bands = [(pair, _bands(pair, babies)) for pair in pairs]
    apart = [pair for pair, (one, two) in bands if max(one[0], two[0]) > min(one[1], two[1])]
    return apart or [pair for pair, (one, two) in bands if one[0] != two[0] or _closed(one, two)]


def _closed(one: tuple[float, float], two: tuple[float, float]) -> bool:
    """Say whether two bands have different upper ends that are numbers."""
    return one[1] != two[1] and max(one[1], two[1]) < float("inf")


def _bands(pair: Pair, babies: Mapping[str, Baby]) -> list[tuple[float, float]]:
    rule, group, *both = pair
    found = [stated(rulebook(edition), rule, babies[group]) for edition in both]
    return [each.band for each in found if each is not None]
