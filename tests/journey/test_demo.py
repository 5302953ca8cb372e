"""The invented cohort: what was planted is what the report names."""

from __future__ import annotations

import csv
import os
import subprocess
import sys
from pathlib import Path

import pytest

from graders.coursefolder import CourseFolder
from graders.demo import HELD, planted, run_demo
from graders.misconceptions import misconceptions
from workbook.cases import exercises

UNIT = "1_setup_order"


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """Run the demo once, by the program's own path; return its folder, page and table."""
    path = tmp_path_factory.mktemp("demo") / "cohort"
    command = [str(Path(sys.executable).parent / "tpiece"), "demo", "--course", str(path)]
    bare = {"HOME": str(path.parent), "PATH": os.defpath}  # the environment is not activated
    done = subprocess.run(command, env=bare, check=True, capture_output=True, text=True)
    page, table = path / "report.html", path / "report.csv"
    assert str(page) in done.stdout.splitlines()[-2]
    return CourseFolder(path), page, table


# Beliefs that cost points without being unsafe acts.
SAFE = {"", "falls-to-zero", "pip-plus-peep", "open-shows-peep", "gauge-shows-relief"}
SAFE |= {"order-is-habit", "outlet-open"}


def rows(table) -> dict[str, dict[str, str]]:
    """Return each learner's line of the unit whose beliefs are planted."""
    return {who: row for (who, unit), row in every(table).items() if unit == UNIT}


def every(table) -> dict[tuple[str, str], dict[str, str]]:
    text = table.read_text(encoding="utf-8-sig")
    return {(row["learner"], row["unit"]): row for row in csv.DictReader(text.splitlines())}


def test_each_learners_misconception_is_the_one_reported(demo):
    """All 24: the belief that was played is named, and no other."""
    folder, _, table = demo
    named = {learner: row["misconceptions"] for learner, row in rows(table).items()}
    assert len(named) == 24
    assert named == dict(planted(folder.course))
    others = {key: row for key, row in every(table).items() if key[1] != UNIT}
    assert len(others) == 24 * (len(exercises()) - 1)
    # Some beliefs show in other units too; nobody shows one that was not planted in them.
    assert all(row["misconceptions"] in ("", named[who]) for (who, _), row in others.items())
    assert {row["ready"] for row in others.values() if not row["misconceptions"]} == {"yes"}


def test_the_cohort_holds_what_the_table_of_the_demo_says(demo):
    """Counts of planted beliefs, ordered, are the report's own."""
    folder, page, _ = demo
    counts = {belief: n for belief, n in HELD.items() if belief}
    assert {misconceptions()[belief].unit for belief in counts} == {UNIT}
    held = list(planted(folder.course).values())
    assert {b: held.count(b) for b in counts} == counts
    text = page.read_text(encoding="utf-8")
    commonest = max(counts, key=lambda belief: counts[belief])
    said = [m for m in misconceptions().values() if m.believes in text]
    assert misconceptions()[commonest] in said
    assert text.index(misconceptions()[commonest].believes) < text.index(
        misconceptions()["pip-plus-peep"].believes
    )


def test_unsafe_learners_are_not_ready_whatever_their_points(demo):
    """PEEP before PIP loses few points and still keeps a learner from the lab."""
    folder, _, table = demo
    beliefs = planted(folder.course)
    for learner, row in rows(table).items():
        safe = beliefs[learner] in SAFE
        assert (row["critical_missed"] == "") == safe, (learner, beliefs[learner])
        assert (row["ready"] == "yes") == safe, (learner, beliefs[learner])


def test_a_second_run_replaces_the_first(demo):
    """The demo can be shown again and gives the same table."""
    folder, _, table = demo
    before = {key: row["score"] for key, row in every(table).items()}
    _, again = run_demo(folder.path, say=lambda line: None)
    assert {key: row["score"] for key, row in every(again).items()} == before
    assert again.samefile(table)
