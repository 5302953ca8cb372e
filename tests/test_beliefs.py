"""Beliefs named truly: by plays written anew, in every edition, alone, in part, two at once.

``TPIECE_BELIEVERS=40`` plays each belief in so many cases of each edition, instead of one;
``TPIECE_SLIPPERS=another`` draws other cases and slips.
"""

from __future__ import annotations

import os
import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random

import pytest

import graders.beliefs.bayes as bayes
from graders.beliefs import likely, named
from graders.beliefs.bayes import Missed, Rest, Shown, posteriors
from graders.beliefs.chances import chances, shared, speaks
from graders.marking.exercise import mark, mark_all, model_answers
from graders.marks.misconceptions import EITHER, SLIP, misconceptions
from graders.marks.verdict import Finding
from graders.report.frame import title_of
from tests import hands
from tests.believers import UNITS, acts, in_part
from tests.benchmarks.bench_beliefs import Simulated, curve, flat, simulated, slippers, sure
from tests.slippers import RATES
from workbook.cases import Case, Kind, case
from workbook.rules import editions, rulebook

pytestmark = pytest.mark.slow

CASES = int(os.environ.get("TPIECE_BELIEVERS", "1"))
SEED = os.environ.get("TPIECE_SLIPPERS", "slips")
LEARNERS = 12 * CASES  # simulated in each edition
WHOLE, PART, FALSE = 0.98, 0.90, 0.01
OUTRIGHT = 0.3  # at least, of those who hold one belief whole: most of the others may have slipped
MOSTLY = 0.1  # at most, of those who slip in one question of five and of whom anything is told
EDITIONS = tuple(editions())
SURE = Rest(8, 0)


@cache
def right(unit: str, edition: str, n: int) -> tuple[Case, dict[str, object]]:
    drawn = case("held", unit, f"{edition}.{n}", rulebook(edition))
    return drawn, model_answers(drawn, rulebook(edition))


def names(unit: str, edition: str, n: int, made: dict[str, object]) -> set[str]:
    """Return what is told, each of two that cannot be told apart by itself."""
    return flat(_told(unit, edition, n, made))


@cache
def plays(unit: str) -> list[tuple[str, str, int, dict[str, object], Random]]:
    """Return (belief, edition, case, answers by it) for every belief that can show there."""
    found = []
    for edition in EDITIONS:
        for belief in UNITS[unit]:
            for n in range(CASES):
                chance = Random(f"{belief}{edition}{n}")  # noqa: S311
                made = acts(right(unit, edition, n)[0], rulebook(edition), belief, chance)
                if made:
                    found.append((belief, edition, n, made, chance))
    return found


@pytest.mark.parametrize("unit", UNITS)
def test_a_belief_is_found_whole_and_in_part_and_no_other_is(unit: str) -> None:
    """Found: named outright, or told as a slip or this belief, where one answer cannot tell."""
    whole, outright, part, false, every = 0, 0, 0, 0, plays(unit)
    for belief, edition, n, made, chance in every:
        told = _told(unit, edition, n, made)
        whole += belief in flat(told)
        outright += belief in sure(told)
        false += any(belief not in name.split(EITHER) for name in told)
        part += belief in names(unit, edition, n, in_part(made, chance))
    print(f"{whole=}, {outright=}, {part=}, {false=} of {len(every)}")
    assert len({belief for belief, *_ in every}) >= 0.9 * len(UNITS[unit])
    assert whole >= WHOLE * len(every)
    assert outright >= OUTRIGHT * len(every)
    assert part >= PART * len(every)
    assert false <= FALSE * len(every)


@pytest.mark.parametrize("unit", UNITS)
def test_most_who_slip_often_are_not_said_to_believe(unit: str) -> None:
    """Of those of whom anything is told, a page mostly says: a slip, or this belief."""
    print("seed", SEED)
    often = [
        names
        for edition in EDITIONS
        for _shape, rate, names in slippers(unit, edition, 4 * CASES, SEED)
        if rate == max(RATES)
    ]
    assert len(often) >= 150
    named, told = (sum(map(bool, each)) for each in (map(sure, often), often))
    print(f"{named=}, {told=} of {len(often)}")
    assert named <= max(1, MOSTLY * told)  # of fewer than ten, one


@pytest.mark.parametrize("unit", UNITS)
def test_one_wrong_choice_names_at_most_what_leads_to_it(unit: str) -> None:
    """Every option of every choice, all else right: one belief or one of two, never more."""
    for edition in EDITIONS[::3]:
        drawn, answers = right(unit, edition, 0)
        for asked in drawn.questions:
            for option in asked.options if asked.kind is Kind.CHOICE else ():
                told = _told(unit, edition, 0, {asked.id: option.id})
                assert len(sure(told)) <= 1, (edition, asked.id, option.id, answers[asked.id])


def _told(unit: str, edition: str, n: int, made: dict[str, object]) -> set[str]:
    drawn, answers = right(unit, edition, n)
    verdicts = mark_all(drawn, {**answers, **made}, rulebook(edition))
    return {name for v in verdicts for name in v.misconceptions}


@pytest.mark.parametrize("unit", UNITS)
def test_two_beliefs_at_once_drag_in_no_third_and_hide_none(unit: str) -> None:
    """Each pair is drawn; both are named where their answers are not the same questions'."""
    chance, every = Random(unit), plays(unit)  # noqa: S311
    tried = third = seen = could = 0
    for one, edition, n, made, _ in every:
        others = [each for each in every if each[1:3] == (edition, n) and each[0] != one]
        if not others:
            continue
        other, _, _, more, _ = chance.choice(others)
        tried += 1
        named = _told(unit, edition, n, {**more, **made})
        third += any(not {one, other} & flat([name]) for name in named)
        if not made.keys() & more.keys():
            could += 2
            told = flat(named)
            seen += (one in told) + (other in told)
    assert tried > 50
    assert third <= FALSE * tried
    assert seen >= min(WHOLE * could, could - 1)  # of few, one may hide the other


@cache
def everybody(unit: str) -> list[Simulated]:
    """Return a simulated class of every edition."""
    return [one for edition in EDITIONS for one in simulated(unit, edition, LEARNERS)]


@pytest.mark.parametrize("unit", UNITS)
def test_of_a_class_fewer_than_1_in_100_are_named_a_belief_they_do_not_hold(unit: str) -> None:
    """Who hold none, one or several beliefs, whole or in part, and slip as is assumed."""
    people = everybody(unit)
    named = sum(bool(sure(one.names)) for one in people)
    false = sum(one.false for one in people)
    print(f"{named=}, {false=} of {len(people)}")
    assert named >= 0.1 * len(people)
    expected = FALSE * len(people)
    assert false < expected + 2 * expected**0.5  # so few learners leave that much to chance
    nobody = [len(one.perhaps) for one in people if not one.held]
    print(f"told of {sum(map(bool, nobody))} of {len(nobody)}, most {max(nobody)}")
    assert sum(map(bool, nobody)) <= len(nobody) / 3


def test_over_all_units_fewer_than_1_in_100_are_named_falsely() -> None:
    """So many learners leave nothing to chance."""
    people = [one for unit in UNITS for one in everybody(unit)]
    assert sum(one.false for one in people) < FALSE * len(people)


def test_of_those_told_a_slip_or_a_belief_most_hold_it() -> None:
    """So many as a group's beliefs are ranked by."""
    lines = [held for unit in UNITS for one in everybody(unit) for held in one.perhaps]
    share = sum(lines) / len(lines)
    print(f"{share=:.3f} of {len(lines)}")
    assert share == pytest.approx(bayes.number("slip-or-holds"), abs=0.05)


@pytest.mark.parametrize("unit", UNITS)
def test_of_those_named_at_p_at_least_p_hold_it(unit: str) -> None:
    """In a class made up as assumed; what few learners leave to chance is allowed for."""
    people = everybody(unit)
    for least, count, held in curve(people):
        spread = (least * (1 - least) * count) ** 0.5
        assert held >= least * count - 2 * spread - 1, (least, count, held)


@pytest.mark.parametrize("unit", UNITS)
def test_an_expert_with_human_hands_is_never_named(unit: str) -> None:
    """Read by eye, tapped by a finger that bounces, laid and turned by hand, in every edition."""
    for edition in EDITIONS:
        for n in range(2 * CASES):
            book = rulebook(edition)
            drawn, answers = right(unit, edition, n)
            chance = Random(f"expert {edition} {n}")  # noqa: S311
            by_hand = {
                q.id: hands.by_hand(q, book, chance, q.units[0] if q.units else "")
                for q in drawn.questions
                if q.kind in hands.KINDS
            }
            named = _told(unit, edition, n, by_hand)
            assert not named, (edition, n, named, answers.keys())


def test_what_is_assumed_says_so() -> None:
    """Every number has its basis and a sentence."""
    path = Path(bayes.__file__).with_name("beliefs.toml")
    data = tomllib.loads(path.read_text(encoding="utf-8"))

    def tables(table):
        if "value" in table:
            yield table
        else:
            for each in table.values():
                yield from tables(each)

    stated = [t for name in data if name not in ("leads", "softer") for t in tables(data[name])]
    assert len(stated) > 15
    for each in stated:
        assert each["basis"] == "assumption"
        assert each["says"]
        assert 0 < each["value"] < 1
    known = misconceptions()
    for table in (*data["leads"].values(), *data["softer"].values()):
        assert set(table) <= set(known)


def sign(slip: float = 0.3, **causes: float) -> Shown:
    return Shown("q", {next(iter(causes)): causes}, slip)


def held(shown: list[Shown], *beliefs: str, missed: int = 0, rest: Rest = SURE) -> dict[str, float]:
    chances = [Missed(beliefs[0], 1.0)] * missed
    (found,) = posteriors([beliefs], shown, chances, rest)
    assert sum(found.values()) == pytest.approx(1)
    return {b: sum(p for all, p in found.items() if b in all) for b in beliefs}


def test_by_hand_the_arithmetic_is_bayes_rule() -> None:
    """One sign of one belief, worked out on paper over the four hands."""
    whole, part = bayes.number("held-whole"), bayes.number("held-in-part")
    yes = no = 0.0
    for hand in bayes.assumed()["hands"]:
        slips = bayes.number("slips", hand)
        weight = bayes.number("hands", hand) * (1 - slips) ** 8
        no += weight * (1 - whole - part) * slips * 0.3
        for share, often in ((whole, 0.97), (part, 0.667)):
            yes += weight * share * ((1 - slips) * often + slips * (1 - (1 - often) * 0.7))
    assert held([sign(a=1.0)], "a")["a"] == pytest.approx(yes / (yes + no))


def test_more_signs_more_sure_and_a_chance_not_taken_less() -> None:
    """Two of two, one of one, one of two, one of four: named, told so, and not told."""
    runs = ((2, 0), (1, 0), (1, 1), (1, 3))
    shares = [held([sign(a=1.0)] * n, "a", missed=missed)["a"] for n, missed in runs]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > bayes.number("name-at") > shares[1]
    assert shares[2] > bayes.number("slip-or-at") > shares[3]
    assert shares[3] < 0.25


def test_a_sign_that_slips_often_show_says_less() -> None:
    often, seldom = (held([sign(slip=share, a=1.0)], "a")["a"] for share in (0.9, 0.1))
    assert often < 0.9 < seldom


def test_somebody_who_guesses_is_not_said_to_believe() -> None:
    """The same two signs beside answers that are wrong at random."""
    two = [sign(a=1.0)] * 2
    assert held(two, "a", rest=Rest(2, 6))["a"] < bayes.number("name-at") < held(two, "a")["a"]


def test_wrong_answers_that_show_other_beliefs_tell_of_a_hand_that_slips() -> None:
    """One sign beside the signs of four other beliefs is less than the same sign alone."""
    shown = [sign(**{b: 1.0}) for b in "abcde"]
    found = posteriors([[b] for b in "abcde"], shown, [], Rest(8, 0))
    assert found[0][frozenset("a")] < 0.9 * held([sign(a=1.0)], "a")["a"]


def test_two_with_one_sign_are_each_half_sure_and_together_sure() -> None:
    (found,) = posteriors([["a", "b"]], [sign(a=1.0, b=1.0)] * 2, [], Rest(8, 0))
    each = {b: sum(p for all, p in found.items() if b in all) for b in "ab"}
    assert each["a"] == pytest.approx(each["b"])
    assert each["a"] < 0.9 < sum(p for all, p in found.items() if all)


def test_a_sign_that_another_belief_leads_to_is_explained_away() -> None:
    """`b` leads to the sign of `a`; with `b` seen for itself, `a` is no longer likely."""
    led, own = sign(a=1.0, b=0.7), sign(b=1.0)
    assert held([led], "a", "b")["a"] > 0.2
    assert held([led, own, own], "a", "b")["a"] < 0.15


def test_a_number_asked_for_elsewhere_and_for_another_baby_is_one_of_two() -> None:
    """One such number shows one of two beliefs; a second question tells them apart."""
    both, parted = f"any-edition{EITHER}one-set-for-all", 0
    unit, told = "3_pressure_targets", 0
    for edition in EDITIONS:
        for n in range(12):
            drawn, _ = right(unit, edition, n)
            for asked in drawn.questions[:3]:
                for option in asked.options:
                    also = shared(asked, option.id, "one-set-for-all", rulebook(edition))
                    if also != ("any-edition",):
                        continue
                    named = _told(unit, edition, n, {asked.id: option.id})
                    told += f"{SLIP}{EITHER}{both}" in named
                    swapped = acts(drawn, rulebook(edition), "any-edition", Random(1))  # noqa: S311
                    swapped = {id: swapped[id] for id in swapped if id == "two-editions"}
                    parted += "any-edition" in _told(
                        unit, edition, n, {asked.id: option.id, **swapped}
                    )
    assert told > 1
    assert parted > 3


def test_a_rhythm_too_fast_here_and_usual_elsewhere_is_no_proof_of_either_alone() -> None:
    """Both beliefs find it good, and both are weighed."""
    unit, found = "4_rate_counting", 0
    for n in range(12):
        drawn, _ = right(unit, "erc-2021", n)
        made = acts(drawn, rulebook("erc-2021"), "faster-ventilates-better", Random(1))  # noqa: S311
        if made:
            found += 1
            named = names(unit, "erc-2021", n, made)
            assert "faster-ventilates-better" in named
    assert found


def test_a_finding_beside_full_marks_is_a_sign_of_nothing() -> None:
    """Even where a marker leaves a belief in a question that lost nothing."""
    unit, edition = "1_setup_order", EDITIONS[0]
    drawn, answers = right(unit, edition, 0)
    marked = mark_all(drawn, answers, rulebook(edition))
    missed = Finding("order", False, "A remark.", misconception="outlet-open")
    full = replace(marked[0], findings=(*marked[0].findings, missed))
    met = replace(missed, met=True)
    lost = Finding("order", False, "Lost.", 0.0, 1.0)
    beside = replace(marked[0], findings=(*marked[0].findings, lost, met))
    for first in (full, beside):
        found = named(drawn, answers, (first, *marked[1:]), rulebook(edition))
        assert not any(v.misconceptions for v in found)


def test_one_choice_shows_one_belief_and_says_nothing_against_another() -> None:
    """Whoever pressed harder could not turn the flow up too; an order can show several."""
    unit, met = "3_pressure_targets", 0
    for edition in EDITIONS[::3]:
        for n in range(3):
            drawn, answers = right(unit, edition, n)
            book = rulebook(edition)
            press = acts(drawn, book, "press-harder", Random(1))  # noqa: S311
            flow = acts(drawn, book, "flow-for-pressure", Random(1))  # noqa: S311
            raised = {"raise": flow["raise"]}
            alone = _share(drawn, {**answers, **raised, **press}, "flow-for-pressure")
            without = _share(drawn, {**answers, **raised}, "flow-for-pressure")
            if press:
                met += 1
                assert alone > without
    assert met > 3


def _share(drawn: Case, given: dict[str, object], belief: str) -> float:
    book = rulebook(drawn.edition)
    verdicts = [mark(drawn, q.id, given[q.id], book) for q in drawn.questions]
    return likely(drawn, given, verdicts, book)[belief]


def test_of_one_of_two_both_are_told() -> None:
    """Title, belief, truth, both places to read; a name of three or of one twice is unknown."""
    known = misconceptions()
    one, other = "needle-trusted", "pip-plus-peep"
    both = known[f"{one}{EITHER}{other}"]
    assert title_of(both.id) == "Needle trusted or PIP plus PEEP"
    assert known[one].believes in both.believes
    assert known[other].believes in both.believes
    assert both.true.endswith(known[other].true)
    assert both.where.count("lesson") == len({known[one].read, known[other].read})
    assert known.get(both.id) is not None
    slip = known[f"{SLIP}{EITHER}{both.id}"]
    assert title_of(slip.id) == "A slip or Needle trusted or PIP plus PEEP"
    assert slip.believes.endswith(both.believes)
    assert (slip.true, slip.where, slip.unsafe) == (both.true, both.where, both.unsafe)
    unknown = (SLIP, f"{SLIP}{EITHER}", f"{one}{EITHER}{SLIP}", f"{one}{EITHER}{one}")
    for strange in ("", *unknown, f"{one}{EITHER}", f"{both.id}{EITHER}falls-to-zero"):
        assert strange not in known
        assert known.get(strange) is None


@pytest.mark.parametrize("unit", UNITS)
def test_full_marks_in_a_question_are_a_sign_of_nothing(unit: str) -> None:
    """Right answers in every edition, and every finding that was met, name no belief."""
    for edition in EDITIONS:
        drawn, answers = right(unit, edition, 0)
        assert not any(v.misconceptions for v in mark_all(drawn, answers, rulebook(edition)))
    for belief, edition, n, made, _ in plays(unit)[::5]:
        drawn, answers = right(unit, edition, n)
        for verdict in mark_all(drawn, {**answers, **made}, rulebook(edition)):
            assert verdict.earned < verdict.possible or not verdict.misconceptions, belief
            assert not any(f.met and f.misconception for f in verdict.findings)


@pytest.mark.parametrize("unit", UNITS)
def test_what_a_question_can_show_is_what_it_is_said_to_speak_of(unit: str) -> None:
    """The quick table of what each question speaks of leaves nothing out that a case draws."""
    for edition in EDITIONS[::4]:
        drawn, _ = right(unit, edition, 0)
        for asked in drawn.questions:
            every = misconceptions()
            assert set(chances(asked, rulebook(edition), every)) <= speaks(asked.id)
        for belief in UNITS[unit]:
            made = acts(drawn, rulebook(edition), belief, Random(1))  # noqa: S311
            assert not made or any(belief in speaks(id) for id in made)


def test_one_belief_stands_in_one_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A second entry of one name would be told to the first one's learners."""
    for name, unit in (("a", "3_pressure_targets"), ("b", "1_setup_order")):
        (tmp_path / name).mkdir()
        (tmp_path / name / "misconceptions.toml").write_text(
            f'unit = "{unit}"\n[full-needle]\nbelieves = "a"\n'
            'true = "b"\nrule = "c"\nread = "d"\nlab = "e"\n'
        )
    monkeypatch.setattr("graders.marks.misconceptions._UNITS", tmp_path)
    with pytest.raises(ValueError, match=r"3_press.*: full-needle stands in that of 1_setup"):
        misconceptions.__wrapped__()
