"""The learner's own run at the bench: read fairly, and set beside the prediction."""

from __future__ import annotations

import pytest

from tests.lesson_screen import BENCH, answer, ask, table
from workbook.bench import DIALS, Bench, Hands, Touch
from workbook.bench.story import story
from workbook.lesson.bench import BenchLesson
from workbook.lesson.page import LOOKED, texts

BENCHES = [each["id"] for each in texts(BENCH)["bench"]]


def run_of(*touches: tuple, wait: float = 2.0) -> dict:
    """Return a run in which each thing is done, and then left alone."""
    done = [Touch(wait * n, *each) for n, each in enumerate(touches, start=1)]
    return Hands(wait * (len(done) + 1), tuple(done)).to_data()


def last_run(lesson: BenchLesson, id: str, run: dict) -> dict:
    where = table("bench", id)
    return lesson._on_run(where, lesson.prepared(where), run)


OPEN, TURNED = DIALS["pip"].clicks, 100
WHOLE = {
    "bench-first": [("occlude",), ("release",), ("peep", TURNED)],
    "bench-holds": [("occlude",), ("relief", TURNED), ("pip", OPEN), ("peep", TURNED)],
    "bench-order": [("occlude",), ("pip", TURNED), ("release",)],
    "bench-leak": [("leak", 1), ("occlude",), ("release",), ("leak", 0)],
    "bench-room": [("occlude",)],
}


@pytest.mark.parametrize("id", BENCHES)
def test_a_bench_stands_ready_so_that_a_few_touches_show_it(id: str, bench_lesson):
    """Four touches or fewer do all that a bench asks for, and nothing is done by itself."""
    assert len(WHOLE[id]) <= 4
    assert all(line["met"] for line in last_run(bench_lesson, id, run_of(*WHOLE[id]))["lines"])
    idle = last_run(bench_lesson, id, run_of())
    assert not any(line["met"] for line in idle["lines"])


@pytest.mark.parametrize("id", BENCHES)
def test_a_step_left_out_is_named(id: str, bench_lesson):
    """Without its last touch a run misses something, and the line says what to do."""
    lines = last_run(bench_lesson, id, run_of(*WHOLE[id][:-1]))["lines"]
    missed = [line["says"] for line in lines if not line["met"]]
    assert missed
    assert {*missed} <= {bench_lesson._fill(f["not"]) for f in table("bench", id)["finds"].values()}


def test_what_is_passed_over_too_fast_to_read_does_not_count(bench_lesson):
    """A needle that could not be read has shown nothing, and the page says so."""
    hurried = run_of(*WHOLE["bench-order"], wait=0.2)
    found = last_run(bench_lesson, "bench-order", hurried)
    assert bench_lesson.data["words"]["unseen"] in found["heading"]
    assert not any(line["met"] for line in found["lines"])


def test_the_prepared_bench_reads_what_its_words_say(bench_lesson):
    """The first bench is set up; the one for the order reads its PEEP with PIP turned down."""
    wanted = bench_lesson.scenes.numbers
    first, order = (
        bench_lesson.prepared(table("bench", id)) for id in ("bench-first", "bench-order")
    )
    assert readings(first) == pytest.approx((wanted["pip"], wanted["peep"]), abs=0.3)
    held, released = readings(order)
    assert released == pytest.approx(wanted["peep"], abs=0.3)
    assert held < wanted["pip"] / 2


def readings(bench: Bench) -> tuple[float, float]:
    (idle,) = story(bench, Hands(1.0, ()))
    held = story(bench, Hands(1.0, (Touch(0.5, "occlude"),)))[-1]
    return held.reading, idle.reading


def test_a_run_stands_beside_the_prediction_and_opens_the_explanation(bench_lesson, screen):
    """“Your answer: …; on your bench the needle showed …”, and the first guess is kept."""
    bench_lesson.predict("predict-order")
    bench_lesson.explain("predict-order")
    control = screen.control("predict-order")
    answer(control, "same")
    run = run_of(("occlude",), ("pip", TURNED), ("release",))
    heading = last_run(bench_lesson, "bench-order", run)["heading"]
    assert heading.startswith("Your answer: ")
    assert "Released, it showed " in heading
    assert bench_lesson.data["words"]["folded"] not in screen.text
    assert bench_lesson.file.sheet().latest()["predict-order" + LOOKED].value == "same"


def test_a_run_without_a_prediction_says_where_it_is_asked(bench_lesson):
    """Nothing is opened, nothing is recorded as a prediction."""
    found = last_run(bench_lesson, "bench-order", run_of(("occlude",)))
    assert found["heading"].startswith(bench_lesson.data["words"]["unpredicted"])
    assert not bench_lesson.file.path.exists()


def test_a_phenomenon_shows_its_picture_only_after_the_prediction(bench_lesson, screen):
    """The picture comes with its words, and says that it is a model's."""
    bench_lesson.phenomenon("predict-tube")
    assert "Lowest" not in screen.text
    control = screen.control("predict-tube")
    answer(control, "slow")
    heading = ask(control)["heading"]
    assert table("predict", "predict-tube")["agreed"] in heading
    assert "Lowest" in screen.text
    assert bench_lesson.data["words"]["model"] in screen.text
