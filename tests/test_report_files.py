"""The files of a report: the table's columns, no formula in a cell, and all written or none."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import pandas as pd
import pytest

from graders.core.spreadsheet import harmless
from graders.report import COLUMNS, ReportError, write_csv, write_report
from tests.report_base import (
    COURSE,
    GROUPS,
    MADE_AT,
    RIGHT,
    SLIP,
    UNIT,
    UNSAFE,
    group,
    two_units,
    work,
)


def test_the_table_holds_every_documented_column(tmp_path: Path) -> None:
    """The header is COLUMNS, in order, and each has a meaning in words."""
    graded = work("a", RIGHT, SLIP, UNSAFE, problems=("Cut, off.",), when="2026-05-04 10:11:12 UTC")
    write_csv(group(graded, roster={"a": "", "b": ""}), tmp_path / "t.csv")
    assert (tmp_path / "t.csv").read_bytes().startswith(b"\xef\xbb\xbflearner,")
    header, *lines = csv.reader((tmp_path / "t.csv").open(encoding="utf-8-sig", newline=""))
    assert header == list(COLUMNS)
    assert all(meaning.endswith(".") for meaning in COLUMNS.values())
    assert lines[0] == [
        "a", UNIT, COURSE.edition, "2026-05-04 10:11:12 UTC", "1", "", "yes", "no", "10.0", "11.0",
        "90.9", "no",
        "The bag was overlooked.", "falls-to-zero | bag-not-needed", "Cut, off.",
        "Unsafe act first: read lesson 1_setup_order.ipynb, “When the gas fails”.", "", "", "",
    ]  # fmt: skip
    assert lines[1][:12] == ["b", UNIT, "", "no", "", "", "", "no", "", "", "", "no"]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"])
def test_no_cell_starts_a_formula(start: str) -> None:
    """A text cell a spreadsheet would run gets an apostrophe; a number stays a number."""
    assert str(harmless(f"{start}1+1")).startswith("'")
    assert harmless(-1.5) == -1.5


def test_no_formula_hides_behind_another_separator(tmp_path: Path) -> None:
    """Opened where semicolons part the cells, no part of a sentence becomes a formula."""
    graded = work("@a", RIGHT, problems=("It names '; =1+1', ;-2 and\t@x.",))
    write_csv(group(graded), tmp_path / "t.csv")
    text = (tmp_path / "t.csv").read_text(encoding="utf-8-sig")
    line = text.splitlines()[1]
    assert line.startswith("'@a,")
    for cell in re.split(r"[;\t]", line)[1:]:
        assert not re.match(r"\s*[=+\-@]", cell)


def test_a_plain_sentence_is_left_alone() -> None:
    """Ordinary text, with signs inside, is written as it is."""
    plain = "PIP 20-25; read again | it's 5 = 5"
    assert harmless(plain) == plain


def test_both_files_are_written_whole_and_nothing_is_left_over(tmp_path: Path) -> None:
    """A second report replaces the first; no draft stays behind."""
    for made in (GROUPS["all wrong"], GROUPS["one learner"]):
        paths = write_report(made, tmp_path, made_at=MADE_AT, version="1.0")
    assert [path.name for path in paths] == ["report.html", "report.csv"]
    assert sorted(tmp_path.iterdir()) == sorted(paths)
    assert "The bag was overlooked." not in paths[0].read_text(encoding="utf-8")


@pytest.mark.parametrize("where", ["missing", "file"])
def test_a_folder_that_cannot_be_written_is_one_sentence(tmp_path: Path, where: str) -> None:
    """The error names the file and what to do, and is no traceback for the reader."""
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(ReportError, match=r"report\.html cannot be written") as told:
        write_report(GROUPS["one learner"], tmp_path / where, made_at=MADE_AT, version="1.0")
    assert str(told.value).count(". ") == 0


def test_a_table_open_elsewhere_leaves_the_old_one(tmp_path: Path) -> None:
    """A file that cannot be replaced is named, and no draft is left beside it."""
    (tmp_path / "report.csv" / "held").mkdir(parents=True)
    with pytest.raises(ReportError, match=r"report\.csv cannot be written"):
        write_report(GROUPS["one learner"], tmp_path, made_at=MADE_AT, version="1.0")
    assert not list(tmp_path.glob(".*.part"))


def test_the_table_read_by_another_library_gives_the_same_totals(tmp_path: Path) -> None:
    """Read back by pandas: the sums, the counts and the text are the group's own."""
    made = two_units()
    write_csv(made, tmp_path / "t.csv")
    table = pd.read_csv(tmp_path / "t.csv", dtype={"learner": str}, keep_default_na=True)
    assert len(table) == len(made.rows) == 8
    assert table["score"].sum() == pytest.approx(sum(row.score for row in made.rows))
    assert table["possible"].sum() == pytest.approx(sum(row.possible for row in made.rows))
    assert (table["ready"] == "yes").sum() == sum(row.ready for row in made.rows)
    assert (table["handed_in"] == "no").sum() == len(made.missing)
    held = table["misconceptions"].dropna().str.split(" | ", regex=False).explode()
    counts = {b.misconception.id: b.count for b in made.beliefs}
    assert table.loc[held.index].assign(id=held).groupby("id")["learner"].nunique().to_dict() == (
        counts
    )
    by_site = table.groupby("site")["score"].sum().to_dict()
    assert by_site == {"Hill": 30.0, "Shore": 0.0}


def test_other_pages_are_written_with_the_report_and_named_on_it(tmp_path: Path) -> None:
    """All of them or none; the page says what lies beside it."""
    beside = {"items.html": "<p>questions</p>"}
    made = write_report(two_units(), tmp_path, made_at=MADE_AT, version="1.0", beside=beside)
    assert [path.name for path in made] == ["report.html", "report.csv", "items.html"]
    assert "report.csv, items.html." in made[0].read_text(encoding="utf-8")
    assert made[2].read_text(encoding="utf-8") == "<p>questions</p>"
