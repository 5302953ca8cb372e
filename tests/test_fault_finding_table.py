"""Fault finding against the table it was designed by: typed here, asked of no module it judges.

Families, settings, mends, points, times and what is critical stand here as words and numbers, so
that a list that code and its plays share cannot lose a fault unseen.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from graders import fault_finding as marks
from tests.test_fault_finding import BOOK, alone, done, marked, part
from tests.trial_base import facts, scene
from workbook.cases import fault_finding as cases
from workbook.rules import RuleBook
from workbook.trial import NAMED
from workbook.trial.apart import look_alikes
from workbook.trial.moves import offered
from workbook.trial.named import named_in

# Each family: its faults, and those of them that need a baby (B) or none (before a birth, -).
FAMILIES = {
    "not-rise": {"no-gas", "hose-off", "outlet-open", "gauge-blocked"},
    "sticks": {"needle-sticks", "hose-blocked", "hole-narrow"},
    "falls": {"cap-under-finger", "flow-low", "gas-fading"},
    "high": {"flow-high", "pip-open", "limits-fail", "hose-kinked"},
    "airway": {"leak-some", "leak-large", "cap-beside-finger", "airway-blocked", "lung-stiff"},
    "right": {"oxygen-out", "needle-off-zero", "relief-low"},
}
WITH_BABY_ONLY = FAMILIES["airway"] | {"outlet-open"}
BEFORE_ONLY = {"needle-off-zero"}
# fault: what its mend says
MENDS = {
    "no-gas": "supply", "hose-off": "hose back on", "outlet-open": "mask tightly",
    "gauge-blocked": "another device", "needle-sticks": "another device",
    "hose-blocked": "Free the hose", "hole-narrow": "Clear the T",
    "cap-under-finger": "Change the T", "flow-low": "Set the flow", "gas-fading": "supply",
    "flow-high": "Set the flow", "pip-open": "PIP control back",
    "limits-fail": "another device", "hose-kinked": "Free the hose", "leak-some": "two hands",
    "leak-large": "two hands", "cap-beside-finger": "Change the T", "airway-blocked": "head",
    "lung-stiff": "Raise PIP", "oxygen-out": "oxygen source", "needle-off-zero": "another device",
    "relief-low": "relief above PIP",
}  # fmt: skip
# kind of time: the moves that take it, and how long (s)
TIMES = {
    "look": (1.5, {"look-flow", "look-supply", "look-blender"}),
    "listen": (1.5, {"listen-box", "listen-t", "listen-mask"}),
    "hose": (4.0, {"follow-hose"}),
    "hand": (0.5, {"open", "connect", "cap", "ease-hold"}),
    "swap": (5.0, {"swap-mask", "swap-t"}),
    "head": (2.0, {"reposition"}),
    "bag": (2.0, {"bag"}),
    "call": (0.5, {"call"}),
    "mend": (4.0, {"mend"}),
    "read": (3.0, {"read"}),
}
BABY_MOVES = {"connect", "listen-mask", "swap-mask", "reposition", "ease-hold"}


@pytest.mark.parametrize("family", FAMILIES)
def test_each_family_holds_the_faults_that_look_alike(family: str) -> None:
    """With a baby and before a birth; nothing is in two."""
    assert set(named_in("baby", family)) == FAMILIES[family] - BEFORE_ONLY
    assert set(named_in("before", family)) == FAMILIES[family] - WITH_BABY_ONLY
    for fault in FAMILIES[family]:
        at = "before" if fault in BEFORE_ONLY else "baby"
        assert set(look_alikes(scene(fault, at))) == set(named_in(at, family)) - {fault}


def test_each_fault_is_mended_by_what_was_designed() -> None:
    """In the words of its button."""
    assert set(MENDS) == set(NAMED)
    for fault, says in MENDS.items():
        assert says in NAMED[fault].mend


def test_each_move_takes_the_time_of_its_kind_and_no_other() -> None:
    """A site may give each kind a time of its own: then its moves follow, and none else."""
    assert set().union(*(moves for _, moves in TIMES.values())) | {
        "occlude", "release", "flow", "pip", "relief", "peep", "name", "sure",
    } == {row["id"] for row in offered("baby", BOOK)}  # fmt: skip
    took = cases.seconds(BOOK)
    for n, (kind, (seconds, moves)) in enumerate(TIMES.items()):
        site = cases.seconds(asking(BOOK, **{f"time.{kind}": 50.0 + n}))
        for move, time in took.items():
            assert site[move] == (50.0 + n if move in moves else time), (kind, move)
            assert time == (seconds if move in moves else time), move


def test_each_setting_offers_the_moves_that_can_be_done_there() -> None:
    """What needs a baby is not offered before a birth; all else is offered in both."""
    with_baby = {row["id"] for row in offered("baby", BOOK)}
    assert {row["id"] for row in offered("before", BOOK)} == with_baby - BABY_MOVES
    assert with_baby > BABY_MOVES


def asking(book: RuleBook, **numbers: float) -> RuleBook:
    """Return a book in which rules of trials (without ``trial.``) have other numbers."""
    wanted = {f"trial.{name}": number for name, number in numbers.items()}
    rules = tuple(
        replace(
            rule,
            low=None if rule.low is None else wanted[rule.id],
            high=None if rule.high is None else wanted[rule.id],
            typical=None if rule.typical is None else wanted[rule.id],
        )
        if rule.id in wanted
        else rule
        for rule in book.rules
    )
    assert wanted.keys() <= {rule.id for rule in rules}
    return replace(book, rules=rules)


def test_each_limit_is_read_from_its_own_rule() -> None:
    """Though two of them are as long today, a site may replace one."""
    site = asking(
        BOOK, **{"act": 11.0, "unventilated": 17.0, "high": 6.0, "stuck": 13.0, "share": 30.0,
                 "look-held": 0.7, "apart": 1.5, "limit": 77.0},
    )  # fmt: skip
    limits = marks.limits_of({"relief": 30.0, "pip": 25.0, "peep": 5.0}, site)
    assert (limits.act, limits.unventilated, limits.high, limits.stuck) == (11, 17, 6, 13)
    assert (limits.share, limits.read) == (pytest.approx(0.3), 0.7)
    assert (limits.ceiling, limits.rest) == (31, 8)  # the relief and 1; PEEP and 3
    made = cases.facts_of(
        "no-gas", "baby", {"flow": 8.0, "pip": 25.0, "peep": 5.0, "relief": 30.0},
        cases.Baby(40, 3.0), site,
    )  # fmt: skip
    assert made["apart"] == 1.5
    assert cases.shows(made, "", "", site)["limit"] == 77


def test_the_parts_are_worth_what_was_agreed() -> None:
    """Three for the baby first, two for the test, two for the name, one each for the rest."""
    drawn, asked = alone("hose-off")
    verdict = marked(drawn, asked, {**EMPTY, "moves": []})
    worth = {f.criterion.removeprefix("trial-1-"): f.possible for f in verdict.findings}
    assert worth == {"safe": 3, "test": 2, "name": 2, "mend": 1, "read": 1, "alone": 1}


def test_the_page_says_what_not_to_know_is_worth() -> None:
    """Six of ten, as it is marked; with the bag."""
    for asked in cases.questions("trials", "one", BOOK):
        assert "that is safe and earns 6 of 10 points" in asked.help


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
    for fault in sorted(set(NAMED) - WITH_BABY_ONLY):
        drawn, asked = alone(fault, "before")
        verdict = marked(drawn, asked, {**EMPTY, "moves": [[1000, "flow", 40], [2000, "pip", 60]]})
        assert not verdict.unsafe, fault


def test_a_trial_is_drawn_with_the_settings_of_its_facts() -> None:
    """The controls of the page stand where the facts say they were set, but for the fault's."""
    made = facts("hose-kinked")
    assert made["bench"]["positions"] == made["right"]
    for fault, dial in (("flow-low", "flow"), ("flow-high", "flow"), ("pip-open", "pip"),
                        ("relief-low", "relief")):  # fmt: skip
        made = facts(fault)
        apart = {d for d, at in made["bench"]["positions"].items() if at != made["right"][d]}
        assert apart == {dial}
