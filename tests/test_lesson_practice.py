"""Practice in a lesson: orders tried, steps chosen, checks that say what each choice leads to."""

from __future__ import annotations

import pytest

from tests.lesson_screen import LESSON, answer, ask
from workbook.cases import Draw
from workbook.core.answer_sheet import read_answers
from workbook.display.cards import shown
from workbook.lesson.page import open_page, texts
from workbook.rules import ordered
from workbook.units.setup import practice


def test_an_order_tried_out_ends_in_what_the_model_reads(lesson, screen):
    """The colleague's order shows its own PEEP, step by step, and why it went wrong."""
    lesson.try_order()
    control = screen.control("try-order")
    answer(control, ["set-flow", "set-peep", "set-pip"])
    feedback = ask(control)
    end = lesson.scenes.play(["set-flow", "set-peep", "set-pip"], as_left=True)[-1]
    assert shown(end.released) in feedback["heading"]
    assert "far too high once PIP is raised" in feedback["lines"][0]["says"]
    assert f"Released: {shown(end.released)}" in screen.text


def test_a_safe_order_is_called_safe_and_a_wrong_one_names_the_first_breaks(book):
    """Practice feedback says how much is kept, and mends the earliest breaks first."""
    procedure, says = book.procedure("set-up"), texts(LESSON)["practice"]["says"]
    fine = practice.on_order(procedure, procedure.ids, says)
    assert "This order is safe" in fine["heading"]
    assert fine["lines"] == []
    wrong = practice.on_order(procedure, procedure.ids[::-1], says)
    total = len(procedure.needs)
    assert f"In 0 of {total} pairs" in wrong["heading"]
    assert f"{total - practice.FIRST_BROKEN} more" in wrong["heading"]
    assert len(wrong["lines"]) == practice.FIRST_BROKEN
    first = procedure["attach-baby"].needs[0]
    assert wrong["lines"][0]["says"].count(first.why) == 1
    assert all(line["source"] and not line["met"] for line in wrong["lines"])


def test_one_break_is_named_alone(book):
    """With one thing wrong there is one line, with its reason."""
    procedure, says = book.procedure("set-up"), texts(LESSON)["practice"]["says"]
    block = ["set-flow", "close-outlet", "set-relief", "set-peep", "set-pip", "recheck"]
    feedback = practice.on_order(procedure, block, says)
    assert len(feedback["lines"]) == 1
    assert "far too high once PIP is raised" in feedback["lines"][0]["says"]
    assert "more" not in feedback["heading"]


LEARNERS = [f"learner{n}" for n in range(200)]


def test_of_the_steps_to_choose_from_exactly_one_can_come_next(book):
    """Whatever is drawn, one step has all it needs and the others do not; every kind is drawn."""
    procedure, asked = book.procedure("set-up"), set()
    for learner in LEARNERS:
        draw = Draw("demo", LESSON, learner, "practice-next")
        done, choices = practice.next_step(procedure, draw)
        ready = [step for step in choices if not practice.missing(procedure, done, step)]
        assert len(ready) == 1
        assert len(choices) == 1 + practice.OTHERS == len(set(choices))
        assert not set(choices) & set(done)
        asked.add(ready[0])
        assert practice.broken(procedure, done) == ()
    assert asked == set(practice.ASKED)


def test_feedback_on_the_next_step_gives_the_reason_either_way(book):
    """Right or early, the learner reads why."""
    procedure, says = book.procedure("set-up"), texts(LESSON)["practice"]["says"]
    done = list(ordered(procedure, procedure.ids))[: procedure.ids.index("set-pip")]
    right = practice.on_next(procedure, done, "set-pip", says)
    assert right["lines"][0] == {
        "met": True,
        "says": procedure["set-pip"].reason,
        "source": str(procedure["set-pip"].citation),
    }
    early = practice.on_next(procedure, done, "set-peep", says)
    assert early["lines"][0]["met"] is False
    assert "PEEP set first" in early["lines"][0]["says"]


def test_practice_differs_between_learners_and_stays_the_same_for_one(
    tmp_path, screen, monkeypatch
):
    """What is asked follows from the learner."""
    asked = {}
    for name in ("ada", "ada", "bob", "cleo", "dora", "emil"):
        monkeypatch.setenv("TPIECE_LEARNER", name)
        folder = tmp_path / name
        folder.mkdir(exist_ok=True)
        screen.shown.clear()
        lesson = open_page(LESSON, folder)
        lesson.practise("next")
        state = (screen.control("practice-next").options, screen.text)
        assert asked.setdefault(name, str(state)) == str(state)
        assert "Hint 3 of 3" in screen.text
    assert len(set(asked.values())) == len(asked)


@pytest.mark.parametrize("n", range(3))
def test_a_check_tells_what_each_choice_leads_to(n, lesson, screen):
    """The feedback is the one written for that choice, marked in words."""
    table = lesson.data["check"][n]
    lesson.quiz(table["id"])
    control = screen.control(table["id"])
    for seq, (id, option) in enumerate(table["options"].items(), start=1):
        answer(control, id, seq)
        (line,) = ask(control)["lines"]
        assert line["says"] == option["says"]
        assert line["met"] == (id == table["right"])


def test_the_first_page_repeats_what_it_received(tmp_path, screen):
    """Trying a control shows that the answer arrived, in the learner's own words, unjudged."""
    start = open_page("start_here", tmp_path)
    for table, value, said in zip(
        start.data["try"],
        ({"text": "62,5", "unit": "cm"}, ["early", "late", "night"], ["gloves", "tape"]),
        ("62,5 cm.", "(1) Early shift. (2) Late shift.", "Gloves. Tape."),
        strict=True,
    ):
        start.try_control(table["id"])
        control = screen.control(table["id"])
        answer(control, value)
        told = ask(control)
        assert said in " ".join(told["heading"].split())
        assert told["lines"] == []


def test_answers_of_a_lesson_are_kept_beside_it(lesson, screen, tmp_path):
    """They lie in the lesson's own file, apart from any exercise's."""
    lesson.quiz("check-leak")
    answer(screen.control("check-leak"), "seal")
    assert lesson.file.path == tmp_path / f"{LESSON}.answers.jsonl"
    assert read_answers(lesson.file.path).latest()["check-leak"].value == "seal"


def test_a_prediction_named_nowhere_is_an_error_that_names_it(lesson):
    """A slip in a notebook is told in words."""
    with pytest.raises(KeyError, match="predict-nothing"):
        lesson.predict("predict-nothing")
