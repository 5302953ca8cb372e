"""A sentence with a number in it: ranges from the rules, answers from the model, nothing typed."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.lesson_screen import LESSONS, Screen, answer, ask
from workbook.display.scene import Scenes
from workbook.display.sentences import FOLLOWS, MOVING, SHARE_STEP, Moving
from workbook.lesson.page import open_page, texts
from workbook.lesson.play import baby_of
from workbook.physics import settled_breath, start, steady_reading
from workbook.rules import RuleBook, editions, rulebook
from workbook.units.bench.lesson import open_page as open_bench
from workbook.widgets.sentence import Sentence

pytestmark = pytest.mark.slow

SENTENCES = [
    (name, table["id"], table["sentence"])
    for name in LESSONS
    for table in texts(name).get("predict", ())
    if "sentence" in table
]
ENDS = {
    "flow": lambda book: book["flow.range"].band,
    "relief": lambda book: (
        book["pip.drawn"].band[0], max(each.band[1] for each in book.all("relief.limit"))
    ),
    "rate": lambda book: book["trapped.rate"].band,
}  # fmt: skip


def moving(kind: str, edition: str, lesson: str = "2_bench") -> tuple[Moving, RuleBook]:
    book, data = rulebook(edition), texts(lesson)
    return MOVING[kind](Scenes(data["numbers"], data["does"], book).numbers, book), book


def number(said: str) -> float:
    return float(said.split()[0])


def test_six_things_or_more_are_explained_by_a_number_to_move():
    """Flow and PEEP, leak and needle, lung and volume, rate, relief and PIP, PEEP before PIP."""
    assert {table["moves"] for _, _, table in SENTENCES} == set(MOVING)
    assert len(MOVING) >= 6


@pytest.mark.parametrize("edition", list(editions()))
@pytest.mark.parametrize("kind", MOVING)
def test_a_number_goes_over_a_range_of_the_rules_and_every_value_is_answered(kind, edition):
    """Values rise one after the other; each has its answers, its circuit and its count."""
    found, book = moving(kind, edition)
    assert all(a < b for a, b in pairwise(found.values))
    assert found.values[0] <= found.start <= found.values[-1] or kind == "peep-first"
    if kind in ENDS:
        assert (found.values[0], found.values[-1]) == ENDS[kind](book)
    for value in {found.values[0], found.values[found.first], found.values[-1]}:
        said = found.answers(value)
        assert said
        assert set(said) < set(FOLLOWS)
        standing = found.standing(value)
        assert 0 < standing.held < standing.period
        assert all(at >= 0 for at in standing.positions.values())


@pytest.mark.parametrize("kind", ["flow", "relief", "peep-first"])
def test_what_is_said_of_the_needle_is_what_the_same_circuit_shows(kind):
    """The words and the picture come from one circuit: within what words are rounded to."""
    found, _ = moving(kind, "aha-2020")
    for value in found.values:
        circuit, said = found.standing(value).circuit, found.answers(value)
        for held, name in ((True, "held"), (False, "released")):
            assert number(said[name]) == pytest.approx(steady_reading(circuit, held=held), abs=0.26)


@pytest.mark.parametrize("kind", ["leak", "compliance", "rate"])
def test_what_is_said_of_a_breath_is_what_the_same_circuit_and_lung_give(kind):
    """An inflation of the count that the picture plays takes up what the words say."""
    found, _ = moving(kind, "aha-2020")
    for value in found.values[::3]:
        s, said = found.standing(value), found.answers(value)
        breath = settled_breath(s.circuit, s.lung, 60 / s.period, s.held)
        assert number(said["taken"]) == pytest.approx(breath.tidal_volume, abs=0.51)
        if kind == "leak":
            assert breath.leak_percent == pytest.approx(value, abs=SHARE_STEP / 10)


def test_each_shows_what_it_is_there_to_show():
    """The sentence would teach something false if the model went another way."""

    def column(kind: str, name: str) -> list[float]:
        found, _ = moving(kind, "aha-2020")
        return [number(found.answers(value)[name]) for value in found.values]

    peep, pip = column("flow", "released"), column("flow", "held")
    assert peep[-1] / peep[0] > 5
    assert pip[-1] / pip[0] < 1.5
    relief = column("relief", "held")
    assert relief[0] <= 20
    assert all(a <= b for a, b in pairwise(relief))
    assert relief[-1] - relief[len(relief) // 2] <= 1  # far above PIP it no longer moves the needle
    first = column("peep-first", "released")
    assert first[0] == 5
    assert first[-1] > 3 * first[0]
    assert column("leak", "held")[3] > 23  # a third leaks behind a needle that looks full
    taken = column("compliance", "taken")
    assert taken[-1] > 3 * taken[0]
    assert column("rate", "left")[-1] > column("rate", "left")[0] + 3


@pytest.mark.parametrize("edition", list(editions()))
@pytest.mark.parametrize(("name", "id", "table"), SENTENCES, ids=lambda each: str(each)[:30])
def test_a_sentence_can_be_shown_in_every_edition(name, id, table, edition):
    """Its other numbers are filled in; what moves is answered in it, and nothing else is open."""
    book, data = rulebook(edition), texts(name)
    scenes = Scenes(data["numbers"], data["does"], book)
    kept = {each: f"{{{each}}}" for each in FOLLOWS}
    says = scenes.fill(table["says"], (), kept)
    found = MOVING[table["moves"]](scenes.numbers, book)
    whole = says.format_map({**found.answers(found.values[found.first]), "drag": "8"})
    assert "{" not in whole
    assert says.count("{drag}") == 1


# --- on a page


def opened(name: str, tmp_path: Path) -> Any:
    return (open_page if name == "1_setup_order" else open_bench)(name, tmp_path)


@pytest.mark.parametrize(("name", "id", "table"), SENTENCES, ids=lambda each: str(each)[:30])
def test_a_sentence_gives_nothing_away_before_the_prediction(name, id, table, tmp_path, screen):
    """Before the look there are no numbers in it; after it there are, and on the next day too."""
    if name not in ("1_setup_order", "2_bench"):
        pytest.fail(f"{name} needs its own way of opening here")
    lesson = opened(name, tmp_path)
    lesson.predict(id)
    lesson.explain(id)
    (sentence,) = _of(screen)
    assert sentence.first == {}
    sentence._hear(None, {"kind": "stop", "at": 0}, [])  # asked too early: nothing is told
    control = screen.control(id)
    answer(control, next(iter(control.options))["id"])
    ask(control)
    assert sentence.first["answers"]
    screen.shown.clear()
    opened(name, tmp_path).explain(id)
    assert _of(screen)[0].first["answers"]


def _of(screen: Screen) -> list[Sentence]:
    return [thing for thing in screen.shown if isinstance(thing, Sentence)]


def test_a_page_hears_only_of_values_that_there_are():
    """A value beyond the ends, or no number at all, is answered by silence."""
    found, book = moving("flow", "aha-2020")
    made = Sentence("At {drag}: {held}.", "Flow", found, **baby_of(book), open=True)
    told: list[Any] = []
    made.send = lambda content, buffers=None: told.append(content)
    for at in (-1, len(found.values), "1", None, 1.0, True):
        made._hear(None, {"kind": "stop", "at": at}, [])
    assert told == []
    made._hear(None, {"kind": "stop", "at": 2}, [])
    (stop,) = told
    assert stop["answers"] == found.answers(found.values[2])
    assert set(stop["tables"]) < set(made.first["tables"])  # what stays the same is not sent again


def test_the_picture_begins_where_the_circuit_rests():
    """Volume and pressure at the start are the model's own."""
    found, book = moving("leak", "aha-2020")
    made = Sentence("At {drag}: {held}.", "L", found, **baby_of(book), outlet="lung", open=True)
    standing = found.standing(found.values[found.first])
    state = start(standing.circuit, standing.lung, outlet="lung")
    assert made.first["rest"] == {"volume": state.volume, "pressure": state.pressure_t}


def test_a_hand_that_is_none_is_refused():
    """What the thumb does is one of two things."""
    found, book = moving("flow", "aha-2020")
    with pytest.raises(ValueError, match="no hand"):
        Sentence("{drag}", "Flow", found, **baby_of(book), hand="both")


def test_lesson_1_opens_with_the_bench_alive_before_anything_is_asked(tmp_path, screen):
    """Set as the lesson's numbers say, on a baby; it keeps nothing and asks nothing."""
    lesson = open_page("1_setup_order", tmp_path)
    lesson.play()
    (bench,) = screen.shown
    assert bench.plays
    assert bench.help == ""
    assert not bench.lasts
    assert not bench.can_check
    assert bench.label.count(".") == 1
    n = lesson.scenes.numbers
    circuit = bench._bench.circuit
    assert steady_reading(circuit, held=True) == pytest.approx(n["pip"], abs=0.3)
    assert steady_reading(circuit, held=False) == pytest.approx(n["peep"], abs=0.3)
    assert bench._bench.outlet == "lung"
