"""The bench lesson: predictions tried on the live bench, and pictures of what the model shows."""

from __future__ import annotations

from pathlib import Path

from workbook.lesson.bench import BenchLesson
from workbook.lesson.page import opened

LESSON = "2_bench"


def open_page(lesson: str = LESSON, folder: Path | None = None) -> BenchLesson:
    """Open the bench lesson in a folder, the notebook's own by default."""
    return BenchLesson(*opened(lesson, folder))
