"""No question gives its answer away: whoever knows nothing earns little, and is never ready."""

from __future__ import annotations

import pytest

from graders.marking.exercise import mark_all, model_answers
from tests.guessers import GUESSED, all_guessers, cases, guessable, points, shares, weighed
from workbook.cases import exercises
from workbook.course.settings import Course
from workbook.rules import editions, rulebook

pytestmark = pytest.mark.slow

MOST = 0.5  # of the points that can be guessed at
MOST_OF_ONE = 0.8  # of one question's; an edition of blanks leaves few right sets to draw
CASES = 200
LUCK = 0.01  # of the cases, where another's hands do what guessing cannot
# A trial of fault finding offers no option: `test_fault_finding` has guessers of its own.
UNITS = tuple(u for u in exercises() if guessable(cases(u, rulebook().edition.id, 1)[0]))


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
def test_no_guesser_is_ready(unit: str):
    """In none of 200 cases; with an expert's hands at bench, taps and mask, by luck only."""
    edition, book = rulebook().edition.id, rulebook()
    needed, whole = Course().needed * sum(points(unit).values()), sum(points(unit).values())
    lucky = 0
    for guess in all_guessers(unit, edition).values():
        for drawn in cases(unit, edition, CASES):
            asked = guessable(drawn)
            answers = {question.id: guess(question) for question in asked}
            verdicts = mark_all(drawn, answers, book)
            got = sum(verdict.earned for verdict in verdicts)
            assert got < needed or any(verdict.unsafe for verdict in verdicts)
            hands = whole - sum(points(unit)[question.id] for question in asked)
            guessed = [verdict for verdict in verdicts if verdict.question in answers]
            lucky += got + hands >= needed and not any(verdict.unsafe for verdict in guessed)
    assert lucky <= LUCK * CASES * len(all_guessers(unit, edition))


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
