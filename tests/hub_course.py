"""A course to lay a hub out for, and what the hub's tests ask of it."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from traitlets.config import Config, PyFileConfigLoader

from graders.course.coursefolder import lay_out
from graders.hub.layout import Hub, lay_hub
from workbook.course.settings import Course

UNIT = "1_setup_order"
COURSE = Course("may", "May course", units=(UNIT,))
PYTHON = shutil.which("sh", path="/usr/bin:/bin") or ""  # a program that every account can run


@contextmanager
def open_place() -> Iterator[Path]:
    """Yield a folder that every account can reach."""
    with tempfile.TemporaryDirectory(prefix="tpiece-hub-") as made:
        Path(made).chmod(0o755)
        yield Path(made)


def made_course(path: Path) -> Path:
    """Return a course of three people, with work given out and a letter box."""
    lay_out(path, COURSE)
    (path / "roster.csv").write_text("learner\nada\nbea\ncyd\n")
    outbound = path / "exchange/may/outbound" / UNIT
    outbound.mkdir(parents=True)
    (path / "exchange/may/inbound").mkdir()
    shutil.copyfile(path / "course.toml", outbound / "course.toml")
    (outbound / f"{UNIT}.ipynb").write_text("{}")
    return path


def laid(course: Path, place: Path, python: str = PYTHON, **other: str) -> Hub:
    """Lay a hub out."""
    settings = {"bind": "http://127.0.0.1:8000", "proxy": "proxy --quiet", "python": python}
    return lay_hub(course, place / "hub", **{**settings, **other})


def read(config: Path) -> Config:
    """Read settings as the hub itself does."""
    return PyFileConfigLoader(config.name, path=str(config.parent)).load_config()
