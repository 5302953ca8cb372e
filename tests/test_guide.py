"""The guide for contributors: its map names what is there, and nothing that is not."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.__main__ import parted

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
MAP = GUIDE.split("## The map")[1].split("```text\n")[1].split("```")[0]
PACKAGES = sorted(
    path.parent.relative_to(ROOT)
    for place in ("workbook", "graders")
    for path in (ROOT / place).rglob("__init__.py")
)
FILE = re.compile(r"(?<![\w*…./-])[a-z]\w*\.(?:py|toml|js|css)\b")
PLACES = ("workbook", "graders", "tests")


@pytest.mark.parametrize("package", PACKAGES, ids=str)
def test_the_map_names_every_package(package: Path) -> None:
    """A folder that stands in no map is found by chance only."""
    assert re.search(rf"(?m)(?<![\w]){package.name}/", MAP), f"{package} is missing in the map"


@pytest.mark.parametrize("name", sorted(set(FILE.findall(MAP))))
def test_the_map_names_no_file_that_is_gone(name: str) -> None:
    """What was moved or renamed is named where it is now."""
    assert any(next((ROOT / place).rglob(name), None) for place in PLACES), f"{name} is gone"


def test_a_quick_run_names_all_that_it_leaves_out() -> None:
    """Every test file is run or named, by itself or by its folder; none that is slow is run."""
    quick, left_out = parted(ROOT / "tests")
    apart = {ROOT / place.rstrip("/") for place in left_out if place.endswith("/")}
    for path in (ROOT / "tests").rglob("test_*.py"):
        named = path.name in left_out or apart & set(path.parents)
        assert named or str(path) in quick, f"{path} is neither run nor named"
        assert not (named and str(path) in quick)
    assert "test_trial.py" in left_out
    assert any(path.endswith("test_rules.py") for path in quick)


def test_the_hook_before_a_commit_runs_the_one_list_of_checks() -> None:
    """Nothing of others' is fetched, and no second list is kept."""
    text = (ROOT / ".pre-commit-config.yaml").read_text(encoding="utf-8")
    assert re.findall(r"repo: (\S+)", text) == ["local"]
    assert re.findall(r"entry: (.+)", text) == ["python3 -m tests --checks"]
