"""The table for a spreadsheet: one line for each learner and unit."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping
from pathlib import Path

from graders.cohort.group import Cohort
from graders.core.spreadsheet import BETWEEN, ENCODING, harmless
from graders.learner.standing import Standing

COLUMNS: Mapping[str, str] = {
    "learner": "The learner's id.",
    "unit": "The unit, as its folder is called.",
    "edition": "The edition the answers were marked under; empty when nothing was handed in.",
    "handed_in": "When the work was handed in; 'yes' when the time is not known; else 'no'.",
    "attempt": "Which attempt was marked, from 1; each draws another case. Empty without one.",
    "other_attempts": "How each other attempt that was marked ended, parted by ' | '.",
    "marked": "'yes' when the work was marked; 'no' when it could not be, see problems.",
    "late": "'yes' when the work came after it was due; lateness costs no points.",
    "score": "The points that count: the gradebook's, where a human changed them.",
    "possible": "The points there are.",
    "percent": "The score in percent of the possible points, never rounded up.",
    "ready": "'yes' when the learner is ready for the lab, else 'no'. Ready is not competent.",
    "critical_missed": "A sentence for each critical finding that was missed, parted by ' | '.",
    "misconceptions": "The id of each misconception that answers fit, parted by ' | '; "
    "a-slip/ stands before one that a slip explains as well.",
    "problems": "A sentence for each thing wrong with the handed-in files, parted by ' | '.",
    "next": "The one thing to do next.",
    "role": "The role, as the roster has it.",
    "ward": "The ward, as the roster has it.",
    "site": "The site, as the roster has it.",
}


def write_csv(cohort: Cohort, path: Path) -> None:
    """Write the table as CSV in UTF-8 with a mark that spreadsheets understand."""
    path.write_bytes(csv_text(cohort).encode(ENCODING, errors="replace"))


def csv_text(cohort: Cohort) -> str:
    """Return the table as CSV text."""
    file = io.StringIO(newline="")
    writer = csv.DictWriter(file, list(COLUMNS))
    writer.writeheader()
    for row in cohort.rows:
        writer.writerow({name: harmless(value) for name, value in cells(row).items()})
    return file.getvalue()


def cells(row: Standing) -> dict[str, str | float]:
    """Return one line of the table by column; a number that does not exist is left empty."""
    there = row.handed_in
    return {
        "learner": row.learner,
        "unit": row.unit,
        "edition": row.edition,
        "handed_in": (row.when or "yes") if there else "no",
        "attempt": row.attempt if there and not row.unmarked else "",
        "other_attempts": BETWEEN.join(row.others),
        "marked": ("yes" if row.usable else "no") if there else "",
        "late": "yes" if row.late else "no",
        "score": row.score if there and not row.unmarked else "",
        "possible": row.possible if there and not row.unmarked else "",
        "percent": "" if row.percent is None else row.percent,
        "ready": "yes" if row.ready else "no",
        "critical_missed": BETWEEN.join(row.critical),
        "misconceptions": BETWEEN.join(row.misconceptions),
        "problems": BETWEEN.join(row.problems),
        "next": row.next,
        "role": row.person.role,
        "ward": row.person.ward,
        "site": row.person.site,
    }
