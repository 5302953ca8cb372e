"""A course is its owner's alone: another account of the machine reads nothing of it."""

from __future__ import annotations

import os
import re
import stat
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner

from graders.cli import main
from graders.course.coursefolder import CourseFolder
from graders.marking.exercise import model_answers
from graders.tasks import work
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile

pytestmark = pytest.mark.slow

UNIT = "1_setup_order"
NOBODY = 65534


@pytest.fixture(scope="module")
def course() -> Iterator[CourseFolder]:
    """Return a course in a place that every account can reach, graded and reported by commands."""
    with tempfile.TemporaryDirectory(prefix="tpiece-open-") as place:
        Path(place).chmod(0o755)
        before = os.umask(0o022)  # as on most machines
        try:
            path = Path(place) / "may"
            (Path(place) / "people.csv").write_text("learner,name\nada,Ada Demo\n")
            words = ["--course", str(path)]
            run("assign", *words, "--id", "may", "--roster", f"{place}/people.csv", UNIT)
            hand_in(CourseFolder(path), "ada")
            for command in (["grade"], ["report"], ["pages"], ["lab", "brief"], ["export"]):
                more = ["--to", "csv"] if command == ["export"] else []
                run(*command, *words, *more)
            yield CourseFolder(path)
        finally:
            os.umask(before)


def run(*words: str) -> None:
    done = CliRunner().invoke(main, list(words))
    assert done.exit_code == 0, done.output


def hand_in(folder: CourseFolder, learner: str) -> None:
    course, target = folder.course, folder.submitted(learner, UNIT)
    target.mkdir(parents=True)
    drawn = case(course.id, UNIT, learner, course.book)
    file = AnswersFile(
        answers_path(target / f"{UNIT}.ipynb"), course.id, UNIT, learner, course.edition
    )
    for question, value in model_answers(drawn, course.book).items():
        file.append(question, value)


def test_nothing_but_the_exchange_is_open_to_others(course):
    """Gradebook, roster, settings, reports, pages, work: no right for anybody else."""
    names = {each.name for each in course.path.iterdir()}
    assert {"gradebook.db", "roster.csv", "report.html", "report.csv", "pages", "history",
            "submitted", "autograded", "release", "source_exercises"} <= names  # fmt: skip
    open_ = [
        each.name for each in course.path.iterdir()
        if stat.S_IMODE(each.lstat().st_mode) & 0o077 and each.name != "exchange"
    ]  # fmt: skip
    assert open_ == []
    assert stat.S_IMODE(course.path.stat().st_mode) & 0o066 == 0


def test_another_account_reads_none_of_it_and_still_fetches_its_work(course):
    """Tried as nobody: every file of the course but those that were given out is refused.

    A result can be read, but only by its whole name, which is the digest of the very file that
    was handed in: nobody else lists the folder.
    """
    if os.geteuid() != 0:
        pytest.skip("only root can try as another account: run this as root, as .ci/run does")
    every = [path for path in course.path.rglob("*") if path.is_file()]
    given_out, results = (course.exchange / "may" / name for name in ("outbound", "feedback"))
    could, lists = _as_nobody(every, [given_out, results])
    assert lists == [given_out]
    kept = [path for path in could if given_out not in path.parents]
    assert kept
    assert all(path.parent == results and re.fullmatch(r"[0-9a-f]{64}", path.stem) for path in kept)
    assert [path.name for path in could if path.suffix == ".ipynb"] == [f"{UNIT}.ipynb"]


def _as_nobody(files: list[Path], folders: list[Path]) -> tuple[list[Path], list[Path]]:
    """Return which files an account without rights can read, and which folders it can list."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.setgroups([])
            os.setgid(NOBODY)
            os.setuid(NOBODY)
            could = [str(path) for path in (*files, *folders) if os.access(path, os.R_OK)]
            os.write(write, "\n".join(could).encode()[:60_000])
        finally:
            os._exit(0)
    os.waitpid(child, 0)
    os.close(write)
    with os.fdopen(read) as file:
        could = [Path(line) for line in file.read().splitlines()]
    return [p for p in could if p not in folders], [p for p in could if p in folders]


def test_a_course_that_a_hub_closed_is_not_opened(course):
    """Giving out again leaves it shut."""
    course.path.chmod(0o700)
    work.assign(course.path)
    assert stat.S_IMODE(course.path.stat().st_mode) == 0o700
