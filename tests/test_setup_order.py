"""Marking the set-up order exercise: full marks, zero, partial credit, named beliefs."""

from __future__ import annotations

from random import Random
from typing import Any

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graders.marking.exercise import mark, mark_all, model_answers, points
from graders.marking.personas import answers_of, played, shows
from graders.marks.misconceptions import beliefs_of, misconceptions
from graders.units.setup.gauge import STANDS, needle
from graders.units.setup.marks import POINTS, SAFE, key
from workbook.cases import case
from workbook.physics import Circuit, set_peep, set_pip, set_relief, steady_reading
from workbook.rules import editions, read_procedures, rulebook
from workbook.rules.files import file
from workbook.units.setup.case.questions import EXERCISE, GAUGES, SETUPS, texts

pytestmark = pytest.mark.slow

BOOK = rulebook("aha-2020")
SET_UP = read_procedures()["set-up"]
LEARNERS = [f"learner{n}" for n in range(200)]
EDITIONS = list(editions())


def drawn(learner: str = "ada", edition: str = "aha-2020"):
    return case("demo", EXERCISE, learner, rulebook(edition))


def total(verdicts) -> float:
    return round(sum(v.earned for v in verdicts), 2)


def beliefs(verdicts) -> set[str]:
    """Return what is told, be it sure or a slip as well."""
    return {beliefs_of(name) for v in verdicts for name in v.misconceptions}


def test_the_model_answer_earns_everything_and_a_blank_nothing():
    """For 200 learners' cases: full marks and nothing unsafe; zero and a kind sentence."""
    for learner in LEARNERS:
        full = mark_all(drawn(learner), model_answers(drawn(learner), BOOK), BOOK)
        assert total(full) == sum(POINTS.values())
        assert not any(v.unsafe for v in full)
        assert beliefs(full) == set()
        blank = mark_all(drawn(learner), {}, BOOK)
        assert total(blank) == 0
        assert all("Not answered yet" in v.findings[0].says for v in blank)


@pytest.mark.parametrize("edition", EDITIONS)
def test_an_expert_and_a_blank_in_every_edition(edition):
    """Whatever the course's edition: an expert earns everything, a blank nothing."""
    book = rulebook(edition)
    for learner in LEARNERS[:40]:
        each = drawn(learner, edition)
        full = mark_all(each, model_answers(each, book), book)
        assert total(full) == sum(POINTS.values())
        assert not any(v.unsafe for v in full)
        assert total(mark_all(each, {}, book)) == 0


@pytest.mark.parametrize("edition", EDITIONS)
def test_every_belief_is_the_one_named_in_every_edition(edition):
    """In some cases of each edition every belief is played: it is found, and no other."""
    book = rulebook(edition)
    for belief in played(EXERCISE):
        cases = [c for n in range(12) if shows(c := drawn(f"learner{n}", edition), belief)]
        assert cases
        for each in cases[:6]:
            verdicts = mark_all(each, answers_of(each, book, belief), book)
            assert beliefs(verdicts) == {belief}, (belief, each.learner)


def test_every_legal_order_is_right():
    """A thousand topological orders that networkx finds all earn full marks."""
    graph = nx.DiGraph((n.before, n.step) for n in SET_UP.needs)
    graph.add_nodes_from(SET_UP.ids)
    for n, order in enumerate(nx.all_topological_sorts(graph)):
        verdict = mark(drawn(), "order", list(order), BOOK)
        assert verdict.earned == POINTS["order"]
        assert not verdict.unsafe
        if n == 1000:
            break


@settings(max_examples=300)
@given(st.permutations(SET_UP.ids))
def test_every_order_that_breaks_a_critical_prerequisite_is_flagged(order):
    """Unsafe findings are exactly the critical edges that the order turns round."""
    place = {step: n for n, step in enumerate(order)}
    wrong = {
        f"{n.before}>{n.step}"
        for n in SET_UP.needs
        if n.critical and place[n.before] > place[n.step]
    }
    verdict = mark(drawn(), "order", list(order), BOOK)
    assert {f.criterion for f in verdict.unsafe} == wrong
    assert (verdict.earned == POINTS["order"]) == (not SET_UP.broken(order))


@given(st.permutations(SET_UP.ids), st.integers(0, 12))
def test_mending_an_order_never_costs_points(order, at):
    """Partial credit follows the prerequisites kept: fewer breaches, no fewer points."""
    swapped = list(order)
    swapped[at], swapped[at + 1] = swapped[at + 1], swapped[at]
    one, two = (mark(drawn(), "order", list(o), BOOK).earned for o in (order, swapped))
    fewer = len(SET_UP.broken(order)) - len(SET_UP.broken(swapped))
    assert (one - two) * fewer <= 0


def test_an_order_by_chance_earns_next_to_nothing():
    """About half of what must come first does so by chance: who breaks half earns nothing."""
    chance, met = Random(9), 0  # noqa: S311 somebody who guesses
    for _ in range(200):
        order = list(SET_UP.ids)
        chance.shuffle(order)
        half = 2 * len(SET_UP.broken(order)) >= len(SET_UP.needs)
        assert (mark(drawn(), "order", order, BOOK).earned == 0) == half
        met += half
    assert 20 < met < 180


def test_an_inversion_of_peep_and_pip_has_its_own_sentence():
    """PEEP before PIP is critical, named, and explained."""
    order = answers_of(drawn(), BOOK, "peep-before-pip")["order"]
    (finding,) = mark(drawn(), "order", order, BOOK).unsafe
    assert finding.misconception == "peep-before-pip"
    assert "can become far too high once PIP is raised" in finding.says


@pytest.mark.parametrize("belief", played(EXERCISE))
def test_a_played_misconception_is_the_one_named(belief):
    """For 200 cases the belief that was played is found, and no other."""
    cases = [c for c in map(drawn, LEARNERS) if shows(c, belief)]
    assert len(cases) > 100
    for each in cases:
        verdicts = mark_all(each, answers_of(each, BOOK, belief), BOOK)
        assert beliefs(verdicts) == {belief}
        assert total(verdicts) < sum(POINTS.values())


def test_every_misconception_can_be_played_and_rests_on_a_rule():
    """Nobody lists a belief that no answer can show, or that no rule contradicts."""
    known = misconceptions()
    assert set(played(EXERCISE)) == {id for id, each in known.items() if each.unit == EXERCISE}
    for each in known.values():
        assert each.rule in SET_UP.ids or each.rule in BOOK or each.rule in file("sizes"), each.id


def test_the_key_names_only_what_exists():
    """The marker's data speaks of set-ups, faults, reasons and needs that are there."""
    faults, needs = texts()["fault"], {f"{n.before}>{n.step}" for n in SET_UP.needs}
    assert set(key()["fault"]) == {setup["id"] for setup in texts()["setup"]}
    assert set(key()["fault"].values()) <= set(faults)
    for setup in texts()["setup"]:
        assert key()["fault"][setup["id"]] in setup["options"]
    assert set(key()["rests_on"]) == set(faults)
    assert set(key()["breaks"]) <= needs
    assert set(key()["unless"]) | set(key()["unless"].values()) <= set(key()["breaks"])
    assert set(key()["reasons"]) == set(texts()["wrong_reason"])
    assert set(key()["critical_faults"]) <= set(faults)
    assert set(key()["meanwhile"]) == {stage["id"] for stage in texts()["meanwhile"]["stage"]}
    assert set(key()["acts"]) <= set(texts()["meanwhile"]["act"])
    stands = {(part, each["id"]) for part, all_ in texts()["gauge"].items() for each in all_}
    assert stands == set(STANDS)


# What is wrong with each set-up that is described, and what to do for a baby who does not breathe
# by how the T-piece stands: typed from the words of each, asked of no key.
WRONG = {
    "peep-then-pip": "peep-first", "flow-turned-up": "flow-after", "flow-knocked": "flow-after",
    "pip-then-relief": "relief-after", "uncapped": "outlet-open", "mask-first": "baby-early",
    "second-device": "no-bag", "straight-on": "no-recheck", "needle-up": "off-zero",
    "all-well": "nothing", "lower-limit": "nothing", "bag-meanwhile": "nothing",
    "mask-chosen-last": "nothing",
}  # fmt: skip
HARMS = {"peep-first", "flow-after", "relief-after", "baby-early", "no-bag", "no-recheck"}
READY = {"ready", "ready-lower", "ready-shift", "ready-again"}
UNREADY = {"nothing-set", "limit-only", "no-gas", "flow-moved"}


def test_what_is_wrong_with_a_described_set_up_is_what_was_meant():
    """Also what could harm a baby, and when only the bag ventilates at once."""
    assert key()["fault"] == WRONG
    assert set(key()["critical_faults"]) == HARMS
    waits = dict.fromkeys(UNREADY, "bag") | dict.fromkeys(READY, "t-piece")
    assert key()["meanwhile"] == waits


def held() -> float:
    """Return what the needle shows in the question about a thumb on the aperture."""
    return needle(drawn()["gauge-held"], BOOK).right


def reading(text: str, unit: str = "cmH2O", question: str = "gauge-held"):
    return mark(drawn(), question, {"text": text, "unit": unit}, BOOK)


def test_a_reading_counts_in_any_pressure_unit_and_with_a_comma():
    """The same pressure in hPa earns the point; a decimal comma is a decimal point."""
    assert reading(f"{held() * 0.980665:.1f}".replace(".", ","), "hPa").earned == 1
    assert reading(f"{held():.1f}".replace(".", ",")).earned == 1


def test_readings_are_accepted_within_the_published_band_only():
    """PIP within 1 cmH2O; half a step more is outside (Eur J Pediatr 2014;173:1005)."""
    assert reading(f"{held() + 1}").earned == 1
    assert reading(f"{held() + 1.1:.1f}").earned == 0


def test_a_right_number_in_the_wrong_unit_is_told_as_that():
    """The sentence says the unit is what is wrong."""
    verdict = reading(f"{held():g}", "kPa")
    assert verdict.earned == 0
    assert "right in cmH2O, not in kPa" in verdict.findings[0].says


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_needle_is_where_the_model_has_it(edition):
    """Every way a T-piece is described is played on the model: the reading agrees."""
    book, seen = rulebook(edition), set()
    for learner in LEARNERS[:40]:
        for id in GAUGES:
            asked = drawn(learner, edition)[id]
            made = needle(asked, book)
            assert made.right == pytest.approx(modelled(asked), abs=made.rule.value)
            seen.add((id, asked.facts["stands"]))
    assert len(seen) == len(STANDS)


def modelled(asked) -> float:
    """Return what the model's gauge shows, or the true pressure where the needle is off."""
    f = asked.facts
    off = f["off"] if f["stands"] == "off-zero" else 0.0
    made = set_relief(Circuit(f["flow"]), f["relief"])
    if f["stands"] == "limit-low":
        made = set_relief(made, f["low"])
        return steady_reading(made, held=True)
    first = f["before"] if f["stands"] == "pip-raised" else f["pip"] - off
    made = set_peep(set_pip(made, first), f["peep"] - off)
    if f["stands"] == "peep-raised":
        made = set_peep(made, f["peep"] + f["step"])
    if f["stands"] == "pip-raised":
        made = set_pip(made, f["pip"])
    if asked.id == "gauge-open":
        return steady_reading(made, held=False, outlet="open") + off
    return steady_reading(made, held=asked.id == "gauge-held")


# --- a baby who does not breathe


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_bag_at_once_is_never_unsafe_and_right_while_the_t_piece_is_not_ready(edition):
    """Over 500 draws, in every edition: nobody is marked down as unsafe for ventilating now."""
    book, ready = rulebook(edition), 0
    for n in range(500 if edition == EDITIONS[0] else 40):
        each = drawn(f"now{n}", edition)
        right = model_answers(each, book)["meanwhile"]
        verdict = mark(each, "meanwhile", "bag", book)
        assert not verdict.unsafe
        share = 1.0 if right == "bag" else SAFE
        assert verdict.earned == POINTS["meanwhile"] * share
        ready += right == "t-piece"
    assert 0.3 < ready / (n + 1) < 0.7


@pytest.mark.parametrize("act", ["finish", "on-baby", "free-flow", "t-piece"])
def test_letting_a_baby_wait_is_unsafe(act):
    """Whatever is done instead of the bag, while the T-piece is not ready, bars from the lab.

    So does what inflates no lung, however ready the T-piece is.
    """
    for learner in LEARNERS:
        each = drawn(learner)
        waits = model_answers(each, BOOK)["meanwhile"] == "bag"
        verdict = mark(each, "meanwhile", act, BOOK)
        assert bool(verdict.unsafe) == (waits or act in ("finish", "free-flow"))
        if waits:
            assert "Squeeze the bag now" in verdict.findings[0].says


def test_a_relief_below_the_limit_is_no_fault():
    """A set-up whose relief is lower than allowed, and above PIP, is a safe one."""
    assert key()["fault"]["lower-limit"] == "nothing"
    assert key()["meanwhile"]["ready-lower"] == "t-piece"


@pytest.mark.parametrize(
    ("question", "value"),
    [
        ("order", "set-pip"),
        ("order", []),
        ("order", [1, 2]),
        ("order", ["set-pip"] * 15),
        ("order", {"a": 1}),
        ("setup-1", ["nothing"]),
        ("setup-1", "no-such-choice"),
        ("setup-1", 0),
        ("meanwhile", ["bag"]),
        ("meanwhile", "run"),
        ("reason", {}),
        ("gauge-held", 25),
        ("gauge-held", {"text": "high", "unit": "cmH2O"}),
        ("gauge-held", {"text": "25", "unit": "L/min"}),
        ("gauge-held", {"text": "25", "unit": "furlong"}),
        ("gauge-held", {"text": "1e400", "unit": "cmH2O"}),
        ("gauge-held", {"text": "nan", "unit": "cmH2O"}),
        ("gauge-held", {"text": 25, "unit": "cmH2O"}),
        ("gauge-held", {"text": "9" * 5000, "unit": "cmH2O"}),
        ("shift-check", "bag"),
        ("shift-check", ["bag", "no-such-item"]),
        ("shift-check", [["bag"]]),
    ],
)
def test_an_answer_of_another_shape_earns_nothing_and_says_why(question: str, value: Any):
    """Nonsense of any type is zero points and one sentence, never an error."""
    verdict = mark(drawn(), question, value, BOOK)
    assert verdict.earned == 0
    assert verdict.possible == POINTS[question]
    assert "could not be read" in verdict.findings[0].says


def test_choosing_everything_in_the_check_earns_nothing():
    """Each wrong tick takes back a right one."""
    for learner in LEARNERS[:40]:
        asked = drawn(learner)["shift-check"]
        every = [option.id for option in asked.options]
        assert mark(drawn(learner), "shift-check", every, BOOK).earned == 0
        missing = asked.facts["missing"]
        assert 0 < mark(drawn(learner), "shift-check", missing[:1], BOOK).earned < 2


def test_overlooking_an_untested_bag_is_unsafe_and_a_tested_one_is_no_trap():
    """A bag nobody tested bars from the lab; where it was tested, nothing about it is critical."""
    seen = set()
    for learner in LEARNERS[:40]:
        each = drawn(learner)
        missing = each["shift-check"].facts["missing"]
        others = [m for m in missing if m != "bag"]
        unsafe = mark(each, "shift-check", others, BOOK).unsafe
        short = "bag" in missing
        assert [f.misconception for f in unsafe] == (["bag-not-needed"] if short else [])
        seen.add(short)
    assert seen == {True, False}


def test_every_item_of_the_check_can_be_told_as_done_and_as_falling_short():
    """Nothing of the check goes untold, and the two ways differ."""
    check, items = texts()["check"], read_procedures()["shift-check"].ids
    assert list(check["done"]) == list(check["short"])
    assert set(check["done"]) == set(items)
    assert not set(check["done"].values()) & set(check["short"].values())


def test_seeing_nothing_wrong_in_an_unsafe_set_up_is_unsafe():
    """A baby attached too early, and nothing seen wrong: a critical finding."""
    for learner in LEARNERS:
        each = drawn(learner)
        for id in SETUPS:
            fault = key()["fault"][each[id].facts["setup"]]
            verdict = mark(each, id, "nothing", BOOK)
            assert bool(verdict.unsafe) == (fault in key()["critical_faults"])


def test_every_wrong_finding_carries_its_rule_and_source():
    """No learner is told they are wrong without the rule that says so."""
    for belief in played(EXERCISE):
        each = next(c for c in map(drawn, LEARNERS) if shows(c, belief))
        for verdict in mark_all(each, answers_of(each, BOOK, belief), BOOK):
            for finding in verdict.findings:
                if finding.misconception:
                    assert finding.rule
                    assert finding.source


def test_points_are_those_of_the_notebook():
    """The exercise has as many points as its marking cells."""
    assert points(EXERCISE) == POINTS
