"""A unit's result as the room shows it: what marking found, and the runs it speaks of."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from workbook.bench import Bench, Hands, HandsError, Touch, read_hands
from workbook.cases import Kind, case
from workbook.core.answer_sheet import AnswerFileError, AnswerSheet, answers_path, read_answers
from workbook.core.whose import whoami
from workbook.course.handed import digest, sent
from workbook.course.result import Result, Run, find
from workbook.course.settings import Course
from workbook.display.compared import needle
from workbook.display.debriefed import compared
from workbook.scenario import ScenarioError, read_scenario, replay, seconds
from workbook.scenario.moments import Moment


def shown(folder: Path, course: Course, unit: str) -> dict[str, Any] | None:
    """Return a unit's result as the room shows it; None where nothing came back.

    ``same`` says that the page still holds the answers that were marked, ``attempt_now`` which
    attempt it is at, and ``runs`` has the needle of each run at the bench that was marked.
    ``changed`` names the marked questions that have another answer now. Of several hand-ins the
    best may count: ``better`` says that this is an earlier one.
    Raises ResultError.
    """
    came = find(folder, course.id, whoami(), unit)
    if came is None:
        return None
    found = came.result
    answers = answers_path(folder / unit / f"{unit}.ipynb")
    sheet = _sheet(answers)
    same = found.answers == digest(answers)
    values = sheet.latest(found.attempt) if sheet and same else {}
    given = {id: answer.value for id, answer in values.items()}
    runs = _runs(found, course, given)
    return {
        **found.told(), "same": same, "attempt_now": sheet.attempt if sheet else 1, "runs": runs,
        "courses": _courses(found, course, given),
        "better": came.better, "changed": [] if same else _changed(folder, found, sheet),
    }  # fmt: skip


def _sheet(answers: Path) -> AnswerSheet | None:
    try:
        return read_answers(answers)
    except AnswerFileError:
        return None  # the page itself says what is wrong with it


def _changed(folder: Path, marked: Result, sheet: AnswerSheet | None) -> list[str]:
    """Return the marked questions that are answered otherwise now.

    What was not answered then may be answered now. Where no copy is left of what was marked,
    every answer counts as another.
    """
    if sheet is None or sheet.attempt != marked.attempt:
        return []
    now, copy = _values(sheet, marked), _as_marked(folder, marked)
    was = now if copy is None else _values(copy, marked)
    ids = [question.id for question in marked.questions if question.id in was]
    return ids if copy is None else [id for id in ids if now.get(id) != was[id]]


def _as_marked(folder: Path, marked: Result) -> AnswerSheet | None:
    """Return the kept copy of what was marked; None where none is left."""
    for each in sent(folder, marked.course, marked.learner, marked.unit):
        copy = answers_path(each / f"{marked.unit}.ipynb")
        if digest(copy) == marked.answers:
            return _sheet(copy)
    return None


def _values(sheet: AnswerSheet, marked: Result) -> dict[str, Any]:
    """Return what is answered; an answer that was taken back is none."""
    latest = sheet.latest(marked.attempt)
    return {id: one.value for id, one in latest.items() if one.value is not None}


def _runs(result: Result, course: Course, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return the needle of each run that was marked (s, cmH2O), played from what hands did.

    Beside it stands, as ``expert``, that of an expert's run of the same case, where there is one.
    """
    found = {}
    drawn = case(course.id, result.unit, result.learner, course.book, result.attempt)
    experts = {question.id: question.expert for question in result.questions}
    for question in drawn.questions:
        if question.kind is not Kind.BENCH or question.id not in values:
            continue
        bench = Bench.from_data(question.facts["bench"])
        try:
            own = needle(bench, read_hands(values[question.id]))
        except HandsError:
            continue  # the result says what is wrong with it
        found[question.id] = {**own, "expert": _expert(bench, experts.get(question.id))}
    return found


def _courses(result: Result, course: Course, values: Mapping[str, Any]) -> dict[str, Any]:
    """Return each case from birth beside an expert's of the same baby, with what marking found."""
    found, book = {}, course.book
    drawn = case(course.id, result.unit, result.learner, book, result.attempt)
    asked = {question.id: question for question in drawn.questions if question.kind is Kind.CASE}
    for question in result.questions:
        if question.id not in asked or question.id not in values:
            continue
        born, limit = asked[question.id].facts["case"], book["scenario.limit"].value
        try:
            played = read_scenario(values[question.id], born.id, seconds(book), limit)
        except ScenarioError:
            continue  # the result says what is wrong with it
        marked = [Moment(one.at, one.says) for one in question.found
                  if not one.met and one.at is not None]  # fmt: skip
        found[question.id] = compared(replay(born, played, book), book, marked)
    return found


def _expert(bench: Bench, run: Run | None) -> dict[str, list[float]] | None:
    if run is None:
        return None
    try:
        touches = tuple(Touch(*each) for each in run.touches)
        return needle(bench, read_hands(Hands(run.seconds, touches).to_data()))
    except HandsError:
        return None  # of a workbook that knows other controls: the learner's own is shown alone
