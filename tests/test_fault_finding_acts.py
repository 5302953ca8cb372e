"""Fault finding by what is done: times to the thousandth, harm, and the belief that an act shows.

The faults and moves of each test are typed from the design, asked of no list that the marks use.
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.test_fault_finding import alone, done, marked, part
from workbook.trial.named import named_in

# --- to the thousandth of a second

EMPTY = {"format": "tpiece-trial", "version": 1, "duration": 60_000}


def safe(fault: str, *moves: Any) -> Any:
    """Return what is found of the baby's safety in a record: moves with their times (ms)."""
    drawn, asked = alone(fault)
    return part(marked(drawn, asked, {**EMPTY, "moves": [list(each) for each in moves]}), "safe")


def held(count: int, last: int = 1000) -> list[tuple[int, str]]:
    """Return inflations of a second, a second apart from 1 s on; the last of ``last`` ms."""
    rows = list[tuple[int, str]]()
    for n in range(count):
        begins = 1000 + 2000 * n
        rows += [(begins, "occlude"), (begins + (last if n == count - 1 else 1000), "release")]
    return rows


def test_ten_seconds_are_in_time_and_fifteen_are_late_but_no_harm() -> None:
    """The bag ventilates two seconds after it was reached for; a thousandth more is too late."""
    assert safe("no-gas", (8_000, "bag")).met
    for late in (8_001, 13_000):
        found = safe("no-gas", (late, "bag"))
        assert (found.earned, found.critical, found.rule) == (1.5, False, "trial.act")
    found = safe("no-gas", (13_001, "bag"))
    assert (found.earned, found.critical, found.rule) == (0, True, "trial.unventilated")


def test_a_bag_that_moves_no_chest_gives_ten_seconds_more_and_fifteen_at_most() -> None:
    """From when it is at work, at 3 s, until the head lies straight, two seconds after."""

    def head(at: int) -> Any:
        return safe("airway-blocked", (1_000, "bag"), (at, "reposition"))

    assert head(11_000).met
    for late in (11_001, 16_000):
        assert (head(late).earned, head(late).critical) == (1.5, False)
    assert (head(16_001).earned, head(16_001).critical) == (1.5, True)


def test_five_seconds_above_the_ceiling_are_borne_and_no_more() -> None:
    """In all, over inflations of a second each, with no limit to the pressure."""
    assert safe("limits-fail", *held(5), (10_500, "bag")).met
    found = safe("limits-fail", *held(5, 1001), (10_500, "bag"))
    assert (found.earned, found.critical, found.rule) == (0, True, "trial.high")


def paced(*spells: tuple[int, int, int]) -> list[tuple[int, str]]:
    """Return inflations in spells: of each how many, one from the next, and how long (ms)."""
    at, rows = 1000, list[tuple[int, str]]()
    for count, apart, lasts in spells:
        for _ in range(count):
            rows += [(at, "occlude"), (at + lasts, "release")]
            at += apart
    return rows


def test_inflations_too_fast_for_a_while_keep_half_and_to_the_end_nothing() -> None:
    """Some eighty in a minute, where seventy-two are the most with all allowance."""
    usual = (8, 1500, 500)
    slowed = safe("oxygen-out", *paced((14, 790, 300), usual))
    assert (slowed.earned, slowed.critical, slowed.rule) == (1.5, False, "watch.rate")
    assert "at 76 a minute; 72 a minute is the most" in slowed.says
    never = safe("oxygen-out", *paced((40, 700, 300)))
    assert (never.earned, never.critical, never.rule) == (0, True, "watch.rate")
    assert safe("oxygen-out", *paced(usual, usual), (26_000, "bag")).met


def test_one_inflation_too_long_is_told_to_a_tenth_and_a_second_is_critical() -> None:
    """A whole second would say that what was done is what may be done."""
    usual, pause = (8, 1500, 500), (1, 3000, 1700)
    once = safe("oxygen-out", *paced(usual, pause, usual), (31_000, "bag"))
    assert (once.earned, once.critical, once.rule) == (1.5, False, "inflation.long")
    assert "for 1.7 s with the mask on; 1.5 s is the most" in once.says
    again = safe("oxygen-out", *paced(usual, pause, usual, pause, usual), (46_000, "bag"))
    assert (again.earned, again.critical, again.rule) == (0, True, "inflation.long")


def test_ten_seconds_of_a_lung_that_cannot_empty_are_the_most() -> None:
    """The mask comes off with the bag; a thousandth later it was too long."""
    found = safe("hole-narrow", (10_000, "bag"))
    assert (found.earned, found.critical, found.rule) == (1.5, False, "trial.act")
    found = safe("hole-narrow", (10_001, "bag"))
    assert (found.earned, found.critical, found.rule) == (0, True, "trial.stuck")


@pytest.mark.parametrize(
    ("fault", "counts"),
    [("leak-large", False), ("hole-narrow", False), ("airway-blocked", False),
     ("cap-beside-finger", False), ("relief-low", True), ("leak-some", True),
     ("lung-stiff", True), ("gauge-blocked", True)],
)  # fmt: skip
def test_an_inflation_ventilates_where_it_brings_two_fifths_of_a_right_one(
    fault: str, counts: bool
) -> None:
    """A quarter, as behind a large leak, is none; half of it, as in a stiff lung, is one."""
    found = safe(fault, *paced((8, 1500, 500)), (13_200, "bag"))
    assert found.met is counts


@pytest.mark.parametrize("fault", ["leak-large", "airway-blocked"])
def test_who_took_a_bag_that_moves_no_chest_is_told_what_was_right_in_it(fault: str) -> None:
    """That no time was lost; or that it was said, where nobody knew what it was."""
    taken = [(1_000, "bag"), (3_500, "call"), (4_500, "name", "unknown")]
    assert "you said so before long" in safe(fault, *taken).says
    head = [(1_000, "bag"), (3_500, "reposition"), (6_000, "swap-mask"), (12_000, "name", fault)]
    assert "you lost no time over it" in safe(fault, *head).says


# --- what is done, and what it shows


def turned(fault: str, dial: str, by: int, setting: str = "baby") -> Any:
    """Return what is found of what was left alone, where a control is turned and left."""

    def does(hand: Any) -> None:
        hand.cover()
        hand.do("bag")
        hand.do(dial, hand.at[dial] + by)
        hand.say(fault)

    return part(done(fault, does, setting), "alone")


@pytest.mark.parametrize("fault", ["leak-some", "leak-large", "cap-beside-finger", "outlet-open"])
def test_flow_or_pip_turned_up_against_a_leak_is_critical(fault: str) -> None:
    """Only more flow shows the belief in it; turned down is turned, and no harm."""
    flow, pip = turned(fault, "flow", 4), turned(fault, "pip", 4)
    assert flow.critical
    assert flow.misconception == "flow-cures-all"
    assert pip.critical
    assert pip.misconception == ""
    assert not turned(fault, "flow", -4).critical


@pytest.mark.parametrize("fault", ["no-gas", "hose-off", "cap-under-finger", "gas-fading"])
def test_flow_turned_up_elsewhere_costs_its_point_and_is_not_critical(fault: str) -> None:
    """More flow hides it; the belief is the same."""
    found = turned(fault, "flow", 4)
    assert (found.earned, found.critical, found.misconception) == (0, False, "flow-cures-all")
    assert turned(fault, "flow", -4).misconception == ""


@pytest.mark.parametrize("fault", ["gauge-blocked", "needle-sticks", "needle-off-zero"])
@pytest.mark.parametrize("dial", ["pip", "peep"])
def test_pressure_turned_after_a_gauge_that_is_wrong_shows_the_belief_in_it(
    fault: str, dial: str
) -> None:
    """Each of the three; another fault does not show it."""
    setting = "before" if fault == "needle-off-zero" else "baby"
    found = turned(fault, dial, -4, setting)
    assert (found.met, found.misconception) == (False, "chest-proves-gauge")
    assert turned("hose-kinked", dial, -4).misconception == ""


def named(fault: str, says: str, *looks: str, setting: str = "baby", alarm: bool = False) -> Any:
    """Return what is found of a name given after some looks."""

    def does(hand: Any) -> None:
        hand.cover()
        hand.do("bag")
        for look in looks:
            hand.do(look)
        hand.say(says)

    return part(done(fault, does, setting, alarm=alarm), "name")


@pytest.mark.parametrize("fault", ["hose-off", "outlet-open", "gauge-blocked"])
def test_a_needle_at_zero_taken_for_an_empty_supply_is_that_belief(fault: str) -> None:
    """Unless float or supply was looked at: then it was another mistake."""
    assert named(fault, "no-gas").misconception == "zero-means-empty"
    for look in ("look-flow", "look-supply"):
        assert named(fault, "no-gas", look).misconception != "zero-means-empty"
    assert named("hose-blocked", "no-gas").misconception == ""


@pytest.mark.parametrize(
    ("fault", "setting", "says"),
    [("gauge-blocked", "baby", "hose-off"), ("needle-sticks", "baby", "hose-blocked"),
     ("needle-off-zero", "before", "flow-high")],
)  # fmt: skip
def test_a_gauge_that_is_wrong_and_believed_is_that_belief(
    fault: str, setting: str, says: str
) -> None:
    """Another fault of the gauge named instead is not."""
    assert named(fault, says, setting=setting).misconception == "needle-is-truth"
    other = "needle-sticks" if fault != "needle-sticks" else "gauge-blocked"
    assert named(fault, other, setting=setting).misconception == ""
    assert named("hose-kinked", "flow-high").misconception == ""


def test_what_alarms_taken_for_what_is_wrong_is_that_belief() -> None:
    """Where something alarmed, and blender and analyser were not read."""
    assert named("hose-kinked", "oxygen-out", alarm=True).misconception == "alarm-is-fault"
    assert named("hose-kinked", "oxygen-out").misconception == ""
    read = named("hose-kinked", "oxygen-out", "look-blender", alarm=True)
    assert read.misconception == ""


@pytest.mark.parametrize(
    ("fault", "belief"),
    [("hole-narrow", "high-rest-is-good-peep"), ("flow-high", "high-rest-is-good-peep"),
     ("hose-blocked", "")],
)  # fmt: skip
def test_a_rest_far_too_high_is_taken_for_peep_only_where_the_lung_stays_full(
    fault: str, belief: str
) -> None:
    """A hose that is shut keeps the needle up, and nothing at the baby."""
    moves = [*held(8), (17_000, "bag")]
    found = safe(fault, *moves)
    assert found.misconception == belief
    assert (found.rule == "trial.stuck") == bool(belief)


def test_a_stiff_lung_may_be_given_more_pressure_and_nothing_else_may() -> None:
    """PIP up one step is its mend; a control left turned costs its point."""
    assert "left the PIP control turned" not in turned("lung-stiff", "pip", 4).says
    assert "left the PIP control turned" in turned("hose-kinked", "pip", -4).says
    assert "left the relief turned" in turned("hose-kinked", "relief", -4).says
    assert "left the PEEP control turned" in turned("hose-kinked", "peep", 4).says
    assert "left the flow turned" in turned("hose-kinked", "flow", -4).says


def test_with_the_flow_at_fault_every_pressure_may_be_set_anew() -> None:
    """Set the flow, then check all pressures."""
    for fault in ("flow-low", "flow-high"):
        for dial in ("flow", "pip", "peep", "relief"):
            assert "turned" not in turned(fault, dial, -1).says


def test_to_change_one_part_is_no_change_of_everything() -> None:
    """With a baby there are two, mask and T; before a birth there is the T alone."""

    def swaps(hand: Any, *parts: str) -> None:
        hand.cover()
        hand.do("bag") if hand.on_baby else None
        for one in parts:
            hand.do(one)
        hand.say("cap-under-finger", "guess")

    def belief(setting: str, *parts: str) -> str:
        verdict = done("cap-under-finger", lambda hand: swaps(hand, *parts), setting)
        return str(part(verdict, "test").misconception)

    assert belief("baby", "swap-t") == ""
    assert belief("baby", "swap-mask", "swap-mask") == ""
    assert belief("baby", "swap-mask", "swap-t") == "swap-everything"
    assert belief("baby", "look-flow", "swap-mask", "swap-t") == ""
    assert belief("before", "swap-t") == "swap-everything"


def test_what_is_seen_after_a_mend_is_no_test() -> None:
    """Test first, then mend: also where the mend changed nothing."""

    def goes(hand: Any, *, first: bool) -> None:
        hand.cover()
        hand.do("bag")
        hand.do("follow-hose") if first else None
        hand.say("outlet-open")
        hand.do("mend")
        hand.do("follow-hose")
        hand.say("hose-off")

    for first in (True, False):
        verdict = done("hose-off", lambda hand, first=first: goes(hand, first=first))
        assert part(verdict, "test").met is first


def test_unread_after_a_mend_is_critical_with_the_baby_attached_alone() -> None:
    """Before a birth, or with the mask still off, it costs its point."""

    def unread(hand: Any, *, attached: bool) -> None:
        hand.cover()
        hand.do("bag")
        hand.do("follow-hose")
        hand.say("hose-off")
        hand.do("mend")
        if attached:
            hand.do("connect")

    for setting, attached in (("baby", True), ("baby", False), ("before", False)):
        verdict = done("hose-off", lambda hand, to=attached: unread(hand, attached=to), setting)
        found = part(verdict, "read")
        assert (found.earned, found.critical) == (0, attached)
        assert (found.rule, found.misconception) == ("trial.again", "new-baby-same-device")


def test_the_same_act_by_another_hand_is_judged_in_its_own_setting() -> None:
    """Before a birth no pressure meets a lung: nothing there is critical."""
    for fault in named_in("before"):
        drawn, asked = alone(fault, "before")
        verdict = marked(drawn, asked, {**EMPTY, "moves": [[1000, "flow", 40], [2000, "pip", 60]]})
        assert not verdict.unsafe, fault
