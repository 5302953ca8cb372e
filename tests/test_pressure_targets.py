"""Pressure targets: drawn cases, full marks and none, named beliefs, editions, a local protocol."""

from __future__ import annotations

from collections import Counter

import pytest

from graders.marking.exercise import mark, mark_all, model_answers
from graders.marking.personas import answers_of, played, shows
from graders.marks.misconceptions import beliefs_of, misconceptions
from graders.units.targets import heart_and_chest
from graders.units.targets.marks import POINTS, key, needle_slips, right_set
from graders.units.targets.plays import _answers
from graders.units.targets.raise_plays import BELIEFS
from tests.drawn_targets import DEFAULT, cases, drawn
from workbook.cases import Kind, case, starting
from workbook.rules import Basis, editions, rulebook
from workbook.rules.site.protocol import EXAMPLE, overlay
from workbook.rules.site.protocolfile import read_protocol
from workbook.units.targets.case import (
    heart_first,
    oxygen,
    predictions,
    seal,
    starting_sets,
    two_editions,
)
from workbook.units.targets.case.questions import EXERCISE, GAUGES, TARGETS, chest_texts, texts

pytestmark = pytest.mark.slow

BOOK = rulebook()
SITE = overlay(rulebook("aha-2020"), read_protocol(EXAMPLE))
EVERYTHING = sum(POINTS.values())
ENOUGH = 50  # cases at least in which a belief can show


def beliefs(verdicts) -> set[str]:
    """Return what is told, be it sure or a slip as well."""
    return {beliefs_of(name) for v in verdicts for name in v.misconceptions}


def total(verdicts) -> float:
    return round(sum(v.earned for v in verdicts), 2)


def test_the_model_answer_earns_everything_and_a_blank_nothing():
    """In 500 cases: full marks, nothing unsafe, no belief; zero and a kind sentence."""
    for each in cases():
        full = mark_all(each, model_answers(each, BOOK), BOOK)
        assert total(full) == EVERYTHING
        assert not any(v.unsafe for v in full)
        assert beliefs(full) == set()
        blank = mark_all(each, {}, BOOK)
        assert total(blank) == 0
        assert all("Not answered yet" in v.findings[0].says for v in blank)


@pytest.mark.parametrize("belief", [b for b in played(EXERCISE) if b not in BELIEFS])
def test_a_played_misconception_is_the_one_named(belief):
    """In every one of the 500 cases that can show it the belief is found, and no other."""
    able = 0
    for each in cases():
        answers = _answers(each, BOOK, belief)
        verdicts = [mark(each, id, value, BOOK) for id, value in answers.items()]
        assert beliefs(verdicts) == ({belief} if answers else set())
        assert all(v.earned < v.possible for v in verdicts)
        able += bool(answers)
    assert able > ENOUGH


@pytest.mark.parametrize("belief", played(EXERCISE))
def test_a_persona_shows_its_belief_over_a_whole_exercise(belief):
    """All answers marked together name the belief that was played and cost points."""
    each = next(c for c in cases() if shows(c, belief))
    verdicts = mark_all(each, answers_of(each, BOOK, belief), BOOK)
    assert beliefs(verdicts) == {belief}
    assert total(verdicts) < EVERYTHING
    wrong = [f for v in verdicts for f in v.findings if f.misconception]
    assert all(f.rule and f.source and "{" not in f.says for f in wrong)


def test_every_misconception_can_be_played_and_rests_on_a_rule():
    """Nobody lists a belief that no answer can show, or that no rule contradicts."""
    own = {id for id, each in misconceptions().items() if each.unit == EXERCISE}
    assert own <= set(played(EXERCISE)) <= set(misconceptions())
    assert len(own) >= 8
    for id in own:
        rule = misconceptions()[id].rule
        assert rule in BOOK or rule in BOOK.procedure("set-up").ids, id


@pytest.mark.parametrize("edition", editions())
def test_every_edition_can_be_asked_and_solved(edition):
    """A case can be drawn whatever the edition leaves blank, and every point earned."""
    book = rulebook(edition)
    for n in range(8):
        each = drawn(n, edition)
        full = mark_all(each, model_answers(each, book), book)
        assert total(full) == EVERYTHING
        assert beliefs(full) == set()
        assert whole(each)


@pytest.mark.parametrize("edition", editions())
def test_every_belief_is_named_in_every_edition(edition):
    """Whatever the edition leaves blank, who holds a belief is met by it and by no other."""
    book, seen = rulebook(edition), Counter()
    for belief in (b for b in played(EXERCISE) if b not in BELIEFS):
        for n in range(20):
            each = drawn(n, edition)
            answers = _answers(each, book, belief)
            verdicts = [mark(each, id, value, book) for id, value in answers.items()]
            assert beliefs(verdicts) == ({belief} if answers else set()), belief
            seen[belief] += bool(answers)
    # An edition with one number for every baby, or with none, cannot show the other two.
    never = {belief for belief, count in seen.items() if not count}
    assert never <= {"one-set-for-all", "pip-plus-peep", "oxygen-pure"}, never


def whole(each) -> bool:
    """Say whether each question has its words, and enough different choices."""
    for question in each.questions:
        said = [option.text for option in question.options]
        assert len(said) == len(set(said))
        assert question.kind is not Kind.CHOICE or len(said) >= 4
        assert "{" not in question.label + question.context + question.help
        assert "None" not in question.context + "".join(said)
    return True


def test_no_case_is_degenerate():
    """Two learners meet different cases; one learner always the same one."""
    assert all(whole(each) for each in cases()[:100])
    assert len({str(each.questions) for each in cases()[:100]}) == 100
    assert case("demo", EXERCISE, "learner0", BOOK) == drawn(0)


def test_one_baby_is_very_preterm_and_one_at_term():
    """Four babies of four groups, in a drawn order."""
    for each in cases()[:100]:
        weeks = [each[id].facts["weeks"] for id in TARGETS]
        very, term = (BOOK[f"drawn.{g}.gestation"].band for g in ("very-preterm", "term"))
        assert min(weeks) <= very[1]
        assert max(weeks) >= term[0]


def test_a_blank_of_the_edition_is_told_in_a_plain_sentence():
    """Where no number is given the question says so, and what stands in for it."""
    told = drawn()["target-1"].context
    assert "We have not read its PEEP: the usual teaching example is used." in told
    assert "The relief is by common practice." in told
    assert "We have not read its starting oxygen" in drawn(0, "erc-2025")["target-1"].context
    assert "oxygen" not in drawn(0, "erc-2025")["target-1"].options[0].text
    assert "so two others are shown" in drawn(0, "erc-2025")["two-editions"].context
    assert ": that of AHA/AAP 2015 is used" in drawn(0, "erc-2025")["oxygen-1"].context


def test_a_local_protocol_changes_the_right_answer():
    """The site's PIP, PEEP and relief are right for its learners, and wrong without it."""
    for n in range(12):
        theirs = case("demo", EXERCISE, f"learner{n}", SITE)
        assert total(mark_all(theirs, model_answers(theirs, SITE), SITE)) == EVERYTHING
        for id in TARGETS:
            right = theirs[id].facts["sets"][right_set(theirs[id], SITE)]
            met = starting.Baby(theirs[id].facts["weeks"], theirs[id].facts["kg"])
            assert right["pip"] == SITE["pip.start"].value == 22
            assert 24 <= right["relief"] <= (28 if met.weeks < 32 else 40)
            assert "peep" in starting_sets.broken(right, BOOK, met)
            assert "Example Protocol" in theirs[id].context


def test_two_editions_are_of_different_bodies_and_really_differ():
    """The pair asks for different numbers for one baby, and includes the course's own edition."""
    for each in cases():
        facts = each["two-editions"].facts
        assert DEFAULT in (facts["one"], facts["two"])
        one, two = two_editions.rules_of(facts)
        assert one.band != two.band
        said = two_editions.statements(facts, texts()["two"])
        assert len(set(said.values())) == len(said) == 4


def test_no_statement_about_two_editions_stands_alone():
    """Numbers and conclusions are each in two of the four, so the odd one out tells nothing."""
    for each in cases()[:100]:
        facts = each["two-editions"].facts
        claims = list(two_editions.statements(facts, texts()["two"]))
        swapped = [claim for claim in claims if claim.startswith(two_editions.SWAPPED)]
        assert len(swapped) == 2
        plain = {claim.removeprefix(two_editions.SWAPPED) for claim in claims}
        assert plain == {"both", facts["concluded"]}


CHEST = [id for id in heart_and_chest.POINTS if id != "corrective"]
NUMBERLESS = [*TARGETS, "two-editions", *oxygen.QUESTIONS, *predictions.READINGS]
NUMBERLESS += [*predictions.TURNS, predictions.LEAK, *CHEST]


@pytest.mark.parametrize("id", NUMBERLESS)
@pytest.mark.parametrize("value", ["nothing", 3, ["a"], {"a": 1}, True])
def test_a_choice_nobody_offered_earns_nothing_and_says_why(id, value):
    """Nonsense of any type is zero points and one sentence, never an error."""
    verdict = mark(drawn(), id, value, BOOK)
    assert verdict.earned == 0
    assert verdict.possible == POINTS[id]
    assert "could not be read" in verdict.findings[0].says


@pytest.mark.parametrize("id", GAUGES)
@pytest.mark.parametrize(
    "value",
    [
        25,
        {"text": "high", "unit": "cmH2O"},
        {"text": "25", "unit": "L/min"},
        {"text": "25", "unit": "furlong"},
        {"text": "25", "unit": 3},
        {"text": "25"},
        {"text": "nan", "unit": "cmH2O"},
        {"text": "1e400", "unit": "cmH2O"},
        {"text": 25, "unit": "cmH2O"},
    ],
)
def test_a_number_that_is_none_earns_nothing_and_says_why(id, value):
    """No number, no unit, or a unit of something else: zero points and one sentence."""
    verdict = mark(drawn(), id, value, BOOK)
    assert verdict.earned == 0
    assert "could not be read" in verdict.findings[0].says


def test_what_the_workbook_made_up_says_so():
    """A number chosen for teaching carries no publication."""
    for id in ("gauge.accept", "predict.apart", "raise.gap", "relief.margin", "target.relief-gap"):
        assert BOOK[id].citation.basis == Basis.ASSUMPTION
    assert BOOK["volume.window"].citation.basis == Basis.SECONDARY


def test_the_key_names_only_what_exists():
    """The marker's data speaks of slips, claims and kinds that are there."""
    assert set(key()["two"]) == {"swapped", *two_editions.CONCLUDED}
    assert set(key()["explains"]) == {predictions.LEAK}
    assert set(key()["reading"]["explains"]) == set(predictions.STATES)
    assert set(key()["turned"]["explains"]) == set(predictions.TURNED)
    assert set(key()["oxygen"]["explains"]) == set(oxygen.TURNS)
    chest, acts = heart_and_chest.key(), set(chest_texts()["seal"]["option"])
    assert set(chest["seal"]["explains"]) == set(seal.KINDS)
    assert set(chest["heart"]["explains"]) == set(heart_first.SITUATIONS)
    for pair in chest["seal"]["beliefs"]:
        kind, act = pair.split(">")
        assert kind in seal.KINDS
        assert act in acts - {seal.KINDS[kind].first}


@pytest.mark.parametrize(
    ("stands", "nearest", "marks"), [(22, 20, 21), (24, 20, 22), (26, 30, 23), (28, 30, 24)]
)
def test_who_misreads_the_scale_reads_what_is_worked_out_here(stands, nearest, marks):
    """Numbers stand at every tenth, marks at every second: the number next to it, or marks of 1."""
    assert needle_slips(stands, rulebook("aha-2020")) == {
        "nearest-number": nearest, "small-mark-is-one": marks,
    }  # fmt: skip
