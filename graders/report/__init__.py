"""The coordinator's report: a page to read and print, and a table for a spreadsheet."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from graders.cohort import Cohort
from graders.report.export import COLUMNS, ENCODING, csv_text, write_csv
from graders.report.frame import ReportError, replace_files
from graders.report.page import page

PAGE = "report.html"
TABLE = "report.csv"


def write_report(
    cohort: Cohort, folder: Path, *, made_at: datetime, version: str
) -> tuple[Path, Path]:
    """Write the page and the table into a folder and return their paths.

    Each file is replaced whole. Raises ReportError when one cannot be written; the earlier file
    is then still there.
    """
    html = page(cohort, made_at=made_at, version=version).encode("utf-8", errors="replace")
    table = csv_text(cohort).encode(ENCODING, errors="replace")
    paths = (folder / PAGE, folder / TABLE)
    replace_files(dict(zip(paths, (html, table), strict=True)))
    return paths


__all__ = ["COLUMNS", "PAGE", "TABLE", "ReportError", "page", "write_csv", "write_report"]
