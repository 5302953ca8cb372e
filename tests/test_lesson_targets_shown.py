"""The pressure lesson's predictions and benches: the model shows what the words say it shows."""

from __future__ import annotations

import pytest

from tests.lesson_screen import TARGETS, answer, told
from workbook.bench import Hands, Touch
from workbook.bench.story import story
from workbook.cases import predictions, seal
from workbook.lesson import LOOKED, texts

DATA = texts(TARGETS)
BENCHES = [each["id"] for each in DATA["bench"]]


# --- what the gauge will show


def test_what_is_shown_of_leak_and_flow_is_what_the_model_settles_at(targets_lesson):
    """The option that is shown, the sentence and the table agree with the closed form."""
    for id, changed in (("predict-leak", "leak"), ("predict-flow", "to")):
        table = targets_lesson._table("predict", id)
        held, released = predictions.shown(targets_lesson.drawn.facts(changed))
        right = predictions.pair_says((float(round(held)), float(round(released))))
        assert table["options"][table["shows"]] == right
        assert set(table["on"]) | {table["shows"]} == set(table["options"])
        result = targets_lesson._result(table).text
        for reading in (held, released):
            assert f": {shown_in(reading)}" in result
            assert shown_in(reading) in targets_lesson._found(table)


def shown_in(pressure: float) -> str:
    return f"{round(2 * pressure) / 2:g} cmH2O"


def test_far_beyond_the_told_flow_peep_rises_less_than_its_square(targets_lesson):
    """The table after the flow prediction shows where the law ends."""
    facts = targets_lesson.drawn.facts("to")
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
    "bench-leak": [("occlude",), ("release",), ("leak", 0)],
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


def test_a_bench_reads_what_its_prediction_shows(targets_lesson):
    """The leak on the bench is the predicted one, opened after PIP and PEEP were set."""
    bench = targets_lesson.prepared(targets_lesson._table("bench", "bench-leak"))
    held = story(bench, Hands(1.0, (Touch(0.5, "occlude"),)))[-1].reading
    wanted = predictions.shown(targets_lesson.drawn.facts("leak"))[0]
    assert held == pytest.approx(wanted, abs=0.3)
    sealed = story(bench, Hands(1.0, (Touch(0.4, "leak", 0), Touch(0.5, "occlude"))))[-1].reading
    assert sealed == pytest.approx(targets_lesson.scenes.numbers["pip"], abs=0.3)


def test_a_run_stands_beside_the_prediction_and_keeps_it(targets_lesson, screen):
    """“You expected …; on your bench …”: as it was predicted, whatever was read later."""
    targets_lesson.predict("predict-leak")
    control = screen.control("predict-leak")
    answer(control, "leak-unseen")
    table = targets_lesson._table("bench", "bench-leak")
    run = run_of(*WHOLE["bench-leak"])
    heading = targets_lesson._on_run(table, targets_lesson.prepared(table), run)["heading"]
    assert heading.startswith("You expected: Occluded about 25 cmH2O")
    assert "On your bench, occluded, the needle showed" in heading
    assert targets_lesson.file.sheet().latest()["predict-leak" + LOOKED].value == "leak-unseen"


# --- gauge and chest


def test_a_full_needle_and_a_flat_chest_are_predicted_and_two_more_are_practised(
    targets_lesson, screen
):
    """First a needle that looks right; then too much volume, and a lung that wants pressure."""
    kinds = list(targets_lesson.drawn.strips)
    assert kinds[0] == "blocked"
    assert sorted(kinds[1:]) == ["over", "stiff"]
    acts = texts(TARGETS)["strips"]["says"]["slips"]
    for n in (1, 2):
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


def test_holding_while_turning_is_far_longer_than_an_inflation(targets_lesson):
    """By the model: many beats at a stretch, a higher mean, and inflations missed meanwhile."""
    words = targets_lesson.study("raised").words
    number = {name: float(said.split()[0]) for name, said in words.items()}
    assert number["long"] > 5 * number["short"]
    assert number["mean_held"] > 1.5 * number["mean_count"]
    assert number["missed"] >= 2
    held, count = (panel.lines[0] for panel in targets_lesson.study("raised").panels)
    assert max(held.ys) == pytest.approx(max(count.ys), abs=0.5)
    assert len(held.turns) < 2 < len(count.turns)
