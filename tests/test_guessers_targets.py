"""Nobody who knows nothing passes the pressure exercise by a trick, in any edition."""

from __future__ import annotations

from statistics import mean

import pytest

from tests.guessers import all_guessers, cases, earned, guessable, points
from workbook.rules import editions, rulebook
from workbook.units.targets.case.questions import EXERCISE
from workbook.units.targets.case.raise_pip import QUESTION

pytestmark = pytest.mark.slow

MOST = 0.5  # of the points that can be guessed at
CASES = 16  # of an edition: over two hundred in all


@pytest.mark.parametrize("edition", editions())
def test_no_trick_earns_half_or_passes(edition):
    """Under half on average, and below the pass mark in each case, though the run is perfect."""
    book, possible = rulebook(edition), points(EXERCISE)
    needed = book["pass-mark"].value / 100 * sum(possible.values())
    for name, guess in all_guessers(EXERCISE, edition).items():
        shares = []
        for drawn in cases(EXERCISE, edition, CASES):
            asked = guessable(drawn)
            got = sum(earned(drawn, question, guess(question), book) for question in asked)
            assert got + possible[QUESTION] < needed, (name, drawn.learner)
            shares.append(got / sum(possible[question.id] for question in asked))
        assert mean(shares) < MOST, name
