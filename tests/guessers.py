"""Learners who know nothing and guess by a trick; what their tricks earn.

``python -m tests.guessers [UNIT ...]`` prints, for each unit and edition, what each guesser earns
of the questions that can be guessed at, and each question that one trick solves too often.

A run at the bench, a tapped count and a mask laid on a face cannot be guessed: they stay
unanswered here, and only the other questions are counted.
"""

from __future__ import annotations

import re
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from statistics import mean
from typing import Any

from graders.marking.exercise import mark, marker, model_answers
from workbook.cases import Case, Kind, Question, case, exercises, spoken
from workbook.rules import RuleBook, editions, rulebook

GUESSED = (Kind.CHOICE, Kind.CHOICES, Kind.NUMBER, Kind.SEQUENCE)
NUMBER = re.compile(r"\d+(?:\.\d+)?")
WORD = re.compile(r"[a-z]{4,}")
LEARNERS = 40

Guess = Callable[[Question], Any]


def numbers(text: str) -> tuple[float, ...]:
    """Return every number in a text, in order."""
    return tuple(map(float, NUMBER.findall(text)))


def told(question: Question) -> str:
    """Return all that a learner reads before the options."""
    return f"{question.label} {question.context} {question.help}"


def by_option(pick: Callable[[Question], int]) -> Guess:
    """Return a guesser that picks one option by its place; orders and numbers as they come."""

    def guess(question: Question) -> Any:
        ids = [option.id for option in question.options]
        if question.kind is Kind.CHOICE:
            return ids[pick(question)]
        if question.kind is Kind.CHOICES:
            return [ids[pick(question)]]
        if question.kind is Kind.SEQUENCE:
            return ids
        return typed(question, lambda found: found[0])

    return guess


def by_number(pick: Callable[[list[float]], float]) -> Guess:
    """Return a guesser that types a number out of the text; of options it takes the first."""

    def guess(question: Question) -> Any:
        if question.kind is Kind.NUMBER:
            return typed(question, pick)
        return by_option(lambda _: 0)(question)

    return guess


def typed(question: Question, pick: Callable[[list[float]], float]) -> dict[str, str] | None:
    """Return a number that stands in the text with the first unit that is offered."""
    found = [*numbers(question.context), *numbers(question.label)]
    return {"text": f"{pick(found):g}", "unit": question.units[0]} if found else None


def _place(score: Callable[[Question, str], Any], best: Callable[..., Any]) -> Guess:
    """Return a guesser that picks the option whose text scores best."""

    def pick(question: Question) -> int:
        texts = [option.text for option in question.options]
        return int(best(range(len(texts)), key=lambda n: score(question, texts[n])))

    return by_option(pick)


def _usual(question: Question, text: str) -> int:
    """Return how often the values of an option's parts stand in all options."""
    parts = [_parts(option.text) for option in question.options]
    own = _parts(text)
    return sum(other[n] == value for other in parts for n, value in enumerate(own[: len(other)]))


def _parts(text: str) -> list[str]:
    return NUMBER.findall(text) or text.split()


def _shared(question: Question, text: str) -> float:
    words = set(WORD.findall(text.lower()))
    return len(words & set(WORD.findall(told(question).lower()))) / max(1, len(words))


def _echoes(question: Question, text: str) -> int:
    return len(set(numbers(text)) & set(numbers(told(question))))


def _everything(question: Question) -> Any:
    """Return every option where several may be chosen."""
    if question.kind is Kind.CHOICES:
        return [option.id for option in question.options]
    return by_option(lambda _: 0)(question)


def _half(question: Question) -> Any:
    """Return the first half of the options where several may be chosen; an order backwards."""
    ids = [option.id for option in question.options]
    if question.kind is Kind.CHOICES:
        return ids[: len(ids) // 2]
    if question.kind is Kind.SEQUENCE:
        return ids[::-1]
    return by_option(lambda q: len(q.options) // 2)(question)


GUESSERS: Mapping[str, Guess] = {
    "first option": by_option(lambda _: 0),
    "second option": by_option(lambda q: min(1, len(q.options) - 1)),
    "last option": by_option(lambda _: -1),
    "middle option": _half,
    "longest option": _place(lambda _, text: len(text), max),
    "shortest option": _place(lambda _, text: len(text), min),
    "lowest numbers": _place(lambda _, text: numbers(text), min),
    "highest numbers": _place(lambda _, text: numbers(text), max),
    "commonest value of each part": _place(_usual, max),
    "rarest value of each part": _place(_usual, min),
    "words of the question": _place(_shared, max),
    "words not in the question": _place(_shared, min),
    "numbers of the question": _place(_echoes, max),
    "numbers not in the question": _place(_echoes, min),
    "everything": _everything,
    "first number of the text": by_number(lambda found: found[0]),
    "last number of the text": by_number(lambda found: found[-1]),
    "largest number of the text": by_number(max),
    "smallest number of the text": by_number(min),
    "sum of the two largest": by_number(lambda found: sum(sorted(found)[-2:])),
    "zero": by_number(lambda _: 0.0),
}


def guessable(drawn: Case) -> list[Question]:
    """Return the questions of a case that a guesser can answer."""
    return [question for question in drawn.questions if question.kind in GUESSED]


@cache
def cases(unit: str, edition: str, learners: int = LEARNERS) -> tuple[Case, ...]:
    """Return the cases of a class of invented learners."""
    book = rulebook(edition)
    return tuple(case("guesses", unit, f"learner.{n}", book) for n in range(learners))


def earned(drawn: Case, question: Question, value: Any, book: RuleBook) -> float:
    """Return the points that an answer earns."""
    return mark(drawn, question.id, value, book).earned


def shares(unit: str, edition: str, guess: Guess) -> dict[str, float]:
    """Return question -> the mean share of its points that a guesser earns in a class."""
    book, got = rulebook(edition), {}
    for drawn in cases(unit, edition):
        for question in guessable(drawn):
            share = earned(drawn, question, guess(question), book) / points(unit)[question.id]
            got.setdefault(question.id, []).append(share)
    return {id: mean(each) for id, each in got.items()}


def points(unit: str) -> Mapping[str, float]:
    """Return the points of each question of a unit."""
    found: Mapping[str, float] = marker(unit).POINTS
    return found


def weighed(unit: str, found: Mapping[str, float]) -> float:
    """Return the share of all points that can be guessed at."""
    return sum(share * points(unit)[id] for id, share in found.items()) / sum(
        points(unit)[id] for id in found
    )


def neighbour(unit: str, edition: str) -> Guess:
    """Return a guesser with a colleague's key: for each question what is right most often."""
    book, keys = rulebook(edition), {}
    for drawn in cases(unit, edition):
        right = model_answers(drawn, book)
        for question in guessable(drawn):
            said = spoken(question, right[question.id])
            keys.setdefault(question.id, Counter())[said] += 1
    first = by_option(lambda _: 0)

    def guess(question: Question) -> Any:
        key = keys[question.id].most_common(1)[0][0]
        if question.kind is Kind.CHOICE:
            return next((o.id for o in question.options if o.text == key), first(question))
        if question.kind is Kind.NUMBER:
            text, _, unit = key.partition(" ")
            return {"text": text, "unit": unit}
        if question.kind is Kind.CHOICES:
            return [o.id for o in question.options if o.text in key]
        return first(question)  # an order that is right for all is what the unit teaches

    return guess


def all_guessers(unit: str, edition: str) -> dict[str, Guess]:
    """Return every guesser, the one with a colleague's key among them."""
    return {**GUESSERS, "a colleague's key": neighbour(unit, edition)}


def main(units: Iterable[str]) -> None:
    """Print what the guessers earn."""
    for unit in units or exercises():
        for edition in editions():
            made = {n: shares(unit, edition, g) for n, g in all_guessers(unit, edition).items()}
            totals = sorted(((weighed(unit, got), name) for name, got in made.items()))[::-1]
            print(f"{unit} {edition}: " + "; ".join(f"{n} {s:.0%}" for s, n in totals[:4]))
            for id in next(iter(made.values())):
                best = max(made, key=lambda name: made[name][id])
                if made[best][id] >= 0.6:
                    print(f"    {id}: {best} {made[best][id]:.0%}")


if __name__ == "__main__":
    main(sys.argv[1:])
