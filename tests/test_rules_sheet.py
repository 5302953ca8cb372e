"""The sheet on paper and as a table, and its way from `tpiece rules sheet` to a learner's page."""

from __future__ import annotations

import csv
import io
from datetime import datetime

import pytest
from click.testing import CliRunner
from pypdf import PdfReader

from graders.cli import main
from graders.reading.asked import LAB, Asked, asked
from graders.reading.sheet import COLUMNS, FILLED, sheet, used_in
from graders.reading.signing import NAMES
from graders.report.readsheet_page import HOW, sheet_text
from graders.report.readsheet_pdf import sheet_pdf
from tests.signing_base import SIGNER, every_rule, line_of, rows, sheet_on, signed, written
from workbook.cases import exercises
from workbook.course.settings import FILE, PROTOCOL, Course, read_course
from workbook.display import cards
from workbook.lesson import page as lesson
from workbook.rules import DEFAULT_EDITION, editions, rulebook
from workbook.rules.signed import follow

pytestmark = pytest.mark.slow

MADE = datetime.fromisoformat("2026-11-29T09:00+00:00")
SIZES = {"a4": (210, 297), "letter": (215.9, 279.4)}  # mm


@pytest.fixture(autouse=True)
def _signed_by_nobody():
    """Leave no signature in force for the next test."""
    yield
    follow(())


def run(*arguments):
    return CliRunner().invoke(main, ["rules", *map(str, arguments)])


def said(*arguments):
    result = run(*arguments)
    assert result.exit_code == 0, result.output
    return result.output


def refused(*arguments):
    result = run(*arguments)
    assert result.exit_code != 0
    assert "Traceback" not in result.output
    return result.output


def one_line(text):
    return " ".join(text.split())


@pytest.mark.parametrize(("edition", "paper"), [(DEFAULT_EDITION, "letter"), ("erc-2021", "a4")])
def test_every_line_is_on_paper_in_order(edition, paper):
    """Number, words, whom, what it decides and what is held, on the right paper."""
    made = sheet_on(edition)
    pages = PdfReader(io.BytesIO(sheet_pdf(made, 20, made_at=MADE, version="1", paper=paper))).pages
    mm = [float(end) * 25.4 / 72 for end in pages[0].mediabox[2:]]
    assert [round(end) for end in mm] == [round(end) for end in SIZES[paper]]
    words = one_line(" ".join(page.extract_text() for page in pages)).replace(" ", "")
    at = 0
    for line in made.lines:
        there = words.find(line.rule.says.replace(" ", ""), at)
        assert there >= at, (line.number, line.rule.says)
        at = there
        assert f"Decidesin:{line.used.replace(' ', '')}" in words[at : at + 1500]
    for says in ("Read by (name)", "Prints instead", "not a medical device", *HOW):
        assert says.replace(" ", "") in words


def test_the_page_holds_every_line_and_tells_how_to_fill_it_in():
    """A box with a name for each line, and each column of the table that is filled in."""
    made = sheet_on("anzcor-2021")
    page = sheet_text(made, 20, made_at=MADE, version="1")
    assert page.count('aria-label="Box: the page says the same"') == len(made.lines)
    for line in made.lines:
        assert f"<b>{line.number}</b>" in page
    for name in FILLED:
        assert f"<b>{name}</b>" in page
    assert "<script" not in page


def test_the_table_has_its_columns_and_nothing_filled_in():
    """One line a number; no cell begins like a formula."""
    for edition in editions():
        for line in rows(sheet_on(edition)):
            assert list(line) == list(COLUMNS)
            assert not any(line[name] for name in FILLED)
            assert not any(cell[:1] in "=+-@" for cell in line.values() if cell)


def test_what_a_number_decides_is_said_in_words():
    """Exercises, lessons and the lab, each once and in order."""
    units = ("3_pressure_targets", "lesson 2_bench", "lesson 3_pressure_targets", LAB)
    assert used_in(units) == "exercise 3; lessons 2 and 3; the lab's sheet"
    assert used_in(("lesson 5_interface_sizing",)) == "lesson 5"


def test_a_sheet_once_filled_in_is_not_written_over(tmp_path):
    """It may hold an hour's work."""
    line = line_of(sheet_on(DEFAULT_EDITION), "pip.start")
    written(tmp_path / "rules-sheet.csv", [signed(line)])
    assert "is filled in" in refused("sheet", "--edition", DEFAULT_EDITION, "--out", tmp_path)


def test_mistakes_at_the_command_are_sentences(tmp_path):
    """No course, no edition, both at once, no sheet."""
    assert "There is no edition" in refused("sheet", "--edition", "aha-1999", "--out", tmp_path)
    assert "is not a course folder" in refused("sheet", "--course", tmp_path, "--out", tmp_path)
    assert "Give --course, or --edition" in refused(
        "sheet", "--course", tmp_path, "--edition", "aha-2020", "--out", tmp_path
    )
    assert "is not a course folder" in refused("signed", tmp_path / "x.csv", "--course", tmp_path)


@pytest.fixture(scope="module")
def round_trip(tmp_path_factory):
    """Return a course folder whose own sheet was printed, filled in, and taken back."""
    home = tmp_path_factory.mktemp("round")
    folder = home / "may"
    done = CliRunner().invoke(
        main, ["assign", "--course", str(folder), "--edition", "textbook-2021", exercises()[1]]
    )
    assert done.exit_code == 0, done.output
    out = home / "sheet"
    printed = said("sheet", "--course", folder, "--out", out)
    with (out / "rules-sheet.csv").open(encoding="utf-8-sig", newline="") as stream:
        lines = list(csv.DictReader(stream))
    filled = [signed(line, date="2026-01-05") for line in lines]
    for line in filled:
        if (line["edition"], line["rule"]) == ("textbook-2021", "pip.start"):
            line.update(prints="21 to 24", read="")
    taken = said("signed", written(home / "filled.csv", filled), "--course", folder)
    again = CliRunner().invoke(main, ["assign", "--course", str(folder)])
    assert again.exit_code == 0, again.output
    return folder, out, lines, printed, taken


def test_the_course_itself_tells_which_rules_it_uses(round_trip):
    """Those of its unit and its lessons, from its own edition and others; none of unit 5."""
    _, out, lines, printed, _ = round_trip
    assert sorted(path.name for path in out.iterdir()) == [
        "rules-sheet-a4.pdf", "rules-sheet-letter.pdf", "rules-sheet.csv", "rules-sheet.html",
    ]  # fmt: skip
    assert "from memory" in printed
    used = {(line["edition"], line["rule"]): line["used"] for line in lines}
    assert "exercise 3" in used["textbook-2021", "pip.start"]
    assert "lesson" in used["textbook-2021", "pip.start"]
    assert len({line["edition"] for line in lines}) > 3
    assert not [line for line in lines if "5" in line["used"]]
    assert not {line["rule"] for line in lines} & {"tube.weight", "blade"}


def test_what_was_signed_reaches_the_learner(round_trip, tmp_path, monkeypatch):
    """On the lesson's card, in the case, in what is given out; a name in none of them."""
    folder, _, lines, _, taken = round_trip
    assert "21 to 24 cmH2O (as read in print; before, here: 20 to 25 cmH2O)" in taken
    assert "Ada" in (folder / NAMES).read_text(encoding="utf-8-sig")
    handed = [p for p in folder.rglob("*") if p.is_file() and p.name not in (NAMES,)]
    assert not [p for p in handed if SIGNER["name"].encode() in p.read_bytes()]
    released = folder / "source_exercises" / exercises()[1]
    own = read_course(released)
    assert own.book["pip.start"].band == (21, 24)
    for name in (FILE, PROTOCOL):
        (tmp_path / name).write_bytes((released / name).read_bytes())
    monkeypatch.chdir(tmp_path)
    page = lesson.open_page("3_pressure_targets")
    card = cards.rule_card(page.book, "pip.start").text
    assert "Read in the printed edition by nurse educator, 2026-01-05." in card
    assert "Read in print; before, here: 20 to 25 cmH2O." in card
    other = next(line for line in lines if line["edition"].startswith("erc"))
    lent = cards.rule_card(rulebook(other["edition"]), other["rule"]).text
    assert "Read in the printed edition by nurse educator, 2026-01-05." in lent


def test_a_second_sheet_asks_for_nothing_that_was_read(round_trip):
    """What was signed is counted as read, and asked no more."""
    folder, _, lines, _, _ = round_trip
    keys = {(line["edition"], line["rule"], line["whom"]): (LAB,) for line in lines}
    again = sheet(read_course(folder), Asked(keys, 1))
    assert again.lines == ()
    assert again.done == len(lines)


def test_rules_are_asked_in_a_process_of_its_own(tmp_path):
    """What this process remembers hides nothing; a course with fewer units asks for fewer."""
    rulebook("aha-2020")["rate"].text  # noqa: B018  asked before, and remembered
    small = asked(Course("may", "May", "aha-2020", (exercises()[0],)))
    assert set(small.rules) < set(every_rule("aha-2020").rules) | set(small.rules)
    assert ("aha-2020", "rate", "every newborn") in small.rules  # the bench lesson asks
    units = {unit for units in small.rules.values() for unit in units}
    assert units == {exercises()[0], "lesson 1_setup_order", "lesson 2_bench", LAB}
    assert small.learners >= 15
