"""The pressure lesson's predictions and benches: the model shows what the words say it shows."""

from __future__ import annotations

import pytest

from tests.lesson_screen import TARGETS, answer, told
from workbook.bench import Hands, Touch
from workbook.bench.story import story
from workbook.lesson.page import LOOKED, texts
from workbook.units.targets.case import predictions, seal

pytestmark = pytest.mark.slow

DATA = texts(TARGETS)
BENCHES = [each["id"] for each in DATA["bench"]]


# --- what the gauge will show


def test_what_is_shown_of_a_turned_flow_is_what_the_model_settles_at(targets_lesson):
    """The option that is shown, the sentence and the table agree with the closed form."""
    table = targets_lesson._table("predict", "predict-flow")
    held, released = predictions.shown(targets_lesson.drawn.turned)
    right = predictions.pair_says((float(round(held)), float(round(released))))
    assert table["options"][table["shows"]] == right
    assert set(table["on"]) | {table["shows"]} == set(table["options"])
    result = targets_lesson._flowing().text
    for reading in (held, released):
        assert f": {shown_in(reading)}" in result
        assert shown_in(reading) in targets_lesson._found(table)


def shown_in(pressure: float) -> str:
    return f"{round(2 * pressure) / 2:g} cmH2O"


def test_far_beyond_the_told_flow_peep_rises_less_than_its_square(targets_lesson):
    """The table after the flow prediction shows where the law ends."""
    facts = targets_lesson.drawn.turned
    far = targets_lesson.book["flow.range"].band[1]
    shown = predictions.shown({**facts, "to": far})[1]
    assert shown < 0.9 * facts["peep"] * (far / facts["flow"]) ** 2
    assert shown_in(shown) in targets_lesson._flowing().text


def run_of(*touches: tuple, wait: float = 2.0) -> dict:
    """Return a run in which each thing is done, and then left alone."""
    done = [Touch(wait * n, *each) for n, each in enumerate(touches, start=1)]
    return Hands(wait * (len(done) + 1), tuple(done)).to_data()


WHOLE = {
    "bench-mask-off": [("occlude",), ("connect",), ("release",)],
}


@pytest.mark.parametrize("id", BENCHES)
def test_a_few_touches_do_all_a_bench_asks_for(id, targets_lesson):
    """Three touches or fewer; without the last one a line says what to do."""
    table = targets_lesson._table("bench", id)
    bench = targets_lesson.prepared(table)
    assert len(WHOLE[id]) <= 3
    whole = targets_lesson._on_run(table, bench, run_of(*WHOLE[id]))
    assert all(line["met"] for line in whole["lines"])
    short = targets_lesson._on_run(table, bench, run_of(*WHOLE[id][:-1]))
    assert not short["lines"][-1]["met"]
    idle = targets_lesson._on_run(table, bench, run_of())
    assert not any(line["met"] for line in idle["lines"])
    assert DATA["words"]["unseen"] in idle["heading"]


def test_a_run_stands_beside_the_prediction_and_keeps_it(targets_lesson, screen):
    """“Your answer: …; on your bench …”: as it was predicted, whatever was read later."""
    targets_lesson.predict("predict-mask-off")
    answer(screen.control("predict-mask-off"), {"text": "25", "unit": "cmH2O"})
    table = targets_lesson._table("bench", "bench-mask-off")
    run = run_of(*WHOLE["bench-mask-off"])
    heading = targets_lesson._on_run(table, targets_lesson.prepared(table), run)["heading"]
    assert heading.startswith("Your answer: 25 cmH2O. On your bench, occluded")
    assert targets_lesson.file.sheet().latest()["predict-mask-off" + LOOKED].value["text"] == "25"


def test_mask_on_and_hole_open_is_cpap_at_the_set_peep(targets_lesson):
    """The bench shows what is said: covered off the face next to nothing, open on it PEEP."""
    table = targets_lesson._table("bench", "bench-mask-off")
    bench = targets_lesson.prepared(table)
    touches = (Touch(1.0, "occlude"), Touch(3.0, "connect"), Touch(5.0, "release"))
    off, _on, cpap = story(bench, Hands(7.0, touches))[1:]
    assert off.reading == pytest.approx(0, abs=0.5)
    assert cpap.reading == pytest.approx(targets_lesson.scenes.numbers["peep"], abs=0.5)


# --- gauge and chest


def test_a_full_needle_and_a_flat_chest_are_predicted_and_too_much_is_practised(
    targets_lesson, screen
):
    """First a needle that looks right over a still chest; then a chest that rises far."""
    kinds = list(targets_lesson.drawn.strips)
    assert kinds[0] == "blocked"
    assert kinds[1:] == ["over"]
    acts = texts(TARGETS)["strips"]["says"]["slips"]
    for n in (1,):
        targets_lesson.strip(n)
        control, first = screen.control(f"strip-{n}"), seal.KINDS[kinds[n]].first
        for seq, act in enumerate(acts, start=1):
            answer(control, act, seq)
            line = told(control)
            assert line["met"] == (act == first)
            assert line["says"].startswith(acts[act]) == (not line["met"])


def test_what_leaks_behind_a_full_needle_is_the_models(targets_lesson):
    """At both ends of the usual flow more than a quarter leaks; the needle is down by one."""
    study = targets_lesson.study("hides")
    for end, (tight, leaky) in zip(
        ("low", "high"), zip(study.rows[::2], study.rows[1::2], strict=True), strict=True
    ):
        assert float(study.words[f"share_{end}"].split()[0]) > 25
        assert 0 < tight.held - leaky.held <= 1
        assert 0 <= tight.released - leaky.released <= 1
    result = targets_lesson._found(targets_lesson._table("predict", "predict-hidden"))
    assert study.words["share_high"] in result
