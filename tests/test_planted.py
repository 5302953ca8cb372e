"""The table of planted mistakes fits the tree, and what plants them tells found from not found.

The mistakes themselves are planted by hand: ``python3 -m tests.planted``.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tests.planted import Mistake, found, plant, red_anyhow, table

MISTAKES = table()
PARTS = {
    "rules data": ("workbook/rules/data/",),
    "rules": ("workbook/rules/",),
    "physics": ("workbook/physics/",),
    "marks": ("graders/marks/", "graders/units/"),
    "draws": ("workbook/cases/", "workbook/units/"),
    "watch": ("graders/watch/",),
    "units of measurement": ("workbook/core/quantities.py", "workbook/rules/checkinput.py"),
    "scenario": ("workbook/scenario/", "graders/units/scenario/"),
    "trial": ("workbook/trial/", "graders/units/faults/"),
    "result": ("workbook/course/result.py", "graders/grading/", "graders/learner/"),
    "baby": ("workbook/physics/baby/",),
    "intake": ("graders/handed_in/", "graders/course/", "workbook/core/answer_sheet.py"),
    "report": ("graders/report/", "graders/cohort/", "graders/marking/scored.py"),
}


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda m: f"{m.path}: {m.why}")
def test_every_planted_line_still_fits_the_tree(mistake: Mistake) -> None:
    """Its old text is there once, the file can be read with the new one, its tests are there."""
    assert mistake.rot() == ""


def test_mistakes_are_planted_in_every_part_and_none_twice() -> None:
    """Two hundred at the least, and some in each part that a wrong result could come from."""
    assert len(MISTAKES) >= 200
    assert max(Counter((m.path, m.old, m.new) for m in MISTAKES).values()) == 1
    for name, places in PARTS.items():
        assert sum(m.path.startswith(places) for m in MISTAKES) >= 5, name


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    """Return a little tree with one module and its tests."""
    (tmp_path / "tests").mkdir()
    (tmp_path / "least.py").write_text("LEAST = 3\nUNUSED = 4\n", encoding="utf-8")
    (tmp_path / "tests" / "test_least.py").write_text(
        "import least\n\ndef test_least():\n    assert least.LEAST == 3\n", encoding="utf-8"
    )
    return tmp_path


def mistake(old: str, new: str, by: str = "test_least.py::test_least") -> Mistake:
    return Mistake("least.py", old, new, (by,), "why")


def test_a_mistake_is_found_by_its_test_or_survives_and_the_tree_is_as_it_was(tree: Path) -> None:
    """What no test looks at survives."""
    before = (tree / "least.py").read_text(encoding="utf-8")
    seen, unseen = mistake("LEAST = 3", "LEAST = 5"), mistake("UNUSED = 4", "UNUSED = 5")
    told = [red for red, _ in plant([seen, unseen], [tree])]
    assert told == ["test_least.py::test_least", ""]
    assert (tree / "least.py").read_text(encoding="utf-8") == before


def test_a_test_that_is_red_anyhow_is_named(tree: Path) -> None:
    """It would find every mistake."""
    (tree / "least.py").write_text("LEAST = 2\n", encoding="utf-8")
    red = red_anyhow([mistake("LEAST = 2", "LEAST = 5")], tree, 1)
    assert red == ["test_least.py::test_least"]


def test_a_test_that_is_not_there_is_no_test_that_found_it(tree: Path) -> None:
    """Then nothing was run, and it says so."""
    with pytest.raises(SystemExit, match="could not be run"):
        found(mistake("LEAST = 3", "LEAST = 5", "test_least.py::test_gone"), tree)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (mistake("LEAST = 4", "LEAST = 5"), "0 times, not once"),
        (mistake(" = ", " == "), "2 times, not once"),
        (mistake("LEAST = 3", "LEAST = 3"), "not once"),
        (mistake("LEAST = 3", "LEAST = ("), "cannot be read"),
        (mistake("LEAST = 3", "LEAST = 5", "test_least.py::test_gone"), "There is no test test_le"),
        (mistake("LEAST = 3", "LEAST = 5", "test_none.py"), "There is no test test_none.py"),
    ],
)
def test_a_line_that_no_longer_fits_is_one_sentence(tree: Path, wrong: Mistake, says: str) -> None:
    """With what is wrong, and where."""
    assert says in wrong.rot(tree)
