"""The smallest whole unit (`tests/tiny_unit`), laid over a copy of the tree: it is found there.

It is given out, answered, handed in, collected, graded and reported by the commands' own paths.
Whoever adds a unit may begin with a copy of it.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.planted import ROOT

pytestmark = [pytest.mark.slow, pytest.mark.timeout(300)]
TINY = Path(__file__).parent / "tiny_unit"
# One learner knows, one holds the belief.
TRIED = """
import json, sys
from pathlib import Path
from graders.marking.personas import answers_of
from graders.tasks import work
from workbook.cases import case, exercises, title
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.course.handed import give
from workbook.course.settings import FILE
from workbook.start.launch import prepare_learner

UNIT = "9_tiny"
top = Path(sys.argv[1])
folder = work.assign(top / "may", course_id="may", title="May", units=[UNIT])
course = folder.course
(top / "lessons").mkdir()
for learner, belief in (("knows", ""), ("believes", "fault-before-baby")):
    own = prepare_learner(top / learner, learner=learner, course_id="may", exchange=folder.exchange,
                          lessons=top / "lessons", course_text=(folder.path / FILE).read_text())
    drawn = case("may", UNIT, learner, course.book)
    path = answers_path(own / UNIT / f"{UNIT}.ipynb")
    file = AnswersFile(path, "may", UNIT, learner, course.edition)
    file.asks("tiny-bag", drawn["tiny-bag"].label)
    file.append("tiny-bag", answers_of(drawn, course.book, belief)["tiny-bag"])
    list(work.collect(folder.path, [give(own, "may", learner, UNIT)]))
run = work.grade(folder.path)
page, table = work.report(folder.path)[:2]
print(json.dumps({
    "every": list(exercises()), "title": title(UNIT), "graded": run.graded,
    "problems": run.problems, "page": page.read_text("utf-8"),
    "table": table.read_text("utf-8-sig"),
}))
"""


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Copy the tree and lay the tiny unit over it; nothing that is there is changed."""
    made = tmp_path_factory.mktemp("tree")
    for name in ("workbook", "graders", "source_exercises"):
        ignored = shutil.ignore_patterns("__pycache__", "pictures")
        shutil.copytree(ROOT / name, made / name, ignore=ignored)
    for path in sorted(TINY.rglob("*.*")):
        assert not (made / path.relative_to(TINY)).exists()
    shutil.copytree(TINY, made, dirs_exist_ok=True)
    shutil.copy(ROOT / "pyproject.toml", made)
    return made


def python(tree: Path, *words: str | Path) -> str:
    """Run the tree's own Python code, and return what it says."""
    command = [sys.executable, *map(str, words)]
    done = subprocess.run(command, cwd=tree, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_a_room_on_each_side_and_a_page_are_a_unit(tree: Path, tmp_path: Path) -> None:
    """Given out, answered, graded and reported; no list, no table, no contract is told of it."""
    said = json.loads(python(tree, "-c", TRIED, tmp_path).splitlines()[-1])
    assert "9_tiny" in said["every"]
    assert said["title"] == "Exercise 9: tiny"
    assert (said["graded"], said["problems"]) == (2, [])
    heading, *rows = (line.split(",") for line in said["table"].splitlines())
    told = {row[heading.index("learner")]: dict(zip(heading, row, strict=False)) for row in rows}
    assert {who: float(row["score"]) for who, row in told.items()} == {"knows": 1, "believes": 0}
    assert told["knows"]["ready"] == "yes"
    assert told["believes"]["ready"] == "no"
    assert "fault-before-baby" in told["believes"]["misconceptions"]
    assert "the fault is looked for first" in said["page"]


def test_its_rooms_keep_every_contract(tree: Path) -> None:
    """It is in its layer, knows no other unit, and its marks are pure."""
    tool = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run(
        [tool, "--no-cache"], cwd=tree, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout
    assert " 0 broken" in done.stdout
