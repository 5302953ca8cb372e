"""Verdicts become a table of scores: what is missing, left open, believed or changed is told."""

from __future__ import annotations

import math

import numpy as np

from graders.items.intervals import correlation, mean, share, wilson
from graders.items.quality import statistics
from graders.items.scores import ItemScores
from graders.marking.graded import Graded
from graders.marks.verdict import Finding, Verdict
from workbook.rules import rulebook

BOOK = rulebook("aha-2020")
SURE = BOOK["item.confidence"].value / 100
UNIT = "1_setup_order"


def graded(learner: str, *earned: float, unit: str = UNIT, possible: float = 2, belief: str = "",
           digest: str = "abc", said: dict[str, str] | None = None) -> Graded:  # fmt: skip
    verdicts = tuple(
        Verdict(f"q{k}", (Finding("c", e == possible, "Said.", e, possible,
                                  misconception="" if e == possible else belief),))
        for k, e in enumerate(earned)
    )  # fmt: skip
    return Graded(learner, unit, BOOK.edition.id, verdicts, (), "", digest, "1.0", said or {})


def test_verdicts_become_a_table():
    """Rows by learner id, columns by question, points as earned."""
    scores = ItemScores()
    for one in (graded("b", 2, 0), graded("a", 1, 2)):
        scores.add(one)
    made = scores.unit(UNIT)
    assert (made.learners, made.questions, made.maxima) == (("a", "b"), ("q0", "q1"), (2, 2))
    assert made.scores.tolist() == [[1, 2], [2, 0]]
    assert scores.units == (UNIT,)


def test_a_verdict_without_a_usable_answer_counts_apart():
    """A broken file is counted, and no zero of it makes a question look hard."""
    scores = ItemScores()
    scores.add(graded("a", 2, 2))
    scores.add(graded("b", 0, 0, digest=""))
    made = scores.unit(UNIT)
    assert (made.learners, made.unusable) == (("a",), 1)


def test_a_later_verdict_of_a_learner_replaces_the_earlier():
    """Nobody counts twice, nor what they believed before."""
    scores = ItemScores()
    scores.add(graded("a", 0, 0, belief="falls-to-zero"))
    scores.add(graded("a", 2, 2))
    made = scores.unit(UNIT)
    assert made.scores.tolist() == [[2, 2]]
    assert made.pulls == {}


def test_other_questions_and_other_points_are_missing_or_said():
    """A verdict of another version leaves gaps; changed points are scaled and said."""
    scores = ItemScores()
    scores.add(graded("a", 2, 1))
    scores.add(graded("b", 4, possible=4))
    made = scores.unit(UNIT)
    assert made.maxima == (4, 2)
    assert made.scores[0].tolist() == [4, 1]
    assert made.scores[1, 0] == 4
    assert math.isnan(made.scores[1, 1])
    assert "q0" in made.notes[0]


def test_beliefs_and_empty_answers_are_counted_by_question():
    """What draws learners, and what is left open."""
    scores = ItemScores()
    for id in "abc":
        scores.add(graded(id, 0, 2, belief="falls-to-zero", said={"q1": "x"}))
    scores.add(graded("d", 0, 2, belief="a-slip/falls-to-zero"))
    made = scores.unit(UNIT)
    assert made.pulls == {"q0": {"falls-to-zero": 4}}
    assert made.left_open == {"q0": 3}


def test_a_unit_nobody_did_is_an_empty_table():
    """A missing unit has a defined outcome."""
    made = ItemScores().unit("5_interface_sizing")
    assert made.scores.shape == (0, 0)
    stats = statistics(made.scores, made.questions, SURE, made.maxima)
    assert stats.items == ()
    assert stats.alpha.value is None


def test_a_question_without_points_is_left_out():
    """There is nothing to share of no points."""
    scores = ItemScores()
    scores.add(graded("a", 0, possible=0))
    assert scores.unit(UNIT).questions == ()


def test_single_columns_have_defined_outcomes():
    """The intervals on their own, at their edges."""
    assert wilson(0, 0, SURE).value is None
    assert mean(np.array([]), SURE).value is None
    assert share(np.array([1.0, 1.0]), SURE).low is None
    assert correlation(np.array([1.0]), np.array([1.0]), SURE).value is None
    assert correlation(np.array([0.0, 1, 1]), np.array([0.0, 2, 1]), SURE).low is None
