"""Beliefs named truly: by plays written anew, in every edition, alone, in part, two at once.

``TPIECE_BELIEVERS=40`` plays each belief in so many cases of each edition, instead of one.
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
from graders.beliefs.bayes import Event, Rest, posterior
from graders.beliefs.chances import chances, shared, speaks
from graders.marking import mark, mark_all, model_answers
from graders.misconceptions import EITHER, misconceptions
from graders.report.frame import title_of
from graders.verdict import Finding
from tests import hands
from tests.believers import UNITS, acts, in_part
from tests.benchmarks.bench_beliefs import curve, simulated
from workbook.cases import Case, case
from workbook.rules import editions, rulebook

CASES = int(os.environ.get("TPIECE_BELIEVERS", "1"))
WHOLE, PART, FALSE = 0.98, 0.90, 0.01
EDITIONS = tuple(editions())
SURE = Rest(8, 0)


@cache
def right(unit: str, edition: str, n: int) -> tuple[Case, dict[str, object]]:
    drawn = case("held", unit, f"{edition}.{n}", rulebook(edition))
    return drawn, model_answers(drawn, rulebook(edition))


def names(unit: str, edition: str, n: int, made: dict[str, object]) -> set[str]:
    """Return what is named, each of two that cannot be told apart by itself."""
    drawn, answers = right(unit, edition, n)
    verdicts = mark_all(drawn, {**answers, **made}, rulebook(edition))
    return {each for v in verdicts for name in v.misconceptions for each in name.split(EITHER)}


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
def test_a_belief_is_named_whole_and_in_part_and_no_other_is(unit: str) -> None:
    """Sensitivity and false naming over every belief of a unit, in every edition."""
    whole, part, false, every = 0, 0, 0, plays(unit)
    for belief, edition, n, made, chance in every:
        whole += belief in names(unit, edition, n, made)
        false += any(belief not in name.split(EITHER) for name in _told(unit, edition, n, made))
        part += belief in names(unit, edition, n, in_part(made, chance))
    assert len({belief for belief, *_ in every}) >= 0.9 * len(UNITS[unit])
    assert whole >= WHOLE * len(every)
    assert part >= PART * len(every)
    assert false <= FALSE * len(every)


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
        third += any(not {one, other} & set(name.split(EITHER)) for name in named)
        if not made.keys() & more.keys():
            could += 2
            flat = {each for name in named for each in name.split(EITHER)}
            seen += (one in flat) + (other in flat)
    assert tried > 50
    assert third <= FALSE * tried
    assert seen >= WHOLE * could


@pytest.mark.parametrize("unit", UNITS)
def test_of_those_named_at_p_at_least_p_hold_it(unit: str) -> None:
    """In a class made up as assumed; what few learners leave to chance is allowed for."""
    people = [one for edition in EDITIONS[::4] for one in simulated(unit, edition, 8 * CASES)]
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


def sign(shown: bool, slip: float = 0.003, **causes: float) -> Event:
    return Event("q", next(iter(causes)), shown, causes, slip, 0.25)


def held(events: list[Event], *beliefs: str, rest: Rest = SURE) -> dict[str, float]:
    found = posterior(beliefs, events, rest)
    assert sum(found.values()) == pytest.approx(1)
    return {b: sum(p for all, p in found.items() if b in all) for b in beliefs}


def test_by_hand_the_arithmetic_is_bayes_rule() -> None:
    """One sign of one belief, worked out on paper, the guesser left out by eight right answers."""
    whole, part = bayes.number("held-whole"), bayes.number("held-in-part")
    yes = whole * (1 - 0.997 * 0.03) + part * (1 - 0.997 * 0.333)
    no = (1 - whole - part) * 0.003
    assert held([sign(True, a=1.0)], "a")["a"] == pytest.approx(yes / (yes + no), abs=0.002)


def test_more_signs_more_sure_and_a_chance_not_taken_less() -> None:
    """Two of two, one of one, one of two, one of four."""
    seen, not_seen = sign(True, a=1.0), sign(False, a=1.0)
    runs = ([seen, seen], [seen], [seen, not_seen], [seen, *[not_seen] * 3])
    shares = [held(run, "a")["a"] for run in runs]
    assert shares == sorted(shares, reverse=True)
    assert shares[0] > 0.99
    assert shares[3] < 0.5


def test_a_slip_as_likely_as_the_belief_names_nobody() -> None:
    assert held([sign(True, slip=0.9, a=1.0)], "a")["a"] < 0.2


def test_somebody_who_guesses_is_not_said_to_believe() -> None:
    """The same sign beside answers that are wrong at random."""
    assert held([sign(True, a=1.0)], "a", rest=Rest(2, 6))["a"] < 0.5


def test_two_with_one_sign_are_each_half_sure_and_together_sure() -> None:
    found = posterior(["a", "b"], [sign(True, a=1.0, b=1.0)], Rest(8, 0))
    each = {b: sum(p for all, p in found.items() if b in all) for b in "ab"}
    assert each["a"] == pytest.approx(each["b"])
    assert each["a"] < 0.8 < sum(p for all, p in found.items() if all)


def test_a_sign_that_another_belief_leads_to_is_explained_away() -> None:
    """`b` leads to the sign of `a`; with `b` seen for itself, `a` is no longer likely."""
    led, own = sign(True, a=1.0, b=0.7), sign(True, b=1.0)
    assert held([led], "a", "b")["a"] > 0.5
    assert held([led, own, own], "a", "b")["a"] < 0.25


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
                    told += both in named
                    swapped = acts(drawn, rulebook(edition), "any-edition", Random(1))  # noqa: S311
                    swapped = {id: swapped[id] for id in swapped if id == "two-editions"}
                    parted += "any-edition" in _told(
                        unit, edition, n, {asked.id: option.id, **swapped}
                    )
    assert told > 3
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
    for strange in ("", f"{one}{EITHER}{one}", f"{one}{EITHER}", f"{both.id}{EITHER}falls-to-zero"):
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
