"""Practice feedback on raising PIP: an expert meets every part, each mistake misses its own."""

from __future__ import annotations

from functools import cache

import pytest

from graders.units.targets.raise_plays import expert, run_with, shows_at_bench
from tests.lesson_screen import TARGETS, answer, ask
from workbook.cases import Draw, Question
from workbook.lesson.page import texts as lesson_texts
from workbook.rules import editions, rulebook
from workbook.units.targets.case import raise_pip
from workbook.units.targets.case.questions import GROUPS, texts
from workbook.units.targets.raise_practice import PARTS, on_raise

pytestmark = pytest.mark.slow

SAYS = lesson_texts(TARGETS)["raise"]["says"]
LEARNERS = [f"learner{n}" for n in range(25)]

# The part that each scripted mistake shows in, and what is found there.
FOUND = {
    "held-turning": ("hold", "turned"),
    "held-long": ("hold", "long"),
    "times-long": ("length", "long"),
    "times-short": ("length", "short"),
    "count-stopped": ("count", "stopped"),
    "count-slow": ("count", "slow"),
    "count-fast": ("count", "fast"),
    "never-raised": ("steps", "never"),
    "step-jumped": ("steps", "jumped"),
    "steps-hurried": ("steps", "jumped"),
    "past-ceiling": ("limit", "passed"),
    "against-relief": ("limit", "against"),
    "flow-turned": ("rest", "other"),
    "peep-turned": ("rest", "other"),
    "relief-turned": ("rest", "other"),
    "taken-off": ("rest", "off"),
    "went-on": ("stop", "went-on"),
    "stopped-short": ("stop", "short"),
    "not-looked": ("stop", "unseen"),
}


@cache
def asked(learner: str, edition: str = "aha-2020") -> Question:
    """Return the stiff baby of one learner's lesson."""
    draw = Draw("demo", TARGETS, learner, "practice-raise")
    return raise_pip.question(draw, GROUPS, rulebook(edition), texts()["raise"])


def lines(question: Question, run: object, edition: str = "aha-2020") -> dict[str, str]:
    """Return what was found in each part: the name of its words."""
    told = on_raise(run, question, rulebook(edition), SAYS)["lines"]
    named = {}
    for part, line in zip(PARTS, told, strict=True):
        starts = {name: text.split("{")[0] for name, text in SAYS[part].items()}
        named[part] = next(n for n, start in starts.items() if line["says"].startswith(start))
        assert line["met"] == (named[part] == "right")
    return named


@pytest.mark.parametrize("edition", list(editions()))
def test_an_expert_meets_every_part_in_every_edition(edition):
    """Whoever raises PIP step by step in the count has nothing to mend."""
    for learner in LEARNERS[:5]:
        question = asked(learner, edition)
        run = expert(question, rulebook(edition))
        assert {*lines(question, run, edition).values()} == {"right"}
        assert "the chest rises" in on_raise(run, question, rulebook(edition), SAYS)["heading"]


@pytest.mark.parametrize("mistake", list(FOUND))
def test_each_mistake_is_named_in_its_own_part(mistake):
    """Every mistake that the marking knows is seen in practice too, in up to four cases."""
    part, found = FOUND[mistake]
    able = [
        (question, edition)
        for edition in ("aha-2020", "textbook-2021")
        for question in (asked(learner, edition) for learner in LEARNERS)
        if shows_at_bench(question, mistake, rulebook(edition))
    ]
    assert able, mistake
    for question, edition in able[:4]:
        run = run_with(question, mistake, rulebook(edition))
        assert lines(question, run, edition)[part] == found


def test_an_empty_run_says_what_to_do_and_not_that_all_is_well():
    """Nothing done is not nothing wrong."""
    run = {"format": "tpiece-hands", "version": 1, "duration": 5.0, "actions": []}
    found = lines(asked("nobody"), run)
    assert {found[part] for part in ("hold", "count")} == {"none"}
    assert found["steps"] == "never"
    assert found["stop"] == "short"


def test_a_run_that_cannot_be_read_is_told_in_a_sentence():
    """A hand-made answer gives no error and no marks."""
    told = on_raise({"format": "tpiece-hands"}, asked("nobody"), rulebook("aha-2020"), SAYS)
    assert told["heading"]
    assert told["lines"] == []


def test_the_lesson_gives_the_run_its_feedback(targets_lesson, screen):
    """The control of the page answers with the same lines, and the needle at the end."""
    targets_lesson.raise_steps()
    targets_lesson.raise_pip()
    control = screen.control("bench-raise")
    answer(control, expert(targets_lesson.drawn.raised, targets_lesson.book))
    told = ask(control)
    assert told["heading"].startswith("PIP now reads ")
    assert all(line["met"] for line in told["lines"])
    assert "Turn PIP up by one step" in screen.text
