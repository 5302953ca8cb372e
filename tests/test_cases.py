"""Cases: drawn from who and what, the same everywhere, always solvable."""

from __future__ import annotations

import nbformat
import pytest

from graders.course.coursefolder import exercise_source
from workbook.cases import Draw, case, exercises, title
from workbook.cases.starting import baby
from workbook.rules import editions, rulebook
from workbook.units.setup.case.questions import BABIES, EXERCISE, SETUPS, settings_of, texts

LEARNERS = [f"learner{n}" for n in range(200)]


def drawn(learner: str, course: str = "demo"):
    return case(course, EXERCISE, learner, rulebook("aha-2020"))


def test_a_draw_is_pinned():
    """These values must never change: a learner's case is redrawn when it is graded."""
    draw = Draw("demo", EXERCISE, "ada", "order")
    assert [draw.below(100) for _ in range(5)] == PINNED
    assert Draw("demo", EXERCISE, "ada", "x").shuffled("abcdef") == PINNED_LETTERS


def test_a_whole_number_is_drawn_with_both_its_ends():
    """From 3 to 5: each of the three, and no other."""
    draw = Draw("demo", EXERCISE, "ada", "whole")
    assert {draw.whole(3, 5) for _ in range(100)} == {3, 4, 5}


PINNED = [50, 80, 8, 18, 17]
PINNED_LETTERS = list("fbecad")


def test_the_same_learner_meets_the_same_case_and_others_another():
    """Cases follow from course, exercise and learner, and from nothing else."""
    assert drawn("ada") == drawn("ada")
    assert drawn("ada") != drawn("bob")
    assert drawn("ada").questions != drawn("ada", course="other").questions
    assert len({str(drawn(learner).questions) for learner in LEARNERS}) == len(LEARNERS)


@pytest.mark.parametrize("learner", LEARNERS[:50])
def test_every_case_is_whole(learner):
    """Ten questions; each choice has a full set of different texts."""
    questions = drawn(learner).questions
    assert len(questions) == 10
    for question in questions:
        said = [option.text for option in question.options]
        assert len(said) == len(set(said))
        assert "{" not in question.context + question.label


def test_the_first_order_shown_is_never_right():
    """The mixed order always breaks something, so leaving it is no answer."""
    procedure = rulebook("aha-2020").procedure("set-up")
    for learner in LEARNERS:
        assert procedure.broken([o.id for o in drawn(learner)["order"].options])


def test_two_different_set_ups_are_described():
    """No learner meets the same set-up twice."""
    for learner in LEARNERS:
        case_ = drawn(learner)
        assert len({case_[id].facts["setup"] for id in SETUPS}) == len(SETUPS)


@pytest.mark.parametrize("edition", editions())
def test_no_two_slips_share_a_reading(edition):
    """PIP plus PEEP can be told from the relief, and PIP from both; for every baby drawn."""
    book = rulebook(edition)
    accept = book["pip.accept"].value
    for group in BABIES:
        made = baby(Draw("demo", EXERCISE, "ada", group), group, book)
        for pip, peep, relief in settings_of(book, made):
            assert min(abs(pip + peep - relief), relief - pip, peep) > accept


def test_every_described_set_up_offers_its_own_fault():
    """Each option of each set-up has a text."""
    for setup in texts()["setup"]:
        assert set(setup["options"]) <= set(texts()["fault"])
        assert "nothing" in setup["options"]


def test_an_unknown_exercise_is_named():
    """Asking for an exercise that does not exist says which do."""
    with pytest.raises(KeyError, match="There is no exercise '9_none'"):
        case("demo", "9_none", "ada", rulebook("aha-2020"))
    assert EXERCISE in exercises()


@pytest.mark.parametrize("unit", exercises())
def test_an_exercise_is_called_as_its_page_is(unit):
    """What a learner's own page calls it is the first heading of the exercise."""
    page = nbformat.read(exercise_source(unit) / f"{unit}.ipynb", as_version=4)
    assert page.cells[0].source.splitlines()[0] == f"# {title(unit)}"


def test_an_unknown_exercise_goes_by_its_id():
    """A folder of another course still has a name."""
    assert title("9_other") == "9_other"
