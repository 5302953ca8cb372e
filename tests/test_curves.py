"""Curves in lessons: the same in words, told apart without colour."""

from __future__ import annotations

import math
import re
from html import escape

import pytest

from workbook.display.bench_table import published_markdown, published_table
from workbook.display.curves import STYLES, Line, Panel, Point, curves_picture
from workbook.physics.parts.supply import Cylinder
from workbook.physics.published import bench_rows

WAVE = Line("wave", range(100), [math.sin(n / 8) for n in range(100)])
RISE = Line("rise", [0, 1, 2, 3], [0.0, 1.0, 2.0, 4.0])


def test_a_curve_is_told_by_a_few_of_its_points():
    """Where it begins, where it ends, and its extremes."""
    assert (
        RISE.says
        == "rise: 0.0 at 0.0, 1.0 at 1.0, 2.0 at 2.0, 4.0 at 3.0. Lowest 0.0, highest 4.0."
    )


def test_a_curve_that_swings_is_told_by_its_turns():
    """Points in between would hide the swing."""
    assert [round(y) for y in WAVE.turns] == [1, -1, 1, -1]
    assert "turning at 1.0, -1.0, 1.0, -1.0" in WAVE.says


def test_moments_close_together_are_told_apart():
    """Points of a short curve are not all said to be at one tenth of a second."""
    short = Line("short", [n / 50 for n in range(21)], [1.0] * 21)
    times = re.findall(r"at (\d\.\d\d)", short.says)
    assert times == ["0.00", "0.06", "0.14", "0.20", "0.26", "0.34", "0.40"]
    assert "at 0.0, " in Line("long", [0, 6], [0, 6]).says


def test_a_picture_says_all_that_it_draws():
    """Every line and every published point is in the words, and the words are with the image."""
    point = Point("seen", 2, 3, 2.5, 3.5)
    made = curves_picture("A title", "time", [Panel("height", [RISE, WAVE], [point])])
    assert made.text.startswith("A title.\nheight, by time.")
    for each in (RISE, WAVE, point):
        assert each.says in made.text
    assert "rise: " in made._repr_mimebundle_()["text/html"]


def test_lines_differ_by_style_and_mark_and_share_one_ink():
    """Nothing is told by colour."""
    made = curves_picture("A title", "time", [Panel("height", [RISE, WAVE])])
    drawn = made.figure.axes[0].get_lines()
    assert len({line.get_color() for line in drawn}) == 1
    assert len({line.get_linestyle() for line in drawn}) == 2
    assert len({line.get_marker() for line in drawn}) == 2
    assert len({style for style, _ in STYLES}) == len({mark for _, mark in STYLES}) == len(STYLES)
    names = [text.get_text() for text in made.figure.axes[0].get_legend().get_texts()]
    assert names == ["rise", "wave"]


def test_a_cylinder_gives_its_flow_and_then_fades():
    """1 L at 4.4 bar, regulator at 4 bar, 8 L/min: full for 3.0 s, then it fades with 29.6 s."""
    gas = Cylinder(1.0, 4.4, 4.0)
    assert gas.steady_for(8) == pytest.approx(2.96, abs=0.01)
    assert gas.fades_with(8) == pytest.approx(29.6, abs=0.1)
    assert gas.flow(8, 2.9) == 8
    assert gas.flow(8, 2.96 + 29.6) == pytest.approx(8 / math.e, rel=1e-3)


def test_a_cylinder_below_its_regulator_fades_from_the_start():
    """Nothing is left above the regulator, so no steady time is given."""
    gas = Cylinder(1.0, 2.0, 4.0)
    assert gas.steady_for(8) == 0
    assert gas.flow(8, 1.0) < 8


def test_every_published_row_is_shown_and_the_misses_are_counted():
    """A row that fails stays in the table, with its assumption and source."""
    rows = bench_rows()
    words = {"title": "T", "misses": "{missed} of {rows}"}
    shown = published_table(words)
    assert f"{sum(not row.agrees for row in rows)} of {len(rows)}" in shown.text
    assert shown.html.count("does not agree") >= sum(not row.agrees for row in rows) > 0
    lines = [row.text[0].upper() + row.text[1:] for row in rows]
    assert all(line in shown.text for line in lines)
    for standing in ("Fitted", "Out of sample", "Conditional"):
        assert standing in shown.html


def test_the_guide_for_contributors_shows_the_same_table(request: pytest.FixtureRequest):
    """DEVELOPERS.md cannot drift from the model: print published_markdown() to renew it."""
    guide = (request.config.rootpath / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert published_markdown() in guide


def test_a_picture_in_words_is_text_that_breaks_between_its_words():
    """Each line is a paragraph: a host breaks preformatted text in the middle of a word."""
    made = curves_picture("T", "s", [Panel("cmH2O", [RISE])])
    html = made._repr_mimebundle_()["text/html"]
    assert "<pre" not in html
    assert html.count("<p ") == len(made.text.splitlines())
    assert all(escape(line) in html for line in made.text.splitlines())
