"""A filled-in sheet of what was read in print: what is taken, and what is refused in a sentence."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from graders.reading import signed as signedsheet
from graders.reading.sheet import COLUMNS, FILLED, sheet
from graders.reading.signed import SignError, filled_in, read_signed
from tests.signing_base import (
    course_on,
    every_edition,
    line_of,
    rows,
    sheet_on,
    signed,
    written,
)
from workbook.core.quantities import convert
from workbook.rules import Basis, editions
from workbook.rules.files import RULE_FILES, shipped
from workbook.rules.signed import Numbers, digest_of, unread
from workbook.rules.site.replaceable import locked, sane_limit
from workbook.rules.site.signedvalue import parts_of, why_not

pytestmark = pytest.mark.slow

TODAY = date(2026, 11, 29)
ON = "textbook-2021"
SHEET = sheet_on(ON)
PIP = line_of(SHEET, "pip.start", edition=ON)  # a band: 20 to 25 cmH2O


def read(path, edition=ON):
    return read_signed(path, edition, TODAY)


def refused(path, edition=ON):
    with pytest.raises(SignError) as caught:
        read(path, edition)
    return str(caught.value)


def refused_line(tmp_path, line):
    """Return the one sentence that is said of one line."""
    said = refused(written(tmp_path / "sheet.csv", [line])).splitlines()
    assert len(said) == 2
    assert said[0] == "sheet.csv: 1 mistake; nothing was taken in."
    assert said[1].endswith((".", "?"))
    return said[1].strip()


@pytest.mark.parametrize("edition", editions())
def test_every_line_of_every_edition_can_be_signed_and_only_what_nobody_read(edition, tmp_path):
    """The sheet holds exactly what may be signed; ticked line by line it all is taken in."""
    made = sheet_on(edition)
    assert made.lines
    for line in made.lines:
        assert line.rule.citation.basis in (Basis.MEMORY, Basis.SECONDARY)
        assert line.rule.stated
        assert not locked(line.rule)
        assert not why_not(line.rule)
        assert line.used == "exercise 3"
    filled = [signed(line) for line in rows(made)]
    assert [int(line["line"]) for line in filled] == list(range(1, len(filled) + 1))
    taken = read(written(tmp_path / "sheet.csv", filled), edition)
    assert len(taken.entries) == len(made.lines)
    assert taken.empty == 0
    assert all(each.numbers is None and not each.read.parts for each in taken.signatures)


def test_no_rule_that_is_not_unread_can_be_signed_in_any_edition(tmp_path):
    """Computed, assumed, customary, blank, locked and read ones are refused, each in words."""
    tried = 0
    books = [shipped(each) for each in (*editions(), *RULE_FILES)]
    wrong = {rule for book in books for rule in book if not unread(rule) or locked(rule)}
    lines = []
    for rule in sorted(wrong, key=lambda r: (r.edition, r.id, r.population.says)):
        if rule.edition == "limits":
            continue
        named = {"edition": rule.edition, "rule": rule.id, "whom": rule.population.says}
        lines.append({**signed(PIP), **named, "mark": digest_of(rule)})
        tried += 1
    assert tried > 300
    with pytest.raises(SignError) as caught:
        read(written(tmp_path / "sheet.csv", lines))
    assert f"sheet.csv: {tried} mistakes; nothing was taken in." in str(caught.value)
    for line in lines:
        assert "cannot be signed as read" in refused_line(tmp_path, line)
        break


@pytest.mark.parametrize(
    ("rule", "says"),
    [
        ("relief.example", "cannot be signed as read: it is"),
        ("flow.start", "is common practice: no publication states it"),
        ("flow.limit", "was read in the source already"),
        ("fact.rate-old", "is not signed, for it is what a study found, not a setting"),
    ],
)
def test_what_cannot_be_read_in_print_says_why(rule, says, tmp_path):
    """Each kind of rule has its reason."""
    there = shipped("practice").all(rule)[0]
    named = {"edition": "practice", "rule": rule, "whom": there.population.says}
    line = {**signed(PIP), **named, "mark": digest_of(there)}
    assert says in refused_line(tmp_path, line)


WRITTEN = {
    "20 to 30": Numbers(20, 30),
    "20-30": Numbers(20, 30),
    "20 to 30 cmH2O": Numbers(20, 30),
    "20,5 to 30 cmh2o": Numbers(20.5, 30),
    "25": Numbers(25, 25),
    "20 to 25": None,
    "20 to 25 cmH2O": None,
}


@pytest.mark.parametrize("text", WRITTEN)
def test_a_band_is_corrected_as_it_is_printed(text, tmp_path):
    """A number that is the same is no correction; a comma is a decimal point."""
    line = signed(PIP, prints=text, read="")
    (got,) = read(written(tmp_path / "sheet.csv", [line])).signatures
    assert got.numbers == WRITTEN[text]
    assert got.read.role == "nurse educator"


def test_every_number_of_every_edition_can_be_written_as_it_is_held(tmp_path):
    """What the sheet shows as held is read back as the same, for each rule there is."""
    made = sheet(course_on(ON), every_edition())
    lines = [signed(line, prints=line["held"], read="") for line in rows(made) if line["held"]]
    assert len(lines) > 150
    taken = read(written(tmp_path / "sheet.csv", lines))
    assert [each.rule for each in taken.signatures if each.numbers is not None] == []


def test_a_value_out_of_its_sane_limits_is_refused_for_every_rule(tmp_path):
    """One above the limit and none below; the limit itself is taken."""
    made = sheet(course_on(ON), every_edition())
    for line, row in zip(made.lines, rows(made), strict=True):
        if line.rule.unit is None:
            continue
        limit = sane_limit(line.rule)
        top = convert(limit.band[1], limit.unit, line.rule.unit)
        over = f"{top * 1.2 + 1:.1f}"
        assert top < 9000, f"{line.rule.id} has no limit that means anything: {top}"
        if line.rule.high is None:
            over = f"{over} or more"
        said = refused(written(tmp_path / "sheet.csv", [signed(row, prints=over)]))
        assert "is outside what can be meant" in said, (line.rule.id, said)


@pytest.mark.parametrize(
    ("prints", "says"),
    [
        ("61", "61 cmH2O is outside what can be meant, 0 to 60 cmH2O."),
        ("2 to 2,5 kPa", "is in another unit than the rule; write it in cmH2O."),
        ("20 to 25 L/min", "L/min measures flow, not pressure; write it in cmH2O."),
        ("20 to 25 apples", "is no number as the sheet asks for it; write it as the sheet shows"),
        ("25 to 20", "its lower end 25 is above its upper end 20."),
        ("up to 30 to 40", "is no number as the sheet asks for it"),
        ("20 to 25, typical 40", "typical 40 lies outside it."),
        ("30 or more", "the rule is of another kind, 20 to 25 cmH2O"),
        ("5-Jun", "is no number as the sheet asks for it"),
        ("about the usual", "is no number as the sheet asks for it"),
    ],
)
def test_another_number_that_cannot_be_meant_is_refused(prints, says, tmp_path):
    """Out of limits, another unit, another dimension, another kind, no number at all."""
    assert says in refused_line(tmp_path, signed(PIP, prints=prints))


def test_a_number_the_workbook_uses_as_one_stays_one(tmp_path):
    """A band in place of one number needs the value to work with."""
    peep = line_of(SHEET, "peep.start", edition=ON)
    said = refused_line(tmp_path, signed(peep, prints="5 to 6"))
    assert "the workbook works with one value of it" in said
    line = signed(peep, prints="5 to 6, typical 5")
    (got,) = read(written(tmp_path / "sheet.csv", [line])).signatures
    assert got.numbers == Numbers(5, 6, 5)


def test_a_sentence_is_ticked_and_never_given_a_number(tmp_path):
    """Its own words belong into the protocol."""
    line = next(line for line in rows(SHEET) if not line["held"])
    assert read(written(tmp_path / "sheet.csv", [signed(line)])).signatures[0].numbers is None
    assert "is a sentence" in refused_line(tmp_path, signed(line, prints="5"))


def test_parts_of_a_band_are_signed_one_by_one(tmp_path):
    """All parts are the whole; a part that is not there is refused."""
    for ticked, parts in {
        "low": ("low",),
        "high": ("high",),
        "low high": (),
        "High": ("high",),
    }.items():
        line = signed(PIP, read=ticked)
        (got,) = read(written(tmp_path / "sheet.csv", [line])).signatures
        assert got.read.parts == parts
    assert "has no part typical" in refused_line(tmp_path, signed(PIP, read="typical"))
    assert "read holds 'perhaps'" in refused_line(tmp_path, signed(PIP, read="perhaps"))
    single = line_of(SHEET, "peep.start", edition=ON)
    assert "it is one: write x" in refused_line(tmp_path, signed(single, read="low"))


def test_the_parts_of_every_rule_are_ends_it_has():
    """The table offers no part that a rule has not."""
    for line in sheet(course_on(ON), every_edition()).lines:
        for part in parts_of(line.rule):
            assert getattr(line.rule, part) is not None


@pytest.mark.parametrize("empty", ["page", "name", "role", "date"])
def test_a_tick_that_is_half_filled_is_refused(empty, tmp_path):
    """Whatever is missing is named."""
    said = refused_line(tmp_path, signed(PIP, **{empty: ""}))
    assert f"pip.start is ticked, but {empty} is empty." in said


def test_half_filled_lines_say_all_that_is_missing(tmp_path):
    """A number without a page, a name alone, a line signed but not ticked."""
    said = refused_line(tmp_path, signed(PIP, prints="20 to 30", read="", page=""))
    assert "pip.start has another number, but page is empty." in said
    alone = {**PIP, "name": "Ada"}
    assert "is half filled, but page and role and date are empty." in refused_line(tmp_path, alone)
    unticked = signed(PIP, read="")
    assert "neither ticked nor given another number" in refused_line(tmp_path, unticked)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-11-20", "2026-11-20"),
        ("2026-1-5", "2026-01-05"),
        ("20.11.2026", "2026-11-20"),
        ("20/11/2026", "2026-11-20"),
        ("11/20/2026", "2026-11-20"),
        ("11/11/2026", "2026-11-11"),
    ],
)
def test_a_date_is_read_as_a_spreadsheet_of_any_country_rewrites_it(text, day, tmp_path):
    """Only where it can be read one way."""
    (got,) = read(written(tmp_path / "sheet.csv", [signed(PIP, date=text)])).signatures
    assert got.read.date == day


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("05/11/2026", "is no date that can be read one way only"),
        ("2026-13-01", "is no date that can be read one way only"),
        ("31.02.2026", "is no date that can be read one way only"),
        ("yesterday", "is no date that can be read one way only"),
        ("46341", "is no date that can be read one way only"),
        ("2026-11-30", "lies in the future"),
        ("2019-01-01", "is before its publication of 2021; is the year right?"),
    ],
)
def test_a_date_that_cannot_be_is_refused(text, says, tmp_path):
    """Unreadable, ambiguous, to come, or before the publication."""
    assert says in refused_line(tmp_path, signed(PIP, date=text))


def test_a_sheet_of_an_older_rule_another_edition_or_no_rule_is_refused(tmp_path):
    """The mark binds a line to the rule as it was; the edition to its course."""
    assert "has changed since this sheet was printed" in refused_line(
        tmp_path, signed({**PIP, "mark": "aaaaaaaaaa"})
    )
    assert "Did you mean pip.start?" in refused_line(tmp_path, signed({**PIP, "rule": "pip.strat"}))
    assert "Did you mean textbook-2021?" in refused_line(
        tmp_path, signed({**PIP, "edition": "textbook-2012"})
    )
    assert "is not told for 'twins'" in refused_line(tmp_path, signed({**PIP, "whom": "twins"}))
    other = refused(written(tmp_path / "sheet.csv", [signed(PIP)]), "erc-2021")
    assert len(other.splitlines()) == 1
    assert "printed for a course on 'textbook-2021', but this one asks about erc-2021" in other


def test_one_mistake_keeps_everything_out_and_each_is_named(tmp_path):
    """Good lines beside bad ones are not taken in; the same line twice is told."""
    lines = [signed(PIP), signed(PIP), signed(line_of(SHEET, "peep.start", edition=ON), page="")]
    said = refused(written(tmp_path / "sheet.csv", lines))
    assert "2 mistakes; nothing was taken in." in said
    assert "line 3: 'pip.start' for 'every newborn' stands in line 2 already" in said
    assert "line 4: peep.start is ticked, but page is empty." in said


@pytest.mark.parametrize("cell", [name for name in FILLED if name != "read"])
@pytest.mark.parametrize("text", ["=1+1", "+cmd", "@SUM(A1)", "-2", "\uff1dx", "'=1+1"])
def test_a_cell_like_a_formula_is_refused(cell, text, tmp_path):
    """Whoever opens the record later must not run it."""
    assert f"{cell} begins like a formula" in refused_line(tmp_path, signed(PIP, **{cell: text}))


@pytest.mark.parametrize("text", ["a\x07b", "a\u202eb", "a\u200bb", "two\nlines", "tab\tbed"])
def test_control_characters_are_refused(text, tmp_path):
    """What cannot be seen cannot be signed."""
    said = refused_line(tmp_path, signed(PIP, role=text))
    assert "role holds a character that cannot be printed" in said


def test_too_long_a_cell_is_refused(tmp_path):
    """A role stands on learners' pages."""
    said = refused_line(tmp_path, signed(PIP, role="r" * 61))
    assert "role is longer than 60 characters." in said


@pytest.mark.parametrize("part", [",", ";", "\t"])
@pytest.mark.parametrize("code", ["utf-8", "utf-8-sig", "utf-16"])
def test_what_spreadsheets_save_is_read(part, code, tmp_path):
    """Commas, semicolons, tabs; with and without a mark at the start; two bytes a letter."""
    path = written(tmp_path / "sheet.csv", [signed(PIP, name="Zoë Ångström")], part=part)
    path.write_bytes(path.read_text("utf-8-sig").encode(code))
    (entry,) = read(path).entries
    assert entry.name == "Zoë Ångström"


def test_files_that_are_no_such_table_are_refused_in_a_sentence(tmp_path, monkeypatch):
    """Missing, empty, of another kind, Latin-1, broken, a column twice, far too large."""
    path = tmp_path / "sheet.csv"
    assert "There is no file" in refused(path)
    path.write_bytes(b"")
    assert "is empty" in refused(path)
    path.write_text("a,b\n1,2\n")
    assert "is not a table of tpiece rules sheet" in refused(path)
    written(path, [signed(PIP, name="Zoë")])
    path.write_bytes(path.read_text("utf-8-sig").encode("latin-1"))
    assert "save it in the spreadsheet as CSV UTF-8" in refused(path)
    path.write_bytes(b"PK\x03\x04\x14\x00\x06\x00\x08\x00\x00\x00!\x00\xff\xfe")
    assert len(refused(path).splitlines()) == 1
    path.write_bytes("line,asks\nx".encode("utf-16")[:-1])
    assert len(refused(path).splitlines()) == 1
    path.write_text(",".join([*COLUMNS, "role"]) + "\n1,2\n")
    assert "has the column role twice" in refused(path)
    path.write_text(",".join(COLUMNS) + "\n" + '"' + "x" * 200_000 + '"\n')
    assert "is not a table in CSV" in refused(path)
    written(path, [PIP])
    assert "holds no signature" in refused(path)
    assert not filled_in(path)
    written(path, [signed(PIP)])
    assert filled_in(path)
    monkeypatch.setattr(signedsheet, "LARGEST", 10)
    assert "is far larger than any sheet of ours" in refused(path)
    assert refused(tmp_path).count("\n") == 0


def test_a_rule_that_changes_has_another_mark():
    """Everything a reader confirms is in it; how surely it was known is not."""
    rule = next(line.rule for line in SHEET.lines if line.rule.id == "pip.start")
    source = rule.citation.source
    changed = [
        replace(rule, low=21),
        replace(rule, high=26),
        replace(rule, typical=22),
        replace(rule, unit="hPa"),
        replace(rule, says="Other words."),
        replace(rule, below=True),
        replace(rule, edition="erc-2021"),
        replace(rule, population=replace(rule.population, gestation=(None, 32))),
        replace(rule, citation=replace(rule.citation, source=replace(source, year=2020))),
    ]
    marks = {digest_of(each) for each in changed}
    assert len(marks) == len(changed)
    assert digest_of(rule) not in marks
    surer = replace(rule.citation, basis=Basis.SECONDARY, locator="table 2", confidence="")
    assert digest_of(replace(rule, citation=surer)) == digest_of(rule)
    assert digest_of(rule).isalpha()
