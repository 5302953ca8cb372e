"""What comes first by gauge, chest and heart rate: the safe answer is right, in every edition."""

from __future__ import annotations

from collections import Counter
from functools import cache

import pytest

from graders.marking.exercise import mark, mark_all
from graders.marks.misconceptions import misconceptions
from graders.units.targets import heart_and_chest as marker
from graders.units.targets.heart_and_chest_plays import answers, beliefs
from graders.units.targets.marks import POINTS
from tests.drawn_targets import cases, drawn
from workbook.bench import circuit_at
from workbook.cases import Draw, starting, steps
from workbook.cases.question import Given
from workbook.physics import Lung, leak_of, settled_breath, steady_reading
from workbook.rules import editions, rulebook
from workbook.units.targets.case import corrective, cpap, heart_first, leaks, seal
from workbook.units.targets.case.questions import GROUPS, chest_texts

pytestmark = pytest.mark.slow

BOOK = rulebook("aha-2020")
DRAWS = 500
EDITIONS = list(editions())


@cache
def sealed(edition: str, count: int = DRAWS):
    """Return the situations of many learners, without the rest of their exercise."""
    book, says = rulebook(edition), chest_texts()["seal"]
    draws = (Draw("demo", "chest", f"learner{n}", "seal") for n in range(count // 3 + 1))
    return [each for draw in draws for each in seal.questions(Given(draw, GROUPS, book, says))][
        :count
    ]


def found(asked, value, book=BOOK):
    (finding,) = marker.marks(asked, value, book)
    return finding


# --- the safe first act


@pytest.mark.parametrize("edition", EDITIONS)
def test_mask_and_position_together_are_right_whatever_the_needle(edition):
    """Before any corrective step: needle low or full, chest still or little, they earn all."""
    book, needles = rulebook(edition), set()
    for asked in sealed(edition):
        if asked.facts["told"] == "fresh":
            finding = found(asked, "mask", book)
            assert finding.met
            assert finding.earned == POINTS["seal-1"]
            needles.add(seal.is_short(asked.facts, book))
    assert needles == {True, False}


@pytest.mark.parametrize("edition", EDITIONS)
def test_what_is_drawn_is_what_needle_and_chest_show(edition):
    """Each kind is met; its first act is the one of its chest; no sentence has a gap."""
    book, seen = rulebook(edition), Counter()
    for asked in sealed(edition):
        kind, moves = seal.found(asked.facts, book), seal.moves(asked.facts, book)
        seen[kind] += 1
        assert {"over": "much", "fine": "well"}.get(kind, moves) == moves
        assert moves in ("still", "little") or kind in ("over", "fine")
        assert "{" not in asked.context
    assert set(seen) == set(seal.KINDS)


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_relief_of_a_drawn_t_piece_is_never_above_its_babys_ceiling(edition):
    """A relief is a guard: it lies above PIP and not above the highest PIP of that baby."""
    book = rulebook(edition)
    for asked in sealed(edition):
        met = starting.Baby(asked.facts["weeks"], asked.facts["kg"])
        assert asked.facts["pip"] < asked.facts["relief"] <= starting.highest_relief(book, met)


def test_a_chest_that_rises_far_asks_for_less_pressure():
    """Over-inflation: lower PIP is right; more PIP could harm, and going on earns nothing."""
    over = [each for each in sealed("aha-2020") if seal.found(each.facts, BOOK) == "over"]
    assert len(over) > 50
    for asked in over:
        assert found(asked, "lower").met
        assert found(asked, "raise").unsafe
        assert found(asked, "on").earned == 0


def test_going_on_with_a_chest_that_hardly_moves_is_unsafe():
    """Who changes nothing while the heart rate does not rise is kept from the lab."""
    for asked in sealed("aha-2020"):
        still = asked.facts["told"] != "rising"
        assert bool(found(asked, "on").unsafe) == still


def test_no_sentence_says_that_a_full_needle_seals():
    """Neither options nor explanations conclude a seal from the needle."""
    said = str(marker.key()) + str(chest_texts())
    assert "seal holds" not in said
    assert "so the mask seals" not in said


# --- how much leaks behind a full needle


def test_the_share_that_leaks_behind_a_full_needle_is_the_models():
    """At 25/5 on a lung of 1: about a third at 8 L/min, almost half at 10, as measured apart."""
    for flow, least, most in ((8.0, 28, 36), (10.0, 42, 50)):
        setting = (("flow", flow), ("relief", 30.0), ("pip", 25.0), ("peep", 5.0))
        stood = leaks.hidden(setting, 1.0, 50.0, 1.0)
        assert least < stood.share < most
        assert stood.top > 23.7
    circuit = circuit_at({**leaks.set_for(dict(setting)), "leak": 0})
    assert steady_reading(circuit, held=True) == pytest.approx(25, abs=0.3)
    tight = settled_breath(leaks.replace(circuit, leak=leak_of(1000.0)), Lung(1, 40), 50, 0.4)
    assert tight.leak_percent < 10


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_full_needle_hides_a_leak_in_every_edition(edition):
    """“None” is never right, and what is right is more than a tenth."""
    book, says = rulebook(edition), chest_texts()["leaks"]
    for n in range(20):
        asked = leaks.question(Draw("demo", "chest", f"learner{n}", "leaks"), book, says)
        assert found(asked, "much", book).met
        assert found(asked, "none", book).misconception == "full-needle-seals"
        assert leaks.share(asked.facts, book) > 10
        assert len({option.text for option in asked.options}) == 4


# --- heart rate first


@pytest.mark.parametrize("edition", EDITIONS)
def test_the_heart_rate_is_read_before_the_chest(edition):
    """Rising: go on. Slow and never moved: corrective steps. Slow though moved: compressions."""
    book, says = rulebook(edition), chest_texts()["heart"]
    slow = book["hr.compress"].value
    enough = book["hr.ventilate"].value
    seen = Counter()
    for n in range(DRAWS // 2):
        draw = Draw("demo", "chest", f"learner{n}", "heart")
        for asked in heart_first.questions(Given(draw, GROUPS, book, says)):
            kind, facts = asked.facts["kind"], asked.facts
            seen[kind] += 1
            right = {"rising": "on", "moving": "compress", "still": "mask"}[kind]
            assert found(asked, right, book).met
            assert 0 < facts["low"] < slow <= facts["before"] < facts["now"] < enough
            assert "{" not in asked.context
    assert set(seen) == set(heart_first.SITUATIONS)


@pytest.mark.parametrize("edition", EDITIONS)
def test_a_safe_act_that_is_not_needed_is_no_unsafe_one(edition):
    """Mask and position while the heart rate rises: half the points, no belief, not unsafe."""
    book, says = rulebook(edition), chest_texts()["heart"]
    for n in range(20):
        draw = Draw("demo", "chest", f"learner{n}", "heart")
        for asked in heart_first.questions(Given(draw, GROUPS, book, says)):
            if asked.facts["kind"] == "rising":
                finding = found(asked, "mask", book)
                assert (finding.earned, finding.misconception) == (1.0, "")
                assert not finding.unsafe


def test_compressions_before_the_chest_has_moved_are_unsafe():
    """Corrective steps come before compressions."""
    asked = [c[id] for c in cases()[:60] for id in heart_first.QUESTIONS]
    still = [each for each in asked if each.facts["kind"] == "still"]
    assert len(still) > 20
    for each in still:
        finding = found(each, "compress")
        assert finding.unsafe
        assert finding.misconception == "compress-first"


# --- the order, and CPAP


@pytest.mark.parametrize("edition", EDITIONS)
def test_steps_that_go_together_may_stand_either_way_round(edition):
    """Mask before position and position before mask, suction before mouth and after, are right."""
    book, says = rulebook(edition), chest_texts()["corrective"]
    asked = corrective.question(Draw("demo", "chest", "learner0", "corrective"), book, says)
    for first in (["mask", "position"], ["position", "mask"]):
        for then in (["suction", "open"], ["open", "suction"]):
            assert found(asked, [*first, *then, "pressure", "airway"], book).met
    wrong = found(asked, ["pressure", *steps.STAGES[0], "suction", "open", "airway"], book)
    assert wrong.misconception == "pressure-first"
    lent = edition != starting.TEXTBOOK
    assert book["corrective.order"].stands_in == lent
    assert ("read no order in it: that of the AAP/AHA textbook" in asked.context) == lent


def test_the_steps_never_begin_in_a_right_order():
    """Leaving the order as it came is no answer."""
    for each in cases()[:100]:
        begun = [option.id for option in each["corrective"].options]
        assert steps.broken(begun)


@pytest.mark.parametrize("value", [None, 3, [], ["mask"], ["mask"] * 6, "mask"])
def test_an_order_that_cannot_be_read_earns_nothing(value):
    """Nonsense is zero points and one sentence."""
    verdict = mark(drawn(), "corrective", value, BOOK)
    assert verdict.earned == 0


@pytest.mark.parametrize("edition", EDITIONS)
def test_no_thumb_gives_peep_with_a_seal_and_nothing_without(edition):
    """By the model: sealed, the needle stands at PEEP; off the face next to zero."""
    book, says, seen = rulebook(edition), chest_texts()["cpap"], set()
    for n in range(30):
        draw = Draw("demo", "chest", f"learner{n}", "cpap")
        asked = cpap.question(draw, GROUPS, book, says)
        mask, facts = asked.facts["mask"], {**asked.facts, "leak": 0}
        seen.add(mask)
        assert found(asked, {"sealed": "cpap", "near": "free"}[mask], book).met
        assert seal.levels(facts)[1] == pytest.approx(facts["peep"], abs=0.5)
    assert seen == {"sealed", "near"}


# --- beliefs


@pytest.mark.parametrize("edition", EDITIONS)
@pytest.mark.parametrize("belief", beliefs())
def test_a_belief_is_the_one_that_is_named_in_every_edition(belief, edition):
    """Played in several learners' cases it is found, costs points, and no other is named."""
    book, shown = rulebook(edition), 0
    for n in range(12):
        each = drawn(n, edition)
        given = answers(each, book, belief)
        verdicts = [mark(each, id, value, book) for id, value in given.items()]
        assert {name for v in verdicts for name in v.misconceptions} <= {belief}
        assert all(v.misconceptions and v.earned < v.possible for v in verdicts)
        shown += bool(given)
    assert shown
    assert belief in misconceptions()


@pytest.mark.parametrize("edition", EDITIONS)
def test_experts_earn_everything_and_blanks_nothing(edition):
    """In every edition, for the questions on gauge, chest and heart rate."""
    book = rulebook(edition)
    for n in range(6):
        each = drawn(n, edition)
        right = marker.model_answers(each, book)
        full = [v for v in mark_all(each, right, book) if v.question in marker.POINTS]
        assert sum(v.earned for v in full) == sum(marker.POINTS.values())
        assert not any(v.unsafe or v.misconceptions for v in full)
        blank = [v for v in mark_all(each, {}, book) if v.question in marker.POINTS]
        assert sum(v.earned for v in blank) == 0
