"""The guide for contributors: its map names what is there, and nothing that is not."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

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
