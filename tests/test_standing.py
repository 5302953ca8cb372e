"""What each page says of its edition: superseded by which, and what stands in for its blanks."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from io import BytesIO

import pytest
from pypdf import PdfReader

from graders.cohort.group import cohort
from graders.report.brief_page import brief_text, checklist_text
from graders.report.brief_pdf import brief_pdf
from tests.lesson_screen import Screen
from tests.report_base import COURSE, html_of, text_of
from workbook.cases import exercises
from workbook.course.settings import FILE, PROTOCOL, Course
from workbook.course.standing import lacking, of_edition
from workbook.lesson.page import open_page
from workbook.lesson.unit import open_unit
from workbook.rules import editions, rulebook, superseded

LESSON = "1_setup_order"
NOW = datetime(2026, 5, 5, 9, tzinfo=UTC)
IN_FORCE = ["aha-2025", "erc-2025", "ilcor-2025", "anzcor-2021", "who-2012", "practice"]
OLD = [edition for edition in editions() if edition not in IN_FORCE]


def test_the_editions_in_force_are_these():
    """Every other one says what took its place."""
    assert [edition for edition, e in editions().items() if not superseded(e)] == sorted(IN_FORCE)


@pytest.mark.parametrize("edition", editions())
def test_a_lesson_and_an_exercise_say_how_their_edition_stands(
    edition, tmp_path, screen: Screen, monkeypatch
):
    """Superseded: one sentence with the newest edition; in force: nothing of the kind."""
    monkeypatch.setenv("TPIECE_LEARNER", "nurse.one")
    course = Course("may", "May", edition, exercises())
    (tmp_path / FILE).write_text(course.text(), encoding="utf-8")
    sentence = superseded(editions()[edition])
    assert bool(sentence) == (edition in OLD)
    for made in (open_page(LESSON, tmp_path), open_unit(LESSON, tmp_path)):
        screen.shown.clear()
        made.introduce()
        told = "\n".join(getattr(each, "data", "") or each.text for each in screen.shown)
        assert told.count("superseded by") == (1 if sentence else 0)
        assert sentence in told
        assert lacking(rulebook(edition)) in told


@pytest.mark.parametrize("edition", editions())
def test_the_coordinators_pages_say_it_too(edition):
    """The report, the brief on screen and on paper, and the checklist."""
    course = replace(COURSE, edition=edition)
    group = cohort((), {}, course)
    sentence = superseded(editions()[edition])
    pages = [
        text_of(html_of(group)),
        text_of(brief_text(group, made_at=NOW, version="1")),
        text_of(checklist_text(course, made_at=NOW, version="1")),
    ]
    for page in pages:
        assert page.count("superseded by") == (1 if sentence else 0)
        assert sentence in page
    paper = brief_pdf(group, made_at=NOW, version="1", paper="a4")
    printed = " ".join(" ".join(p.extract_text() for p in PdfReader(BytesIO(paper)).pages).split())
    assert sentence in printed


def test_a_blank_is_named_with_what_stands_in():
    """The default edition gives no starting PEEP, no highest PIP and no corrective steps."""
    assert lacking(rulebook("aha-2025")) == (
        "We have not read in this edition, for some or all babies: starting PEEP, highest PIP, "
        "corrective steps. Common practice or another edition stands in; each number names its "
        "source."
    )
    assert "starting oxygen, rate, inflation time" in lacking(rulebook("erc-2025"))
    assert lacking(rulebook("practice")) == ""
    assert "not read" not in of_edition(rulebook("practice"))


def test_what_a_site_gives_is_no_blank(tmp_path):
    """A protocol that states the starting PEEP takes it off the list."""
    head = '[protocol]\ntitle = "S"\nedition = "aha-2025"\nsource = "s"\napproved_by = "a"\n'
    own = 'review_by = 2030-01-31\n[[replace]]\nrule = "peep.start"\nsays = "Give this PEEP."\n'
    (tmp_path / PROTOCOL).write_text(head + own + 'unit = "cmH2O"\nvalue = 6\n')
    course = Course("may", "May", "aha-2025", protocol=PROTOCOL, folder=tmp_path)
    assert "starting PEEP" not in lacking(course.book)
    assert "highest PIP" in lacking(course.book)
