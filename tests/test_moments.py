"""Times that learners' machines write: read once, in one form, or taken for no time."""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graders.grading.grade import handed_in_at, is_late
from graders.handover.result import in_utc
from graders.learner.retest import day_of
from graders.marking.graded import Graded
from graders.marking.scored import Scored
from graders.nbgrader.scores import _when
from workbook.core.moments import FIRST, moment, on_the_clock, written

NO_TIME = (
    "2026-W48-6", "2026-W48", "2026-333", "20261128T100000", "0001-01-01 00:00:00+14:00",
    "0001-01-01 00:00:00 UTC", "9999-12-31T23:59:59-14:00", "2026-02-30 10:00:00 UTC",
    "2026-11-28 10:00:60", "2026-11-28T10:00:00+99:99", "2026-11-28 10:00 CEST", "", "soon",
    "٢٠٢٦-١١-٢٨ ١٠:٠٠:٠٠ UTC", "\x00", "=1+1", "1999-12-31 23:59:59 UTC",
)  # fmt: skip


def graded(handed_in: str) -> Graded:
    return Graded("ada", "u", "e", (), (), handed_in, "abc", "1")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("2026-11-28 10:00:00.123456 UTC", "2026-11-28 10:00:00.123456 UTC"),
        ("2026-11-28T10:00:00Z", "2026-11-28 10:00:00 UTC"),
        ("2026-11-28T11:00:00+01:00", "2026-11-28 10:00:00 UTC"),
        ("2026-11-28 10:00", "2026-11-28 10:00:00 UTC"),
        ("2026-11-28", "2026-11-28 00:00:00 UTC"),
    ],
)
def test_a_time_has_one_form(text: str, says: str) -> None:
    """Whatever zone it was written in, it is kept in UTC, as nbgrader keeps it."""
    when = moment(text)
    assert when is not None
    assert written(when) == says
    assert moment(says) == when


@pytest.mark.parametrize("text", NO_TIME)
def test_what_is_no_time_stops_nobody_who_reads_one(text: str, tmp_path: Path) -> None:
    """Grading, gradebook, lateness, re-test and hand-over all take it for no time."""
    (tmp_path / "timestamp.txt").write_text(text, encoding="utf-8")
    assert moment(text) is None
    assert handed_in_at(tmp_path) == ""
    assert not is_late(text, "2026-12-01T18:00+01:00")
    assert _when(Scored("ada", "u", text, (), ())) is None
    assert in_utc(text) == ""
    assert day_of(graded(text)) is None


@given(st.text() | st.datetimes().map(str) | st.dates().map(lambda day: day.strftime("%G-W%V-%u")))
def test_no_text_is_more_than_a_time_or_none(text: str) -> None:
    """Whatever it is, it is read within bounds and never raises."""
    when = moment(text)
    assert when is None or when >= FIRST


def test_a_time_ahead_of_the_course_is_when_the_file_came(tmp_path: Path) -> None:
    """The course's clock decides, and grading again decides the same."""
    path = tmp_path / "timestamp.txt"
    path.write_text("9999-12-31 23:59:59 UTC")
    came = datetime(2026, 5, 4, 10, tzinfo=UTC)
    os.utime(path, (came.timestamp(), came.timestamp()))
    assert handed_in_at(tmp_path) == "2026-05-04 10:00:00 UTC"
    assert is_late(handed_in_at(tmp_path), "2026-05-03T18:00+01:00")


def test_what_an_older_version_kept_of_a_clock_ahead_is_no_day() -> None:
    """A re-test six months after the last day there is would be no date."""
    assert day_of(graded("9999-12-31 23:59:59 UTC")) is None


def test_a_receipt_tells_the_time_as_a_clock_on_the_wall_does(monkeypatch):
    """Local, to the minute; what is no time is told as it is."""
    monkeypatch.setenv("TZ", "Etc/GMT-2")  # two hours ahead of UTC, all year
    time.tzset()
    assert on_the_clock("2026-11-30T23:35:34Z") == "2026-12-01 01:35"
    assert on_the_clock("yesterday") == "yesterday"
    monkeypatch.undo()
    time.tzset()
