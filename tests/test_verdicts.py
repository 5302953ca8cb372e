"""Verdicts as a stream: in order, as they were written, a broken one told."""

from __future__ import annotations

from pathlib import Path

import pytest

from graders.cohort.verdicts import Broken, verdicts
from graders.course.coursefolder import CourseFolder
from graders.marking.exercise import mark_all
from graders.marking.graded import Graded, read_verdict, write_verdict
from graders.marking.personas import answers_of, played
from workbook.cases import case, exercises
from workbook.course.settings import Course

COURSE = Course("test", "Invented course", units=exercises())


def graded(learner: str, unit: str, holds: str) -> Graded:
    drawn = case(COURSE.id, unit, learner, COURSE.book)
    marked = mark_all(drawn, answers_of(drawn, COURSE.book, holds), COURSE.book)
    said = {"q": "Größe 見本"}
    prints = {"q": (1, 2**47)}
    return Graded(
        learner, unit, COURSE.edition, marked, ("A problem.",), "2026-05-04 10:00:00 UTC", "abc",
        "1.0", said, COURSE.id, "rules", True, prints,
    )  # fmt: skip


def lay(path: Path, *every: Graded) -> CourseFolder:
    folder = CourseFolder(path)
    for one in every:
        target = folder.autograded(one.learner, one.unit)
        target.mkdir(parents=True)
        write_verdict(one, target)
    return folder


def test_every_verdict_comes_back_as_it_was_written_in_order(tmp_path: Path) -> None:
    """All units, every field, traces included; by learner and then unit."""
    every = [graded(id, unit, played(unit)[0]) for id in ("b", "a") for unit in exercises()]
    folder = lay(tmp_path, *every)
    assert list(verdicts(folder)) == sorted(every, key=lambda one: (one.learner, one.unit))
    assert any(f.trace for one in verdicts(folder) for v in one.verdicts for f in v.findings)


def test_a_verdict_of_an_older_version_is_read(tmp_path: Path) -> None:
    """Fields that came later are empty; what is not known any more is left out."""
    path = tmp_path / "verdict.json"
    path.write_text(
        '{"learner": "a", "unit": "u", "edition": "e", "verdicts": [], "problems": [], '
        '"handed_in": "", "digest": "", "version": "0", "gone": 1}'
    )
    assert read_verdict(path) == Graded("a", "u", "e", (), (), "", "", "0")


@pytest.mark.parametrize("text", ["", "{", "[]", "{}", '{"learner": "a"}', "null", "\x00", "1e999"])
def test_a_broken_verdict_is_one_sentence_and_stops_nobody(tmp_path: Path, text: str) -> None:
    """Which file, and the way back; the neighbours' verdicts are read."""
    unit = exercises()[0]
    folder = lay(tmp_path, *(graded(id, unit, "") for id in "abc"))
    path = folder.autograded("b", unit) / "verdict.json"
    path.write_text(text)
    lost: list[Broken] = []
    assert [one.learner for one in verdicts(folder, lost.append)] == ["a", "c"]
    (told,) = lost
    assert (told.learner, told.unit) == ("b", unit)
    assert told.says.startswith(f"{path} cannot be read any more")
    assert told.says.endswith("remove it and run: tpiece grade")


def test_a_verdict_in_anothers_folder_counts_for_nobody(tmp_path: Path) -> None:
    """A copied folder changes no other's result."""
    unit = exercises()[0]
    folder = lay(tmp_path, graded("a", unit, ""))
    folder.autograded("a", unit).parent.rename(tmp_path / "autograded" / "b")
    lost: list[Broken] = []
    assert list(verdicts(folder, lost.append)) == []
    assert [one.learner for one in lost] == ["b"]


def test_what_is_no_verdict_is_passed_over(tmp_path: Path) -> None:
    """Folders without a verdict, files in between and a course nobody graded yield nothing."""
    assert list(verdicts(CourseFolder(tmp_path))) == []
    (tmp_path / "autograded" / "a" / "u").mkdir(parents=True)
    (tmp_path / "autograded" / "notes.txt").write_text("x")
    assert list(verdicts(CourseFolder(tmp_path))) == []
