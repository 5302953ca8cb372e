"""``tpiece grade --verify``: what is on disk is what the answers earn now, or it says why not."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from graders.cli import main
from graders.grading.audit import differences
from graders.marking.graded import VERDICT_FILE
from graders.tasks import work
from tests.test_unmarked import hand_in
from workbook.core.answer_sheet import answers_path

pytestmark = pytest.mark.slow

UNIT = "1_setup_order"


@pytest.fixture(scope="module")
def graded(tmp_path_factory) -> Path:
    """Return a course of one learner, graded."""
    folder = work.assign(
        tmp_path_factory.mktemp("verify") / "may", course_id="may", title="May", units=[UNIT]
    )
    hand_in(folder, "demo00")
    work.grade(folder.path)
    return folder.path


@pytest.fixture
def course(graded, tmp_path) -> Path:
    shutil.copytree(graded, tmp_path / "may")
    return tmp_path / "may"


def verdict_file(course: Path) -> Path:
    return course / "autograded" / "demo00" / UNIT / VERDICT_FILE


def planted(course: Path, change) -> None:
    data = json.loads(verdict_file(course).read_text())
    change(data)
    verdict_file(course).write_text(json.dumps(data))


def lost(data: dict) -> None:
    """Take a point from the first verdict that has one."""
    finding = next(f for v in data["verdicts"] for f in v["findings"] if f["earned"] > 0)
    finding["earned"] -= 0.5


def test_what_was_graded_is_what_would_be_graded(course):
    assert list(differences(course)) == []
    done = CliRunner().invoke(main, ["grade", "--course", str(course), "--verify"])
    assert done.exit_code == 0, done.output


def test_other_graders_are_named_as_the_reason(course):
    """Marks of an earlier version: old answers still grade, to the new marks, and it is said."""

    def older(data: dict) -> None:
        lost(data)
        data["version"] = "0.0.1"

    planted(course, older)
    (said,) = differences(course)
    assert "demo00, 1_setup_order" in said
    assert "the rules or the graders have changed since" in said
    done = CliRunner().invoke(main, ["grade", "--course", str(course), "--verify"])
    assert done.exit_code == 1
    assert said in " ".join(done.output.split())


def test_a_verdict_that_these_answers_do_not_earn_is_told(course):
    planted(course, lost)
    (said,) = differences(course)
    assert "the verdict on disk is not what these answers earn" in said


def test_answers_that_changed_since_are_told(course):
    """One more answer beside the graded ones changes what they earn."""
    file = answers_path(course / "submitted" / "demo00" / UNIT / f"{UNIT}.ipynb")
    lines = file.read_text().splitlines()
    file.write_text("\n".join(lines[:-1]) + "\n")
    planted(course, lost)
    (said,) = differences(course)
    assert "the answers file has changed since" in said
