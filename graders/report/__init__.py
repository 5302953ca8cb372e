"""The coordinator's report: a page to read and print, and a table for a spreadsheet."""

from __future__ import annotations

import os
from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from graders.cohort import Cohort
from graders.report.export import COLUMNS, ENCODING, csv_text, write_csv
from graders.report.page import page

PAGE = "report.html"
TABLE = "report.csv"


class ReportError(OSError):
    """A report that could not be written; the message is one sentence."""


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
    _replace(dict(zip(paths, (html, table), strict=True)))
    return paths


def _replace(files: Mapping[Path, bytes]) -> None:
    """Write every draft before the first file is replaced, so a full disk replaces none."""
    drafts = {path: path.with_name(f".{path.name}.{os.getpid()}.part") for path in files}
    path = next(iter(files))
    try:
        for path, data in files.items():
            drafts[path].write_bytes(data)
        for path, draft in drafts.items():
            draft.replace(path)
    except OSError as error:
        raise ReportError(
            f"{path} cannot be written ({error.strerror or error}): close it if it is open in "
            "another program, check that the folder may be written to, and try again."
        ) from error
    finally:
        for draft in drafts.values():
            if draft.is_file():  # left over when the writing stopped half-way
                draft.unlink()


__all__ = ["COLUMNS", "PAGE", "TABLE", "ReportError", "page", "write_csv", "write_report"]
