"""Practice on counting: feedback that names the slip, by number, by choice and by hand."""

from __future__ import annotations

import pytest

from tests.lesson_screen import RATE, answer, ask
from tests.rate_base import BEGIN
from tests.taps_base import record
from workbook.cases import pace
from workbook.core.answer_sheet import read_answers
from workbook.lesson.answered import typed
from workbook.lesson.page import texts
from workbook.rules import editions, rulebook
from workbook.taps import steady
from workbook.units.rate.case import rhythms
from workbook.units.rate.case.questions import durations
from workbook.units.rate.lesson import open_page
from workbook.units.rate.practice import Asked, on_taps
from workbook.units.rate.rhythm import HEAR

pytestmark = pytest.mark.slow

DATA = texts(RATE)
HAND = DATA["hand"]


def line_of(control, value, seq: int = 1) -> dict:
    answer(control, value, seq)
    feedback = ask(control)
    assert feedback["heading"], "a control shows no feedback without its heading"
    (line,) = feedback["lines"]
    return line


def number(value: float, unit: str) -> dict:
    return {"text": f"{value:.2f}".replace(".", ","), "unit": unit}


# --- from a strip to a rate


def test_the_steps_left_out_are_left_out(rate_lesson, screen):
    """One result is open, then two, then there is no table; nothing else gives them away."""
    for part, gaps in (("last", 1), ("two", 2)):
        screen.shown.clear()
        rate_lesson.practise(part)
        assert screen.shown[0].text.count("; ?") == gaps
    assert rate_lesson._strip_words("two")["counted"] not in screen.shown[0].text
    screen.shown.clear()
    rate_lesson.practise("all")
    assert "; ?" not in screen.text
    assert "Hint 3 of 3" in screen.text


@pytest.mark.parametrize("edition", list(editions()))
def test_a_verdict_on_a_counted_rate_is_the_band_s(edition: str, tmp_path, screen):
    """Exactly one choice is right, and it is what the counted rate is by this edition."""
    (tmp_path / "course.toml").write_text(f'id = "demo"\nedition = "{edition}"\n')
    made = open_page(folder=tmp_path)
    made.practise("last")
    control, facts = screen.control("practice-last"), made.strip_of("last")
    met = [
        o["id"]
        for n, o in enumerate(control.options, start=1)
        if line_of(control, o["id"], n)["met"]
    ]
    low, high = pace.rate_band(made.book)
    counted = facts["inflations"] * 60 / facts["duration"]
    assert met == ["slow" if counted < low else "fast" if counted > high else "inside"]


@pytest.mark.parametrize("part", ["two", "all"])
def test_a_typed_rate_is_right_within_one_inflation_and_a_bare_count_is_told(
    part: str, rate_lesson, screen
):
    """The hills alone are no rate; one hill more or less is near enough."""
    rate_lesson.practise(part)
    control, facts = screen.control(f"practice-{part}"), rate_lesson.strip_of(part)
    one = 60 / facts["duration"]
    counted = facts["inflations"] * one
    for n, (rate, met) in enumerate(
        (
            (counted, True),
            (counted + one, True),
            (counted - one, True),
            (counted + 1.5 * one, False),
        ),
        start=1,
    ):
        assert line_of(control, number(rate, "1/min"), n)["met"] == met
    told = line_of(control, number(facts["inflations"], "1/min"), 9)
    assert "that is the count of" in told["says"]
    assert "Next: " in told["says"]


@pytest.mark.parametrize("value", [None, "5", {"text": "soon", "unit": "s"}, {"text": "1"}])
def test_what_cannot_be_read_as_a_number_is_left_alone(value):
    """Whatever was typed, reading it never fails."""
    assert typed(value, "s") is None


def test_the_worked_strip_shows_every_step(rate_lesson, screen):
    """Count, minute and verdict stand in the table."""
    rate_lesson.worked_strip()
    words = rate_lesson._strip_words("worked")
    assert all(words[name] in screen.text for name in ("many", "length", "counted", "verdict"))
    assert "; ?" not in screen.text


# --- rhythms


def test_each_rhythm_has_one_right_word(rate_lesson, screen):
    """Three kinds are heard, each with one right word."""
    right = []
    for n in range(1, HEAR + 1):
        rate_lesson.hear(n)
        control = screen.control(f"hear-{n}")
        assert control.figure["kind"] == "rhythm"
        for seq, option in enumerate(control.options, start=1):
            if line_of(control, option["id"], seq)["met"]:
                right.append(option["id"])
    assert len(right) == len(set(right)) == HEAR


# --- by hand


def told(value, book, right: str = "", begins=None) -> dict[str, bool]:
    """Return which line of feedback was given: its name -> whether it was met."""
    says = {**HAND, **{name: name for name in HAND}}
    lines = on_taps(value, Asked(book, says, right, begins=begins))["lines"]
    return {line["says"]: line["met"] for line in lines}


HANDS = [
    (1.0, 1 / 3, {"pace": True, "held": True, "even": True}),
    (1.6, 1 / 3, {"fast": False, "held": True, "even": True}),
    (0.6, 1 / 3, {"slow": False, "held": True, "even": True}),
    (1.0, 1 / 2, {"pace": True, "long": False, "even": True}),
    (1.0, 1 / 9, {"pace": True, "short": False, "even": True}),
]


@pytest.mark.parametrize(("pace", "share", "wanted"), HANDS)
def test_a_steady_hand_is_told_what_it_did(pace: float, share: float, wanted: dict):
    """Pace, inflation time and evenness each have their own line."""
    rate, book = 50 * pace, rulebook("aha-2020")
    assert told(steady(rate, share * 60 / rate, 30.0), book) == wanted


def test_an_inflation_held_too_long_names_the_limit(book):
    """Longer than an edition's ordinary inflation is told by that rule."""
    feedback = on_taps(steady(30, 1.3, 30.0), Asked(book, HAND))
    line = next(each for each in feedback["lines"] if "too long" in each["says"])
    assert pace.longest(book).text in line["says"]
    assert line["source"] == str(pace.longest(book).citation)


def test_few_inflations_in_the_band_are_not_yet_sure_and_a_slow_hand_is_surely_slow(book):
    """A rate is praised from enough intervals only; a slow hand cannot give so many."""
    assert told(steady(50, 0.4, 8.0), book)["unsure"] is False
    assert "slow" in told(steady(20, 1.0, 20.0), book)


def test_uneven_and_drifting_beats_are_told(book):
    """A hand that wavers, and one that slows down little by little."""
    wavering = [0.5 + 1.2 * n + (0.3 if n % 2 else 0.0) for n in range(20)]
    assert told(record(wavering), book)["uneven"] is False
    slowing = [0.5 + 1.1 * n + 0.008 * n * n for n in range(20)]
    assert "slowing" in told(record(slowing), book)


@pytest.mark.parametrize(
    ("given", "name"), [("first", "answered"), ("last", "misanswered"), ("", "unanswered")]
)
def test_the_question_asked_meanwhile_is_answered_or_not(given: str, name: str, book):
    """It has a line of its own only where something was asked."""
    value = steady(50, 0.4, 20.0, answered=given)
    assert told(value, book, "first")[name] == (name == "answered")
    assert name not in told(value, book)


def test_too_few_taps_and_unreadable_ones_are_one_sentence(book):
    """There is no rate, no picture, and no claim."""
    few = on_taps(record([1.0]), Asked(book, HAND))
    assert few["heading"].startswith(HAND["few"])
    assert "picture" not in few
    assert on_taps({"format": "other"}, Asked(book, HAND))["lines"] == []


def test_the_picture_sets_each_interval_against_the_band():
    """Its words count what lies inside, above and below, as the marks do."""
    book = rulebook("aha-2020")
    presses = [0.5, 1.7, 2.9, 3.6, 4.8, 6.5, 7.7]
    picture = on_taps(record(presses), Asked(book, HAND))["picture"]
    low, high = pace.rate_band(book)
    assert (picture["low"], picture["high"]) == pytest.approx((60 / high, 60 / low), abs=0.01)
    assert picture["intervals"] == pytest.approx([1.2, 1.2, 0.7, 1.2, 1.7, 1.2])
    assert "4 of 6. Longer: 1. Shorter: 1." in picture["says"]


@pytest.mark.parametrize("table", DATA["tap"][:3], ids=lambda table: table["id"])
def test_a_counting_is_kept_in_the_lessons_record_and_shown_again(table, rate_lesson, screen):
    """Feedback and picture come on request, and are there when the page is opened again."""
    id = table["id"]
    rate_lesson.tap(id)
    control = screen.control(id)
    assert bool(control.metronome) == table["metronome"]
    assert bool(control.distraction) == table.get("asked", False)
    answer(control, steady(rate_lesson.count.rate, 0.4, control.duration))
    assert control.picture == {}
    assert ask(control)["heading"].startswith("Your hand gave ")
    assert control.picture["intervals"]
    assert read_answers(rate_lesson.file.path).latest()[id].value["format"] == "tpiece-taps"
    screen.shown.clear()
    rate_lesson.tap(id)
    assert screen.control(id).picture["intervals"]
    assert screen.control(id).feedback["lines"]


def test_every_question_asked_meanwhile_has_its_answer_among_the_choices(rate_lesson):
    """Each is about the count itself, and can be answered from this page."""
    for drawn in DATA["distraction"]:
        assert drawn["right"] in drawn["options"]
        shown = rate_lesson._distraction("tap-distracted", drawn, 30.0)
        assert len({option["text"] for option in shown["options"]}) == 3
        assert 0 < shown["at"] < 30


@pytest.mark.parametrize("edition", ["aha-2020", "erc-2021", "who-2012"])
def test_a_counting_is_long_enough_to_be_judged(edition: str, tmp_path):
    """At the edition's own rate a steady hand gives more intervals than are needed."""
    (tmp_path / "course.toml").write_text(f'id = "demo"\nedition = "{edition}"\n')
    made = open_page(folder=tmp_path)
    duration = durations(made.count.rate, made.book, None)[0]
    value = steady(made.count.rate, made.count.inflation, float(duration))
    assert told(value, made.book)["pace"] is True


@pytest.mark.parametrize("edition", BEGIN)
def test_long_first_inflations_tapped_in_the_lesson_are_told(edition: str, tmp_path, screen):
    """Number, length and the ordinary count each have their line; so has leaving them out."""
    (tmp_path / "course.toml").write_text(f'id = "demo"\nedition = "{edition}"\n')
    made = open_page(folder=tmp_path)
    made.tap("tap-first")
    control, begins = screen.control("tap-first"), rhythms.firsts(made.book)
    assert f"Give {begins.count} inflations of " in control.help
    start, events = 0.5, []
    for _ in range(begins.count):
        events += [[start, "press"], [start + begins.held, "release"]]
        start += begins.held + 1
    rest = steady(made.count.rate, made.count.inflation, control.duration, start=start)
    value = {**rest, "events": [*events, *rest["events"]]}
    names = told(value, made.book, begins=begins)
    assert names == {"begun": True, "first-held": True, "pace": True, "held": True, "even": True}
    answer(control, value)
    assert all(line["met"] for line in ask(control)["lines"])
    assert told(rest, made.book, begins=begins)["misbegun"] is False
    short = {**value, "events": [[t, k] for t, k in value["events"]]}
    for event in short["events"][3:8:4]:  # the second and the fourth
        event[0] -= 1.2
    assert told(short, made.book, begins=begins)["first-missed"] is False
