"""Practice on counting: feedback that names the slip, by number, by choice and by hand."""

from __future__ import annotations

import pytest

from tests.lesson_screen import RATE, answer, ask
from tests.taps_base import record
from workbook.answers import read_answers
from workbook.cases import rhythms
from workbook.lesson import texts
from workbook.lesson_rate import open_page
from workbook.rate_practice import on_taps, typed
from workbook.rules import rulebook
from workbook.taps import steady

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


# --- the count, worked out


def test_the_steps_left_out_are_left_out(rate_lesson, screen):
    """One result is open, then two, then there is no table; nothing else gives them away."""
    for part, gaps in (("last", 1), ("two", 2)):
        screen.shown.clear()
        rate_lesson.practise(part)
        table = screen.shown[0].text
        assert table.count("; ?") == gaps
        assert f"{rate_lesson.drawn_count(part).release:.2f}" not in table
    screen.shown.clear()
    rate_lesson.practise("all")
    assert "; ?" not in screen.text
    assert "Hint 3 of 3" in screen.text


@pytest.mark.parametrize("part", ["last", "two"])
def test_a_choice_is_told_what_it_leads_to(part: str, rate_lesson, screen):
    """One choice is right; every other is told the time or ratio it should have been."""
    rate_lesson.practise(part)
    control = screen.control(f"practice-{part}")
    made = rate_lesson.drawn_count(part)
    lines = [line_of(control, o["id"], n) for n, o in enumerate(control.options, start=1)]
    assert sum(line["met"] for line in lines) == 1
    for line in lines:
        if not line["met"]:
            assert f"{made.beat:.2f} s" in line["says"]
            assert "Next: " in line["says"]
            assert line["source"]


def test_the_four_pairs_to_choose_from_differ_in_every_case(tmp_path, screen, monkeypatch):
    """Rounding never makes two of them the same."""
    for n in range(40):
        monkeypatch.setenv("TPIECE_LEARNER", f"learner{n}")
        (folder := tmp_path / str(n)).mkdir()
        made = open_page(folder=folder)
        screen.shown.clear()
        made.practise("two")
        said = {option["text"] for option in screen.control("practice-two").options}
        assert len(said) == 4


def test_a_typed_time_is_told_which_slip_it_shows(rate_lesson, screen):
    """Right, half a cycle, the release, a whole cycle, a slipped point, and anything else."""
    rate_lesson.practise("all")
    control, made = screen.control("practice-all"), rate_lesson.drawn_count("all")
    cycle = made.inflation + made.release
    slips = {
        "right": made.inflation, "equal": cycle / 2, "turned": made.release, "cycle": cycle,
        "tenfold": made.inflation * 10, "other": made.inflation * 1.3,
    }  # fmt: skip
    says = DATA["practice"]["all"]["says"]
    for n, (name, time) in enumerate(slips.items(), start=1):
        line = line_of(control, number(time, "s"), n)
        assert line["met"] == (name == "right")
        start = says[name].partition("{")[0] or "You gave"
        assert line["says"].startswith(start)
        assert line["says"].endswith(says[name].rpartition("}")[2])


@pytest.mark.parametrize("value", [None, "5", {"text": "soon", "unit": "s"}, {"text": "1"}])
def test_what_cannot_be_read_as_a_time_is_left_alone(value):
    """Whatever was typed, reading it never fails."""
    assert typed(value, "s") is None


# --- strips


def test_a_strip_read_by_its_ends_is_told_so(rate_lesson, screen):
    """The right reading is right within what the rules accept; the ends are named."""
    rate_lesson.read_strip("read-rate")
    control = screen.control("read-rate")
    facts = rate_lesson.strips("read-rate")[0].facts
    assert line_of(control, number(facts["rate"] + 1.5, "1/min"))["met"]
    ends = 60 * facts["inflations"] / facts["duration"]
    line = line_of(control, number(ends, "1/min"), 2)
    assert not line["met"]
    assert f"only {facts['inflations'] - 1} cycles" in line["says"]


def test_an_inflation_read_as_its_release_is_told_so(rate_lesson, screen):
    """The strip's own time is named."""
    rate_lesson.read_strip("read-inflation")
    control = screen.control("read-inflation")
    facts = rate_lesson.strips("read-inflation")[1].facts
    assert line_of(control, number(facts["inflation"], "s"))["met"]
    other = line_of(control, number(facts["release"] + facts["inflation"], "s"), 2)
    assert "the whole cycle" in other["says"]
    assert f"{facts['inflation']:.2f} s" in other["says"]


def test_a_ratio_read_off_a_strip_is_one_of_the_choices(rate_lesson, screen):
    """Exactly one choice is right, and it is the strip's own ratio."""
    rate_lesson.read_strip("read-ratio")
    control = screen.control("read-ratio")
    facts = rate_lesson.strips("read-ratio")[2].facts
    met = [
        o["id"]
        for n, o in enumerate(control.options, start=1)
        if line_of(control, o["id"], n)["met"]
    ]
    assert met == [f"1:{facts['release'] / facts['inflation']:.0f}"]


def test_the_worked_strip_shows_the_misleading_way_and_the_right_one(rate_lesson, screen):
    """Both rates stand in the table, and only one is called too fast."""
    rate_lesson.worked_strip()
    facts = rate_lesson.strips("worked")[0].facts
    assert screen.text.count("too fast") == 1
    assert f"{facts['rate']:g} a minute" in screen.text


# --- rhythms


def test_each_of_four_rhythms_has_one_right_word(rate_lesson, screen):
    """All four words are right once, and the same seconds are drawn for each."""
    right = []
    for n in (1, 2, 3, 4):
        rate_lesson.hear(n)
        control = screen.control(f"hear-{n}")
        assert control.figure["kind"] == "rhythm"
        assert control.figure["inflations"][-1][1] <= control.figure["seconds"]
        for seq, option in enumerate(control.options, start=1):
            if line_of(control, option["id"], seq)["met"]:
                right.append(option["id"])
    assert sorted(right) == ["fast", "good", "long", "slow"]


# --- by hand


def told(value, book, right: str = "") -> dict[str, bool]:
    """Return which line of feedback was given: its name -> whether it was met."""
    lines = on_taps(value, book, {**HAND, **{name: name for name in HAND}}, right)["lines"]
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
    feedback = on_taps(steady(30, 1.3, 30.0), book, HAND)
    line = next(each for each in feedback["lines"] if "too long" in each["says"])
    assert rhythms.longest(book).text in line["says"]
    assert line["source"] == str(rhythms.longest(book).citation)


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
    few = on_taps(record([1.0]), book, HAND)
    assert few["heading"].startswith(HAND["few"])
    assert "picture" not in few
    assert on_taps({"format": "other"}, book, HAND)["lines"] == []


def test_the_picture_sets_each_interval_against_the_band():
    """Its words count what lies inside, above and below, as the marks do."""
    book = rulebook("aha-2020")
    presses = [0.5, 1.7, 2.9, 3.6, 4.8, 6.5, 7.7]
    picture = on_taps(record(presses), book, HAND)["picture"]
    low, high = rhythms.rate_band(book)
    assert (picture["low"], picture["high"]) == pytest.approx((60 / high, 60 / low), abs=0.01)
    assert picture["intervals"] == pytest.approx([1.2, 1.2, 0.7, 1.2, 1.7, 1.2])
    assert "4 of 6. Longer: 1. Shorter: 1." in picture["says"]


@pytest.mark.parametrize("table", DATA["tap"], ids=lambda table: table["id"])
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
        shown = rate_lesson._distraction(drawn, 30.0)
        assert len({option["text"] for option in shown["options"]}) == 3
        assert 0 < shown["at"] < 30


@pytest.mark.parametrize("edition", ["aha-2020", "erc-2021", "who-2012"])
def test_a_counting_is_long_enough_to_be_judged(edition: str, tmp_path):
    """At the edition's own rate a steady hand gives more intervals than are needed."""
    (tmp_path / "course.toml").write_text(f'id = "demo"\nedition = "{edition}"\n')
    made = open_page(folder=tmp_path)
    value = steady(made.count.rate, made.count.inflation, made._duration())
    assert told(value, made.book)["pace"] is True
