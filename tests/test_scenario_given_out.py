"""Unit 7 given out: drawn, marked whole, its beliefs named, both ways."""

from __future__ import annotations

import json
from itertools import count, islice
from types import SimpleNamespace
from typing import Any

import pytest

from graders import award as marking_cells
from graders.marking.exercise import mark, mark_all, model_answers, points
from graders.marking.personas import answers_of, shows
from graders.marks.misconceptions import misconceptions
from graders.units import units
from graders.units.scenario.plays import PLAYS
from workbook import cases
from workbook.cases import case, exercises
from workbook.rules import editions, rulebook
from workbook.units.scenario.case.questions import EXERCISE

pytestmark = pytest.mark.slow

GUIDELINES = [edition for edition in editions() if edition != "practice"]


def drawn(learner: str, edition: str = "aha-2025") -> cases.Case:
    return case("may", EXERCISE, learner, rulebook(edition))


def test_it_is_the_last_exercise_and_its_beliefs_are_known():
    """All from one line in its room."""
    assert exercises()[-1] == EXERCISE
    assert list(units())[-1] == EXERCISE
    assert {id for id, one in misconceptions().items() if one.unit == EXERCISE} == set(PLAYS)
    assert sum(points(EXERCISE).values()) == 50


def test_right_answers_are_marked_whole_and_none_is_told_a_belief():
    """By every edition."""
    for edition in GUIDELINES:
        made, book = drawn("right", edition), rulebook(edition)
        verdicts = mark_all(made, model_answers(made, book), book)
        assert sum(v.earned for v in verdicts) >= 45
        assert not [f for v in verdicts for f in v.findings if f.critical and not f.met]
        assert not [name for v in verdicts for name in v.misconceptions]


def test_no_answer_at_all_is_marked_too():
    """Each question says that it was not answered; a note alone says what to do first."""
    made, book = drawn("nobody"), rulebook("aha-2025")
    assert [v.earned for v in mark_all(made, {}, book)] == [0] * 4
    right = model_answers(made, book)
    alone = mark_all(made, {"note-1": right["note-1"]}, book)
    assert alone[1].findings[0].says.startswith("Play the case first")


def test_both_ways_of_grading_give_the_same_points(tmp_path, monkeypatch):
    """A marking cell asks one question with all answers beside it; `tpiece grade` asks for all."""
    made, book = drawn("both"), rulebook("aha-2025")
    right = json.loads(json.dumps(model_answers(made, book)))
    right["note-2"]["pip"] = 77.0
    whole = {v.question: v.earned for v in mark_all(made, right, book)}
    apart = {q.id: mark(made, q.id, right[q.id], book, right).earned for q in made.questions}
    assert apart == whole
    assert whole["note-2"] == 4.5

    opened: Any = SimpleNamespace(case=made, book=book, filled=right)
    monkeypatch.setattr(marking_cells, "answers", lambda unit: unit.filled)
    cells = {q.id: marking_cells.award(opened, q.id) for q in made.questions}
    assert cells == whole


@pytest.mark.parametrize("belief", PLAYS)
def test_who_holds_a_belief_is_told_it_and_no_other(belief):
    """Outright, or as a slip or this belief; of learners whom it cost a point, as in all units."""
    found, all_of, others = 0, 0, list[str]()
    learners = (f"{belief}-{n}" for n in count())
    able = (who for who in learners if shows(drawn(who), belief))
    for who in islice(able, 3):
        made, book = drawn(who), rulebook("aha-2025")
        answers = answers_of(made, book, belief)
        verdicts = mark_all(made, answers, book)
        right = mark_all(made, model_answers(made, book), book)
        if all(v.earned >= one.earned for v, one in zip(verdicts, right, strict=True)):
            continue
        named = {name for v in verdicts for name in v.misconceptions}
        all_of += 1
        found += any(name.rpartition("/")[2] == belief for name in named)
        others += [name for name in named if name.rpartition("/")[2] != belief]
    assert (found, others) == (all_of, [])
    assert all_of
