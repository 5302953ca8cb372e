"""Single acts in a case from birth, and what they are worth: typed here, asked of no list of marks.

Each record is written by hand; the expert is not asked.
"""

from __future__ import annotations

from typing import Any

import pytest

from graders.marks.verdict import Finding
from graders.units.scenario.facts import Facts
from graders.units.scenario.marks import marked
from tests.scenario_base import BOOK, case, inflating, played
from workbook.rules import rulebook
from workbook.scenario import replay, seen

pytestmark = pytest.mark.slow

ON = [(1.0, "oximeter"), (2.0, "connect")]
SAID = [(0.0, "say", "heart-please"), (1.6, "call")]
NUMBERS = {
    "late": 10, "still": 30, "pause": 10, "moves": 80, "look": 15, "early": 5, "escalate": 30,
    "heart.near": 10, "gas": 15, "turn": 60, "pure": 60, "confirm": 15, "fewer": 2, "spared": 30,
}  # fmt: skip


def found(id: str, rows: Any, duration: float = 420.0, edition: str = "aha-2020", seed=1):
    """Return the findings of a record by their criterion."""
    book = rulebook(edition)
    verdict = marked(case(id, seed, book), played(rows, duration), book)
    return {f.criterion.removeprefix("case-"): f for f in verdict.findings}, verdict


def told(one: Finding) -> tuple[float, bool]:
    """Return the share of its points, and whether it is harm."""
    return round(one.earned / one.possible, 1), one.unsafe


@pytest.mark.parametrize("name", NUMBERS)
def test_a_time_of_the_marks_is_the_one_that_was_meant(name):
    """Typed a second time, and said to be assumed."""
    rule = BOOK[f"scenario.{name}"]
    assert rule.value == NUMBERS[name]
    assert rule.citation.basis.value == "assumption"


@pytest.mark.parametrize(
    ("start", "worth"),
    [(30, (1, False)), (59, (1, False)), (65, (0.5, False)), (75, (0, True))],
)
def test_the_first_inflation_is_due_within_a_minute(start, worth):
    """A little late keeps half; later is harm to a baby who does not breathe."""
    marks, _ = found("easy", [*ON, *inflating(start, 150)], 150)
    assert told(marks["begin"]) == worth


def test_who_goes_on_for_half_a_minute_with_a_moving_chest_is_right():
    """A heart that has not risen yet after a quarter of a minute is no mistake of anybody's."""
    rows = [*ON, *SAID, *inflating(20, 120), (30.0, "listen"), (58.0, "listen"), (90.0, "listen")]
    marks, verdict = found("overshoot", rows, 120)
    assert marks["decided"].met
    assert marks["looked"].met
    assert not verdict.unsafe
    assert not verdict.misconceptions


@pytest.mark.parametrize(
    ("rows", "worth"),
    [
        ([(25.0, "compress")], (0, True)),  # the chest has not moved
        ([(40.0, "compress")], (0, False)),  # it has moved, not for half a minute
        (
            [(69.0, "oxygen", 100), (70.0, "compress"), (190.0, "compress-stop")],
            (1, False),
        ),
        ([(125.0, "compress")], (0, True)),  # nobody went further for too long
        ([], (0, True)),
    ],
)
def test_compressions_are_due_after_half_a_minute_of_a_moving_chest(rows, worth):
    """Of a heart that stays slow, known by a count before; a new airway is a next step, too."""
    counts = [(16.0, "listen"), *([(50.0, "listen"), (62.0, "listen")] if rows else [])]
    base = [*ON, *SAID, *inflating(24, 420)]
    marks, _ = found("compressions", [*base, *counts, *rows])
    assert told(marks["decided"]) == worth


def test_compressions_of_a_fast_heart_are_harm():
    """The chest moved for long, and the heart was fast."""
    rows = [*ON, *inflating(20, 150), (60.0, "listen"), (90.0, "compress")]
    marks, _ = found("easy", rows, 150)
    assert told(marks["decided"]) == (0, True)
    assert "{" not in marks["decided"].says


@pytest.mark.parametrize(
    ("after", "worth"), [(5, (1, False)), (14, (1, False)), (17, (0, True)), (None, (0, True))]
)
def test_the_bag_is_taken_soon_after_the_gas_has_failed(after, worth):
    """Counted from when it failed, not from when it was seen."""
    fails = case("gas-fails").hidden.fails
    rows = [*ON, *inflating(24, fails + 1)]
    rows += [(fails + after, "bag")] if after else []
    marks, _ = found("gas-fails", rows, 200)
    assert told(marks["bag"]) == worth


def test_a_still_chest_waits_no_longer_than_half_a_minute():
    """For a step that could help, whatever it is; a chest that never moved is not ventilated."""
    still = [*ON, *inflating(20, 100)]
    marks, _ = found("position", still, 100)
    assert told(marks["acted"]) == (0, True)
    assert not marks["kept"].met
    first = inflating(20, 40)
    rows = [*ON, *first, (42.0, "mask-adjust"), (44.0, "reposition"), *inflating(46.5, 100)]
    marks, _ = found("position", rows, 100)
    assert told(marks["acted"]) == (1, False)
    assert marks["order"].met
    assert marks["look"].met


def test_the_longest_wait_for_a_step_counts_however_soon_the_others_came():
    """Forty seconds of a still chest are harm, whatever is done at once from then on."""
    rows = [*ON, *inflating(20, 64), (66.0, "mask-adjust"), (69.0, "reposition"),
            *inflating(72, 110)]  # fmt: skip
    marks, _ = found("position", rows, 110)
    assert told(marks["acted"]) == (0, True)


def test_corrective_steps_have_an_order_and_a_look_between():
    """Suction before the mask is out of order; three at once leave no look."""
    rows = [*ON, *inflating(20, 40), (42.0, "suction"), (50.5, "mask-adjust"),
            (53.0, "reposition"), *inflating(56, 110)]  # fmt: skip
    marks, _ = found("position", rows, 110)
    assert not marks["order"].met
    assert 0 < marks["order"].earned < marks["order"].possible
    assert told(marks["look"]) == (0, False)
    assert "3" in marks["look"].says


@pytest.mark.parametrize(("wait", "worth"), [(2, (1, False)), (14, (1, False)), (20, (0, True)),
                                             (None, (0, True))])  # fmt: skip
def test_a_new_airway_is_confirmed(wait, worth):
    """At once, whatever the chest does."""
    rows = [*ON, *inflating(20, 30), (32.0, "laryngeal-mask")]
    rows += [*inflating(47.1, 47.1 + (wait or 90) - 0.5)]
    rows += [(47.0 + wait, "confirm")] if wait else []
    marks, _ = found("laryngeal-mask", rows, 150)
    assert told(marks["confirmed"]) == worth


def test_who_confirms_before_the_airway_is_in_has_confirmed_nothing():
    """What was looked for belongs to the airway that came after it."""
    rows = [*ON, *inflating(20, 30), (31.0, "confirm"), (34.0, "laryngeal-mask")]
    marks, _ = found("laryngeal-mask", [*rows, *inflating(50, 140)], 150)
    assert told(marks["confirmed"]) == (0, True)


def test_a_heart_looked_at_once_and_never_again_is_looked_at_late():
    """One count, then minutes of a slow heart that nobody counts; counted each minute it is right.

    Nothing is on the baby that would show it.
    """
    base = [(2.0, "connect"), *inflating(24, 300)]
    once, _ = found("compressions", [*base, (50.0, "listen")], 300)
    assert not once["looked"].met
    often = [(float(n), "listen") for n in range(30, 300, 30)]
    again, _ = found("compressions", [*base, *often], 300)
    assert again["looked"].met


@pytest.mark.parametrize(("off", "right"), [(0, True), (60, False)])
def test_a_rate_said_aloud_is_the_one_that_could_be_seen(off, right):
    """A heart said to be faster by one a second than anything showed is a slip."""
    base = [*ON, *inflating(20, 120), *[(float(n), "listen") for n in range(30, 120, 30)]]
    facts = Facts(replay(case("easy"), played(base, 120), BOOK), BOOK)
    rows = [*base, (58.0, "heart-rate", round(facts.heart(58.0)) + off)]
    marks, _ = found("easy", rows, 120)
    assert marks["looked"].met is right


@pytest.mark.parametrize("rate", [40, 60])
def test_a_rate_at_an_end_of_the_editions_band_is_right(rate):
    """AHA 2020: 40 to 60, both ends included."""
    marks, _ = found("easy", [*ON, *inflating(20, 150, rate, 0.35)], 150)
    assert marks["way"].met, marks["way"].says


def test_pressure_above_the_ceiling_is_harm():
    """With the mask on a baby; the same pressure off the face harms nobody."""
    high = [(3.0, "pip", 200), (4.0, "relief", 200)]
    marks, _ = found("easy", [*ON, *high, *inflating(20, 60)], 60)
    assert max(one.top for one in _replayed("easy", [*ON, *high, *inflating(20, 60)])) > 41
    assert told(marks["pressure"])[1]


def _replayed(id: str, rows: Any):
    return replay(case(id), played(rows, 60), BOOK).inflations


def test_what_was_looked_at_is_what_the_page_shows():
    """The beats of a count, and the numbers of both monitors, second by second."""
    rows = [*ON, (3.0, "leads"), *inflating(20, 120), (30.0, "listen"), (70.0, "listen")]
    made = replay(case("leak"), played(rows, 120), BOOK)
    facts = Facts(made, BOOK)
    for end, rate in facts.counts:
        assert len(seen(made, end, BOOK)["beats"]) * 10 == rate
    shown = dict(facts.monitored)
    for t in range(121):
        now = seen(made, t, BOOK)
        numbers = [now["leads"]] if not isinstance(now["leads"], str) else []
        numbers += [now["oximeter"][0]] if not isinstance(now["oximeter"], str) else []
        assert shown.get(t) == (numbers[0] if numbers else None), t
        saturation = None if isinstance(now["oximeter"], str) else now["oximeter"][1]
        assert facts.saturations.get(t) == saturation


@pytest.mark.parametrize(
    ("line", "worth"), [("chest-moves", 1), ("chest-still", 0), ("gas-fails", 0)]
)
def test_what_is_said_aloud_is_what_is_so(line, worth):
    """A chest that moves is not said to be still, and gas that flows has not failed."""
    rows = [*ON, *SAID, *inflating(20, 60), (58.8, "say", line), (59.0, "say", "chest-moves")]
    marks, _ = found("easy", rows, 60)
    assert told(marks["aloud"])[0] == worth


# --- another edition's right behaviour is told apart


def test_the_rate_of_another_edition_keeps_half_and_shows_no_belief():
    """Thirty a minute is one edition's rate; eighty is nobody's."""
    for rate, worth, other in ((30, (0.5, False), "AHA/AAP 2025"), (90, (0, False), "")):
        held = 0.6 if rate == 30 else 0.3
        marks, verdict = found("easy", [*ON, *inflating(20, 150, rate, held)], 150)
        assert told(marks["way"]) == worth, marks["way"].says
        assert other in marks["way"].says
        assert not marks["way"].misconception
        assert not verdict.unsafe
    marks, _ = found("easy", [*ON, *_long(5), *inflating(45, 150, 30)], 150, "erc-2021")
    assert marks["way"].met


def test_long_first_inflations_are_right_by_one_edition_and_no_harm_by_another():
    """Five of two and a half seconds: asked by one, told apart by the other, never harm."""
    rows = [*ON, *_long(5), *inflating(45, 150, 40)]
    marks, verdict = found("easy", rows, 150)
    assert told(marks["way"]) == (0.5, False)
    assert not verdict.unsafe
    marks, _ = found("easy", [*ON, *inflating(20, 150, 30)], 150, "erc-2021")
    assert not marks["way"].met
    assert "5" in marks["way"].says


def _long(count: int) -> list[Any]:
    rows = list[Any]()
    for n in range(count):
        rows += [(20.0 + 4 * n, "occlude"), (22.5 + 4 * n, "release")]
    return rows


# --- a baby who breathes


@pytest.mark.parametrize(
    ("until", "worth"), [(21, (1, False)), (35, (0.5, False)), (150, (0, True))]
)
def test_a_baby_who_breathes_is_not_inflated_for_long(until, worth):
    """Nobody had counted a slow heart; some inflations are a slip, half a minute is harm."""
    rows = [*ON, *inflating(20, until), (until + 0.5, "cpap"), (until + 1.0, "listen")]
    marks, _ = found("breather", rows, 420)
    assert told(marks["spared"]) == worth


def test_inflating_a_baby_who_breathes_is_right_while_a_slow_heart_is_known():
    """Counted below the number of the edition, for as long as that count is fresh."""
    rows = [*ON, (14.0, "listen"), *inflating(21, 45), (45.5, "listen"), (52.0, "cpap")]
    marks, verdict = found("breather", rows, 420)
    assert marks["spared"].met
    assert "ventilates-a-breather" not in verdict.misconceptions


def test_a_monitor_that_shows_a_fast_heart_meanwhile_ends_no_half_minute_of_inflations():
    """Who counted a slow heart goes on for the edition's time and then looks again."""
    rows = [*ON, (14.0, "listen"), *inflating(21, 50), (50.5, "listen"), (57.0, "cpap")]
    for seed in range(1, 5):
        marks, verdict = found("breather", rows, 420, seed=seed)
        assert marks["spared"].met or not _slow_at(20, seed)
        assert not verdict.unsafe


def _slow_at(time: float, seed: int) -> bool:
    made = replay(case("breather", seed), played([*ON, (14.0, "listen")], 60), BOOK)
    return made.course.heart(time) < 90


def test_a_slow_novice_with_an_oximeter_on_is_not_said_to_have_waited_for_it():
    """Hands that rest between acts, and begin long after it showed, wait for no monitor."""
    rows = [(1.0, "oximeter"), (14.0, "dry"), (33.0, "reposition"), (52.0, "connect"),
            *inflating(56, 150), (60.0, "listen")]  # fmt: skip
    _, verdict = found("easy", rows, 150)
    assert "waits-for-the-monitor" not in verdict.misconceptions


# --- oxygen


@pytest.mark.parametrize(
    ("turn", "worth"), [(None, (0, True)), ((100.0, "oxygen", 30), (1, False))]
)
def test_pure_oxygen_far_above_the_band_is_harm_until_it_is_turned_down(turn, worth):
    """From the beginning, and for a minute too long."""
    rows = [*ON, (3.0, "oxygen", 100), *inflating(20, 150), *([turn] if turn else [])]
    rows = [row for row in rows if not (turn and row[1] in ("occlude", "release") and
                                        99 < row[0] < 103)]  # fmt: skip
    marks, _ = found("easy", rows, 170)
    assert marks["down"].unsafe == worth[1]


def test_a_saturation_left_low_costs_its_point_and_is_no_harm():
    """In air for minutes, while the oximeter shows less than the edition's table."""
    marks, _ = found("stiff", [*ON, *inflating(20, 300)], 300)
    assert told(marks["up"]) == (0, False)


def test_pure_oxygen_that_nobody_can_see_the_effect_of_is_harm_and_no_belief():
    """Without an oximeter it is told as such, and what was believed cannot be known."""
    rows = [(2.0, "connect"), (3.0, "oxygen", 100), *inflating(20, 200)]
    marks, verdict = found("easy", rows, 200)
    assert told(marks["down"]) == (0, True)
    assert "nobody had the saturation shown" in marks["down"].says
    assert "oxygen-up-never-down" not in verdict.misconceptions


def test_a_case_that_broke_off_keeps_a_part_of_what_lasts():
    """Begun in time is begun in time; kept up for a third of the case is a third of it."""
    marks, _ = found("overshoot", [*ON, *inflating(20, 60)], 60)
    assert told(marks["begin"]) == (1, False)
    assert 0 < marks["pressure"].earned < marks["pressure"].possible / 2
