"""Fixtures of the hub's tests: a course, where to lay it out, and marking taken for closed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from graders.hub import layout
from tests.hub_course import made_course, open_place


@pytest.fixture
def place() -> Iterator[Path]:
    """Yield a folder that every account can reach."""
    with open_place() as made:
        yield made


@pytest.fixture
def course(tmp_path: Path) -> Path:
    """Return a course of three people."""
    return made_course(tmp_path / "may")


@pytest.fixture(autouse=True)
def closed_marking(monkeypatch: pytest.MonkeyPatch) -> None:
    """Take this checkout for an installation whose marking is closed, as a hub asks for."""
    monkeypatch.setattr(layout, "what_marks", lambda units, python: [])
