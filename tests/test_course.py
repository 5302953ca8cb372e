"""A course's settings, and a site's protocol laid over its edition."""

from __future__ import annotations

import shutil

import pytest

from graders.marking.exercise import mark, model_answers
from workbook.cases import case
from workbook.course.settings import PROTOCOL, Course, CourseError, read_course
from workbook.rules import RuleError, RuleFileError
from workbook.rules.site.protocol import EXAMPLE
from workbook.units.setup.case.questions import EXERCISE


def write(folder, text: str):
    (folder / "course.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def with_protocol(tmp_path):
    """Return a course folder of an invented hospital with a protocol of its own."""
    shutil.copyfile(EXAMPLE, tmp_path / PROTOCOL)
    return write(tmp_path, Course("may", "May", "aha-2020", protocol=PROTOCOL).text())


def test_settings_are_read_back_as_they_were_written(tmp_path):
    """What the program writes is what it reads."""
    course = Course("may", "May", "erc-2021", (EXERCISE,), 0.75)
    read = read_course(write(tmp_path, course.text()))
    assert (read.id, read.title, read.edition, read.units) == (
        "may",
        "May",
        "erc-2021",
        (EXERCISE,),
    )
    assert read.needed == 0.75


def test_without_a_pass_mark_the_rules_say_it(tmp_path):
    """The default is a sourced rule, not a number of the program."""
    read = read_course(write(tmp_path, 'id = "may"\n'))
    assert read.needed == read.book["pass-mark"].value / 100


def test_a_sites_number_is_asked_about_and_shown_with_the_editions(with_protocol):
    """Questions use the site's flow; a finding shows both numbers."""
    course = read_course(with_protocol)
    flow = course.book["flow.start"]
    assert flow.replaces is not None
    assert flow.value != flow.replaces.value
    drawn = case("may", EXERCISE, "ada", course.book)
    assert flow.text in drawn["gauge-held"].context
    assert "Invented Hospital" in course.book.protocol


def test_a_finding_on_a_sites_rule_shows_site_and_edition(tmp_path):
    """Your site: its band (common practice: the usual one)."""
    text = EXAMPLE.read_text(encoding="utf-8")
    text += '\n[[replace]]\nrule = "peep.accept"\nunit = "cmH2O"\nhigh = 0.4\n'
    (tmp_path / PROTOCOL).write_text(text, encoding="utf-8")
    course = read_course(
        write(tmp_path, Course("may", "May", "aha-2020", protocol=PROTOCOL).text())
    )
    drawn = case("may", EXERCISE, "ada", course.book)
    peep = float(model_answers(drawn, course.book)["gauge-released"]["text"])
    wrong = {"text": f"{peep + 0.45}", "unit": "cmH2O"}
    (finding,) = mark(drawn, "gauge-released", wrong, course.book).findings
    assert not finding.met
    assert finding.source.startswith(
        "your site: up to 0.4 cmH2O (common practice: up to 0.5 cmH2O)"
    )


def test_a_protocol_for_another_edition_is_refused(with_protocol):
    """The sentence names both editions."""
    write(with_protocol, Course("may", "May", "erc-2021", protocol=PROTOCOL).text())
    with pytest.raises(RuleError, match="is written for aha-2020, not for erc-2021"):
        _ = read_course(with_protocol).book


def test_a_protocol_that_is_missing_is_said(tmp_path):
    """The course cannot quietly fall back on the edition."""
    course = read_course(
        write(tmp_path, Course("may", "May", "aha-2020", protocol=PROTOCOL).text())
    )
    with pytest.raises(RuleFileError, match="there is no file at"):
        _ = course.book


def test_a_mistake_is_one_sentence_in_a_notebook(tmp_path):
    """A learner never meets a page of program: IPython shows the sentence alone."""
    from IPython.core.interactiveshell import InteractiveShell

    shell = InteractiveShell()
    shell.user_ns["folder"] = tmp_path
    shell.run_cell("from workbook import open_unit")
    with pytest.MonkeyPatch.context() as patch:
        shown = []
        patch.setattr(shell, "_showtraceback", lambda kind, value, lines: shown.extend(lines))
        shell.run_cell("open_unit('1_setup_order', folder)")
    assert shown == [
        "course.toml is missing beside this page, so your questions cannot be drawn. Close the "
        "workbook and open it again: it brings missing files back. Saved answers are kept."
    ]


def test_a_protocol_elsewhere_is_refused(tmp_path):
    """No path leads out of the course."""
    with pytest.raises(CourseError, match="protocol must be"):
        read_course(write(tmp_path, 'id = "may"\nprotocol = "../other.toml"\n'))
