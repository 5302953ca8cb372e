"""Killed outright at any moment: the same command once more brings all to where it would be."""

from __future__ import annotations

import os
import random
import shutil
import signal
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from graders.course.coursefolder import CourseFolder
from graders.handed_in.exchange import collect_all
from graders.handed_in.inbox import take_in
from graders.lab.checklist import checklist
from graders.lab.record import RECORD, take
from graders.lab.sheet import Seen
from graders.tasks import work
from tests.journey.test_durable import in_child
from tests.test_unmarked import hand_in
from workbook.core.answer_sheet import answers_path
from workbook.course.settings import read_course

UNIT, OTHER = "1_setup_order", "3_pressure_targets"
KILLS = int(os.environ.get("TPIECE_KILLS", "4"))  # of each command; more to be surer
CLASS = 12
WHEN = "2026-05-05 10:00:00 UTC"


@pytest.fixture(scope="module")
def before(tmp_path_factory) -> Path:
    """Return a course in which a class handed in, collected and graded; an inbox lies beside it."""
    base = tmp_path_factory.mktemp("killed")
    folder = work.assign(base / "may", course_id="may", title="May", units=[UNIT])
    (base / "inbox").mkdir()
    for n in range(CLASS):
        file = hand_in(folder, f"demo{n:02d}")
        shutil.copyfile(file, base / "inbox" / f"{n}.jsonl")
        left = folder.exchange / "may" / "inbound" / f"demo{n:02d}+{UNIT}+{WHEN}"
        left.mkdir()
        shutil.copyfile(file, left / file.name)
    work.grade(folder.path)
    return base


def assigned(base: Path) -> None:
    work.assign(base / "may", units=[OTHER], title='A "new" title')


def collected(base: Path) -> None:
    list(take_in(CourseFolder(base / "may"), base / "inbox"))


def fetched(base: Path) -> None:
    list(collect_all(CourseFolder(base / "may"), [UNIT]))


def reported(base: Path) -> None:
    work.report(base / "may")


def seen_in_lab(base: Path) -> None:
    course = read_course(base / "may")
    steps = [item.id for item in checklist(course.book).items]
    day = date(2026, 5, 4).isoformat()
    rows = [Seen(f"demo{n:02d}", id, "yes", "i", day) for n in range(CLASS) for id in steps]
    take(base / "may", rows)


def state(base: Path) -> dict[str, bytes]:
    """Return what counts of a course: settings, collected work, record, and whole report files."""
    path = base / "may"
    found = {name: (path / name).read_bytes() for name in ("course.toml", RECORD)
             if (path / name).is_file()}  # fmt: skip
    for n in range(CLASS):
        file = answers_path(path / "submitted" / f"demo{n:02d}" / UNIT / f"{UNIT}.ipynb")
        found[file.name + str(n)] = file.read_bytes() if file.is_file() else b""
    found.pop(RECORD, None)  # it holds the time at which each row was recorded
    found["units"] = "".join(
        unit for unit in (UNIT, OTHER) if (path / "release" / unit / f"{unit}.ipynb").is_file()
    ).encode()
    return found


def rows_of_lab(base: Path) -> int:
    record = base / "may" / RECORD
    return len(record.read_text(encoding="utf-8-sig").splitlines()) if record.is_file() else 0


@pytest.mark.parametrize("does", [assigned, collected, fetched, reported, seen_in_lab])
def test_a_kill_at_any_moment_loses_nothing(before, tmp_path, does: Callable[[Path], None]):
    """What was there is there, whole; once more, and it is as if nothing had happened."""
    peaceful = tmp_path / "peaceful"
    shutil.copytree(before, peaceful)
    if does in (collected, fetched):
        shutil.rmtree(peaceful / "may" / "submitted")
    first = state(peaceful)
    begun = time.monotonic()
    does(peaceful)
    took = time.monotonic() - begun
    wanted, rows = state(peaceful), rows_of_lab(peaceful)
    chance = random.Random(20261129)  # noqa: S311
    for n in range(KILLS):
        base = tmp_path / f"n{n}"
        shutil.copytree(before, base)
        if does in (collected, fetched):
            shutil.rmtree(base / "may" / "submitted")
        child = in_child(lambda base=base: does(base))
        time.sleep(chance.uniform(0, 1.1 * took))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        for name, data in state(base).items():
            assert data in (first[name], wanted[name], b"") or name == "units", name
        page = base / "may" / "report.html"
        assert not page.is_file() or page.read_text(encoding="utf-8").rstrip().endswith("</html>")
        does(base)
        assert state(base) == wanted
        assert rows_of_lab(base) == rows
        shutil.rmtree(base)
