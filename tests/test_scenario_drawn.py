"""Two cases drawn for a learner, the note of each, and both marked as a unit marks them."""

from __future__ import annotations

from collections import Counter

import pytest

from graders.marks.unit import Beside
from graders.units.scenario import UNIT, marks
from graders.units.scenario.facts import Facts
from workbook.bench import DIALS
from workbook.cases import Case, Kind
from workbook.cases.starting import Baby, highest_relief
from workbook.rules import editions, rulebook
from workbook.scenario import replay
from workbook.scenario.expert import expert
from workbook.units.scenario.case.questions import (
    CASE_OF,
    CASES,
    EXERCISE,
    NOTES,
    RESTRAINT,
    STALLS,
    questions,
)

pytestmark = pytest.mark.slow

GUIDELINES = [edition for edition in editions() if edition != "practice"]
BOOK = rulebook("aha-2025")


def drawn(learner: str, book=BOOK) -> Case:
    return Case("may", EXERCISE, learner, book.edition.id, questions("may", learner, book))


def courses(made: Case) -> tuple[str, ...]:
    return tuple(made[id].facts["case"].hidden.id for id in CASES)


# --- the draw


def test_each_learner_has_one_case_of_restraint_and_one_that_stalls():
    """In either order, each with its note behind it."""
    first = Counter[bool]()
    for n in range(100):
        made = drawn(f"learner{n}")
        assert [q.id for q in made.questions] == ["case-1", "note-1", "case-2", "note-2"]
        kinds = [q.kind for q in made.questions]
        assert kinds == [Kind.CASE, Kind.NOTE, Kind.CASE, Kind.NOTE]
        one, other = courses(made)
        assert (one in RESTRAINT) != (other in RESTRAINT)
        assert {one, other} & set(STALLS)
        first[one in RESTRAINT] += 1
    assert min(first.values()) > 30


def test_neighbours_differ_and_every_course_is_drawn():
    """No pair is met by one in ten; half of the babies of restraint breathe by themselves."""
    pairs = Counter(courses(drawn(f"learner{n}")) for n in range(300))
    assert {id for pair in pairs for id in pair} == {*RESTRAINT, *STALLS}
    assert max(pairs.values()) < 30
    breathers = sum(many for pair, many in pairs.items() if "breather" in pair)
    assert 0.4 < breathers / 300 < 0.6
    babies = {drawn(f"learner{n}")["case-1"].facts["case"] for n in range(50)}
    assert len(babies) == 50


def test_a_second_attempt_is_another_case():
    """What is drawn follows from who, what and which attempt."""
    assert drawn("ada") == drawn("ada")
    assert drawn("ada")["case-1"].facts != drawn("ada\x1e2")["case-1"].facts


@pytest.mark.parametrize("edition", GUIDELINES)
def test_the_t_piece_stands_as_it_was_set_at_birth(edition):
    """On its dials, PIP below a relief that is not above the limit; oxygen as the edition says."""
    book = rulebook(edition)
    for n in range(3):
        made = drawn(f"set{n}", book)
        for id in CASES:
            case = made[id].facts["case"]
            baby = Baby(int(case.weeks), case.kg)
            assert all(0 <= case.positions[name] <= DIALS[name].clicks for name in DIALS)
            top = highest_relief(book, baby)
            played = replay(case, expert(case, book), book)
            assert all(one.top <= top + book["relief.accept"].value for one in played.inflations)
            assert 21 <= case.oxygen < 100
            assert (case.oxygen == 21) or case.weeks < 35
            says = made[id].context
            assert "A colleague stands beside you." in says
            assert set(made[id].shows) == {"case", "weeks", "weight", "positions", "oxygen"}


def test_what_an_edition_does_not_state_is_said_and_stood_in_for():
    """One states no pressures and no oxygen, another states them all but the PEEP."""
    says = {e: drawn("ada", rulebook(e))["case-1"].context for e in ("erc-2025", "aha-2025")}
    assert says["erc-2025"].endswith(
        "We have not read its PIP and PEEP and oxygen to begin with: a teaching example is set."
    )
    assert "read its PEEP to begin with" in says["aha-2025"]


# --- marked as a unit


@pytest.mark.parametrize("edition", GUIDELINES)
def test_right_answers_earn_nine_tenths_and_their_notes_everything(edition):
    """As somebody would who goes by the edition's steps and writes down what was seen."""
    book = rulebook(edition)
    for n in range(2):
        made = drawn(f"right{n}", book)
        answers = marks.model_answers(made, book)
        for note, id in CASE_OF.items():
            case = UNIT.marks.check(made, id, answers[id], book)
            told = UNIT.marks.check(made, note, Beside(answers[note], answers[id]), book)
            assert case.possible == marks.POINTS[id] == 20
            assert case.earned >= 18
            assert not case.unsafe
            assert not case.misconceptions
            assert (told.earned, told.possible) == (5, marks.POINTS[note]), told


def test_a_note_is_marked_beside_its_own_case():
    """The other case's note tells something else; a note alone tells of nothing."""
    made = drawn("ada")
    answers = marks.model_answers(made, BOOK)
    swapped = Beside(answers["note-2"], answers["case-1"])
    assert marks.check(made, "note-1", swapped, BOOK).earned < 4
    for record in (None, {"format": "x"}):
        (found,) = marks.check(made, "note-1", Beside(answers["note-1"], record), BOOK).findings
        assert (found.earned, found.possible) == (0, 5)
        assert found.says.startswith("Play the case first")


def test_a_note_on_nothing_done_earns_nothing():
    """Though every “not done” in it is true."""
    made = drawn("ada")
    head = {"format": "tpiece-scenario", "version": 1, "case": "case-1"}
    record = {**head, "duration": 420_000, "ended": "whole", "acts": []}
    note = {"format": "tpiece-note", "version": 1, "begun": "none", "moved": "none"}
    (found,) = marks.check(made, "note-1", Beside(note, record), BOOK).findings
    assert (found.earned, found.met) == (0, False)


def test_a_blank_note_and_one_that_is_none_are_told_in_one_sentence():
    """What, and what to do."""
    made = drawn("ada")
    answers = marks.model_answers(made, BOOK)
    for value, says in ((None, "Not answered yet"), ({"format": "x"}, "no note on a case")):
        (found,) = marks.check(made, "note-1", Beside(value, answers["case-1"]), BOOK).findings
        assert says in found.says
        assert (found.earned, found.possible) == (0, 5)


@pytest.mark.parametrize("note", NOTES)
def test_each_entry_of_a_note_earns_its_share(note):
    """A wrong PIP costs half of its field and nothing else."""
    made = drawn("bo")
    answers = marks.model_answers(made, BOOK)
    wrong = {**answers[note], "pip": 77.0}
    found = marks.check(made, note, Beside(wrong, answers[CASE_OF[note]]), BOOK)
    assert found.earned == 4.5
    (missed,) = [f for f in found.findings if not f.met]
    assert missed.criterion == f"{note}-pressures"
    assert "you wrote 77 cmH2O" in missed.says
    assert not missed.critical


# --- hostile records: kept as far as they went, or told


def record(made: Case) -> dict:
    return marks.model_answers(made, BOOK)["case-1"]


@pytest.mark.parametrize(
    ("spoil", "says"),
    [
        (lambda r: {**r, "acts": [*r["acts"][:5], [10, "dry"], *r["acts"][5:]]}, "back in time"),
        (lambda r: {**r, "acts": [[-5000, "dry"], *r["acts"]]}, "lies before birth"),
        (lambda r: [r, r], "more than one case"),
        (lambda r: {**r, "case": "case-2"}, "of another case"),
        (lambda r: {**r, "duration": 60_000}, "after the end of the case"),
    ],
)
def test_a_record_that_cannot_have_happened_is_told_in_one_sentence(spoil, says):
    """It earns nothing, and its note cannot be compared."""
    made = drawn("ada")
    value = spoil(record(made))
    (found,) = marks.check(made, "case-1", value, BOOK).findings
    assert says in found.says, found.says
    assert (found.earned, found.possible) == (0, 20)


def test_a_case_that_broke_off_is_kept_and_marked_as_far_as_it_went():
    """What comes after is not held against it; what is kept up earns its part."""
    made = drawn("ada")
    whole = record(made)
    until = 45_000
    cut = {**whole, "duration": until, "ended": "midway",
           "acts": [row for row in whole["acts"] if row[0] < until]}  # fmt: skip
    if cut["acts"][-1][1] == "occlude":
        cut["acts"].pop()
    found = marks.check(made, "case-1", cut, BOOK)
    full = marks.check(made, "case-1", whole, BOOK)
    assert 0 < found.earned < full.earned
    assert not found.unsafe


def test_a_replay_is_kept_for_its_note_and_its_result():
    """A case is replayed once, however often it is asked for."""
    made = drawn("ada")
    value, case = record(made), made["case-1"].facts["case"]
    assert isinstance(marks.facts_of(case, value, BOOK), Facts)
    assert marks.facts_of(case, value, BOOK) is marks.facts_of(case, value, BOOK)
