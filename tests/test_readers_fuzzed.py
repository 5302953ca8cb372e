"""Every reader is given nonsense: it reads it or refuses it in a sentence, and nothing else.

Longer, by hand: ``HYPOTHESIS_PROFILE`` as hypothesis has it, or ``tests.fuzz`` for answers.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graders.cohort.verdicts import verdicts
from graders.course.coursefolder import CourseFolder
from graders.course.roster import read_roster
from graders.course.settings import Wanted, changed
from graders.course.stamps import stamps
from graders.grading.grade import handed_in_at
from graders.handed_in.exchange import named
from graders.handed_in.held import waiting
from graders.handed_in.inbox import sent
from graders.handed_in.intake import Intake
from graders.handed_in.nearness import Near
from graders.lab.plan import LabError
from graders.lab.record import lab_results
from graders.lab.sheet import Known, read_sheet
from graders.learner.history import attempts
from graders.passmark.angoff import AngoffError
from graders.passmark.sheet import read_sheets
from workbook.core.answer_sheet import AnswerFileError, read_answers
from workbook.core.errors import PlainError
from workbook.course.settings import Course, read_course
from workbook.rules import RuleError, RuleFileError
from workbook.rules.site.protocolfile import check_protocol

pytestmark = pytest.mark.slow

EXAMPLES = int(os.environ.get("TPIECE_FUZZ", "25"))  # of each reader
SAID = (PlainError, AnswerFileError, RuleError, RuleFileError, LabError, AngoffError)
PLACE = Path(tempfile.mkdtemp(prefix="tpiece-fuzzed-"))
UNIT = "1_setup_order"
KNOWN = Known({"ada"}, {"x"}, date(2026, 5, 4), 12.0)
NOT_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(
                ["id", "learner", "unit", "key", "near", "edition", "since", "says", "x"]
            ),
            inner,
        )
    ),
    max_leaves=12,
)
SHEETS = st.lists(
    st.lists(st.sampled_from(["learner", "name", "ada", "", '"', ";", "\t", "step", "done", "by",
                              "date", "9999-12-31", "yes", "=1", "\x00", "\x1b", "judge", "item",
                              "estimate", "1e999", "é"]), max_size=6).map(",".join),
    max_size=6,
).map("\n".join)  # fmt: skip
TOML = st.lists(
    st.sampled_from(['id = "may"', "id = 1", 'title = "\\\\"', "[protocol]", "[[replace]]", "= ",
                     'edition = "aha-2020"', "edition = []", "units = []", "pass_mark = nan",
                     'rule = "rate"', "value = 1e999", 'unit = "cmH2O"', "review_by = 2030-01-01",
                     'source = "x"', 'approved_by = "y"', "due = 1979-05-27", "x", "'''"]),
    max_size=9,
).map("\n".join)  # fmt: skip
BYTES = st.one_of(
    st.binary(max_size=300), SHEETS.map(lambda text: text.encode()), TOML.map(str.encode),
    NOT_JSON.map(lambda value: json.dumps(value).encode()),
    SHEETS.map(lambda text: text.encode("utf-16")),
)  # fmt: skip


def course_in(folder: Path) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "course.toml").write_text(Course("may", "May", units=(UNIT,)).text())
    return folder


def at(*parts: str) -> Path:
    path = course_in(PLACE / "may").joinpath(*parts)
    path.parent.mkdir(parents=True, exist_ok=True)
    return path


def taken_in(_: Path) -> Any:
    return Intake(CourseFolder(course_in(PLACE / "taken"))).take(sent(PLACE / "any.jsonl", "any"))


READERS: dict[str, tuple[Path, Callable[[Path], Any]]] = {
    "answers": (PLACE / "a.answers.jsonl", read_answers),
    "roster": (PLACE / "people.csv", read_roster),
    "protocol": (PLACE / "protocol.toml", lambda path: check_protocol(path, date(2026, 5, 4))),
    "settings": (PLACE / "set" / "course.toml", lambda path: read_course(path.parent)),
    "settings changed": (
        PLACE / "set" / "course.toml",
        lambda path: changed(path.parent, Wanted(title="x")),
    ),
    "checklist": (PLACE / "lab.csv", lambda path: read_sheet(path, KNOWN)),
    "record": (at("lab.csv"), lambda path: lab_results(path.parent)),
    "estimates": (PLACE / "judge.csv", lambda path: read_sheets([path], {f"{UNIT}/order": 4.0})),
    "rules used": (at("rules-used.json"), lambda path: stamps(path.parent)),
    "given": (at("given.json"), lambda path: stamps(path.parent)),
    "held": (at("held", "x.json"), lambda path: list(waiting(CourseFolder(path.parents[1])))),
    "verdict": (
        at("autograded", "ada", UNIT, "verdict.json"),
        lambda path: list(verdicts(CourseFolder(path.parents[3]))),
    ),
    "history": (
        at("history", "ada", UNIT, "x.json"), lambda path: attempts(path.parents[3], "ada", UNIT)
    ),
    "timestamp": (PLACE / "t" / "timestamp.txt", lambda path: handed_in_at(path.parent)),
    "intake": (PLACE / "any.jsonl", taken_in),
}  # fmt: skip


@pytest.mark.parametrize("name", READERS)
def test_a_reader_reads_nonsense_or_says_that_it_is(name: str) -> None:
    """Neither another error nor an empty sentence, whatever the bytes."""
    path, read = READERS[name]
    path.parent.mkdir(parents=True, exist_ok=True)

    @settings(max_examples=EXAMPLES, deadline=None)
    @given(BYTES)
    def each(data: bytes) -> None:
        for other in ("rules-used.json", "given.json"):
            (PLACE / "may" / other).unlink(missing_ok=True)
        path.write_bytes(data)
        try:
            read(path)
        except SAID as error:
            assert str(error).strip()  # noqa: PT017

    each()


@settings(max_examples=100)
@given(st.text(max_size=40), st.lists(st.text(max_size=20), max_size=5))
def test_names_and_ids_of_any_kind_are_looked_at_in_peace(name: str, people: list[str]) -> None:
    """A folder's name in the letter box, an id beside a roster's."""
    named(name)
    assert set(Near(people).to(name)) <= set(people)
