"""Attempts: each draws its own case, is kept for ever, and only the latest answered is marked."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from statistics import mean
from typing import Any

import pytest

from graders import award
from graders.course.coursefolder import CourseFolder
from graders.grading.grade import grade
from graders.handed_in.intake import Intake, Piece
from graders.marking.exercise import mark, mark_all, model_answers
from graders.marking.graded import read_verdict, write_verdict
from workbook.cases import Case, case, exercises
from workbook.core.answer_sheet import AnswerFileError, answer_sheet, answers_path
from workbook.core.answers import AnswersFile
from workbook.course.settings import Course, read_course
from workbook.lesson.unit import Unit, open_unit
from workbook.rules import RuleBook, editions, rulebook
from workbook.units.scenario.case.questions import CASES

pytestmark = pytest.mark.slow

UNIT, PEOPLE = "5_interface_sizing", 200
PLAYED, PLAYERS = "7_from_birth", 60  # its answers are what hands did, second by second
COURSE = Course(id="may", units=(UNIT,), edition="aha-2020")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a learner's unit folder of a course."""
    monkeypatch.setenv("TPIECE_LEARNER", "ada")
    (tmp_path / "course.toml").write_text(COURSE.text(), encoding="utf-8")
    return tmp_path


def drawn(attempt: int) -> Case:
    """Return ada's case of an attempt."""
    return case("may", UNIT, "ada", COURSE.book, attempt)


def best(attempt: int) -> dict[str, object]:
    """Return answers that earn every point of an attempt."""
    return model_answers(drawn(attempt), COURSE.book)


def courses_of(drawn: Case) -> set[str]:
    """Return the hidden courses of the babies of a case."""
    return {drawn[id].facts["case"].hidden.id for id in CASES}


def answer(unit: Unit, answers: dict[str, object]) -> None:
    """Save answers as the page does."""
    for question, value in answers.items():
        unit.file.append(question, value)


# --- the draw


def test_a_first_attempt_is_drawn_as_before_and_each_later_one_anew() -> None:
    """No two of five attempts of anybody are one case."""
    for exercise in exercises():
        for learner in ("ada", "bo", "cy"):
            book = COURSE.book
            cases = [case("may", exercise, learner, book, n) for n in range(1, 6)]
            assert cases[0] == case("may", exercise, learner, book)
            assert len({repr(one.questions) for one in cases}) == 5


@pytest.mark.parametrize("exercise", [each for each in exercises() if each != PLAYED])
def test_answers_copied_from_the_attempt_before_do_not_fit(exercise: str) -> None:
    """What earned everything in the first attempt never does in the second, nor passes."""
    book, shares = COURSE.book, []
    for n in range(PEOPLE):
        one, two = (case("may", exercise, f"n{n}", book, attempt) for attempt in (1, 2))
        verdicts = mark_all(two, model_answers(one, book), book)
        shares.append(sum(v.earned for v in verdicts) / sum(v.possible for v in verdicts))
    assert mean(shares) < 0.65
    passed = sum(share >= book["pass-mark"].value / 100 for share in shares)
    assert passed <= PEOPLE / 50
    assert max(shares) < 1


def test_the_hands_of_the_attempt_before_seldom_fit_the_next_baby() -> None:
    """A case played live has nothing to copy but each act at its second, blind to the new baby.

    Much of that is right for every baby (dry, mask on, rate, words), so it earns points; but no
    hidden course comes twice in a row, and few such runs would be ready.
    """
    book, ready, fits = COURSE.book, 0, []
    for n in range(PLAYERS):
        one, two, three = (case("may", PLAYED, f"n{n}", book, attempt) for attempt in (1, 2, 3))
        for before, after in ((one, two), (two, three)):
            assert not courses_of(before) & courses_of(after)
        verdicts = mark_all(two, model_answers(one, book), book)
        fits.append(sum(v.earned for v in verdicts) / sum(v.possible for v in verdicts))
        safe = not any(v.unsafe for v in verdicts)
        ready += safe and fits[-1] >= book["pass-mark"].value / 100
    assert ready <= PLAYERS * 0.15
    assert mean(fits) < 0.75
    assert max(fits) < 1


@pytest.mark.parametrize("edition", editions())
def test_an_expert_earns_every_point_of_a_later_attempt(edition: str) -> None:
    """A new case is as fair as the first, whatever edition is asked about."""
    book: RuleBook = rulebook(edition)
    for exercise in exercises():
        later = case("may", exercise, "ada", book, 3)
        for verdict in mark_all(later, model_answers(later, book), book):
            assert verdict.earned == verdict.possible, (exercise, verdict.question)


# --- the file


def test_a_new_attempt_starts_empty_and_keeps_what_was_answered(folder: Path) -> None:
    """The page opens the new case without an answer; the file only grew."""
    unit = open_unit(UNIT, folder)
    answer(unit, best(1))
    before = unit.file.path.read_bytes()
    assert unit.begin_attempt() == 2
    again = open_unit(UNIT, folder)
    assert again.case == drawn(2)
    assert again.answers() == {}
    assert again.file.path.read_bytes().startswith(before)
    answer(again, best(2))
    assert again.answers() == best(2)
    sheet = again.file.sheet()
    assert not sheet.problems
    assert {id: one.value for id, one in sheet.latest(1).items()} == best(1)


def test_two_windows_that_begin_an_attempt_begin_one(folder: Path) -> None:
    """Asked for twice, it is begun once; the attempt after it needs an answer first."""
    first, other = open_unit(UNIT, folder), open_unit(UNIT, folder)
    answer(first, best(1))
    assert (first.begin_attempt(), other.begin_attempt()) == (2, 2)
    with pytest.raises(AnswerFileError, match="Nothing of attempt 2 is answered yet"):
        open_unit(UNIT, folder).begin_attempt()


def test_no_attempt_is_begun_before_anything_is_answered(folder: Path) -> None:
    """Looking for an easy case costs at least an answer to each one seen."""
    with pytest.raises(AnswerFileError, match="Nothing of attempt 1 is answered yet"):
        open_unit(UNIT, folder).begin_attempt()
    assert not answers_path(folder / f"{UNIT}.ipynb").exists()


def test_a_window_left_open_on_an_earlier_attempt_says_so_and_loses_nothing(folder: Path) -> None:
    """Its answer is written down with its own attempt, and counts for no other."""
    old = open_unit(UNIT, folder)
    question, value = next(iter(best(1).items()))
    old.file.append(question, value)
    old.begin_attempt()
    with pytest.raises(AnswerFileError, match=r"still shows attempt 1, and attempt 2 was begun"):
        old.file.append(question, "late")
    sheet = old.file.sheet()
    assert sheet.latest() == {}
    assert sheet.latest(1)[question].value == "late"


HEAD = json.dumps({"n": 1, "format": "tpiece-answers/1", "course": "may", "exercise": UNIT,
                   "learner": "ada", "edition": COURSE.edition, "protocol": ""})  # fmt: skip


def line(value: str, **more: object) -> str:
    """Return one saved answer as it stands in a file."""
    return json.dumps({"n": 2, "question": "suction", "value": value, "at": "", **more})


HOSTILE = {
    "a thousand million": ('{"n":2,"attempt":1000000000}', 1),
    "below none": ('{"n":2,"attempt":-1}', 1),
    "none": ('{"n":2,"attempt":0}', 1),
    "the first again": ('{"n":2,"attempt":1}', 1),
    "a part": ('{"n":2,"attempt":1.5}', 1),
    "a truth": ('{"n":2,"attempt":true}', 1),
    "a word": ('{"n":2,"attempt":"2"}', 1),
    "one left out": ('{"n":2,"attempt":3}', 1),
    "repeated": ('{"n":2,"attempt":2}\n{"n":3,"attempt":2}', 2),
    "backwards": ('{"n":2,"attempt":2}\n{"n":3,"attempt":1}', 2),
    "an answer ahead": (line("x", attempt=10**9), 1),
    "an answer before": (line("x", attempt=-1), 1),
}


@pytest.mark.parametrize(("text", "attempt"), HOSTILE.values(), ids=HOSTILE)
def test_a_false_attempt_is_left_out_in_a_sentence(text: str, attempt: int) -> None:
    """Attempts are begun one after the other; no line picks a case."""
    told = "\n".join([HEAD, line("mine"), text, ""])
    sheet = answer_sheet(told.encode(), "a.jsonl")
    assert sheet.attempt == attempt
    assert len(sheet.problems) == 1
    assert "a.jsonl, line" in sheet.problems[0]
    assert [one.value for one in sheet.answers] == ["mine"]
    assert sheet.counts == 1


def test_interleaved_attempts_are_told_apart() -> None:
    """Each answer names its attempt, whatever stands between."""
    told = [HEAD, line("a"), '{"n":3,"attempt":2}', line("b", attempt=2), line("c"),
            line("d", attempt=2), line("e")]  # fmt: skip
    sheet = answer_sheet("\n".join(told).encode(), "a.jsonl")
    assert (sheet.problems, sheet.counts) == ((), 2)
    assert sheet.latest()["suction"].value == "d"
    assert sheet.latest(1)["suction"].value == "e"


# --- practice


def test_practice_opens_the_same_case_empty_and_counts_for_nothing(folder: Path) -> None:
    """It is kept in a file of its own that no course grades; then all is as before."""
    unit = open_unit(UNIT, folder)
    answer(unit, best(1))
    before = unit.file.path.read_bytes()
    for turn in (1, 2):
        unit.practise()
        again = open_unit(UNIT, folder)
        assert again.practice
        assert (again.case, again.answers()) == (unit.case, {})
        answer(again, {"suction": f"try {turn}"})
        assert again.answers() == {"suction": f"try {turn}"}
    assert unit.file.path.read_bytes() == before
    back = open_unit(UNIT, folder)
    assert (back.practice, back.answers()) == (False, best(1))
    assert again.file.exercise not in read_course(folder).units


def test_practice_sent_in_by_hand_is_refused_in_a_sentence(folder: Path, tmp_path: Path) -> None:
    """A file of practice is nobody's work."""
    unit = open_unit(UNIT, folder)
    answer(unit, {"suction": "x"})
    unit.practise()
    again = open_unit(UNIT, folder)
    answer(again, {"suction": "x"})
    taken = Intake(CourseFolder(tmp_path)).take(Piece("p", again.file.path.read_bytes()))
    assert not taken.usable
    assert "which this course does not grade" in taken.says


# --- marking


def submission(folder: Path, *attempts: dict[str, object]) -> bytes:
    """Answer one attempt after another in a folder; return the file."""
    path = answers_path(folder / f"{UNIT}.ipynb")
    path.unlink(missing_ok=True)
    for n, answers in enumerate(attempts, start=1):
        file = AnswersFile(path, "may", UNIT, "ada", COURSE.edition, attempt=n)
        if n > 1:
            file.begin(n - 1)
        for question, value in answers.items():
            file.append(question, value)
    return path.read_bytes()


def test_both_ways_of_grading_mark_the_attempt_that_is_answered(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The marking cells and the grader draw one case, of the latest attempt with an answer."""
    monkeypatch.setenv("NBGRADER_EXECUTION", "autograde")
    for attempts, counts in (
        ((best(1), best(2)), 2),
        ((best(1), best(1)), 2),
        ((best(1), {}), 1),
        ((best(1), best(2), {"suction": "x"}), 3),
    ):
        submission(folder, *attempts)
        graded = grade(folder, COURSE, UNIT, "ada")
        unit = open_unit(UNIT, folder)
        assert (graded.attempt, unit.case.attempt) == (counts, counts)
        cells = {v.question: award.award(unit, v.question) for v in graded.verdicts}
        assert cells == {v.question: v.earned for v in graded.verdicts}
        full = attempts[counts - 1] == best(counts)
        assert (graded.earned == graded.possible) == full
    capsys.readouterr()


def test_a_verdict_keeps_its_attempt(folder: Path) -> None:
    """Written and read back, a verdict knows whose case it marked; an old one was a first."""
    submission(folder, best(1), best(2))
    graded = grade(folder, COURSE, UNIT, "ada")
    write_verdict(graded, folder)
    assert read_verdict(folder / "verdict.json").attempt == 2
    kept = json.loads((folder / "verdict.json").read_text())
    del kept["attempt"]
    (folder / "verdict.json").write_text(json.dumps(kept))
    assert read_verdict(folder / "verdict.json").attempt == 1


# --- the way in


def test_an_earlier_attempt_never_replaces_a_later_one(tmp_path: Path) -> None:
    """Whatever its clock says; and what a later attempt replaces is kept."""
    (tmp_path / "course.toml").write_text(COURSE.text(), encoding="utf-8")
    course, draft = CourseFolder(tmp_path), tmp_path / "draft"
    draft.mkdir()
    early = submission(draft, {"suction": "a"}, {"suction": "b"})
    once = submission(draft, {"suction": "c"}).replace(b'"at": "20', b'"at": "19')
    late = submission(draft, {"suction": "0"}, {"suction": "1"}, {"suction": "2"})
    sure: dict[str, Any] = {"learner": "ada", "owner": "ada", "sure": True}
    there = answers_path(course.submitted("ada", UNIT) / f"{UNIT}.ipynb")
    intake = Intake(course)
    assert intake.take(Piece("one", once, **sure)).new
    assert intake.take(Piece("two", early, **sure)).new
    refused = intake.take(Piece("three", submission(draft, {"suction": "z"}), **sure))
    assert "attempt 2 is there already" in refused.says
    assert there.read_bytes() == early
    assert intake.take(Piece("four", late.replace(b'"at": "20', b'"at": "19'), **sure)).new
    kept = [path.read_bytes() for path in (tmp_path / "replaced").rglob("*.jsonl")]
    assert sorted(kept) == sorted([once, early])


def test_any_choice_about_a_held_tube_is_marked() -> None:
    """Whatever is chosen, right or wrong, marking ends in a verdict."""
    for n in range(20):
        one = case("may", UNIT, f"n{n}", COURSE.book)
        for option in one["depth-small"].options:
            verdict = mark(one, "depth-small", option.id, COURSE.book)
            assert 0 <= verdict.earned <= verdict.possible


# --- a limit


def test_a_limit_counts_down_and_the_last_attempt_can_only_be_practised(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The page says which of how many; one more is refused in a sentence, and nothing is begun."""
    (folder / "course.toml").write_text(replace(COURSE, attempts=2).text(), encoding="utf-8")
    unit = open_unit(UNIT, folder)
    assert (unit.attempts_left(), unit._which()) == (1, "**Attempt 1 of 2.**")
    answer(unit, best(1))
    assert unit.begin_attempt() == 2
    again = open_unit(UNIT, folder)
    answer(again, best(2))
    assert (again.attempts_left(), again._which()) == (0, "**Attempt 2 of 2.**")
    before = again.file.path.read_bytes()
    with pytest.raises(AnswerFileError, match="Attempt 2 is the last that this course allows"):
        again.begin_attempt()
    assert again.file.path.read_bytes() == before
    again.practise()
    assert open_unit(UNIT, folder).practice
    assert open_unit(UNIT, folder).answers() == best(2)


def test_a_page_hears_of_a_limit_that_was_changed_since_it_was_fetched(folder: Path) -> None:
    """The settings above a unit's folder are the newer; another course's say nothing."""
    unit_folder = folder / UNIT
    unit_folder.mkdir()
    (unit_folder / "course.toml").write_text(replace(COURSE, attempts=1).text(), encoding="utf-8")
    for above, left in (
        (replace(COURSE, attempts=3).text(), 2),
        (COURSE.text(), None),
        (replace(COURSE, id="june", attempts=3).text(), 0),
        ("nonsense", 0),
    ):
        (folder / "course.toml").write_text(above, encoding="utf-8")
        assert open_unit(UNIT, unit_folder).attempts_left() == left


def test_both_ways_of_grading_stop_at_the_limit(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The marking cells and the grader mark the highest attempt that is allowed."""
    monkeypatch.setenv("NBGRADER_EXECUTION", "autograde")
    course = replace(COURSE, attempts=2)
    (folder / "course.toml").write_text(course.text(), encoding="utf-8")
    submission(folder, best(1), best(2), best(3))
    graded = grade(folder, course, UNIT, "ada")
    unit = open_unit(UNIT, folder)
    assert (graded.attempt, unit.case.attempt) == (2, 2)
    assert graded.earned == graded.possible
    assert {v.question: award.award(unit, v.question) for v in graded.verdicts} == {
        v.question: v.earned for v in graded.verdicts
    }
    (says,) = graded.problems
    assert says.endswith("holds attempt 3, and this course allows 2: attempt 2 is marked.")
    capsys.readouterr()
