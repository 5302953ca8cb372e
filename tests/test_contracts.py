"""Each contract on imports is broken on purpose in a copy of the tree; `lint-imports` notices."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.planted import ROOT

pytestmark = pytest.mark.slow
BROKEN = {
    "the workbook never imports the graders": ("workbook/core/errors.py", "graders.cli"),
    "the workbook stands in layers, and each is named here": (
        "workbook/core/errors.py",
        "workbook.rules.gas",
    ),
    "what is known, drawn and done shows nothing and knows no framework": (
        "workbook/units/rate/case/rhythms.py",
        "matplotlib",
    ),
    "what is known and what is worked out go round in no circle": (
        "workbook/rules/edition.py",
        "workbook.rules.files",
    ),
    "the graders stand in layers, and each is named here": (
        "graders/core/alone.py",
        "graders.marks.checks",
    ),
    "no unit knows of another": ("graders/units/rate/marks.py", "graders.units.sizing.marks"),
    "no unit of the workbook knows of another": (
        "workbook/units/targets/practice.py",
        "workbook.units.rate.practice",
    ),
    "marking is pure": ("graders/units/rate/marks.py", "numpy"),
    "nbgrader is met in one place only": ("graders/course/roster.py", "nbgrader"),
}


def linted(tree: Path) -> str:
    """Return what `lint-imports` prints of a tree."""
    tool = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run(
        [tool, "--no-cache"], cwd=tree, capture_output=True, text=True, check=False
    )
    return done.stdout + done.stderr


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Copy what is linted."""
    made = tmp_path_factory.mktemp("tree")
    for name in ("workbook", "graders"):
        shutil.copytree(
            ROOT / name, made / name, ignore=shutil.ignore_patterns("__pycache__", "locale")
        )
    shutil.copy(ROOT / "pyproject.toml", made)
    return made


def test_every_contract_is_broken_here(tree: Path) -> None:
    """A new contract comes with an import that breaks it; as it stands, the tree keeps all."""
    said = linted(tree)
    assert f"Contracts: {len(BROKEN)} kept, 0 broken." in said
    assert [name for name in BROKEN if f"{name} KEPT" in said] == list(BROKEN)


@pytest.mark.parametrize("name", BROKEN)
def test_a_contract_notices_what_it_forbids(tree: Path, name: str) -> None:
    """An import added where it does not belong is named."""
    path, module = BROKEN[name]
    text = (tree / path).read_text(encoding="utf-8")
    (tree / path).write_text(f"{text}\nimport {module}\n", encoding="utf-8")
    try:
        assert f"{name} BROKEN" in linted(tree)
    finally:
        (tree / path).write_text(text, encoding="utf-8")
