"""The room's look stays its own: no rule of it reaches into a control by a name they share."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import workbook

HERE = Path(workbook.__file__).parent
SHEETS = sorted((HERE / "labextension" / "page").glob("*.css"))
CONTROLS = [*(HERE / "widgets").glob("*.js"), *(HERE / "widgets").glob("*.css"), *HERE.glob("*.py")]


def shared(sheet: str) -> list[str]:
    """Return the bare classes that a style sheet has rules for and that controls have too."""
    plain = re.sub(r"/\*.*?\*/", "", sheet, flags=re.DOTALL)
    heads = (head for head in re.findall(r"([^{}]+)\{", plain) if "@" not in head)
    selectors = [part.strip() for head in heads for part in head.split(",")]
    alone = [re.match(r"(\.tpiece-[\w-]+)[^\s>+~]*$", each) for each in selectors]
    inside = {name for path in CONTROLS for name in _names(path.read_text(encoding="utf-8"))}
    return sorted({each[1] for each in alone if each and each[1].removeprefix(".") in inside})


def _names(text: str) -> set[str]:
    return set(re.findall(r"\btpiece-[a-z-]*[a-z]\b", text))


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.name)
def test_no_rule_of_the_room_reaches_a_control(path: Path) -> None:
    """The number of a step on the home once squeezed the field that takes a number."""
    assert shared(path.read_text(encoding="utf-8")) == []


def test_a_rule_that_reaches_a_control_is_found() -> None:
    """As the one that did."""
    assert shared(".tpiece-way a, .tpiece-number { border-radius: 50%; }") == [".tpiece-number"]
