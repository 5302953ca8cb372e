"""Fault finding against the table it was designed by: typed here, asked of no module it judges.

Families, settings, mends, points, times and what is critical stand here as words and numbers, so
that a list that code and its plays share cannot lose a fault unseen.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from graders.units.faults import marks
from tests.test_fault_finding import BOOK, alone, marked
from tests.trial_base import facts, scene
from workbook.rules import RuleBook
from workbook.trial import NAMED, TrialError, read_trial, tells
from workbook.trial.apart import differ, look_alikes
from workbook.trial.moves import offered
from workbook.trial.named import named_in
from workbook.trial.tells import sign_of
from workbook.units.faults.case import questions as cases

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
    empty = {"format": "tpiece-trial", "version": 1, "duration": 60_000, "moves": []}
    verdict = marked(drawn, asked, empty)
    worth = {f.criterion.removeprefix("trial-1-"): f.possible for f in verdict.findings}
    assert worth == {"safe": 3, "test": 2, "name": 2, "mend": 1, "read": 1, "alone": 1}


def test_the_page_says_what_not_to_know_is_worth() -> None:
    """Six of ten, as it is marked; with the bag."""
    for asked in cases.questions("trials", "one", BOOK):
        assert "that is safe and earns 6 of 10 points" in asked.help


def test_a_trial_is_drawn_with_the_settings_of_its_facts() -> None:
    """The controls of the page stand where the facts say they were set, but for the fault's."""
    made = facts("hose-kinked")
    assert made["bench"]["positions"] == made["right"]
    for fault, dial in (("flow-low", "flow"), ("flow-high", "flow"), ("pip-open", "pip"),
                        ("relief-low", "relief")):  # fmt: skip
        made = facts(fault)
        apart = {d for d, at in made["bench"]["positions"].items() if at != made["right"][d]}
        assert apart == {dial}


def test_the_heart_of_a_trial_follows_its_own_rules() -> None:
    """Where it begins and how far it falls, when and how fast: each a rule of its own."""
    site = asking(BOOK, **{"heart.waits": 9.0, "heart.falls": 3.0, "heart.rises": 7.0})
    assert cases.shows(facts("no-gas"), "", "", site)["heart"] == {
        "begins": 120, "least": 50, "share": pytest.approx(0.4), "waits": 9, "falls": 3, "rises": 7,
    }  # fmt: skip


def test_a_stiff_lung_stays_stiff_and_gets_one_step_of_pressure() -> None:
    """Five more, where the relief leaves room: half of a right lung takes up 12.5 of 20 mL."""
    of = scene("lung-stiff", relief=40.0)
    assert of.brings(of.start) == pytest.approx(0.5, abs=0.02)
    mended = of.after(of.start, "mend", "lung-stiff")
    assert of.needle(mended, held=True) == pytest.approx(30, abs=0.2)
    assert of.brings(mended) == pytest.approx(12.5 / 20, abs=0.02)


def test_set_right_an_inflation_brings_the_middle_of_what_is_wanted() -> None:
    """Six millilitres for each of three kilograms, of four to eight."""
    right = scene("hose-off").with_fault("")
    assert right.swing(right.start) == pytest.approx(18, abs=0.5)


def test_a_flow_that_is_right_again_is_mended_wherever_the_relief_was_put_above() -> None:
    """A relief that was left too low is mended by the relief alone, to a centimetre of water."""
    of = scene("flow-high")
    back = of.after(of.start, "mend", "flow-high")
    higher = back.turned("relief", back.at["relief"] + 8)
    assert not of.present(higher)
    low = scene("relief-low")
    for clicks, there in ((0, False), (4, False), (8, True)):  # four clicks are one cmH2O
        at = low.right["relief"] + clicks
        assert low.present(low.start.turned("relief", at)) is there


@pytest.mark.parametrize(
    ("fault", "look", "wrong", "right"),
    [
        ("no-gas", "look-supply", "supply-gone", "supply-good"),
        ("no-gas", "look-flow", "float-down", "float@8"),
        ("gas-fading", "look-supply", "supply-low", "supply-good"),
        ("gas-fading", "look-flow", "float-low@3", "float@8"),
        ("flow-high", "look-flow", "float@15", "float@8"),
        ("oxygen-out", "look-blender", "air-only", "oxygen-right"),
        ("hose-off", "follow-hose", "hose-off", "hose-right"),
        ("hose-kinked", "follow-hose", "hose-kinked", "hose-right"),
        ("hose-blocked", "follow-hose", "hose-shut", "hose-right"),
        ("leak-large", "bag", "bag-fails", "bag-works"),
        ("airway-blocked", "bag", "bag-fails", "bag-works"),
        ("hose-off", "listen-box", "box-loud", "box-silent"),
        ("hole-narrow", "listen-t", "t-soft", "t-loud"),
        ("needle-sticks", "listen-t", "t-loud", "t-loud"),
        ("gauge-blocked", "listen-t", "t-loud", "t-loud"),
    ],
)
def test_a_look_shows_the_fault_and_after_its_mend_no_more(
    fault: str, look: str, wrong: str, right: str
) -> None:
    """Before, as the table has it; afterwards as on a device that is right."""
    of = scene(fault)
    assert sign_of(of, of.start, look, held=False) == wrong
    mended = of.after(of.start, "mend", fault)
    assert sign_of(of, mended, look, held=False) == right


def test_a_large_leak_is_loud_at_the_rim_while_the_hole_is_covered_and_a_small_one_hisses() -> None:
    """Almost all the gas leaves there; of the small one a quarter; after the mend none."""
    for fault, sign in (("leak-large", "rim-loud"), ("leak-some", "rim-soft")):
        of = scene(fault)
        assert sign_of(of, of.start, "listen-mask", held=True) == sign
        mended = of.after(of.start, "mend", fault)
        assert sign_of(of, mended, "listen-mask", held=True) == "rim-silent"
    # Of eight litres two go by the rim of a small leak; more than half hisses at the box.
    of = scene("leak-some")
    assert sign_of(of, of.start, "listen-box", held=True) == "box-loud"


def test_a_float_is_told_beside_what_its_control_is_set_for() -> None:
    """What comes, and what should."""
    of = scene("gas-fading", flow=10.0)
    says = tells(of, of.start, "look-flow", held=False)
    assert says == "The float stands at 3.8 L/min, though the control is set for 10 L/min."


def test_two_needles_two_apart_are_told_apart_and_less_are_not() -> None:
    """At the very border; a chest by three tenths of a right one."""
    assert differ(7.0, 5.0, "needle", 2.0)
    assert not differ(6.99, 5.0, "needle", 2.0)
    assert differ(0.75, 0.25, "chest", 2.0)
    assert not differ(1.0, 0.75, "chest", 2.0)


@pytest.mark.parametrize(("move", "lasts"), [("bag", 2000), ("look-flow", 1500), ("swap-t", 5000)])
def test_a_hand_does_one_thing_at_a_time(move: str, lasts: int) -> None:
    """A fifth of a second too early is another trial than this one."""
    for early in (0, 200):
        moves = [[1000, move], [1000 + lasts - early, "call"]]
        told = {"format": "tpiece-trial", "version": 1, "duration": 60_000, "moves": moves}
        if early:
            with pytest.raises(TrialError, match="before the one before it has ended"):
                read_trial(told, "baby", cases.seconds(BOOK), 90.0)
        else:
            assert len(read_trial(told, "baby", cases.seconds(BOOK), 90.0).acts) == 2
