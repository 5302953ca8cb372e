"""No question gives its answer away: whoever knows nothing earns little, and is never ready."""

from __future__ import annotations

import pytest

from graders.marking import mark_all, model_answers
from tests.guessers import GUESSED, all_guessers, cases, guessable, points, shares, weighed
from workbook.cases import exercises
from workbook.course import Course
from workbook.rules import editions, rulebook

MOST = 0.5  # of the points that can be guessed at
MOST_OF_ONE = 0.8  # of one question's; an edition of blanks leaves few right sets to draw
CASES = 200
UNITS = exercises()


@pytest.mark.parametrize("edition", editions())
@pytest.mark.parametrize("unit", UNITS)
def test_no_trick_earns_half_of_a_unit(unit: str, edition: str):
    """First, longest, commonest, a number of the text, a colleague's key: under half."""
    made = {
        name: shares(unit, edition, guess) for name, guess in all_guessers(unit, edition).items()
    }
    assert len(made) > 20
    totals = {name: round(weighed(unit, found), 3) for name, found in made.items()}
    assert max(totals.values()) < MOST, totals
    ones = {
        id: max((found[id], name) for name, found in made.items())
        for id in next(iter(made.values()))
    }
    assert {id: best for id, best in ones.items() if best[0] > MOST_OF_ONE} == {}


@pytest.mark.parametrize("unit", UNITS)
def test_no_guesser_is_ready_even_with_skilled_hands(unit: str):
    """Runs, taps and masks done as an expert does, the rest guessed: too few points, or unsafe."""
    edition = rulebook().edition.id
    book, passed = rulebook(), Course().needed
    whole = sum(points(unit).values())
    for name, guess in all_guessers(unit, edition).items():
        for drawn in cases(unit, edition, CASES):
            asked = guessable(drawn)
            answers = {question.id: guess(question) for question in asked}
            verdicts = [v for v in mark_all(drawn, answers, book) if v.question in answers]
            rest = whole - sum(points(unit)[question.id] for question in asked)
            got = sum(verdict.earned for verdict in verdicts) + rest
            safe = not any(verdict.unsafe for verdict in verdicts)
            assert not (safe and got >= passed * whole), f"{name}, {drawn.learner}"


@pytest.mark.parametrize("unit", UNITS)
def test_whoever_knows_earns_all_that_a_guesser_is_asked(unit: str):
    """The same questions answered right earn every point: the test above measures knowing."""
    book = rulebook()
    for drawn in cases(unit, book.edition.id)[:5]:
        right = model_answers(drawn, book)
        verdicts = {v.question: v for v in mark_all(drawn, right, book)}
        for question in drawn.questions:
            if question.kind in GUESSED:
                assert verdicts[question.id].earned == points(unit)[question.id]
