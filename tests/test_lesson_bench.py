"""The bench lesson: everything is asked once, and the model shows what the words say it shows."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import pytest

from tests.lesson_screen import BENCH, Screen, page, table
from workbook.bench import DIALS
from workbook.display.studies import SEALS, STUDIES
from workbook.lesson.bench import SEEN, BenchLesson
from workbook.lesson.page import texts
from workbook.rules import editions
from workbook.units.bench.lesson import open_page

DATA = texts(BENCH)
PREDICTIONS = [table["id"] for table in DATA["predict"]]
BENCHES = [table["id"] for table in DATA["bench"]]


# --- the page and its data


def test_the_page_asks_and_explains_everything_once():
    """Nothing in the data is left out of the page, nothing is asked twice."""
    source = "\n".join(c.source for c in page(BENCH).cells if c.cell_type == "code")
    for id in PREDICTIONS:
        whole = source.count(f'phenomenon("{id}")')
        assert whole + source.count(f'predict("{id}")') == 1
        assert whole + source.count(f'explain("{id}")') == 1
    for id in BENCHES:
        assert source.count(f'bench("{id}")') == 1
    assert all(source.count(f'quiz("{check["id"]}")') == 1 for check in DATA["check"])


def test_every_phenomenon_has_a_scene_or_a_study_and_every_study_is_used():
    """Each prediction has something to show, and no study is left over."""
    assert all("scene" in each or "study" in each for each in DATA["predict"])
    assert {each["study"] for each in DATA["predict"] if "study" in each} == set(STUDIES)
    for each in DATA["predict"]:
        assert {*each.get("scene", ())} <= {*DATA["does"]}, each["id"]
        assert each["shows"] in each["options"]
        assert len(set(each["options"].values())) == len(each["options"]) == 4
        assert each["explain"]
        assert each.get("rules") or each.get("steps")


def test_the_live_benches_are_few_and_each_tries_a_prediction():
    """At most five run on the page; all but the first and the room's set a run beside a guess."""
    assert len(BENCHES) <= 5
    tried = [each["tries"] for each in DATA["bench"] if "tries" in each]
    assert len(tried) == len(BENCHES) - 2
    assert set(tried) <= set(PREDICTIONS)
    assert all({*each["finds"]} <= {*SEEN} for each in DATA["bench"])


@pytest.mark.parametrize("edition", list(editions()))
def test_the_lesson_can_be_shown_in_every_edition(edition: str, tmp_path: Path, screen: Screen):
    """Every number, rule and step it names exists in each edition a course may choose."""
    (tmp_path / "course.toml").write_text(f'id = "demo"\nedition = "{edition}"\n')
    made = open_page(folder=tmp_path)
    for each in made.data["predict"]:
        assert made._found(each)
        assert made._why(each).text
        assert "{" not in made._found(each) + made._why(each).text
    assert all(made.prepared(each) for each in made.data["bench"])


# --- what the model shows


def numbers(lesson: BenchLesson, study: str) -> dict[str, float]:
    """Return a study's words as the numbers in them."""
    words = lesson.study(study).words
    return {name: float(re.search(r"[\d.]+", said)[0]) for name, said in words.items()}


def end(lesson: BenchLesson, id: str, scene: str = "scene") -> tuple[float, float]:
    """Return the last reading of a prediction's scene, occluded and released."""
    where = table("predict", id)
    last = lesson.scenes.play(where["contrast"]["scene"] if scene == "contrast" else where[scene])
    return last[-1].held, last[-1].released


def test_the_pip_control_holds_the_needle_wherever_the_relief_stands(bench_lesson):
    """Turned right down it hides the relief; fully open, the needle shows the relief."""
    wanted = bench_lesson.scenes.numbers
    by = {
        r.step: r.held for r in bench_lesson.scenes.play(table("predict", "predict-holds")["scene"])
    }
    assert by["shut-pip"] == by["move-relief"] < wanted["relief"] / 2
    assert by["open-pip"] == pytest.approx(wanted["relief_left"], abs=0.5)


def test_an_occluded_aperture_is_turned_in_silence(bench_lesson):
    """PIP reads the same, and PEEP is far too high on release."""
    held, released = end(bench_lesson, "predict-turn")
    assert held == pytest.approx(bench_lesson.scenes.numbers["pip"], abs=0.5)
    assert released > 2 * bench_lesson.scenes.numbers["peep"]


def test_peep_set_first_becomes_far_too_high(bench_lesson):
    """It lies where the option that is shown says: between two and more times what was read."""
    peep = bench_lesson.scenes.numbers["peep"]
    assert 2 * peep < end(bench_lesson, "predict-order")[1] < 5 * peep


def test_less_flow_costs_peep_the_larger_share(bench_lesson):
    """Both fall, PEEP by more than half and PIP by less than a fifth."""
    held, released = end(bench_lesson, "predict-flow")
    wanted = bench_lesson.scenes.numbers
    assert released < wanted["peep"] / 2
    assert 0.8 * wanted["pip"] < held < wanted["pip"]


def test_the_model_passes_through_the_published_points(bench_lesson):
    """In the picture the curves end within what was measured, half a cmH2O aside."""
    (panel,) = bench_lesson.study("flow").panels
    for line, point in zip(panel.lines, panel.points, strict=True):
        assert line.xs[-1] == point.x
        assert point.low - 0.5 <= line.ys[-1] <= point.high + 0.5


def test_the_relief_caps_and_left_higher_it_does_not(bench_lesson):
    """The same hand ends at the relief, or at the PIP it went for."""
    wanted = bench_lesson.scenes.numbers
    assert end(bench_lesson, "predict-cap")[0] == pytest.approx(wanted["relief"], abs=1)
    assert end(bench_lesson, "predict-cap", "contrast")[0] == pytest.approx(
        wanted["pip_far"], abs=0.5
    )


def test_between_inflations_neither_needle_nor_lung_is_empty(bench_lesson):
    """The needle stops at PEEP, and PEEP keeps gas in the lung."""
    seen = numbers(bench_lesson, "fall")
    assert seen["released"] == bench_lesson.scenes.numbers["peep"]
    assert seen["kept"] > 0
    assert seen["taken"] > seen["kept"]


def test_holding_is_one_long_inflation_at_a_higher_mean(bench_lesson):
    """Both needles end at the same PIP; held, the lung has had far more."""
    seen, panels = numbers(bench_lesson, "hold"), bench_lesson.study("hold").panels
    assert seen["long"] > 5 * seen["short"]
    assert seen["mean_held"] > 1.5 * seen["mean_rhythm"]
    peaks = [max(panel.lines[0].ys) for panel in panels]
    assert peaks == pytest.approx([bench_lesson.scenes.numbers["pip_to"]] * 2, abs=0.5)


def test_a_leak_lowers_both_pressures_while_the_lung_still_fills(bench_lesson):
    """A late sign: the needle is well short, the volume only a little."""
    rows, seen = bench_lesson.study("leak").rows, numbers(bench_lesson, "leak")
    assert len(rows) == len(SEALS)
    assert len(SEALS) == 1 + 1 + DIALS["leak"].clicks  # the bench's own, sealed, and a slight one
    assert all(a.held > b.held and a.released > b.released for a, b in pairwise(rows))
    assert seen["held"] < bench_lesson.scenes.numbers["pip"] - 2
    assert seen["sealed"] > seen["taken"] > 0.8 * seen["sealed"]


@pytest.mark.parametrize("edition", list(editions()))
def test_a_full_needle_does_not_exclude_a_leak(edition, tmp_path):
    """About a third of the gas leaks, and the needle is within one of PIP; steps go by share."""
    (tmp_path / "course.toml").write_text(f'id = "demo"\nedition = "{edition}"\n')
    made = open_page(BENCH, tmp_path)
    seen, rows = numbers(made, "leak"), made.study("leak").rows
    assert made.scenes.numbers["pip"] - seen["slight_held"] <= made.book["pip.accept"].value
    assert 25 <= seen["slight_share"] <= 40
    assert seen["share"] > 50  # the bench's first step of leak is no small one
    assert not any("small" in row.after for row in rows)


def test_a_softer_lung_takes_more_and_its_needle_falls_short(bench_lesson):
    """Volumes lie far apart, the needles near each other."""
    seen = numbers(bench_lesson, "lungs")
    assert seen["stiff_taken"] < seen["middle_taken"] < seen["soft_taken"]
    assert seen["soft_taken"] > 3 * seen["stiff_taken"]
    assert seen["soft_pip"] < seen["stiff_pip"] <= seen["soft_pip"] + 3


def test_a_fast_count_leaves_pressure_and_brings_less(bench_lesson):
    """At the fast count the lung rests higher, above what the gauge shows, and takes less."""
    seen = numbers(bench_lesson, "rate")
    assert seen["fast_rest"] > seen["slow_rest"] + 2
    assert seen["fast_rest"] > seen["fast_gauge"] > bench_lesson.scenes.numbers["peep"]
    assert seen["fast_taken"] < seen["slow_taken"]


def test_a_narrow_tube_fills_later_while_the_gauge_is_at_pip(bench_lesson):
    """The narrower, the slower; the gauge reaches PIP all the same."""
    seen = numbers(bench_lesson, "tube")
    assert seen["mask_time"] < seen["wide_time"] < seen["narrow_time"]
    gauge = bench_lesson.study("tube").panels[0]
    wanted = bench_lesson.scenes.numbers["pip"]
    assert all(line.ys[-1] == pytest.approx(wanted, abs=1) for line in gauge.lines)


def test_a_cylinder_that_runs_out_takes_peep_first(bench_lesson):
    """PEEP has lost most of itself while PIP still reads like a PIP."""
    seen, wanted = numbers(bench_lesson, "cylinder"), bench_lesson.scenes.numbers
    assert seen["released"] < wanted["peep"] / 4
    assert seen["held"] > 0.8 * wanted["pip"]
