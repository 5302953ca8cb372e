"""Answers saved with a mask of an earlier trolley: read, marked as then, never offered."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from graders.grading.grade import grade
from graders.marking.exercise import mark
from graders.units.sizing.marks import FACES, POINTS
from tests.sizing_base import BOOK, ONE
from workbook.cases import case, spoken
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.course.settings import Course
from workbook.face.fit import answer, drawing, read_fit, told
from workbook.face.mask import Face, best_beside, best_place, earlier, offered
from workbook.rules import editions
from workbook.units.sizing.case.questions import EXERCISE
from workbook.widgets.face import Face as Control

# As it stands in an answers file of before.
STORED = '{"format": "tpiece-face", "version": 1, "mask": 42, "x": 1.5, "y": 20.5, "turn": 5}'

# What was not met, and the belief that was shown, by the trolley of 35, 42, 50, 60 and 72 mm.
THEN = [
    ("mask-place", 41.5, (42, 1.5, 20.5, 5), "", ""),
    ("mask-place", 39.5, (35, 0, 22.5, 0), "", ""),
    ("mask-place", 45.5, (35, 0, 25.5, 5), "size", ""),
    ("mask-place", 43.0, (42, 0, 21.0, -30), "seal", "turn-is-nothing"),
    ("mask-place", 50.0, (50, 0, 16.5, 0), "covers eyes seal", "mask-over-eyes"),
    ("mask-place", 38.0, (42, 0, 18.5, -30), "size seal", "bigger-seals-better turn-is-nothing"),
    ("mask-place", 39.5, (42, 1.5, 28.5, 90), "size covers chin seal", "bigger-seals-better"),
    ("mask-place", 38.0, (72, -4, 10.5, 0), "size eyes chin seal", "bigger-seals-better"),
    ("mask-place", 52.0, (42, -4, 29.0, 0), "covers", ""),
    ("mask-between", 34.5, (35, 0, 17.0, 5), "", ""),
    ("mask-between", 54.5, (50, 0, 28.5, 0), "", ""),
    ("mask-between", 40.0, (42, 0, 20.5, 0), "size", "bigger-seals-better"),
    ("mask-between", 50.0, (50, -4, 33.5, 0), "lies", "chin-inside"),
    ("mask-between", 51.0, (72, -4, 17.0, -30), "size lies", "bigger-seals-better"),
]


def stored(mask: float, x: float, y: float, turn: float) -> dict[str, object]:
    return {**json.loads(STORED), "mask": mask, "x": x, "y": y, "turn": turn}


@pytest.mark.parametrize(("question", "length", "laid", "missed", "beliefs"), THEN)
def test_an_answer_of_before_has_the_verdict_of_before(question, length, laid, missed, beliefs):
    """On a face of that length (mm): the same parts are missed, the same beliefs shown."""
    asked = ONE[question]
    asked = replace(asked, facts={**asked.facts, "length": length})
    verdict = mark(replace(ONE, questions=(asked,)), question, stored(*laid), BOOK)
    assert [f.criterion.split("-", 1)[1] for f in verdict.findings if not f.met] == missed.split()
    shown = [f.misconception for f in verdict.findings if f.misconception]
    assert shown == beliefs.split()
    assert verdict.earned == verdict.possible - len(missed.split())


@pytest.mark.parametrize("edition", editions())
def test_a_stored_answer_is_marked_in_every_edition(tmp_path: Path, edition: str):
    """From the file of answers to the verdict: by the face of the case, and never as unreadable."""
    course = Course("may", "May", edition=edition, units=(EXERCISE,))
    drawn = case(course.id, EXERCISE, "ada", course.book)
    faces = {id: Face(drawn[id].facts["length"]) for id in FACES}
    size = {"mask-place": 42.0, "mask-between": 50.0}
    path = answers_path(tmp_path / f"{EXERCISE}.ipynb")
    file = AnswersFile(path, course.id, EXERCISE, "ada", edition, protocol=course.stamp)
    for id, face in faces.items():
        best = best_place(face, size[id])
        file.append(id, stored(size[id], best.x, best.y, 0))
    verdicts = {v.question: v for v in grade(tmp_path, course, EXERCISE, "ada").verdicts}
    for id, face in faces.items():
        missed = {f.criterion.split("-", 1)[1] for f in verdicts[id].findings if not f.met}
        assert ("size" in missed) == (size[id] not in best_beside(face, size[id]))
        assert verdicts[id].possible == POINTS[id]
        assert not any("could not be read" in f.says for f in verdicts[id].findings)
        if "size" not in missed:
            assert verdicts[id].earned == verdicts[id].possible


def test_earlier_sizes_are_read_and_repeated_but_not_offered():
    """The published ones and one more; those on the trolley are others, but for one."""
    assert earlier() == (35, 42, 50, 60, 72)
    assert set(earlier()) & set(offered()) == {60}
    assert drawing(Face(46.0))["masks"] == list(offered())
    for size in earlier():
        assert read_fit(answer(best_place(Face(46.0), size)), Face(46.0)).diameter == size
    assert spoken(ONE["mask-place"], json.loads(STORED)).startswith("a mask of 42 mm")


def test_a_page_that_opens_with_an_earlier_answer_shows_where_it_lies():
    """It counts as saved, and is told like any other."""
    value = json.loads(STORED)
    face = drawing(Face(46.0))
    control = Control("mask-place", "Lay it.", face=face, live="where", saved={"value": value})
    assert control.problem(value) == ""
    assert told(46.0, value)["where"][0] == "Mask of 42 mm, 1.5 mm to the right of the picture."
