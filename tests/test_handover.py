"""Results handed over: the same totals everywhere, nobody named, every mistake in a sentence."""

from __future__ import annotations

import stat
from pathlib import Path

import pandas as pd
import pytest
from click.testing import CliRunner

from graders.cli import main
from graders.course.coursefolder import CourseFolder
from graders.handover.pseudonym import KEY, TABLE, course_key, pseudonym
from graders.handover.result import Standing, in_utc, share
from graders.handover.source import source
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from graders.tasks import work
from tests.handover_course import NAMES, UNITS, handed_in_course

pytestmark = pytest.mark.slow

ALL = ("csv", "oneroster", "xapi")


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> CourseFolder:
    """Return the graded course."""
    return handed_in_course(tmp_path_factory.mktemp("handover") / "may")


def export(course: CourseFolder, out: Path, standard: str, *more: str) -> str:
    command = ["export", "--course", str(course.path), "--out", str(out), "--to", standard, *more]
    done = CliRunner().invoke(main, command)
    assert done.exit_code == 0, done.output
    return done.output


def everything(folder: Path) -> bytes:
    """Return every byte of the files of a hand-over; a zip holds the same once more."""
    files = (path for path in folder.rglob("*") if path.is_file() and path.suffix != ".zip")
    return b"".join(path.read_bytes() for path in files)


def refused(*command: object) -> str:
    done = CliRunner().invoke(main, ["export", *map(str, command)])
    assert done.exit_code == 1
    assert done.exception is None or isinstance(done.exception, SystemExit)
    (said,) = done.output.strip().splitlines()
    return said


def test_a_table_read_by_pandas_has_the_gradebooks_totals(course, tmp_path):
    """Reference: nbgrader's own gradebook, and pandas as the reader."""
    export(course, tmp_path, "csv")
    units = pd.read_csv(tmp_path / "results.csv", encoding="utf-8-sig")
    who = pd.read_csv(course.path / TABLE, encoding="utf-8-sig").set_index("pseudonym")["learner"]
    marked = units[units.standing == "marked"]
    read = {
        (who[p], u): s for p, u, s in zip(marked.pseudonym, marked.unit, marked.score, strict=True)
    }
    with Nbgrader(course).gradebook() as book:
        kept = {key: score for key, score in totals(book).items() if key in read}
    assert len(read) == 7
    assert read == pytest.approx(kept, abs=1e-9)
    questions = pd.read_csv(tmp_path / "questions.csv", encoding="utf-8-sig")
    sums = questions.groupby(["pseudonym", "unit"]).score.sum()
    for row in marked.itertuples():
        assert sums[row.pseudonym, row.unit] == pytest.approx(row.marked, abs=1e-9)


def test_every_column_is_explained(course, tmp_path):
    """The file of columns has one line for each column of each table."""
    export(course, tmp_path, "csv", "--names")
    said = pd.read_csv(tmp_path / "columns.csv", encoding="utf-8-sig")
    for file in ("results.csv", "questions.csv"):
        columns = list(pd.read_csv(tmp_path / file, encoding="utf-8-sig").columns)
        assert list(said[said.file == file].column) == columns
    assert said.says.str.len().min() > 10


def test_everyone_has_a_result_whatever_became_of_their_work(course):
    """Marked, unreadable or not handed in: each learner and unit stands once."""
    found = {(one.learner, one.unit): one for one in source(course.path).results()}
    key = course_key(course.path)
    assert len(found) == len(NAMES) * len(UNITS)
    standing = {who: found[pseudonym(who, key), UNITS[0]].standing for who in NAMES}
    assert standing == {
        "ada.q7": Standing.MARKED, "bo.q7": Standing.MARKED, "cy.q7": Standing.MARKED,
        "dee.q7": Standing.MISSING, "eve.q7": Standing.UNREADABLE,
    }  # fmt: skip
    assert found[pseudonym("ada.q7", key), UNITS[0]].ready
    assert not found[pseudonym("bo.q7", key), UNITS[0]].ready


@pytest.mark.parametrize("standard", ALL)
def test_nobody_is_named_unless_that_was_asked_for(course, tmp_path, standard):
    """No byte of any file has a name, or an id as a word; the roster and the key stay behind."""
    said = export(course, tmp_path, standard)
    assert "by pseudonym" in said
    data = everything(tmp_path)
    key = (course.path / KEY).read_bytes().strip()
    for secret in [*(name.encode() for name in NAMES.values()), b"q7", key]:
        assert secret not in data
    assert not list(tmp_path.rglob("roster*"))
    assert not list(tmp_path.rglob("pseudonym*"))


@pytest.mark.parametrize("standard", ALL)
def test_names_are_written_when_asked_for_and_that_is_said(course, tmp_path, standard):
    """Non-Latin names come through whole."""
    said = export(course, tmp_path, standard, "--names")
    assert f"NAME {len(NAMES)} learners" in said
    assert "小雨".encode() in everything(tmp_path)


def test_no_cell_can_be_taken_for_a_formula(course, tmp_path):
    """A name that begins as a formula does is made harmless."""
    for standard in ("csv", "oneroster"):
        export(course, tmp_path, standard, "--names")
    for path in tmp_path.rglob("*.csv"):
        for text in path.read_text("utf-8-sig").splitlines():
            assert not any(cell.lstrip('"').startswith("=") for cell in text.split(","))


def test_pseudonyms_are_lasting_and_mean_nothing_without_the_key(course, tmp_path):
    """The same key gives the same name, another key another; the key is its owner's alone."""
    key = course_key(course.path)
    assert key == course_key(course.path)
    assert pseudonym("ada.q7", key) == pseudonym("ada.q7", key)
    assert pseudonym("ada.q7", key) != pseudonym("ada.q7", course_key(tmp_path))
    assert pseudonym("ada.q7", key) != pseudonym("bo.q7", key)
    for name in (KEY, TABLE):
        assert stat.S_IMODE((course.path / name).stat().st_mode) == 0o600


def test_what_cannot_be_done_is_said_in_one_sentence(course, tmp_path):
    """No course, nothing graded, no names to give, options of another standard, no such address."""
    assert "course.toml" in refused("--course", tmp_path, "--to", "csv")
    empty = work.assign(tmp_path / "empty", course_id="e", title="E", units=UNITS[:1])
    assert "Nobody has handed in" in refused("--course", empty.path, "--to", "csv")
    assert "--home-page" in refused("--course", course.path, "--to", "csv", "--array")
    page = ("--to", "xapi", "--home-page", "ftp://x")
    assert "web address" in refused("--course", course.path, *page)


def test_a_key_that_was_cut_short_is_not_replaced(course, tmp_path):
    """Another key would give everybody a new name without a word."""
    (tmp_path / KEY).write_text("abc")
    with pytest.raises(ValueError, match="is not a key"):
        course_key(tmp_path)
    assert (tmp_path / KEY).read_text() == "abc"


def test_names_need_a_roster(tmp_path):
    """Without one there is nobody to name."""
    folder = handed_in_course(tmp_path / "may")
    folder.path.joinpath("roster.csv").unlink()
    assert "no names" in refused("--course", folder.path, "--to", "csv", "--names").lower()


def test_a_verdict_that_is_none_is_said_and_stops_nobody(tmp_path):
    """A broken file is named, whose it is does not count as missing, the others are written."""
    folder = handed_in_course(tmp_path / "may")
    export(folder, folder.path / "whole", "csv")
    (folder.autograded("ada.q7", UNITS[0]) / "verdict.json").write_text("{")
    out = tmp_path / "out"
    command = ["export", "--course", folder.path, "--to", "csv", "--out", out]
    done = CliRunner().invoke(main, [str(word) for word in command])
    assert done.exit_code == 1
    assert "verdict.json cannot be read any more" in done.output
    table = pd.read_csv(next(out.glob("*results*.csv")))
    whole = pd.read_csv(next((folder.path / "whole").glob("*results*.csv")))
    assert len(table) == len(whole) - 1


@pytest.mark.parametrize(
    ("raw", "most", "wanted"), [(3, 4, 0.75), (5, 4, 1.0), (-9, 4, -1.0), (1, 0, None)]
)
def test_a_share_keeps_within_what_the_standard_allows(raw, most, wanted):
    """IEEE 9274.1.1, 4.2.2.6.1: scaled lies between -1 and 1."""
    assert share(raw, most) == wanted


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("2026-05-04 10:00:00.5 UTC", "2026-05-04T10:00:00Z"),
        ("2026-05-04T10:00:00+02:00", "2026-05-04T08:00:00Z"),
        ("", ""), ("yesterday", ""), ("0001-01-01T00:00:00+14:00", ""),
    ],
)  # fmt: skip
def test_times_are_told_in_utc(text, wanted):
    """What is no time is left out."""
    assert in_utc(text) == wanted
