"""Marks of fault finding: what an expert, a blank, an honest “I do not know” and a guess earn.

``TPIECE_TRIALS=500`` marks so many drawn trials of each edition, instead of some forty.
"""

from __future__ import annotations

import os
import re
import time
from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache
from statistics import fmean
from typing import Any

import pytest

from graders.marks.verdict import Verdict
from graders.units.faults import marks, plays
from graders.units.faults.expert import TESTS, THINKS, Hand, expert, unknown
from tests.trial_base import EDITIONS, facts
from workbook.cases import Case, Kind, Question
from workbook.cases.pace import rate_band
from workbook.rules import rulebook
from workbook.trial import FAMILIES, NAMED, UNKNOWN, Scene
from workbook.trial.named import named_in
from workbook.units.faults.case.questions import EXERCISE, TRIALS, questions

pytestmark = pytest.mark.slow

MANY = int(os.environ.get("TPIECE_TRIALS", "40"))
BOOK = rulebook("aha-2025")


@cache
def case_of(edition: str, n: int) -> Case:
    drawn = questions("trials", f"learner{n}", rulebook(edition))
    return Case("trials", EXERCISE, f"learner{n}", edition, drawn)


def trials(count: int = MANY) -> Iterator[tuple[Case, Question]]:
    """Return drawn trials of every edition, so many of each."""
    for edition in EDITIONS:
        for n in range(-(-count // len(TRIALS))):
            drawn = case_of(edition, n)
            yield from ((drawn, asked) for asked in drawn.questions)


def marked(drawn: Case, asked: Question, value: Any) -> Verdict:
    return marks.check(drawn, asked.id, value, rulebook(drawn.edition))


def alone(fault: str, setting: str = "baby", *, alarm: bool = False) -> tuple[Case, Question]:
    """Return a case of one trial, at the settings of the table."""
    asked = Question("trial-1", Kind.TRIAL, "", facts={**facts(fault, setting), "alarm": alarm})
    return Case("trials", EXERCISE, "one", "aha-2025", (asked,)), asked


def done(fault: str, does: Callable[[Hand], None], setting: str = "baby", **more: Any) -> Verdict:
    """Return the verdict on what a hand does in a trial of a fault."""
    drawn, asked = alone(fault, setting, **more)
    hand = Hand(asked, BOOK)
    does(hand)
    return marked(drawn, asked, hand.trial.to_data())


def part(verdict: Verdict, name: str) -> Any:
    return next(f for f in verdict.findings if f.criterion.endswith(f"-{name}"))


# --- what is drawn


def test_each_case_has_one_trial_of_every_family_and_both_settings() -> None:
    """In every edition; and what alarms is not what is wrong, but for the blender."""
    keys = set()
    for drawn, asked in trials():
        if asked.id != TRIALS[0]:
            continue
        of = [q.facts for q in drawn.questions]
        assert {NAMED[f["fault"]].family for f in of} == set(FAMILIES)
        assert sorted(f["setting"] for f in of) == ["baby"] * 4 + ["before"] * 2
        assert all(f["setting"] in NAMED[f["fault"]].settings for f in of)
        assert sum(f["alarm"] and f["fault"] != "oxygen-out" for f in of) == 2
        keys.add(tuple(f["fault"] for f in of))
    assert len(keys) >= MANY / len(TRIALS)


def test_every_fault_is_met_in_every_setting_it_has() -> None:
    """Over a hundred learners."""
    met = Counter()
    for n in range(100):
        for asked in case_of("aha-2025", n).questions:
            met[asked.facts["fault"], asked.facts["setting"]] += 1
    wanted = {(id, at) for id, one in NAMED.items() for at in one.settings}
    # Before birth only those families are drawn that have more than one fault there.
    assert set(met) == wanted


def test_a_trial_names_its_edition_and_never_its_fault() -> None:
    """Neither in the words nor in what the page is shown."""
    for drawn, asked in trials(12):
        assert rulebook(drawn.edition).edition.named in asked.context
        assert asked.shows["moves"]
        shown = repr({k: v for k, v in asked.shows.items() if k not in ("faults", "bench")})
        assert asked.facts["fault"] not in shown + asked.context + asked.help


# --- what is earned


def test_an_expert_earns_every_point_of_every_drawn_trial() -> None:
    """In every edition, with every fault."""
    tried = 0
    for drawn, asked in trials():
        verdict = marked(drawn, asked, expert(asked, rulebook(drawn.edition)).to_data())
        assert verdict.earned == verdict.possible == 10, (asked.facts, str(verdict))
        assert not verdict.misconceptions
        tried += 1
    assert tried >= 500


def test_a_blank_earns_nothing_and_harms_nobody() -> None:
    """Not answered is not critical."""
    drawn, asked = alone("no-gas")
    verdict = marked(drawn, asked, None)
    assert (verdict.earned, verdict.possible, verdict.unsafe) == (0, 10, ())


def test_bag_and_say_so_earns_its_share_and_is_safe() -> None:
    """Six of ten, whatever the fault."""
    for drawn, asked in trials():
        verdict = marked(drawn, asked, unknown(asked, rulebook(drawn.edition)).to_data())
        assert verdict.earned == 6, (asked.facts, str(verdict))
        assert not verdict.unsafe
        assert not verdict.misconceptions


@pytest.mark.parametrize("fault", named_in("before"))
def test_before_a_birth_no_finding_speaks_of_a_mask_or_a_chest(fault: str) -> None:
    """There is neither."""
    drawn, asked = alone(fault, "before")
    for play in (expert, unknown):
        said = str(marked(drawn, asked, play(asked, BOOK).to_data())).lower()
        assert not re.search(r"\b(mask|chest|face|rim|ventilat\w+)\b", said), said


@pytest.mark.parametrize("bag", [False, True])
def test_guessing_one_fault_without_a_test_earns_little(bag: bool) -> None:
    """Whichever is named each time; less than a third with the bag, nearly nothing without."""
    got: dict[str, list[float]] = {}
    for drawn, asked in trials(30):
        for fault in NAMED:
            if asked.facts["setting"] not in NAMED[fault].settings:
                continue
            hand = Hand(asked, rulebook(drawn.edition))
            if bag:
                hand.do("bag")
            hand.say(fault)
            hand.finish()
            got.setdefault(fault, []).append(marked(drawn, asked, hand.trial.to_data()).earned)
    shares = {fault: sum(each) / 10 / len(each) for fault, each in got.items()}
    assert max(shares.values()) < (0.5 if bag else 0.3), shares


@pytest.mark.parametrize(
    "value",
    [
        {"format": "tpiece-trial", "version": 1, "duration": 9000, "moves": [[1, "fly"]]},
        {"format": "tpiece-trial", "version": 1, "duration": 900, "moves": [[1500, "bag"]]},
        {"format": "tpiece-trial", "version": 1, "duration": 9000,
         "moves": [[1, "swap-t"], [9, "bag"]]},
        {"format": "tpiece-trial", "version": 1, "duration": 9000, "moves": [[1, "swap-mask"]]},
        [], 7, "x", {"text": "25", "unit": "cmH2O"},
    ],
)  # fmt: skip
def test_what_cannot_have_happened_earns_nothing_and_is_one_sentence(value: Any) -> None:
    """Not offered, after the end, two at once, or no trial at all."""
    drawn, asked = alone("no-gas", "before")
    verdict = marked(drawn, asked, value)
    assert verdict.earned == 0
    (finding,) = verdict.findings
    assert finding.says.startswith("This answer could not be read: ")


# --- part by part


def test_who_searches_while_nobody_ventilates_is_critical() -> None:
    """Fifteen seconds are the limit; the bag in time makes the same search safe."""

    def search(hand: Hand, *, first: bool) -> None:
        hand.cover()
        if first:
            hand.do("bag")
        for _ in range(8):
            hand.do("look-flow")
        hand.say("no-gas")
        hand.do("bag")

    late = done("no-gas", lambda hand: search(hand, first=False))
    assert part(late, "safe").critical
    assert part(late, "safe").misconception == "search-before-bag"
    assert part(late, "safe").earned == 0
    assert part(done("no-gas", lambda hand: search(hand, first=True)), "safe").met


def test_a_late_bag_keeps_half_and_is_not_critical() -> None:
    """Between ten and fifteen seconds."""

    def late(hand: Hand) -> None:
        hand.cover()
        hand.time += 9
        hand.do("bag")

    found = part(done("hose-off", late), "safe")
    assert (found.earned, found.critical) == (1.5, False)


def test_who_gives_nothing_at_all_is_critical_at_once() -> None:
    """However quickly the trial ends."""
    found = part(done("oxygen-out", lambda hand: hand.say("oxygen-out")), "safe")
    assert found.critical
    assert "no inflation" in found.says


def test_inflations_that_move_the_chest_are_ventilation_and_others_are_not() -> None:
    """A fault that lets gas through may be searched at the T-piece; one that does not, may not."""

    def at_the_t(hand: Hand) -> None:
        for _ in range(12):
            hand.cover()
            hand.time += 0.8
        hand.do("look-blender")

    def in_the_air(hand: Hand) -> None:
        hand.do("open")
        at_the_t(hand)

    assert part(done("oxygen-out", at_the_t), "safe").met
    assert part(done("oxygen-out", in_the_air), "safe").critical
    assert part(done("outlet-open", at_the_t), "safe").critical


def test_pressure_without_a_limit_for_too_long_is_critical() -> None:
    """More than five seconds above the ceiling, in all."""

    def holds(hand: Hand) -> None:
        for _ in range(4):
            hand.cover(1.5)
        hand.do("bag")

    found = part(done("limits-fail", holds), "safe")
    assert found.critical
    assert "31 cmH2O" in found.says
    assert part(done("pip-open", holds), "safe").met


def ventilated(hand: Hand, harm: Callable[[Hand], None], place: str) -> None:
    """Do a trial of missing oxygen rightly, but for a harm at the start, midway or at the end."""
    beat = 60 / fmean(rate_band(hand.book)) - 0.4 - THINKS
    for n in range(9):
        if (place, n) in (("start", 0), ("middle", 5)):
            harm(hand)
        hand.cover(0.4)
        hand.time += beat
    hand.do("look-blender")
    hand.say("oxygen-out")
    hand.do("mend")
    hand.do("read")
    for _ in range(3):
        hand.cover(0.4)
        hand.time += beat
    if place == "end":
        harm(hand)


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("place", ["start", "middle", "end"])
@pytest.mark.parametrize(
    ("harm", "cause"),
    [
        (lambda hand: hand.cover(6.0), "a lung held open"),
        (lambda hand: [hand.cover(0.2) or setattr(hand, "time", hand.time - 0.3)
                       for _ in range(40)], "may not empty"),
    ],
)  # fmt: skip
def test_harm_in_the_inflations_of_a_trial_is_critical(
    harm: Callable[[Hand], None], cause: str, place: str, edition: str
) -> None:
    """Held far too long, or far too fast, from the first second to the last, in every edition."""
    book = rulebook(edition)
    asked = Question("trial-1", Kind.TRIAL, "",
                     facts={**facts("oxygen-out", edition=edition), "alarm": False})  # fmt: skip
    drawn = Case("trials", EXERCISE, "one", edition, (asked,))

    def of(does: Callable[[Hand], None]) -> Any:
        hand = Hand(asked, book)
        ventilated(hand, does, place)
        return part(marks.check(drawn, asked.id, hand.trial.to_data(), book), "safe")

    assert of(lambda hand: None).met
    found = of(harm)
    assert found.earned == 0
    assert found.critical
    assert cause in found.says


@pytest.mark.parametrize("place", ["start", "middle", "end"])
@pytest.mark.parametrize("kind", ["long", "fast"])
def test_harm_is_found_in_every_drawn_trial_whose_gas_reaches_the_lung(
    kind: str, place: str
) -> None:
    """In 200 drawn trials, beside whatever else is wrong in them."""
    judged = 0
    for drawn, asked in trials(42):
        scene = Scene.of(asked.facts)
        if asked.facts["setting"] != "baby" or not scene.brings(scene.start):
            continue
        hand = Hand(asked, rulebook(drawn.edition))
        if place != "start":
            hand.do("bag")
            hand.do("connect")
        if kind == "long":
            hand.cover(6.0)
        else:
            for _ in range(40):
                hand.cover(0.2)
                hand.time -= 0.3
        if place != "end":
            hand.do("bag")
        hand.say("unknown")
        found = part(marked(drawn, asked, hand.trial.to_data()), "safe")
        assert found.critical, (drawn.edition, asked.facts["fault"])
        assert found.earned == 0
        judged += 1
    assert judged >= 200


def test_one_inflation_a_little_too_long_and_let_go_keeps_half() -> None:
    """The hand ended it itself; what the page covers to read both pressures is no inflation."""

    def holds(hand: Hand) -> None:
        ventilated(hand, lambda hand: hand.cover(2.0), "middle")

    found = part(done("oxygen-out", holds), "safe")
    assert (found.earned, found.critical) == (1.5, False)


def test_a_needle_left_high_with_the_mask_on_is_critical() -> None:
    """And shows the belief where inflations go on."""
    drawn, asked = alone("hole-narrow")
    verdict = marked(drawn, asked, plays.played(asked, "high-rest-is-good-peep", BOOK))
    found = part(verdict, "safe")
    assert found.critical
    assert found.misconception == "high-rest-is-good-peep"


def test_a_test_that_leaves_another_fault_open_is_not_the_one() -> None:
    """The look-alike is named."""

    def looks(hand: Hand) -> None:
        hand.cover()
        hand.do("bag")
        hand.do("look-supply")
        hand.say("hose-off")
        hand.finish()

    found = part(done("hose-off", looks), "test")
    assert not found.met
    assert NAMED["outlet-open"].text in found.says or NAMED["gauge-blocked"].text in found.says


def test_a_look_after_the_name_is_no_test() -> None:
    """Who names first has not tested."""

    def looks(hand: Hand) -> None:
        hand.cover()
        hand.do("bag")
        hand.say("oxygen-out")
        hand.do("look-blender")

    assert not part(done("oxygen-out", looks), "test").met


def test_what_a_new_part_shows_is_no_test() -> None:
    """A needle that is right with another T tells that it helped, after it was changed."""

    def swaps(hand: Hand) -> None:
        hand.cover()
        hand.do("bag")
        hand.do("swap-t")
        hand.do("connect")
        hand.cover()
        hand.say("cap-under-finger")
        hand.do("read")

    verdict = done("cap-under-finger", swaps)
    assert not part(verdict, "test").met
    assert part(verdict, "mend").met


def test_what_the_bag_shows_by_the_way_is_a_test_to_who_understood_it() -> None:
    """The mask comes off with the bag: the needle that stays up tells of a kink."""

    def names(fault: str) -> Callable[[Hand], None]:
        def does(hand: Hand) -> None:
            hand.cover()
            hand.do("bag")
            hand.time += 1
            hand.say(fault)

        return does

    assert part(done("hose-kinked", names("hose-kinked")), "test").met
    assert not part(done("hose-kinked", names("pip-open")), "test").met


def test_a_flow_turned_up_against_a_leak_is_critical() -> None:
    """However soon it is turned back."""

    def turns(hand: Hand) -> None:
        hand.cover()
        hand.do("bag")
        hand.do("flow", hand.at["flow"] + 4)
        hand.do("flow", hand.at["flow"])

    found = part(done("leak-large", turns), "alone")
    assert found.critical
    assert found.misconception == "flow-cures-all"


def test_a_control_turned_for_a_test_and_turned_back_is_no_fault() -> None:
    """A test changes nothing that stays."""
    drawn, asked = alone("needle-off-zero", "before")
    assert TESTS["needle-off-zero"] == ("gas-off",)
    verdict = marked(drawn, asked, expert(asked, BOOK).to_data())
    assert part(verdict, "alone").met


def test_mending_in_turn_until_it_helps_earns_neither_name_nor_test() -> None:
    """A search by mending is no search."""

    def mends(hand: Hand) -> None:
        hand.cover()
        hand.do("bag")
        for fault in ("no-gas", "outlet-open", "hose-off"):
            hand.say(fault)
            hand.do("mend")
        hand.do("cap")
        hand.do("read")
        hand.do("connect")

    verdict = done("hose-off", mends)
    assert part(verdict, "name").earned == 0
    assert part(verdict, "alone").earned == 0
    assert part(verdict, "mend").met
    assert verdict.earned == 5


def test_another_device_mends_much_and_a_mend_by_luck_earns_nothing() -> None:
    """Who calls every fault a broken gauge changes every device."""
    verdict = done("flow-high", lambda hand: (hand.say("gauge-blocked"), hand.finish()))
    assert not part(verdict, "mend").met
    assert "It works again" in part(verdict, "mend").says


def test_going_on_with_the_baby_unread_is_critical_and_by_hand_read_is_read() -> None:
    """The button is one way to read; a hand that covers and lets go is another."""

    def goes_on(hand: Hand, *, reads: str = "") -> None:
        hand.cover()
        hand.do("bag")
        hand.do("follow-hose")
        hand.say("hose-off")
        hand.do("mend")
        for move in ("cap", "connect"):
            hand.do(move)
            if move == reads:
                hand.cover()
                hand.time += 1

    unread = part(done("hose-off", goes_on), "read")
    assert unread.critical
    assert unread.misconception == "new-baby-same-device"
    assert part(done("hose-off", lambda hand: goes_on(hand, reads="cap")), "read").met
    on_baby = part(done("hose-off", lambda hand: goes_on(hand, reads="connect")), "read")
    assert on_baby.earned == on_baby.possible / 2
    assert not on_baby.critical
    assert "then put the mask on" in on_baby.says


def test_a_needle_read_in_the_open_is_no_reading() -> None:
    """With the bag taken the T lies open; and that is told as it was."""

    def reads(hand: Hand) -> None:
        hand.cover()
        hand.do("bag")
        hand.do("follow-hose")
        hand.say("hose-off")
        hand.do("mend")
        hand.do("read")

    found = part(done("hose-off", reads), "read")
    assert not found.met
    assert "open to the air" in found.says
    assert not found.misconception
    assert not found.critical


def test_sure_and_wrong_is_told_and_not_marked() -> None:
    """A finding without points; a guess that is wrong is not told so."""

    def says(sure: str) -> Callable[[Hand], None]:
        def does(hand: Hand) -> None:
            hand.do("bag")
            hand.say("no-gas", sure)

        return does

    sure, guess = done("hose-off", says("sure")), done("hose-off", says("guess"))
    assert part(sure, "sure").possible == 0
    assert sure.earned == guess.earned
    assert not [f for f in guess.findings if f.criterion.endswith("-sure")]


PAST = ("leak-large", "airway-blocked")  # between the bag and the lung


def test_where_the_bag_moves_no_chest_either_that_is_said() -> None:
    """Mask and airway lie past the device: nobody is told that the bag was enough."""
    for fault in PAST:
        drawn, asked = alone(fault)
        for trial in (expert(asked, BOOK), unknown(asked, BOOK)):
            verdict = marked(drawn, asked, trial.to_data())
            assert "did not move this chest either" in part(verdict, "safe").says
        assert "This bag moved no chest" in part(verdict, "name").says
    drawn, asked = alone("leak-some")
    assert "did not move" not in str(marked(drawn, asked, unknown(asked, BOOK).to_data()))


def bagged(
    fault: str, waits: float, does: Callable[[Hand], None] = lambda hand: None, **more: Any
) -> Any:
    """Return what is found where the bag is taken at once, and then nothing for a time (s)."""

    def goes(hand: Hand) -> None:
        hand.cover()
        hand.do("bag")
        does(hand)
        hand.time += waits
        hand.do("name", more.get("says", fault))

    return part(done(fault, goes), "safe")


@pytest.mark.parametrize("fault", PAST)
def test_a_bag_that_moves_no_chest_is_no_ventilation(fault: str) -> None:
    """Taken, read, and nothing else: the baby waits; half is kept for the bag that was taken."""
    found = bagged(fault, 40)
    assert (found.critical, found.earned) == (True, 1.5)
    assert "it moved no chest either" in found.says
    late = bagged(fault, 11)
    assert (late.critical, late.earned) == (False, 1.5)
    assert bagged(fault, 5).met
    assert bagged("no-gas", 40).met


@pytest.mark.parametrize(
    ("fault", "move"),
    [("leak-large", "swap-mask"), ("airway-blocked", "reposition"),
     ("airway-blocked", "ease-hold")],
)  # fmt: skip
def test_who_mends_what_lies_between_bag_and_lung_ventilates_with_the_bag(
    fault: str, move: str
) -> None:
    """From then on there is time: the bag moves the chest, however long it lasts."""
    assert bagged(fault, 60, lambda hand: hand.do(move)).met
    assert not bagged(fault, 60, lambda hand: hand.do("swap-t")).met


@pytest.mark.parametrize("fault", PAST)
def test_to_take_the_bag_again_and_again_does_not_begin_the_time_anew(fault: str) -> None:
    """The bag is the right beginning once."""

    def again(hand: Hand) -> None:
        for _ in range(6):
            hand.time += 4
            hand.do("bag")

    assert bagged(fault, 0, again).critical


@pytest.mark.parametrize("fault", PAST)
def test_a_bag_that_came_too_late_is_not_made_good_by_what_follows(fault: str) -> None:
    """Who searched first has searched, and earns nothing for the bag."""

    def late(hand: Hand) -> None:
        hand.cover()
        for _ in range(9):
            hand.do("look-flow")
        hand.do("bag")
        hand.time += 40
        hand.do("name", fault)

    found = part(done(fault, late), "safe")
    assert (found.critical, found.earned) == (True, 0.0)
    assert found.misconception == "search-before-bag"


@pytest.mark.parametrize("fault", PAST)
def test_help_called_and_not_knowing_said_ends_the_time_a_baby_waits(fault: str) -> None:
    """Two look after it then; either alone does not, nor does a mask that is put on again."""

    def says(hand: Hand, *moves: str) -> None:
        hand.cover()
        hand.do("bag")
        for move in moves:
            hand.do(move, UNKNOWN if move == "name" else None)
        hand.time += 40
        hand.do("look-flow")

    def safe(*moves: str) -> Any:
        return part(done(fault, lambda hand: says(hand, *moves)), "safe")

    assert safe("call", "name").met
    assert safe("name", "call").met
    assert safe("call").critical
    assert safe("name").critical
    assert safe("call", "name", "connect").critical


def test_a_device_said_to_be_out_of_use_and_put_on_the_baby_again_is_unsafe() -> None:
    """The words alone make nothing safe; with the bag on, they do."""

    def says(hand: Hand, *, goes_on: bool) -> None:
        hand.cover()
        hand.do("bag")
        hand.do("follow-hose")
        hand.say("unknown")
        if goes_on:
            hand.do("connect")
            hand.cover()

    used = part(done("hose-off", lambda hand: says(hand, goes_on=True)), "mend")
    assert used.critical
    assert not used.met
    assert "on it at the end" in used.says
    kept = part(done("hose-off", lambda hand: says(hand, goes_on=False)), "mend")
    assert not kept.critical
    assert "out of use" in kept.says


def test_unknown_without_the_bag_is_no_answer() -> None:
    """Honest, and not safe."""
    verdict = done("no-gas", lambda hand: hand.do("name", UNKNOWN))
    assert part(verdict, "name").earned == 0
    assert part(verdict, "safe").critical


@pytest.mark.parametrize("belief", plays.PLAYS)
def test_a_misconception_is_seen_in_what_is_done_by_it(belief: str) -> None:
    """In every drawn trial in which it can show, and no other with it."""
    tried = 0
    for drawn, asked in trials():
        if belief in plays.shown_by(asked.facts):
            book = rulebook(drawn.edition)
            verdict = marked(drawn, asked, plays.played(asked, belief, book))
            assert verdict.misconceptions == (belief,), (asked.facts, str(verdict))
            tried += 1
    assert tried > 5


def test_a_long_trial_is_replayed_in_a_few_milliseconds() -> None:
    """Ninety seconds of inflations, looks and turns: replay and marks, the best of some."""
    drawn, asked = alone("gauge-blocked")
    hand = Hand(asked, BOOK, thinks=0.2)
    while hand.time < 83:
        for _ in range(4):
            hand.cover(0.5)
            hand.time += 0.5
        hand.do("pip", hand.at["pip"] + int(hand.time) % 8)
        hand.do("look-flow")
    hand.do("pip", hand.at["pip"])
    hand.say("gauge-blocked")
    value = hand.trial.to_data()
    assert len(value["moves"]) > 120
    assert marked(drawn, asked, value).earned > 5
    best = 1.0
    for _ in range(9):
        begun = time.process_time()
        marked(drawn, asked, value)
        best = min(best, time.process_time() - begun)
    assert best < 0.005, best


def test_every_sentence_says_what_to_do_and_no_word_is_left_unfilled() -> None:
    """No brace is left, every sentence ends."""
    for drawn, asked in trials(6):
        for belief in plays.shown_by(asked.facts):
            verdict = marked(drawn, asked, plays.played(asked, belief, rulebook(drawn.edition)))
            for finding in verdict.findings:
                assert "{" not in finding.says
                assert finding.says.endswith(".")
                assert ".." not in finding.says
