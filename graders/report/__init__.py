"""The coordinator's report: a page to read and print, and a table for a spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from graders.cohort.group import Cohort
from graders.core.replaced import ReportError, replace_files
from graders.core.spreadsheet import ENCODING
from graders.lab.record import LabResult
from graders.report.export import COLUMNS, csv_text, write_csv
from graders.report.page import page

PAGE = "report.html"
TABLE = "report.csv"


def write_report(
    cohort: Cohort,
    folder: Path,
    *,
    made_at: datetime,
    version: str,
    lab: Mapping[str, LabResult] | None = None,
    beside: Mapping[str, str] | None = None,
) -> tuple[Path, ...]:
    """Write the page and the table into a folder and return their paths.

    ``lab`` is what was observed hands-on by learner id; ``beside`` holds further pages by file
    name, written with them. All files are replaced or none is. Raises ReportError when one cannot
    be written.
    """
    others = beside or {}
    html = page(cohort, made_at=made_at, version=version, lab=lab or {}, beside=tuple(others))
    files = {
        folder / PAGE: html.encode("utf-8", errors="replace"),
        folder / TABLE: csv_text(cohort).encode(ENCODING, errors="replace"),
        **{folder / name: text.encode("utf-8", errors="replace") for name, text in others.items()},
    }
    replace_files(files)
    return tuple(files)


__all__ = ["COLUMNS", "PAGE", "TABLE", "ReportError", "page", "write_csv", "write_report"]
