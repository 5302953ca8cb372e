"""The lab's checklist: made from the rules, filled in, read back with its mistakes; commands."""

from __future__ import annotations

import csv
import io
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from graders.cli import main
from graders.course.roster import Person
from graders.lab.checklist import COLUMNS, DONE, Checklist, blank_rows, checklist
from graders.lab.plan import LabError
from graders.lab.record import RECORD, lab_results
from graders.lab.sheet import Known, Seen, Sheet, read_sheet
from graders.report.brief_page import checklist_text
from tests.lab_course import COURSE, LEARNERS, graded_course
from workbook.rules import editions, overlay, read_protocol, rulebook
from workbook.rules.reader.rulefile import read_procedures

MADE = checklist(COURSE.book)
STEPS = tuple(item.id for item in MADE.items)
TODAY = date(2026, 5, 5)
KNOWN = Known({"ada", "ben", "@cy"}, set(STEPS), TODAY, COURSE.book["lab.results"].value)
HEAD = "learner,step,done,by,date,note\n"


def read(tmp_path: Path, text: str | bytes) -> Sheet:
    path = tmp_path / "sheet.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_sheet(path, KNOWN)


def mistakes(tmp_path: Path, text: str | bytes) -> str:
    with pytest.raises(LabError) as caught:
        read(tmp_path, text)
    return str(caught.value)


# --- the checklist


def test_the_checklist_holds_both_procedures_whole_and_in_order() -> None:
    """No step of shift check or set-up is missing, added or moved."""
    for id in ("shift-check", "set-up"):
        own = [step.removeprefix(f"{id}/") for step in STEPS if step.startswith(f"{id}/")]
        assert own == list(read_procedures()[id].ids)
    assert len(set(STEPS)) == len(STEPS)


def test_a_step_is_critical_where_the_procedure_says_its_breach_could_harm() -> None:
    """Critical are the steps that a critical need names, each with its reason."""
    procedure = read_procedures()["set-up"]
    named = {s for need in procedure.needs if need.critical for s in (need.before, need.step)}
    critical = {i.id for i in MADE.items if i.critical}
    assert {f"set-up/{id}" for id in named} == {id for id in critical if id.startswith("set-up")}
    assert "set-up/ready-bag" in critical
    bag = next(item for item in MADE.items if item.id == "set-up/ready-bag")
    assert bag.critical == "If the gas fails, the bag is the only way to ventilate."


@pytest.mark.parametrize("edition", editions())
def test_every_edition_has_its_own_checklist_with_its_own_rate(edition: str) -> None:
    """The number in a reason is the edition's, or says that it is not stated."""
    book = rulebook(edition)
    made = checklist(book)
    rates = [item for item in made.items if item.id == "count/rate"]
    said = [f": {rule.shown}." for rule in book if rule.id == "rate"]
    assert len(rates) == len(said) == (0 if edition == "practice" else 1)
    assert all(rate.reason.endswith(end) for rate, end in zip(rates, said, strict=True))
    assert made.edition == book.edition.title
    assert all(item.says and item.reason for item in made.items)


def test_the_words_of_the_observed_steps_hold_no_number() -> None:
    """What is seen is words; a number comes from a rule, with its source."""
    own = [i for i in MADE.items if i.id.partition("/")[0] in ("mask", "count", "raise-pip")]
    assert len(own) == 12
    assert not any(char.isdigit() for item in own for char in item.says)


def test_the_printed_sheet_has_a_box_for_each_answer_and_calls_nobody_competent() -> None:
    """Each step has three boxes; the words are about what was observed."""
    page = checklist_text(COURSE, made_at=datetime(2026, 5, 5, tzinfo=UTC), version="1.0")
    for said in DONE:
        assert page.count(f'aria-label="Box for {said}"') == len(STEPS)
    assert page.count(">Critical<") == sum(bool(item.critical) for item in MADE.items)
    assert "observed hands-on" in page
    assert "certifies nobody" in page
    assert "is competent" not in page


# --- the empty sheet


def test_the_empty_sheet_has_a_line_for_each_learner_and_step() -> None:
    """A spreadsheet gets every step, an empty result, and what to look for."""
    people = [Person("ada", "Ada Demo"), Person("@cy", "=1+1")]
    text = "".join(blank_rows(people, MADE))
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [(r["learner"], r["step"]) for r in rows[: len(STEPS)]] == [("ada", s) for s in STEPS]
    assert len(rows) == 2 * len(STEPS)
    assert {r["done"] + r["by"] + r["date"] + r["note"] for r in rows} == {""}
    assert {r["name"] for r in rows} == {"Ada Demo", "'=1+1"}
    assert text.startswith(",".join(COLUMNS))


def test_without_learners_the_sheet_is_its_head() -> None:
    """A course without people still gets a table with its columns."""
    (head,) = "".join(blank_rows([], MADE)).splitlines()
    assert head.startswith(",".join(COLUMNS))


def test_a_sheet_filled_in_comes_back_as_it_was_filled_in(tmp_path: Path) -> None:
    """The empty sheet, filled in for some steps, is read; an id that begins with @ survives."""
    rows = list(csv.DictReader(io.StringIO("".join(blank_rows([Person("@cy")], MADE)))))
    rows[0] |= {"done": "yes", "by": "AB", "date": "2026-05-04"}
    rows[3] |= {"done": "With Help", "by": "AB", "date": "2026-05-04", "note": "second try; slow"}
    file = io.StringIO()
    writer = csv.DictWriter(file, list(rows[0]), delimiter=";")
    writer.writeheader()
    writer.writerows(rows)
    sheet = read(tmp_path, "\ufeff" + file.getvalue())
    assert sheet.seen == (
        Seen("@cy", STEPS[0], "yes", "AB", "2026-05-04"),
        Seen("@cy", STEPS[3], "with help", "AB", "2026-05-04", "second try; slow"),
    )
    assert sheet.empty == len(STEPS) - 2


# --- bad input

GOOD = "ada,set-up/set-pip,yes,AB,2026-05-04,\n"


@pytest.mark.parametrize(("line", "says"), [
    ("eve,set-up/set-pip,yes,AB,2026-05-04,", "line 2: there is no learner 'eve' in the course."),
    ("Ada,set-up/set-pip,yes,AB,2026-05-04,", "Did you mean ada?"),
    (",set-up/set-pip,yes,AB,2026-05-04,", "line 2: learner is empty."),
    ("ada,set-up/set-pop,yes,AB,2026-05-04,", "no step 'set-up/set-pop' in the checklist. Did you "
     "mean set-up/set-pip?"),
    ("ada,,yes,AB,2026-05-04,", "line 2: step is empty."),
    ("ada,set-up/set-pip,perhaps,AB,2026-05-04,", "'perhaps' is no result; write yes, no or with"),
    ("ada,set-up/set-pip,,AB,2026-05-04,", "done is empty; write yes, no or with help."),
    ("ada,set-up/set-pip,yes,,2026-05-04,", "by must hold the observer's initials"),
    ("ada,set-up/set-pip,yes,A very long name,2026-05-04,", "at most 12 characters"),
    ("ada,set-up/set-pip,yes,AB,,", "date is empty; write the day of the lab"),
    ("ada,set-up/set-pip,yes,AB,04.05.2026,", "'04.05.2026' is no date; write year-month-day"),
    ("ada,set-up/set-pip,yes,AB,2026-02-30,", "'2026-02-30' is no date"),
    ("ada,set-up/set-pip,yes,AB,20260504,", "'20260504' is no date"),
    ("ada,set-up/set-pip,yes,AB,2026-05-06,", "2026-05-06 lies in the future"),
    ("ada,set-up/set-pip,yes,AB,2026-05-04," + "x" * 501, "the note must be at most 500"),
    ("ada,set-up/set-pip,yes", "by must hold"),
])  # fmt: skip
def test_each_mistake_has_its_sentence_and_its_line(tmp_path: Path, line: str, says: str) -> None:
    """A wrong cell is named with its line and what to write instead."""
    told = mistakes(tmp_path, HEAD + line + "\n")
    assert says in told
    assert "line 2:" in told
    assert "nothing was taken over" in told


def test_every_mistake_is_told_at_once(tmp_path: Path) -> None:
    """Three bad lines among good ones: each mistake is told with its line."""
    bad = ("eve,x,maybe,,tomorrow,\n", "ben,set-up/recheck,no,AB,2999-01-01,\n")
    text = HEAD + GOOD + bad[0] + GOOD + bad[1]
    told = mistakes(tmp_path, text)
    assert told.startswith("sheet.csv: 7 mistakes; nothing was taken over.\n")
    assert sum("line 3:" in line for line in told.splitlines()) == 5
    assert "line 4: 'ada', 'set-up/set-pip', '2026-05-04' stands in line 2 already" in told
    assert "line 5: 2999-01-01 lies in the future" in told


def test_a_flood_of_mistakes_is_cut_and_counted(tmp_path: Path) -> None:
    """A thousand bad lines do not scroll the first away."""
    lines = "".join(f"x{n},set-up/set-pip,yes,AB,2026-05-04,\n" for n in range(1000))
    told = mistakes(tmp_path, HEAD + lines)
    assert told.startswith("sheet.csv: 1000 mistakes")
    assert told.endswith("and 960 more.")


@pytest.mark.parametrize(("data", "says"), [
    (b"", "is empty. Fill in the sheet that tpiece lab checklist wrote."),
    (HEAD.encode(), "holds no observation"),
    ((HEAD + "ada,set-up/set-pip,,,,\n").encode(), "holds no observation"),
    ((HEAD + "ada,set-up/set-pip,yes,AB,2026-05-04,Z\xfcrich\n").encode("latin-1"), "in UTF-8"),
    ((HEAD + GOOD).encode("utf-16"), "in UTF-8"),
    (b"name,step\nada,x\n", "has no column learner and no column done"),
    (HEAD.encode() + b'"ada' + b"x" * 200_000, "field larger than field limit"),
    (b"PK\x03\x04\x14\x00", "has no column learner"),
])  # fmt: skip
def test_a_file_that_is_no_sheet_is_refused_in_words(
    tmp_path: Path, data: bytes, says: str
) -> None:
    """Empty, unfilled, another encoding, another table: one sentence each."""
    assert says in mistakes(tmp_path, data)


def test_a_file_that_is_not_there_says_so(tmp_path: Path) -> None:
    """A misspelt name is told, as is a folder."""
    with pytest.raises(LabError, match="There is no file"):
        read_sheet(tmp_path / "none.csv", KNOWN)
    with pytest.raises(LabError, match="cannot be read"):
        read_sheet(tmp_path, KNOWN)


def test_a_date_long_ago_is_kept_and_asked_about(tmp_path: Path) -> None:
    """A past date is right; one of more than the rules' months ago is asked about."""
    sheet = read(tmp_path, HEAD + GOOD + "ben,set-up/recheck,no,AB,2016-05-04,\n")
    assert len(sheet.seen) == 2
    assert sheet.doubts == ("line 3: 2016-05-04 is long ago. It is kept; is the year right?",)


@given(st.binary(max_size=300))
@settings(max_examples=150, deadline=None)
def test_no_file_breaks_the_reader(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    """Whatever bytes are given, there is a sheet or a sentence."""
    path = tmp_path_factory.getbasetemp() / "fuzz.csv"
    path.write_bytes(HEAD.encode() + data)
    try:
        said = repr(read_sheet(path, KNOWN).seen)
    except LabError as error:
        said = str(error)
    assert said.startswith(("fuzz.csv", "(Seen("))


# --- the commands


def test_the_commands_go_round(tmp_path: Path) -> None:
    """Checklist, filled in, results: the record is in the course folder and each learner told."""
    folder = graded_course(tmp_path / "course")
    course = ["--course", str(folder)]
    run = CliRunner().invoke(main, ["lab", "checklist", *course])
    assert run.exit_code == 0, run.output
    assert f"{len(STEPS)} steps, {len(LEARNERS)} learners" in run.output
    sheet = folder / "lab-checklist.csv"
    rows = list(csv.DictReader(io.StringIO(sheet.read_text(encoding="utf-8-sig"))))
    assert len(rows) == len(STEPS) * len(LEARNERS)
    day = (date.today() - timedelta(days=1)).isoformat()
    for row in rows[: len(STEPS)]:
        row |= {"done": "yes", "by": "AB", "date": day}
    with sheet.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    run = CliRunner().invoke(main, ["lab", "results", str(sheet), *course])
    assert run.exit_code == 0, run.output
    assert f"{len(STEPS)} new, 0 replaced" in run.output
    assert f"Record: {folder / RECORD}" in run.output
    assert f"{LEARNERS[0]}: Observed hands-on, last on {day}" in run.output
    assert set(lab_results(folder)) == {LEARNERS[0]}
    run = CliRunner().invoke(main, ["lab", "results", str(sheet), *course])
    assert f"0 new, 0 replaced, {len(STEPS)} as before" in run.output


def test_an_empty_sheet_never_replaces_one_that_was_filled_in(tmp_path: Path) -> None:
    """Asked again, the command writes over an empty sheet, and leaves a filled-in one alone."""
    folder = graded_course(tmp_path / "course")
    order = ["lab", "checklist", "--course", str(folder)]
    assert CliRunner().invoke(main, order).exit_code == 0
    assert CliRunner().invoke(main, order).exit_code == 0
    sheet = folder / "lab-checklist.csv"
    filled = sheet.read_text(encoding="utf-8-sig").replace(",,,,", ",yes,AB,2026-05-04,", 1)
    sheet.write_text(filled, encoding="utf-8", newline="")
    run = CliRunner().invoke(main, order)
    assert run.exit_code == 1
    assert "is filled in, and an empty sheet would replace it" in run.output
    assert sheet.read_text(encoding="utf-8") == filled.replace("\r\n", "\n")


def test_a_bad_sheet_ends_the_command_in_its_sentences(tmp_path: Path) -> None:
    """A non-zero exit, the mistakes with their lines, and no record."""
    folder = graded_course(tmp_path / "course")
    sheet = tmp_path / "bad.csv"
    sheet.write_text(HEAD + "nobody,no-step,yes,AB,2026-05-04,\n", encoding="utf-8")
    run = CliRunner().invoke(main, ["lab", "results", str(sheet), "--course", str(folder)])
    assert run.exit_code == 1
    assert "line 2: there is no learner 'nobody' in the course." in run.output
    assert "line 2: there is no step 'no-step' in the checklist." in run.output
    assert "Traceback" not in run.output
    assert not (folder / RECORD).exists()


def test_a_sites_own_rate_stands_on_its_checklist(tmp_path: Path) -> None:
    """Under a protocol the reason shows the site's number beside the edition's."""
    own = """
[protocol]
title = "Rates of an invented ward"
source = "Ward North, Invented Hospital"
approved_by = "A. Demo"
review_by = 2030-01-31
edition = "aha-2020"

[[replace]]
rule = "rate"
low = 45
high = 50
unit = "1/min"
locator = "sheet 1"
"""
    path = tmp_path / "protocol.toml"
    path.write_text(own, encoding="utf-8")
    book = overlay(rulebook("aha-2020"), read_protocol(path))
    made: Checklist = checklist(book)
    assert made.protocol == "Rates of an invented ward"
    rate = next(item for item in made.items if item.id == "count/rate")
    assert "your site: 45 to 50 a minute (edition: 40 to 60 a minute)" in rate.reason
