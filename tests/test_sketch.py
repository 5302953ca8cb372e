"""A strip sketched with a few points: read with suspicion, and the model's strip beside it."""

from __future__ import annotations

import os
from unittest.mock import patch

import pytest

from tests.lesson_screen import BENCH, Screen, answer, ask
from workbook.bench.sketch import SketchError, read_sketch
from workbook.bench.sketch import answer as drawn
from workbook.cases import Kind, Question, spoken
from workbook.display.scene import Scenes
from workbook.display.sketched import leak
from workbook.display.studies import breath_time, lung, set_up
from workbook.lesson.page import texts
from workbook.physics import coefficients as c
from workbook.physics import leak_of, settled_breath
from workbook.rules import editions, rulebook
from workbook.units.bench.lesson import open_page


def test_a_sketch_is_read_as_it_was_drawn():
    """Whole numbers and halves, as many as the question has times."""
    assert read_sketch(drawn([5, 21.5, 0]), 3) == (5.0, 21.5, 0.0)


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ("strip", "no sketch"),
        ({"format": "tpiece-face"}, "no sketch"),
        ({**drawn([1, 2]), "version": 2}, "version"),
        ({**drawn([1, 2]), "pressures": "12"}, "missing"),
        (drawn([1]), "missing"),
        (drawn([1, 2]), "missing"),
        (drawn([1.0] * 41), "missing"),
        (drawn([1, 2, True]), "no pressure"),
        (drawn([1, 2, "3"]), "no pressure"),
        (drawn([1, 2, -1]), "no pressure"),
        (drawn([1, 2, float("nan")]), "no pressure"),
        (drawn([1, 2, 10**400]), "no pressure"),
    ],
)
def test_what_is_no_sketch_is_refused_in_words(given, why):
    """One sentence each; three points are asked for."""
    with pytest.raises(SketchError, match=why):
        read_sketch(given, 3)


def test_a_sketch_is_said_in_words():
    """For the receipt of a page, and for whoever cannot see it."""
    asked = Question("q", Kind.SKETCH, "Sketch it.")
    assert spoken(asked, drawn([5, 21.5, 4])) == "a strip from 4 to 21.5 cmH2O"
    assert spoken(asked, "x") == "a sketch that cannot be read"


@pytest.mark.parametrize("edition", editions())
def test_both_strips_are_the_models(edition):
    """Top and rest are those of the breath that repeats itself, sealed and with the leak."""
    page = texts(BENCH)
    numbers = Scenes(page["numbers"], page["does"], rulebook(edition)).numbers
    made, circuit = leak(numbers), set_up(numbers)
    rate, held = 60 / breath_time(numbers), numbers["beat"] * numbers["occlude_beats"]
    leaky = type(circuit)(**{**{n: getattr(circuit, n) for n in circuit.__dataclass_fields__},
                             "leak": leak_of(c.SEALS[0].value)})  # fmt: skip
    for strip, each in ((made.start, circuit), (made.true, leaky)):
        breath = settled_breath(each, lung(), rate, held)
        assert max(strip["pressure"]) == pytest.approx(breath.pip, abs=0.1)
        assert strip["pressure"][-1] == pytest.approx(breath.peep, abs=0.1)
    assert made.moments == tuple(sorted(set(made.moments)))
    assert made.moments[-1] == pytest.approx(breath_time(numbers), abs=0.01)
    assert "pressure" not in str(made.shows.get("true", ""))  # the page cannot look it up
    assert max(made.shows["first"]) < made.shows["top"]


@pytest.fixture
def page(tmp_path, monkeypatch):
    """The lesson's sketch as one learner meets it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "course.toml").write_text('id = "may"\nedition = "aha-2025"\n')
    screen = Screen()
    with (
        patch("IPython.display.display", screen.display),
        patch.dict(os.environ, {"TPIECE_LEARNER": "nurse.one"}),
    ):
        lesson = open_page()
        lesson.sketch("sketch-leak")
        yield screen.control("sketch-leak"), lesson, screen


def test_the_models_strip_waits_for_the_sketch(page):
    """Nothing of it is in the page before; then it comes with words for top and rest."""
    control, _, _ = page
    assert control.feedback == {}
    assert "true" not in control.sketch
    answer(control, drawn([float(each) for each in control.sketch["first"]]))
    told = ask(control)
    assert set(told["strip"]) == {"time", "pressure"}
    assert "You drew 25 cmH2O, then 5 cmH2O at rest." in told["heading"]
    assert "The model: 21 cmH2O, then 3 cmH2O." in told["heading"]
    assert "rests lower" in told["heading"]


def test_a_sketch_that_is_near_is_told_so_and_comes_back(page):
    """A needle's width is enough; a page opened again shows both strips."""
    control, lesson, screen = page
    answer(control, drawn([3, 3, 11, 21, 6, 3]))
    assert "That is what you expected." in ask(control)["heading"]
    screen.shown.clear()
    lesson.sketch("sketch-leak")
    again = screen.control("sketch-leak")
    assert again.value == drawn([3, 3, 11, 21, 6, 3])
    assert again.feedback["strip"]["time"][0] == 0


def test_the_control_refuses_a_sketch_with_a_point_missing(page):
    """Its sentence is that of the reader."""
    control, _, _ = page
    assert control.problem(drawn([1.0] * 6)) == ""
    assert control.problem(drawn([1.0] * 5)).startswith("Not saved: a point of the sketch is miss")
