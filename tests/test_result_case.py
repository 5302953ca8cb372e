"""The result of a case from birth: its course beside an expert's, each finding at its second."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from graders.grading.grade import grade
from graders.grading.result import marked_values, result_of, write
from graders.marking.personas import answers_of
from graders.marks.verdict import Finding, Verdict, as_data, from_data
from graders.units import units as marked_units
from workbook.cases import case
from workbook.cases.unit import Unit, units
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.course.result import own
from workbook.course.settings import Course
from workbook.room.shown import shown
from workbook.scenario import read_scenario, replay, seconds
from workbook.scenario.moments import moments
from workbook.units.scenario.case.questions import questions

LEARNER, UNIT = "ada.q7", "7_from_birth"
COURSE = Course("may", "May course", units=(UNIT,))


@pytest.fixture(autouse=True)
def _drawn(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Draw and mark the unit, whether or not a course may ask it yet."""
    every = {**units(), UNIT: Unit(UNIT, "From birth to stabilised", questions)}
    monkeypatch.setattr("workbook.cases.units", lambda: every)
    marked_units.cache_clear()
    yield
    marked_units.cache_clear()


def answered(folder: Path, monkeypatch: pytest.MonkeyPatch, **more: Any) -> dict[str, Any]:
    """Return what the room shows of two cases, the first of them cut short and ill done."""
    monkeypatch.setenv("TPIECE_LEARNER", LEARNER)
    (folder / UNIT).mkdir(parents=True)
    course = COURSE
    drawn = case(COURSE.id, UNIT, LEARNER, course.book)
    path = answers_path(folder / UNIT / f"{UNIT}.ipynb")
    file = AnswersFile(path, COURSE.id, UNIT, LEARNER, course.edition, protocol=course.stamp)
    for question, value in {**answers_of(drawn, course.book, ""), **more}.items():
        file.append(question, value)
    graded = grade(folder / UNIT, course, UNIT, LEARNER)
    own(folder, UNIT).parent.mkdir(parents=True)
    write(result_of(graded, course, marked_values(folder / UNIT, graded)), own(folder, UNIT))
    found = shown(folder, course, UNIT)
    assert found is not None
    return found


def ill_done() -> dict[str, Any]:
    """Return a record of somebody who looks on for four minutes and gives all the oxygen."""
    acts = [[1000, "oximeter"], [20000, "connect"], [60000, "oxygen", 100]]
    head = {"format": "tpiece-scenario", "version": 1, "case": "case-1", "duration": 240000}
    return {**head, "ended": "midway", "acts": acts}


def test_each_case_stands_beside_an_experts_with_what_marking_found(tmp_path, monkeypatch):
    """The moments are the findings that were missed and have a second, in their own words."""
    told = answered(tmp_path, monkeypatch, **{"case-1": ill_done()})
    assert set(told["courses"]) == {"case-1", "case-2"}
    first = told["courses"]["case-1"]
    missed = [one for question in told["questions"] if question["id"] == "case-1"
              for one in question["found"] if not one["met"] and one["at"] is not None]  # fmt: skip
    assert missed
    assert first["moments"] == [{"at": round(one["at"], 1), "says": one["says"]} for one in missed]
    assert all(0 <= one["at"] <= 240 for one in first["moments"])
    assert first["own"]["end"] == 240
    assert first["own"]["heart"]
    book = COURSE.book
    drawn = case(COURSE.id, UNIT, LEARNER, book)["case-1"].facts["case"]
    played = read_scenario(ill_done(), "case-1", seconds(book), book["scenario.limit"].value)
    made = replay(drawn, played, book)
    assert first["own"]["oxygen"][-1][1] == 100
    assert first["own"]["inflations"] == []
    assert moments(made, made, book) == ()


def test_what_cannot_be_read_has_no_course(tmp_path, monkeypatch):
    """The result says what is wrong with it; the other case is shown."""
    told = answered(tmp_path, monkeypatch, **{"case-1": {"format": "nonsense"}})
    assert set(told["courses"]) == {"case-2"}


def test_no_result_of_a_case_speaks_of_death(tmp_path, monkeypatch):
    """Whatever was done, it says what the baby needed."""
    told = answered(tmp_path, monkeypatch, **{"case-1": ill_done()})
    says = " ".join(one["says"] for question in told["questions"] for one in question["found"])
    assert not {"die", "dies", "died", "death", "dead"} & set(says.lower().split())


def test_a_finding_without_a_second_is_stored_as_before():
    """Files of before have none, and are read."""
    plain, timed = Finding("a", True, "So."), Finding("b", False, "Not so.", at=65.0)
    data = as_data([Verdict("q", (plain, timed))])
    assert "at" not in data[0]["findings"][0]
    assert from_data(data)[0].findings == (plain, timed)
