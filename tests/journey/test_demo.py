"""The invented cohort: what was planted is what the report names, in a small and a large one."""

from __future__ import annotations

import csv
import os
import re
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from graders.beliefs.bayes import number
from graders.course.coursefolder import CourseFolder
from graders.marking.personas import shows
from graders.marks.misconceptions import beliefs_of, misconceptions
from graders.tasks.demo import run_demo
from graders.tasks.invented import BELIEFS, held, people
from workbook.cases import case, exercises
from workbook.course.settings import Course, CourseError

COURSE = Course("demo-cohort", "Invented cohort", units=exercises())


def demo_of(path: Path, *options: str) -> tuple[CourseFolder, Path, Path]:
    """Run the demo by the program's own path; return its folder, page and table."""
    command = [str(Path(sys.executable).parent / "tpiece"), "demo", "--course", str(path)]
    bare = {"HOME": str(path.parent), "PATH": os.defpath}  # the environment is not activated
    done = subprocess.run([*command, *options], env=bare, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    page, table = path / "report.html", path / "report.csv"
    assert {f"Written: {page}", f"Written: {table}"} <= set(done.stdout.splitlines())
    return CourseFolder(path), page, table


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """Run the demo of 24 once."""
    return demo_of(tmp_path_factory.mktemp("demo") / "cohort")


@pytest.fixture(scope="module")
def large(tmp_path_factory):
    """Run the demo of 500 once; it takes about a minute."""
    return demo_of(tmp_path_factory.mktemp("large") / "cohort", "--learners", "500")


def lines(table: Path) -> dict[tuple[str, str], dict[str, str]]:
    text = table.read_text(encoding="utf-8-sig")
    return {(row["learner"], row["unit"]): row for row in csv.DictReader(text.splitlines())}


def told(page: Path) -> list[tuple[str, int, int]]:
    """Return each misconception of the page in its order, and of how many it is told.

    Then how many of these may have slipped.
    """
    found = re.findall(
        r'<li id="m-([a-z-]+)">\s*<h3>[^<]+</h3>\s*'
        r'<p class="count">(\d+) of [^,<]+(?:, (\d+) perhaps by a slip)?<',
        page.read_text(encoding="utf-8"),
    )
    return [(id, int(count), int(slips or 0)) for id, count, slips in found]


@pytest.mark.parametrize("size", ["demo", "large"])
def test_the_misconceptions_planted_are_those_reported_in_order(size, request):
    """Every belief with its number, and no other; who may have slipped weighs less in the order."""
    _, page, table = request.getfixturevalue(size)
    learners = len({learner for learner, _ in lines(table)})
    assert learners == {"demo": 24, "large": 500}[size]
    found = told(page)
    assert {id: count for id, count, _ in found} == held(learners)
    holds = [count - (1 - number("slip-or-holds")) * slips for _, count, slips in found]
    assert holds == sorted(holds, reverse=True)


@pytest.mark.parametrize("size", ["demo", "large"])
def test_each_learners_misconception_is_the_one_reported(size, request):
    """Nobody shows a belief that was not planted in them; its own unit always shows it."""
    _, _, table = request.getfixturevalue(size)
    found = lines(table)
    learners = len({learner for learner, _ in found})
    for one in people(COURSE, learners):
        rows = {unit: found[one.person.learner, unit] for unit in exercises()}
        shown = {unit: beliefs_of(row["misconceptions"]) for unit, row in rows.items()}
        assert set(shown.values()) <= {"", one.holds}
        assert not one.holds or shown[misconceptions()[one.holds].unit] == one.holds
        missing = {unit for unit in shown if found[one.person.learner, unit]["handed_in"] == "no"}
        assert missing == set(one.skips)


def test_who_holds_nothing_is_ready_and_unsafe_learners_are_not(demo):
    """The belief decides, whatever the points."""
    _, _, table = demo
    for (learner, unit), row in lines(table).items():
        if row["handed_in"] == "no":
            continue
        belief = row["misconceptions"]
        safe = not belief or not misconceptions()[belief].unsafe
        assert (row["critical_missed"] == "") == safe, (learner, unit, belief)
        assert (row["ready"] == "yes") == safe, (learner, unit, belief)


def test_nobodys_hands_look_like_anothers(demo, large):
    """Invented people are not accused of copying each other."""
    for _, page, _ in (demo, large):
        assert 'id="alike"' not in page.read_text(encoding="utf-8")


def test_a_second_run_replaces_the_first(demo):
    """The demo can be shown again and gives the same table."""
    folder, _, table = demo
    before = {key: row["score"] for key, row in lines(table).items()}
    again = run_demo(folder.path, say=lambda line: None)
    assert table in again
    assert {key: row["score"] for key, row in lines(table).items()} == before


def test_a_folder_that_holds_something_else_is_left_alone(tmp_path):
    """Nothing of anybody's is removed."""
    (tmp_path / "thesis.txt").write_text("mine")
    with pytest.raises(CourseError, match="Name an empty folder"):
        run_demo(tmp_path, say=lambda line: None)
    assert (tmp_path / "thesis.txt").read_text() == "mine"


@pytest.mark.parametrize("learners", [1, 2, 5, 24, 500, 10_000])
def test_what_is_planted_is_distinct_and_spread(learners):
    """Distinct decreasing numbers, all units from 24 learners on, each ward at one site."""
    counts = list(held(learners).values())
    assert counts == sorted(set(counts), reverse=True)
    assert all(count > 0 for count in counts)
    invented = list(people(COURSE, learners))
    assert len({one.person.learner for one in invented}) == learners
    beliefs = Counter(one.holds for one in invented if one.holds)
    assert beliefs == held(learners)
    if learners >= 24:
        assert {misconceptions()[id].unit for id in beliefs} == set(exercises())
        assert any(one.skips for one in invented)
        sites = {one.person.ward: one.person.site for one in invented}
        assert all(sites[one.person.ward] == one.person.site for one in invented)


def test_every_case_can_show_every_planted_belief():
    """In a hundred cases of each unit; so planting never comes to nothing."""
    for unit in exercises():
        own = [id for id in BELIEFS if misconceptions()[id].unit == unit]
        assert own
        for n in range(100):
            drawn = case(COURSE.id, unit, f"l{n}", COURSE.book)
            assert all(shows(drawn, id) for id in own)
