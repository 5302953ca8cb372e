"""The result that comes to a learner: data read whole or not at all, in words and moments."""

from __future__ import annotations

import json
import stat
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from graders.cli import main
from graders.core.jsonfile import as_json
from graders.course.coursefolder import CourseFolder
from graders.course.settings import Wanted, changed
from graders.grading.at_hand_in import mark_now
from graders.grading.grade import grade
from graders.grading.result import marked_values, result_of, write
from graders.learner.history import keep
from graders.learner.page import _words
from graders.marking.exercise import mark
from graders.marking.personas import answers_of
from graders.tasks import work
from workbook.bench import Bench, Hands, Touch
from workbook.bench.story import moment_of, needle
from workbook.cases import case, exercises
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.course.handed import TO_SEND, Way, digest, give, sent
from workbook.course.result import (
    Question,
    Result,
    ResultError,
    Run,
    came_back,
    find,
    marked,
    own,
    read_result,
    waits,
)
from workbook.course.result import result_of as parsed
from workbook.course.settings import FILE, Course, CourseError, read_course
from workbook.display.compared import needle as whole
from workbook.room.home import home
from workbook.room.shown import shown
from workbook.rules import editions
from workbook.start.given import Given, given_at

pytestmark = pytest.mark.slow

LEARNER, UNIT = "ada.q7", "1_setup_order"
COURSE = Course("may", "May course", units=exercises())


@pytest.fixture(autouse=True)
def _at_work(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TPIECE_LEARNER", LEARNER)


def answer(
    folder: Path,
    unit: str,
    holds: str,
    course: Course = COURSE,
    learner: str = LEARNER,
    **more: Any,
) -> Path:
    """Answer a unit in a folder as somebody with a belief does, and return the answers file."""
    drawn = case(course.id, unit, learner, course.book)
    path = answers_path(folder / f"{unit}.ipynb")
    path.parent.mkdir(parents=True, exist_ok=True)
    file = AnswersFile(path, course.id, unit, learner, course.edition, protocol=course.stamp)
    for question, value in {**answers_of(drawn, course.book, holds), **more}.items():
        file.append(question, value)
    return path


def made(folder: Path, unit: str, holds: str, course: Course = COURSE, **more: Any) -> Result:
    answer(folder, unit, holds, course, **more)
    graded = grade(folder, course, unit, LEARNER)
    return result_of(graded, course, marked_values(folder, graded))


# --- what it says


def test_a_lent_rule_is_told_in_the_words_of_who_lends_it(tmp_path: Path) -> None:
    """The newest edition was not read on raising PIP: the textbook's own step and ceiling stand."""
    result = made(tmp_path, "3_pressure_targets", "pip-is-fixed")
    missed = [f for q in result.questions for f in q.found if not f.met and f.source]
    assert any(f.rule.startswith("Raise PIP in steps of this size") for f in missed)
    assert all(f.rule and "not stated here" not in f.rule for f in missed)


@pytest.mark.parametrize("unit", exercises())
@pytest.mark.parametrize("language", ["en", "es", "qps-rtl"])
def test_a_result_is_read_back_as_it_was_written(tmp_path: Path, unit: str, language: str) -> None:
    """In every language; all of the verdict's findings, points and sources are in it."""
    course = replace(COURSE, language=language)
    result = made(tmp_path, unit, "", course)
    path = tmp_path / "result.json"
    write(result, path)
    assert read_result(path, LEARNER, unit) == result
    graded = grade(tmp_path, course, unit, LEARNER).for_learner()
    told = [f for q in result.questions for f in q.found]
    assert len(told) == sum(len(v.findings) for v in graded.verdicts)
    assert {f.says for f in told} == {f.says for v in graded.verdicts for f in v.findings}
    assert result.earned == graded.earned
    assert result.standing == "ready"
    assert all(q.said for q in result.questions)


@pytest.mark.parametrize(
    ("unit", "holds"), [("6_fault_finding", "high-rest-is-good-peep"), (UNIT, "peep-before-pip")]
)
def test_points_are_those_of_the_questions_to_the_last_half(
    tmp_path: Path, unit: str, holds: str
) -> None:
    """Nothing is rounded on the way, and what could be had is not what was earned."""
    result = made(tmp_path, unit, holds)
    assert result.earned == pytest.approx(sum(q.earned for q in result.questions), abs=1e-9)
    assert result.possible == pytest.approx(sum(q.possible for q in result.questions), abs=1e-9)
    assert 0 < result.earned < result.possible


def test_what_was_missed_comes_with_belief_rule_source_place_and_next_step(tmp_path: Path) -> None:
    """A belief that could harm comes first; a lesson is named by its number, never by its file."""
    result = made(tmp_path, UNIT, "peep-before-pip")
    assert result.standing == "unsafe"
    assert "could harm" in result.says
    assert result.next == "Unsafe act first: read lesson 1, “The order that looks right”."
    assert [(p.page, p.heading) for p in result.read] == [
        ("1_setup_order.ipynb", "The order that looks right")
    ]
    missed = [f for q in result.questions for f in q.found if f.grave]
    assert missed
    assert all(f.rule and f.source for f in missed)
    assert any(f.belief and f.belief.read for f in missed)


def test_the_moments_of_a_run_are_those_of_its_needle(tmp_path: Path) -> None:
    """Each finding with a needle has a second within the run, and the needle shows around it."""
    result = made(tmp_path, UNIT, "peep-before-pip")
    (question,) = (q for q in result.questions if q.id == "bench")
    moments = [f for f in question.found if f.at is not None]
    assert moments
    for found in moments:
        assert found.trace[0][0] <= found.at <= found.trace[-1][0]


@pytest.mark.parametrize("moment", [0.0, 1.0, 4.0, 20.0, 59.0, 60.0])
def test_a_moment_is_found_again_in_its_needle(moment: float) -> None:
    """Also near both ends of a run."""
    drawn = case(COURSE.id, UNIT, LEARNER, COURSE.book)["bench"]
    hands = Hands(60.0, (Touch(1.0, "flow", 4),))
    shown = needle(Bench.from_data(drawn.facts["bench"]), hands, moment)
    assert moment_of(shown, 60.0) == pytest.approx(moment, abs=4.0)
    if 4.0 < moment < 58.0:
        assert moment_of(shown, 60.0) == pytest.approx(moment, abs=0.02)


def test_a_wrong_guess_about_a_colleagues_set_up_is_no_harm_of_ones_own(tmp_path: Path) -> None:
    """It keeps from the lab, and is told as something to look at again."""
    course = COURSE
    drawn = case(course.id, UNIT, LEARNER, course.book)
    right = answers_of(drawn, course.book, "")
    critical = []
    for question in drawn.questions:
        if not question.of_others or question.id == "shift-check":
            continue
        for option in question.options:
            folder = tmp_path / question.id / option.id
            result = made(folder, UNIT, "", **{question.id: option.id})
            (told,) = (q for q in result.questions if q.id == question.id)
            graves = {f.grave for f in told.found if f.grave}
            assert graves <= {"others"}
            if graves:
                critical.append(option.id)
                assert result.standing == "not-yet"
                assert "harm" not in result.says
                assert "Unsafe act" not in result.next
    assert critical, right


def test_what_hands_did_is_told_as_done_by_hand(tmp_path: Path) -> None:
    """A run that could harm stands under a heading of its own."""
    result = made(tmp_path, UNIT, "peep-before-pip")
    graves = {q.id: f.grave for q in result.questions for f in q.found if f.grave}
    assert graves["bench"] == "hands"
    assert graves["order"] == "act"


def test_work_that_cannot_be_marked_says_why(tmp_path: Path) -> None:
    """No points and no findings pretend otherwise."""
    answers_path(tmp_path / f"{UNIT}.ipynb").write_text("nonsense", encoding="utf-8")
    graded = grade(tmp_path, COURSE, UNIT, LEARNER)
    result = result_of(graded, COURSE, marked_values(tmp_path, graded))
    assert result.standing == "unmarked"
    assert result.notes
    assert parsed(json.loads(as_json(result))) == result


# --- an expert's run of the same case

AT_BENCH = {"1_setup_order": "bench", "3_pressure_targets": "raise"}


def one(result: Result, id: str) -> Question:
    return next(question for question in result.questions if question.id == id)


@pytest.mark.parametrize("edition", editions())
@pytest.mark.parametrize(("unit", "id"), AT_BENCH.items())
def test_an_experts_run_of_the_same_case_comes_with_a_run(
    tmp_path: Path, edition: str, unit: str, id: str
) -> None:
    """In every edition: touches that earn every point of this case, in little room."""
    course = replace(COURSE, edition=edition)
    drawn = case(COURSE.id, unit, LEARNER, course.book)
    beliefs = {"1_setup_order": "flow-any-time", "3_pressure_targets": "longer-opens-better"}
    result = made(tmp_path, unit, beliefs[unit], course)
    expert = one(result, id).expert
    assert expert is not None
    touches = tuple(Touch(*each) for each in expert.touches)
    verdict = mark(drawn, id, Hands(expert.seconds, touches).to_data(), course.book)
    assert verdict.earned == verdict.possible
    assert len(as_json(expert)) < 16_000
    assert {q.id for q in result.questions if q.expert} == {id}
    assert parsed(json.loads(as_json(result))) == result


def test_without_a_run_nobody_is_shown_how_an_expert_does_it(tmp_path: Path) -> None:
    """Not answered, and answered with what is no run."""
    for n, value in enumerate((None, {"format": "tpiece-hands"}, "nonsense")):
        result = made(tmp_path / f"{n}", UNIT, "", bench=value)
        assert one(result, "bench").expert is None


def test_the_room_plays_both_runs_and_an_earlier_result_alone(tmp_path: Path) -> None:
    """Each needle is the replay of its touches; a result of before, or a strange one, has one."""
    result = made(tmp_path / UNIT, UNIT, "flow-any-time")
    (tmp_path / FILE).write_text(COURSE.text(), encoding="utf-8")
    drawn = case(COURSE.id, UNIT, LEARNER, COURSE.book)["bench"]
    bench, expert = Bench.from_data(drawn.facts["bench"]), one(result, "bench").expert
    assert expert is not None
    hands = Hands(expert.seconds, tuple(Touch(*each) for each in expert.touches))
    course = read_course(tmp_path)
    write(result, lay_in(tmp_path))
    run = told_by(tmp_path, course)
    assert run["expert"] == whole(bench, hands)
    assert run["expert"]["time"][-1] == pytest.approx(expert.seconds, abs=0.3)
    assert run["time"] != run["expert"]["time"]
    before = json.loads(as_json(result))
    for question in before["questions"]:
        del question["expert"]
    lay_in(tmp_path).write_text(json.dumps(before), encoding="utf-8")
    assert told_by(tmp_path, course) == {**run, "expert": None}
    strange = replace(expert, touches=((0.5, "whistle", None),))
    questions = tuple(replace(q, expert=strange if q.expert else None) for q in result.questions)
    write(replace(result, questions=questions), lay_in(tmp_path))
    assert told_by(tmp_path, course) == {**run, "expert": None}


def lay_in(folder: Path) -> Path:
    own(folder, UNIT).parent.mkdir(parents=True, exist_ok=True)
    return own(folder, UNIT)


def told_by(folder: Path, course: Course) -> dict[str, Any]:
    told = shown(folder, course, UNIT)
    assert told is not None
    assert told["same"]
    run: dict[str, Any] = told["runs"]["bench"]
    return run


@pytest.mark.parametrize(
    "expert",
    [3, [], {}, {"seconds": 1.0}, {"seconds": 1.0, "touches": [[1.0, "cap"]]},
     {"seconds": 1.0, "touches": [[1.0, "flow", 2.5]]}, {"seconds": float("inf"), "touches": []}],
)  # fmt: skip
def test_an_experts_run_of_another_kind_is_refused(expert: Any) -> None:
    """The result is read whole or not at all."""
    told = PLAIN()
    told["questions"][0]["expert"] = {"seconds": 2.0, "touches": [[1.0, "cap", None]]}
    assert parsed(told).questions[0].expert == Run(2.0, ((1.0, "cap", None),))
    told["questions"][0]["expert"] = expert
    with pytest.raises(ValueError, match="expert"):
        parsed(told)


# --- read whole or not at all


@given(st.data())
@settings(max_examples=60, deadline=None)
def test_a_result_that_was_changed_anywhere_is_refused_or_has_the_right_types(data: Any) -> None:
    """A value of another kind, a key more or less: one sentence, never half a result."""
    told = PLAIN()
    part = told
    for _ in range(data.draw(st.integers(0, 3))):
        inner = [
            v
            for v in (part.values() if isinstance(part, dict) else part)
            if isinstance(v, dict | list) and v
        ]
        if not inner:
            break
        part = data.draw(st.sampled_from(inner))
    if isinstance(part, list):
        part[0] = data.draw(st.sampled_from([None, True, {"x": 1}, float("nan")]))
    else:
        key = data.draw(st.sampled_from(sorted(part)))
        if data.draw(st.booleans()):
            del part[key]
        else:
            part[key] = {"strange": [1]}
    with pytest.raises(ValueError, match="result"):
        parsed(told)


def PLAIN() -> dict[str, Any]:  # noqa: N802  (made anew for each example)
    return json.loads(_WRITTEN)


_WRITTEN = json.dumps(
    {
        "learner": LEARNER,
        "course": "may",
        "unit": UNIT,
        "title": "t",
        "language": "en",
        "answers": "d",
        "attempt": 1,
        "handed_in": "",
        "standing": "ready",
        "earned": 1.0,
        "possible": 1,
        "says": "s",
        "next": "n",
        "read": [{"page": "p", "heading": "h"}],
        "notes": ["x"],
        "format": "tpiece-result/1",
        "questions": [
            {
                "id": "q",
                "asks": "a",
                "said": "s",
                "earned": 1.0,
                "possible": 1.0,
                "found": [
                    {
                        "met": False,
                        "says": "s",
                        "grave": "hands",
                        "rule": "r",
                        "source": "s",
                        "belief": {
                            "believes": "b",
                            "true": "t",
                            "read": [{"page": "p", "heading": "h"}],
                        },
                        "at": 1.5,
                        "trace": [[1.0, 2.0]],
                    }
                ],
            },
        ],
    }
)


def test_the_made_up_result_is_one() -> None:
    """So that what is refused above is refused for what was changed."""
    assert parsed(PLAIN()).questions[0].found[0].at == 1.5


@pytest.mark.parametrize(
    "change", [{"format": "tpiece-result/9"}, {"standing": "perfect"}, {"learner": "bo"}]
)
def test_a_result_of_another_or_of_the_future_is_a_sentence(
    tmp_path: Path, change: dict[str, str]
) -> None:
    """Nobody is shown somebody else's."""
    path = tmp_path / "r.json"
    path.write_text(json.dumps({**PLAIN(), **change}), encoding="utf-8")
    with pytest.raises(ResultError, match="cannot be shown"):
        read_result(path, LEARNER, UNIT)


@pytest.mark.parametrize("text", ["", "[]", "{", "null", "[" * 100_000, '{"learner": NaN}'])
def test_what_is_no_result_is_a_sentence(tmp_path: Path, text: str) -> None:
    """Cut, empty, deep, of another kind."""
    path = tmp_path / "r.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ResultError, match="cannot be shown"):
        read_result(path, LEARNER, UNIT)


# --- how it comes to the learner


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> CourseFolder:
    """Return a course with one unit, marked when the coordinator grades."""
    path = tmp_path_factory.mktemp("course") / "may"
    return work.assign(path, course_id="may", title="May", units=[UNIT])


def opened(
    course: CourseFolder, tmp_path: Path, place: str = "exchange", learner: str = LEARNER
) -> Path:
    """Return a learner's folder of a course, as it is laid when it is opened."""
    return given_at(course.path / place, tmp_path).lay(tmp_path / "own", learner)


def hand_in(folder: Path, course: CourseFolder, holds: str) -> None:
    """Answer the unit and lay it where nbgrader's submit lays it, with the copy it keeps."""
    answer(folder / UNIT, UNIT, holds, read_course(folder))
    file = give(folder, "may", LEARNER, UNIT)
    (kept,) = list(sent(folder, "may", LEARNER, UNIT))[:1]
    box = course.exchange / "may" / "inbound" / f"{LEARNER}+{UNIT}+2026-05-04 10:00:00 UTC"
    box.mkdir()
    for name in (file.name.removeprefix(f"{LEARNER}."), "timestamp.txt"):
        (box / name).write_bytes((kept / name).read_bytes())


def test_grading_lays_the_result_where_its_learner_finds_it(
    course: CourseFolder, tmp_path: Path
) -> None:
    """Collected, graded: the room of the learner has it; its folder cannot be looked through."""
    folder = opened(course, tmp_path)
    hand_in(folder, course, "peep-before-pip")
    assert find(folder, "may", LEARNER, UNIT) is None
    assert all(taken.usable for taken in work.collect(course.path))
    done = work.grade(course.path)
    assert done.problems == ()
    came = find(folder, "may", LEARNER, UNIT)
    assert came is not None
    result = came.result
    assert result.standing == "unsafe"
    told = shown(folder, read_course(folder), UNIT)
    assert told is not None
    assert told["same"]
    assert len(told["runs"]["bench"]["time"]) > 10
    box = course.exchange / "may" / "feedback"
    assert stat.S_IMODE(box.stat().st_mode) == 0o711
    name = digest(answers_path(folder / UNIT / f"{UNIT}.ipynb"))
    assert [path.name for path in box.iterdir()] == [f"{name}.json"]


def test_another_hand_in_waits_and_the_earlier_result_stays(
    course: CourseFolder, tmp_path: Path
) -> None:
    """What was told is not lost meanwhile."""
    folder = opened(course, tmp_path)
    path = answer(folder / UNIT, UNIT, "", read_course(folder))
    give(folder, "may", LEARNER, UNIT)
    graded = grade(folder / UNIT, read_course(folder), UNIT, LEARNER)
    back = came_back(course.exchange / "may", digest(path))
    write(result_of(graded, read_course(folder), {}), back)
    AnswersFile(path, "may", UNIT, LEARNER, read_course(folder).edition).append("reason", None)
    give(folder, "may", LEARNER, UNIT)
    came = find(folder, "may", LEARNER, UNIT)
    assert came is not None
    result = came.result
    assert result.answers == graded.digest
    told = shown(folder, read_course(folder), UNIT)
    assert told is not None
    assert not told["same"]
    assert told["runs"] == {}


def test_what_was_marked_is_over_and_what_was_not_answered_is_not(
    course: CourseFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A page is told which marked answers are others now; one given or given again is none."""
    learner = "bo.q7"
    monkeypatch.setenv("TPIECE_LEARNER", learner)
    folder = opened(course, tmp_path, learner=learner)
    settings = read_course(folder)
    file = AnswersFile(
        answer(folder / UNIT, UNIT, "", settings, learner), "may", UNIT, learner, settings.edition
    )
    right = {id: one.value for id, one in file.sheet().latest().items()}
    file.append("reason", None)  # taken back: it is not answered
    give(folder, "may", learner, UNIT)
    graded = grade(folder / UNIT, settings, UNIT, learner)
    write(result_of(graded, settings, {}), own(folder, UNIT))

    def now_changed() -> list[str]:
        told = shown(folder, settings, UNIT)
        assert told is not None
        return told["changed"]

    assert now_changed() == []
    file.append("reason", right["reason"])
    assert now_changed() == []
    file.append("meanwhile", None)
    file.append("order", right["order"][::-1])
    assert now_changed() == ["order", "meanwhile"]
    file.append("order", right["order"])
    file.append("meanwhile", right["meanwhile"])
    assert now_changed() == []
    file.append("order", right["order"][::-1])
    (kept,) = sent(folder, "may", learner, UNIT)
    answers_path(kept / f"{UNIT}.ipynb").unlink()
    assert set(now_changed()) == set(right)  # nobody can tell any more
    file.attempt = file.begin(1)
    file.append("order", right["order"])
    assert now_changed() == []
    told = shown(folder, settings, UNIT)
    assert told is not None
    assert told["attempt_now"] == 2


def test_what_is_another_answer_now_is_told_by_the_hand_in_that_was_marked(
    course: CourseFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A later hand-in that waits holds the new answer; the marked one held the old."""
    learner = "ed.q7"
    monkeypatch.setenv("TPIECE_LEARNER", learner)
    folder = opened(course, tmp_path, learner=learner)
    settings = read_course(folder)
    path = answer(folder / UNIT, UNIT, "", settings, learner)
    file = AnswersFile(path, "may", UNIT, learner, settings.edition)
    give(folder, "may", learner, UNIT)
    graded = grade(folder / UNIT, settings, UNIT, learner)
    write(result_of(graded, settings, {}), came_back(course.exchange / "may", digest(path)))
    file.append("order", file.sheet().latest()["order"].value[::-1])
    give(folder, "may", learner, UNIT)
    told = shown(folder, settings, UNIT)
    assert told is not None
    assert (told["same"], told["changed"], told["attempt_now"]) == (False, ["order"], 1)


def test_a_better_hand_in_counts_and_the_later_one_is_said_to_be_marked(
    course: CourseFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A worse one handed in later waits for nothing: it is marked, and the better one stays."""
    learner = "cy.q7"
    monkeypatch.setenv("TPIECE_LEARNER", learner)
    folder = opened(course, tmp_path, learner=learner)
    settings = replace(read_course(folder), keep="best")
    own_file = answer(folder / UNIT, UNIT, "", settings, learner)
    asked = [question.id for question in case("may", UNIT, learner, settings.book).questions]
    back = []
    for worse in (False, True):
        file = AnswersFile(own_file, "may", UNIT, learner, settings.edition)
        for question in asked if worse else ():
            file.append(question, None)
        give(folder, "may", learner, UNIT)
        graded = keep(tmp_path, grade(folder / UNIT, settings, UNIT, learner), settings)
        name = digest(own_file)
        if worse:
            before = home(folder).units[0].exercise
            assert before is not None
            assert before.result is not None
            assert (before.result.earlier, before.result.better) == (True, False)
        write(result_of(graded, settings, {}), came_back(course.exchange / "may", name))
        back.append(graded)
    assert back[0] == back[1]
    came = find(folder, "may", learner, UNIT)
    assert came is not None
    assert (came.latest, came.better) == (True, True)
    told = shown(folder, settings, UNIT)
    assert told is not None
    assert (told["same"], told["better"], told["standing"]) == (False, True, "ready")
    after = home(folder).units[0].exercise
    assert after is not None
    assert after.result is not None
    assert (after.result.earlier, after.result.better) == (False, True)


def test_a_result_is_on_its_way_only_where_somebody_marks_at_hand_in(
    course: CourseFolder, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """From the hand-in until it is there; never where this machine marks or a file is sent."""
    learner = "di.q7"
    monkeypatch.setenv("TPIECE_LEARNER", learner)
    folder = opened(course, tmp_path, learner=learner)
    later = read_course(folder)
    settings = replace(later, feedback="at hand-in")
    own_file = answer(folder / UNIT, UNIT, "", settings, learner)
    assert not waits(folder, settings, learner, UNIT)  # nothing is handed in
    give(folder, "may", learner, UNIT)
    assert waits(folder, settings, learner, UNIT)
    assert not waits(folder, later, learner, UNIT)
    text = (folder / FILE).read_text(encoding="utf-8")
    (folder / FILE).write_text(f'{text}feedback = "at hand-in"\n', encoding="utf-8")
    assert [home(folder, marks_here=here).units[0].exercise.waits for here in (False, True)] == [
        True, False,
    ]  # fmt: skip
    graded = grade(folder / UNIT, settings, UNIT, learner)
    write(result_of(graded, settings, {}), came_back(course.exchange / "may", digest(own_file)))
    assert not waits(folder, settings, learner, UNIT)
    assert marked(folder, settings, learner, UNIT)
    AnswersFile(own_file, "may", UNIT, learner, settings.edition).append("reason", None)
    give(folder, "may", learner, UNIT)
    assert waits(folder, settings, learner, UNIT)  # the earlier result is none of this hand-in
    assert not marked(folder, settings, learner, UNIT)
    came_back(course.exchange / "may", digest(own_file)).write_text("{", encoding="utf-8")
    assert not waits(folder, settings, learner, UNIT)  # it is there, and broken: that is said
    sent_as_file = opened(course, tmp_path / "other", "may.course", learner)
    answer(sent_as_file / UNIT, UNIT, "", settings, learner)
    give(sent_as_file, "may", learner, UNIT)
    assert not waits(sent_as_file, settings, learner, UNIT)


def test_nothing_is_marked_at_hand_in_unless_the_course_says_so(
    course: CourseFolder, tmp_path: Path
) -> None:
    """The learner's machine marks only where it may."""
    folder = opened(course, tmp_path)
    answer(folder / UNIT, UNIT, "", read_course(folder))
    assert not mark_now(folder, UNIT)  # nothing is handed in
    give(folder, "may", LEARNER, UNIT)
    assert not mark_now(folder, UNIT)  # the course waits for its coordinator
    text = (folder / FILE).read_text(encoding="utf-8")
    (folder / FILE).write_text(f'{text}feedback = "at hand-in"\n', encoding="utf-8")
    assert not mark_now(folder, "3_pressure_targets")  # not in this course
    assert mark_now(folder, UNIT)
    came = find(folder, "may", LEARNER, UNIT)
    assert came is not None
    result = came.result
    assert result.standing == "ready"
    assert own(folder, UNIT).is_file()


def test_what_marks_is_loaded_where_work_is_marked_at_hand_in_only(tmp_path: Path) -> None:
    """A server that waits for its coordinator loads nothing; one that marks is ready for it."""
    loads = (
        "import sys; from pathlib import Path; from graders.grading.at_hand_in import get_ready; "
    )
    loads += "get_ready(Path(sys.argv[1])); print('graders.marking' in sys.modules)"
    for setting, wanted in (("", "False"), ('feedback = "at hand-in"\n', "True")):
        (tmp_path / FILE).write_text(f'id = "may"\n{setting}', encoding="utf-8")
        done = subprocess.run(
            [sys.executable, "-c", loads, str(tmp_path)], capture_output=True, text=True, check=True
        )
        assert done.stdout.strip() == wanted


def test_what_is_marked_at_hand_in_is_what_the_coordinator_gives(
    course: CourseFolder, tmp_path: Path
) -> None:
    """One result, whoever marks."""
    folder = opened(course, tmp_path)
    text = (folder / FILE).read_text(encoding="utf-8")
    (folder / FILE).write_text(f'{text}feedback = "at hand-in"\n', encoding="utf-8")
    answer(folder / UNIT, UNIT, "flow-any-time", read_course(folder))
    give(folder, "may", LEARNER, UNIT)
    assert mark_now(folder, UNIT)
    here = read_result(own(folder, UNIT), LEARNER, UNIT)
    graded = grade(folder / UNIT, course.course, UNIT, LEARNER)
    there = result_of(graded, course.course, marked_values(folder / UNIT, graded))
    apart = {"handed_in": ""}
    assert replace(here, **apart) == replace(there, **apart)


# --- the setting


def test_the_setting_is_looked_at_like_the_others(tmp_path: Path) -> None:
    """Written by the command, read back, left as it is, refused where it says something else."""
    path = tmp_path / "may"
    changed(path, Wanted(course_id="may", units=[UNIT], feedback="at hand-in")).write()
    assert 'feedback = "at hand-in"' in (path / FILE).read_text(encoding="utf-8")
    changed(path, Wanted(title="June")).write()
    assert read_course(path).at_hand_in
    assert 'feedback = "at hand-in"' in read_course(path).text()
    changed(path, Wanted(feedback="when graded")).write()
    assert not read_course(path).at_hand_in
    assert "feedback" not in (path / FILE).read_text(encoding="utf-8")
    for value in ('"soon"', "3", '["at hand-in"]'):
        (path / FILE).write_text(f'id = "may"\nfeedback = {value}\n', encoding="utf-8")
        with pytest.raises(CourseError, match="feedback must be one of"):
            read_course(path)


def test_the_command_says_when_a_learner_sees_the_result(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the words of the command line; no other word is taken."""
    told: list[Any] = []

    def assign(path: Path, **settings: Any) -> None:
        told.append(settings["feedback"])
        raise CourseError("that is enough")

    monkeypatch.setattr(work, "assign", assign)
    for word in ("at-hand-in", "when-graded", "", "soon"):
        more = ["--feedback", word] if word else []
        done = CliRunner().invoke(main, ["assign", "--course", str(tmp_path), *more])
        assert done.exit_code != 0
    assert told == ["at hand-in", "when graded", ""]


# --- a course that came as a file


def test_work_of_a_course_that_came_as_a_file_is_a_file_to_send(
    course: CourseFolder, tmp_path: Path
) -> None:
    """It lies in one folder under the learner's name, and the coordinator takes it in."""
    learner = "bo.q7"
    folder = opened(course, tmp_path, "may.course", learner)
    way = Way.of(folder)
    assert way is not None
    assert way.by_file
    exchanged = Way.of(opened(course, tmp_path / "other"))
    assert exchanged is not None
    assert not exchanged.by_file
    answer(folder / UNIT, UNIT, "", read_course(folder), learner)
    file = give(folder, "may", learner, UNIT)
    assert file == folder / TO_SEND / f"{learner}.{UNIT}.answers.jsonl"
    done = CliRunner().invoke(main, ["collect", "--course", str(course.path), "--from", str(file)])
    assert done.exit_code == 0, done.output
    assert course.submitted(learner, UNIT).is_dir()


def test_a_folder_that_lost_what_it_knew_of_its_way_still_opens(tmp_path: Path) -> None:
    """Lost, cut or strange: none is known."""
    assert Way.of(tmp_path) is None
    for text in ("", "[]", "{}", '{"course": 3, "by_file": true}'):
        (tmp_path / ".tpiece").mkdir(exist_ok=True)
        (tmp_path / ".tpiece" / "way.json").write_text(text, encoding="utf-8")
        assert Way.of(tmp_path) is None
    assert not Given(tmp_path, "may").by_file


def test_a_rule_that_is_blank_is_not_said_to_be_blank_twice() -> None:
    """The edition's highest PIP is not held: where nobody lends one, its rule says so once."""
    says = _words("pip.ceiling", "", COURSE.book)
    assert says == "The highest PIP is not stated here."
