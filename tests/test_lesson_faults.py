"""The lesson on fault finding: its numbers come from the model, its feedback from the replay."""

from __future__ import annotations

import pytest

from tests.lesson_screen import FAULTS, Screen
from workbook.trial import Scene
from workbook.trial.moves import BABY
from workbook.units.faults.lesson import open_page
from workbook.units.faults.pictures import strip
from workbook.units.faults.practice import on_trial

SAFE, SLOW = 1_000, 30_000  # ms at which somebody takes the bag


@pytest.fixture
def lesson(tmp_path, monkeypatch):
    """Return the lesson of one learner; what it shows is kept on a screen."""
    monkeypatch.setenv("TPIECE_LEARNER", "nurse.one")
    screen = Screen()
    monkeypatch.setattr("IPython.display.display", screen.display)
    made = open_page(FAULTS, tmp_path)
    made.screen = screen
    return made


def record(*moves, duration=60_000):
    """Return a trial as a page sends it."""
    head = {"format": "tpiece-trial", "version": 1, "duration": duration}
    return {**head, "moves": [list(each) for each in moves]}


def told(lesson, trial, value):
    """Return the feedback on a trial of the lesson."""
    table = lesson._table("trial", trial)
    says = {**lesson.data["practice"]["says"], **table["says"]}
    return on_trial(lesson.asked(table), value, lesson.book, says)


def test_the_two_tests_show_what_the_lesson_says_of_them(lesson):
    """A cap cures a leak and no crack; without the mask a kink still holds the needle up."""
    set_to = lesson.scenes.numbers["peep"]
    near = lesson.book["peep.accept"].value
    at = {name: lesson.reading(**lesson.data["readings"][name]) for name in lesson.data["readings"]}
    assert abs(at["leak_capped"] - set_to) <= near < set_to - at["crack_capped"]
    assert at["leak_open"] < at["leak_capped"]
    assert at["kink_off"] > set_to > at["hole_off"]
    assert at["shut_off"] > at["kink_off"]


def test_a_whole_trial_meets_everything(lesson):
    """The bag, one test, the name, mended, read again."""
    moves = [(SAFE, "bag"), (5_000, "follow-hose"), (12_000, "name", "hose-off")]
    moves += [(12_000, "sure", "sure"), (13_000, "mend"), (20_000, "cap"), (22_000, "read")]
    found = told(lesson, "trial-first", record(*moves))
    assert all(line["met"] for line in found["lines"])
    assert len(found["lines"]) == 5
    assert found["heading"].startswith("It was: The patient hose has come off the device.")


@pytest.mark.parametrize(
    ("moves", "says"),
    [
        ([(SLOW, "bag")], "nobody ventilated the baby"),
        ([(SAFE, "bag"), (5_000, "name", "hose-off")], "read “The needle does not rise”"),
        ([(SAFE, "bag"), (5_000, "follow-hose")], "You named nothing"),
        ([(SAFE, "bag"), (5_000, "follow-hose"), (12_000, "name", "no-gas")], "You named “No gas"),
        ([(SAFE, "bag"), (5_000, "follow-hose"), (12_000, "name", "hose-off")], "still there"),
    ],
)
def test_the_first_thing_that_is_missing_is_said(lesson, moves, says):
    """One at a time, with where to read on."""
    (line,) = told(lesson, "trial-first", record(*moves))["lines"]
    assert not line["met"]
    assert says in line["says"]


def test_not_to_know_is_said_to_be_safe(lesson):
    """With the bag, and a look."""
    moves = [(SAFE, "bag"), (5_000, "follow-hose"), (12_000, "name", "unknown")]
    lines = told(lesson, "trial-first", record(*moves))["lines"]
    assert [line["met"] for line in lines] == [True, True, True]
    assert "that is safe" in lines[-1]["says"]


def test_not_to_know_without_the_bag_is_not_called_safe(lesson):
    """With a baby, the words alone are no help."""
    moves = [(1_000, "occlude"), (2_000, "release"), (3_000, "follow-hose")]
    moves += [(8_000, "name", "unknown")]
    lines = told(lesson, "trial-first", record(*moves, duration=9_000))["lines"]
    assert "took no bag" in lines[0]["says"]
    assert not lines[0]["met"]


def test_a_pressure_left_on_the_baby_is_not_passed_as_right(lesson):
    """A device whose needle never falls, left on the baby, is harm, whatever is named."""
    table = lesson._table("trial", "trial-hint")
    fault = lesson.asked(table).facts["fault"]
    moves = [(at, what) for n in range(20) for at, what in
             ((1_000 + 1_500 * n, "occlude"), (1_500 + 1_500 * n, "release"))]  # fmt: skip
    moves += [(31_500, "name", fault), (31_500, "sure", "sure"), (32_000, "mend"), (40_000, "read")]
    (line,) = told(lesson, "trial-hint", record(*moves))["lines"]
    assert not line["met"]
    assert "stayed too high" in line["says"]


def test_what_is_no_trial_is_said_in_a_sentence(lesson):
    """Nothing is judged of it."""
    assert told(lesson, "trial-first", {"format": "?"})["lines"] == []


@pytest.mark.parametrize("fault", ["no-gas", "hose-blocked", "cap-under-finger", "gauge-blocked"])
def test_a_familys_picture_shows_its_needle(lesson, fault):
    """The strip ends where the settled needle stands; the chest rises where gas goes in."""
    scene = Scene.of(lesson._facts(fault, BABY))
    drawn = strip(scene, lesson.scenes.numbers, lesson.book, lesson.data["strip"])
    settled = scene.needle(scene.start, held=False)
    assert drawn["pressure"][-1] == pytest.approx(settled, abs=1.0)
    moves = max(drawn["chest"]["volume"]) > drawn["chest"]["band"][0]
    assert moves is (fault in ("cap-under-finger", "gauge-blocked"))


def test_practice_draws_a_fault_for_each_learner(lesson):
    """Faults are drawn from those the table names, and can be met with a baby."""
    for id in ("trial-hint", "trial-all"):
        table = lesson._table("trial", id)
        assert lesson.asked(table).facts["fault"] in table["faults"]


def test_the_bench_to_break_offers_its_faults(lesson):
    """Nothing is asked; each of the four can be made, and the model shows it."""
    lesson.break_it("break-tests")
    made = lesson.screen.control("break-tests")
    assert [each["id"] for each in made.educator["faults"]] == list(
        lesson._table("break", "break-tests")["faults"]
    )
    assert made.plays
