"""A course with released work, and learners who answer it."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from graders.course.coursefolder import CourseFolder
from graders.marking.exercise import model_answers
from graders.tasks import work
from tests.journey.sites import offline, site
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile

UNIT = "1_setup_order"
__all__ = ["offline", "site"]  # fixtures from beside this file


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> CourseFolder:
    """Return a fresh course with its units given out."""
    path = tmp_path_factory.mktemp("course") / "may"
    return work.assign(path, course_id="may", title="May course", units=[UNIT])


Answer = Callable[..., Path]


@pytest.fixture
def hand_in(course: CourseFolder) -> Answer:
    """Return a function that lays a learner's collected submission with the given answers."""
    return layer(course)


@pytest.fixture(scope="module")
def hand_in_module(course: CourseFolder) -> Answer:
    """Return the same for a whole module."""
    return layer(course)


def layer(course: CourseFolder) -> Answer:
    """Return what lays a submission where collected work lies."""

    def lay(folder: str, answers: Mapping[str, Any] | None = None, **header: str) -> Path:
        target = course.submitted(folder, UNIT)
        shutil.rmtree(target, ignore_errors=True)
        released = course.exchange / course.course.id / "outbound" / UNIT
        shutil.copytree(released, target)
        settings = course.course
        drawn = case(settings.id, UNIT, folder, settings.book)
        given = model_answers(drawn, settings.book) if answers is None else answers
        told = {"course": settings.id, "exercise": UNIT, "learner": folder,
                "edition": settings.edition, **header}  # fmt: skip
        file = AnswersFile(answers_path(target / f"{UNIT}.ipynb"), **told)
        for question, value in given.items():
            file.append(question, value)
        return target

    return lay
