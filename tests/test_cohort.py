"""The picture of a group: who is ready, what they missed, what they believe."""

from __future__ import annotations

import random
from collections.abc import Iterable
from dataclasses import replace

import pytest

from graders.cohort.group import Cohort, cohort
from graders.course.coursefolder import Person
from graders.learner.standing import Standing, Status
from graders.marking.exercise import mark_all, model_answers
from graders.marking.graded import Graded
from graders.marking.personas import answers_of, played, shows
from graders.marking.scored import scored
from graders.marks.misconceptions import EITHER, beliefs_of
from graders.marks.verdict import Finding, Verdict
from workbook.cases import case
from workbook.course.settings import Course

UNIT = "1_setup_order"
COURSE = Course("test", "Invented course", units=(UNIT,))


def graded(learner: str, holds: str = "", *, without: Iterable[str] = ()) -> Graded:
    drawn = case(COURSE.id, UNIT, learner, COURSE.book)
    answers = answers_of(drawn, COURSE.book, holds)
    kept = {question: value for question, value in answers.items() if question not in without}
    verdicts = mark_all(drawn, kept, COURSE.book)
    return Graded(learner, UNIT, COURSE.edition, verdicts, (), "", "abc" if kept else "", "1")


def blank(learner: str, *problems: str) -> Graded:
    verdicts = mark_all(case(COURSE.id, UNIT, learner, COURSE.book), {}, COURSE.book)
    return Graded(learner, UNIT, COURSE.edition, verdicts, problems, "", "", "1")


def made(*findings: Finding, learner: str = "a") -> Graded:
    return Graded(learner, UNIT, COURSE.edition, (Verdict("q", findings),), (), "", "abc", "1")


def people(*ids: str) -> dict[str, Person]:
    return {id: Person(id, f"Name of {id}") for id in ids}


def only(group: Cohort) -> Standing:
    (row,) = group.rows
    return row


def test_all_right_is_ready_and_comes_to_the_lab() -> None:
    """A learner who earns every point is ready and has nothing left to do."""
    row = only(cohort([graded("a")], people("a"), COURSE))
    assert (row.status, row.percent, row.next) == (Status.READY, 100, "Come to the lab.")
    assert row.critical == ()


def test_ready_is_what_the_verdicts_say() -> None:
    """Without a human's score, ready is the same as the graded unit's own answer."""
    for n, holds in enumerate(("", *played(UNIT))):
        one = graded(f"learner{n}", holds)
        assert only(cohort([one], {}, COURSE)).ready == one.ready(COURSE.needed)


def test_an_unsafe_act_keeps_from_ready_whatever_the_points() -> None:
    """A critical finding missed at a high score still means an unsafe act, told as a sentence."""
    one = graded("a", "peep-before-pip")
    row = only(cohort([one], {}, COURSE, scores={("a", UNIT): one.possible}))
    assert row.status is Status.UNSAFE
    assert not row.ready
    assert any("PEEP" in says for says in row.unsafe)
    assert row.next == (
        "Unsafe act first: read lesson 1_setup_order.ipynb, “The order that looks right”."
    )


def test_a_critical_question_left_open_is_no_unsafe_act_and_not_ready() -> None:
    """An answer that is missing shows nothing unsafe, and still blocks."""
    row = only(cohort([graded("a", without=["shift-check"])], {}, COURSE))
    assert (row.status, row.unsafe, row.left_open) == (Status.NOT_YET, (), ("shift-check",))
    assert row.percent is not None
    assert row.percent >= 80
    assert row.next == "Answer the critical question shift-check and hand in again."


def test_all_wrong_is_not_ready() -> None:
    """Answers that earn nothing leave a learner not ready, with a next thing to do."""
    row = only(
        cohort([made(Finding("q", False, "It is not so.", 0, 4, rule="set-pip"))], {}, COURSE)
    )
    assert (row.status, row.percent) == (Status.NOT_YET, 0)
    assert row.next == "Go over the question q. It is not so."


def test_no_points_at_all_is_not_ready() -> None:
    """A verdict without points makes nobody ready."""
    row = only(cohort([made()], {}, COURSE))
    assert (row.status, row.percent) == (Status.NOT_YET, None)


def test_questions_of_two_units_that_are_called_alike_are_not_added_up() -> None:
    """Each unit has its own share of the points of its own question."""
    other = "3_pressure_targets"
    course = replace(COURSE, units=(UNIT, other))
    half, all_of_it = (
        made(Finding("q", False, "Half.", 2, 4)),
        made(Finding("q", True, "Yes.", 4, 4)),
    )
    group = cohort([half, replace(all_of_it, unit=other)], {}, course)
    shares = {(one.unit, one.question): (one.earned, one.possible) for one in group.questions}
    assert shares == {(UNIT, "q"): (2, 4), (other, "q"): (4, 4)}


def test_a_human_score_of_one_unit_counts_in_that_unit_alone() -> None:
    """The other unit of the same learner keeps what the marking gave."""
    other = "3_pressure_targets"
    course = replace(COURSE, units=(UNIT, other))
    done = made(Finding("q", True, "Yes.", 4, 4))
    group = cohort([done, replace(done, unit=other)], {}, course, scores={("a", UNIT): 1.0})
    assert [(row.unit, row.score) for row in group.rows] == [(UNIT, 1.0), (other, 4.0)]


def test_the_gradebook_is_told_of_what_was_earned() -> None:
    """Not of what could have been."""
    assert scored(made(Finding("q", False, "Half.", 2, 4))).points == (("q", 2.0),)


def test_the_misconception_that_cost_most_is_read_first() -> None:
    """Among misconceptions without an unsafe act the dearest one is the next thing."""
    beliefs = {"falls-to-zero": 1, "flow-any-time": 3}
    slips = [
        Verdict(id, (Finding(id, False, "No.", 0, lost, rule="r", misconception=id),))
        for id, lost in beliefs.items()
    ]
    rest = Verdict("z", (Finding("z", True, "Yes.", 40, 40),))
    one = Graded("a", UNIT, COURSE.edition, (*slips, rest), (), "", "abc", "1")
    row = only(cohort([one], {}, COURSE))
    assert row.ready
    assert row.misconceptions == ("falls-to-zero", "flow-any-time")
    assert row.next == "Read lesson 1_setup_order.ipynb, “Flow first”."


def test_equally_dear_misconceptions_are_taken_by_id() -> None:
    """Two beliefs in one question share its cost; the first id decides, so output is stable."""
    held = [
        Finding(id, False, "No.", 0, 1, rule="r", misconception=id)
        for id in ("relief-after-pip", "flow-any-time")
    ]
    for findings in (held, held[::-1]):
        row = only(cohort([made(*findings)], {}, COURSE))
        assert row.next == "Read lesson 1_setup_order.ipynb, “Flow first”."


def test_a_file_that_could_not_be_used_is_named_before_anything_else() -> None:
    """The problem's sentence is kept and the next thing is to hand in again."""
    row = only(cohort([blank("a", "It is for another learner.")], {}, COURSE))
    assert row.problems == ("It is for another learner.",)
    assert row.next.endswith("hand in again: the file could not be used.")
    assert row.status is Status.UNMARKED


def test_an_empty_hand_in_says_so() -> None:
    """A sheet without answers is handed in, and told apart from a broken file."""
    row = only(cohort([blank("a")], {}, COURSE))
    assert row.handed_in
    assert row.next.endswith("no question was answered.")


def test_who_did_not_hand_in_and_who_is_not_on_the_roster() -> None:
    """The roster decides who is missing; a stranger counts and is marked."""
    group = cohort([graded("b"), graded("x")], people("a", "b"), COURSE)
    assert [row.learner for row in group.missing] == ["a"]
    assert group.missing[0].next == (
        "Open the exercise 1_setup_order.ipynb, answer every question and hand in."
    )
    assert [person.learner for person in group.strangers] == ["x"]
    assert group.statuses() == {"a": Status.MISSING, "b": Status.READY, "x": Status.READY}


def test_without_a_roster_nobody_is_missing_or_a_stranger() -> None:
    """An empty roster makes everyone who handed in the group."""
    group = cohort([graded("b"), graded("a")], {}, COURSE)
    assert [row.learner for row in group.rows] == ["a", "b"]
    assert group.missing == group.strangers == ()


def test_nobody_handed_in() -> None:
    """A course where nothing came in has a row for each person and nothing else."""
    group = cohort([], people("b", "a"), COURSE)
    assert [row.status for row in group.rows] == [Status.MISSING] * 2
    assert group.beliefs == group.questions == group.notes == ()


def test_no_people_at_all() -> None:
    """No roster and no work is an empty group, not an error."""
    assert cohort([], {}, COURSE).rows == ()


def test_a_human_score_counts_and_says_so() -> None:
    """The gradebook's score decides the points; one equal to the marking's is no human's."""
    one = made(Finding("q", True, "Half.", 2, 4))
    raised = only(cohort([one], {}, COURSE, scores={("a", UNIT): 4.0}))
    same = only(cohort([one], {}, COURSE, scores={("a", UNIT): 2.0}))
    assert (raised.score, raised.marked, raised.by_hand, raised.ready) == (4, 2, True, True)
    assert (same.by_hand, same.ready) == (False, False)


def test_a_human_score_can_take_ready_away() -> None:
    """A lowered score below the pass mark is not shown as ready."""
    one = graded("a")
    assert not only(cohort([one], {}, COURSE, scores={("a", UNIT): 1.0})).ready


@pytest.mark.parametrize(("needed", "ready"), [(0.5, True), (0.51, False)])
def test_the_pass_mark_of_the_course_decides(needed: float, ready: bool) -> None:
    """The share that passes is the course's, reached exactly or missed."""
    one = made(Finding("q", True, "Half.", 2, 4))
    assert only(cohort([one], {}, replace(COURSE, pass_mark=needed))).ready is ready


def test_a_percentage_is_never_rounded_up_to_the_pass_mark() -> None:
    """79.99 % reads as 79.9 beside 'Not yet', so the two agree."""
    row = only(cohort([made(Finding("q", False, "Near.", 79.99, 100))], {}, COURSE))
    assert (row.percent, row.ready) == (79.9, False)


def test_planted_misconceptions_are_counted() -> None:
    """Learners who play a belief are exactly those counted for it, commonest first."""
    plays = ["peep-before-pip"] * 3 + ["falls-to-zero"] * 2 + ["outlet-open"] * 2 + [""] * 3
    work = [graded(f"p{n}", holds) for n, holds in enumerate(plays)]
    beliefs = cohort(work, {}, COURSE).beliefs
    found = [(b.misconception.id, b.learners) for b in beliefs]
    assert found == [
        ("peep-before-pip", ("p0", "p1", "p2")),
        ("falls-to-zero", ("p3", "p4")),
        ("outlet-open", ("p5", "p6")),
    ]
    assert (beliefs[0].count, beliefs[0].of, beliefs[0].share) == (3, 10, 0.3)


def test_a_belief_is_counted_of_all_who_answered_a_unit_that_looks_for_it() -> None:
    """Its entry stands with unit 3; here unit 5 found it, and nobody answered unit 3."""
    unit, belief = "5_interface_sizing", "full-needle-seals"
    drawn = {id: case(COURSE.id, unit, id, COURSE.book) for id in map(str, range(9))}
    who = next(id for id, each in drawn.items() if shows(each, belief))
    work = []
    for id, each in drawn.items():
        answers = answers_of(each, COURSE.book, belief if id == who else "")
        verdicts = mark_all(each, answers, COURSE.book)
        work.append(Graded(id, unit, COURSE.edition, verdicts, (), "", "abc", "1"))
    (found,) = cohort(work, {}, replace(COURSE, units=(unit,))).beliefs
    assert (found.misconception.unit, found.learners) == ("3_pressure_targets", (who,))
    assert (found.count, found.of) == (1, 9)


def test_who_may_have_slipped_is_counted_with_the_belief_and_apart() -> None:
    """Two named outright come before three who may have slipped; one sign outright is enough."""

    def told(id: str, learner: str, unit: str = UNIT) -> Graded:
        finding = Finding("gauge-held", False, "No.", 0, 1, rule="set-pip", misconception=id)
        return replace(made(finding, learner=learner), unit=unit)

    work = [told("pip-plus-peep", id) for id in "ab"]
    work += [told("a-slip/pip-plus-peep", "b", "3_pressure_targets")]
    work += [told("a-slip/falls-to-zero", id) for id in "cd"]
    work += [told(f"a-slip/outlet-open{EITHER}needle-trusted", "e")]
    first, second, third = cohort(work, {}, COURSE).beliefs
    assert (first.misconception.id, first.learners, first.slips) == (
        "pip-plus-peep",
        ("a", "b"),
        (),
    )
    assert (second.misconception.id, second.count, second.slips) == ("falls-to-zero", 2, ("c", "d"))
    assert third.misconception.id == f"outlet-open{EITHER}needle-trusted"
    assert first.expected == 2 > second.expected > third.expected > 0
    assert not first.misconception.believes.startswith("A slip")


def test_a_belief_held_by_few_names_nobody() -> None:
    """Below three learners the group's part has a count and no ids."""
    few = cohort([graded(id, "falls-to-zero") for id in "ab"], {}, COURSE).beliefs[0]
    three = cohort([graded(id, "falls-to-zero") for id in "abc"], {}, COURSE).beliefs[0]
    assert (few.count, few.named) == (2, ())
    assert three.named == ("a", "b", "c")


def test_files_that_could_not_be_used_count_for_no_belief_and_no_question() -> None:
    """Shares are of the answers that could be read, so a lost file moves none of them."""
    group = cohort([graded("a", "falls-to-zero"), blank("b", "Broken.")], {}, COURSE)
    assert group.beliefs[0].of == 1
    assert {q.learners for q in group.questions} == {1}


def test_each_question_has_the_group_share_of_its_points() -> None:
    """Two learners, one of whom left a question open, earn half of it."""
    group = cohort([graded("a"), graded("b", without=["setup-1"])], {}, COURSE)
    shares = {q.question: q.percent for q in group.questions}
    assert shares.pop("setup-1") == 50
    assert set(shares.values()) == {100}
    drawn = case(COURSE.id, UNIT, "a", COURSE.book)
    assert [q.question for q in group.questions] == [q.id for q in drawn.questions]
    asked = {q.question: q.asked for q in group.questions}
    assert asked["gauge-held"] == drawn["gauge-held"].label


def test_the_order_of_the_work_changes_nothing() -> None:
    """Shuffled verdicts and a shuffled roster give the same picture."""
    ids = [f"s{n}" for n in range(8)]
    believed = {
        id: holds for id, holds in zip(ids, played(UNIT), strict=False) if holds != "order-is-habit"
    }
    work = [graded(id, believed.get(id, "")) for id in ids]
    first = cohort(work, people(*ids, "z"), COURSE)
    shuffle = random.Random(4).sample  # noqa: S311
    second = cohort(shuffle(work, len(work)), people(*shuffle(["z", *ids], 9)), COURSE)
    assert first == second


def test_another_edition_and_an_unknown_belief_are_noted() -> None:
    """Verdicts that do not fit the course or this version are named, with what to do."""
    old = replace(graded("a"), edition="aha-2015")
    strange = made(Finding("q", False, "No.", 0, 1, rule="r", misconception="new-one"), learner="b")
    notes = cohort([old, strange], {}, COURSE).notes
    assert "aha-2015" in notes[0]
    assert "new-one" in notes[1]
    assert notes[0].endswith("fetches the exercise again and hands in.")
    assert notes[1].endswith("Grade again.")


def test_two_units_make_a_row_each_and_the_worst_counts() -> None:
    """A learner who did one of two units is not ready over all."""
    other = replace(graded("a"), unit="2_invented")
    group = cohort([graded("a"), graded("b"), other], people("a", "b"), COURSE)
    assert [(row.unit, row.learner) for row in group.rows] == [
        (UNIT, "a"), (UNIT, "b"), ("2_invented", "a"), ("2_invented", "b"),
    ]  # fmt: skip
    assert group.statuses() == {"a": Status.READY, "b": Status.MISSING}


def test_what_is_played_shows_in_the_row() -> None:
    """Each known misconception that a case can show is recognised in the learner's row."""
    for holds in played(UNIT):
        drawn = (f"l{n}" for n in range(50))
        id = next(i for i in drawn if shows(case(COURSE.id, UNIT, i, COURSE.book), holds))
        row = only(cohort([graded(id, holds)], {}, COURSE))
        assert holds in map(beliefs_of, row.misconceptions)


def test_the_model_answers_need_no_persona() -> None:
    """The marking's own model answers are all right too."""
    drawn = case(COURSE.id, UNIT, "m", COURSE.book)
    marked = mark_all(drawn, model_answers(drawn, COURSE.book), COURSE.book)
    assert only(cohort([replace(graded("m"), verdicts=marked)], {}, COURSE)).ready
