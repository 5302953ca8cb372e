"""The watch, tried with other shapes of harm: each is found in every case, in each task."""

from __future__ import annotations

from random import Random
from typing import Any

import pytest

from graders import watch
from graders.marking.exercise import model_answers
from graders.units.rate import tap_marks
from graders.units.setup import bench as setup_bench
from graders.units.targets import raise_pip
from tests.hands import by_hand
from tests.harm_again import ONCE, PLACES, SHAPES, TAPPED, with_harm
from workbook.bench import Bench, Hands, Touch, read_hands
from workbook.cases import case
from workbook.cases.pace import first_inflations, longest, rate_band
from workbook.rules import editions, rulebook
from workbook.taps import read_taps

pytestmark = pytest.mark.slow

EDITIONS = list(editions())
MANY = 200
UNITS = {"raise": "3_pressure_targets", "bench": "1_setup_order", "tap": "4_rate_counting"}


def told(book) -> dict[str, Any]:
    """Return what is asked of a hand, and a stop that every bound calls too long."""
    return {"rate": rate_band(book), "longest": longest(book).band[1], "gap": 10.6}


def before(task: str, asked, book, model) -> Hands:
    """Return what comes before the baby is ventilated: nothing, or a whole set-up."""
    if task == "bench":
        hands = read_hands(model)
        return Hands(hands.duration, hands.touches)
    return Hands(0.5, ())


def stands(asked, hands: Hands) -> dict[str, int]:
    now = dict(asked.facts["bench"]["positions"])
    now.update({t.kind: t.position for t in hands.touches if t.position is not None})
    return now


def found(task: str, asked, run: Hands, book):
    marks = raise_pip if task == "raise" else setup_bench
    bench = Bench.from_data(asked.facts["bench"])
    care = watch.of_run(bench, run, ventilates=task == "raise")
    return watch.hazards(care, marks.watched(asked, book))


@pytest.mark.parametrize("task", ["raise", "bench"])
@pytest.mark.parametrize("shape", SHAPES)
def test_each_other_shape_of_harm_is_found(task, shape):
    """At the start, in the middle and at the end of 200 cases; what came again is not mended."""
    kind, missed, forgiven = SHAPES[shape][1], [], []
    for n in range(MANY):
        book = rulebook(EDITIONS[n % len(EDITIONS)])
        made = case("again", UNITS[task], f"other{n}", book)
        asked, place = made[task], PLACES[n // len(EDITIONS) % 3]
        begun = before(task, asked, book, model_answers(made, book)[task])
        chance = Random(n)  # noqa: S311 a simulated hand
        run = with_harm(shape, place, begun, stands(asked, begun), told(book), chance)
        same = [each for each in found(task, asked, run, book) if each.kind == kind]
        if not same:
            missed.append((n, place, book.edition.id))
        elif shape not in ONCE and all(each.mended for each in same):
            forgiven.append((n, place, same))
    assert not missed
    assert not forgiven


@pytest.mark.parametrize("shape", TAPPED)
def test_each_other_shape_of_a_tapped_count_is_found(shape):
    """The same hand at the tapping button, after the edition's own long inflations."""
    for n in range(MANY):
        book = rulebook(EDITIONS[n % len(EDITIONS)])
        made = case("again", UNITS["tap"], f"other{n}", book)
        asked = made[("tap-alone", "tap-distracted")[n % 2]]
        model = tap_marks.model_taps(asked, book)
        long = 2 * len(tap_marks.begun(asked, book))
        first = [[t, what] for t, what in model["events"]][:long]
        names = {"press": "occlude", "release": "release"}
        begun = Hands(0.5, tuple(Touch(t, names[what]) for t, what in first))
        run = with_harm(shape, PLACES[n % 3], begun, {}, told(book), Random(n))  # noqa: S311
        turned = {"occlude": "press", "release": "release"}
        events = [[round(t.time, 4), turned[t.kind]] for t in run.touches]
        taps = read_taps(model | {"events": events, "duration": run.duration})
        kinds = {h.kind for h in watch.hazards(watch.of_taps(taps), tap_marks.watched(asked, book))}
        assert SHAPES[shape][1] in kinds, (n, kinds)


@pytest.mark.parametrize("task", ["raise", "bench", "tap"])
def test_no_careful_hand_is_taken_for_harm(task):
    """200 experts with human hands in each task: not one hazard."""
    for n in range(MANY):
        book = rulebook(EDITIONS[n % len(EDITIONS)])
        made = case("again", UNITS[task], f"careful{n}", book)
        id = ("tap-alone", "tap-distracted")[n % 2] if task == "tap" else task
        answer = by_hand(made[id], book, Random(n))  # noqa: S311 a simulated hand
        if task == "tap":
            care, within = watch.of_taps(read_taps(answer)), tap_marks.watched(made[id], book)
            assert not watch.hazards(care, within), n
        else:
            assert not found(task, made[id], read_hands(answer), book), n


def test_every_edition_says_how_it_begins():
    """The cases above come from editions with long first inflations and from others."""
    many = [first_inflations(rulebook(edition))[0] for edition in EDITIONS]
    assert 0 in many
    assert max(many) > 0
