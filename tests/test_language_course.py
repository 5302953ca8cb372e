"""A course in another language: its settings, what is given out, marked and written for learners.

What counts as looked up is told in ``test_language_graders``.
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from graders.cli import main
from graders.commands.pages import write_pages
from graders.course.coursefolder import CourseFolder
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from graders.site.own import files
from graders.site.page import entries, start_page
from graders.tasks import opening, work
from tests.handover_course import hand_in
from tests.test_language_graders import ENGLISH, UNIT, bare, nothing_settled, shown_words
from workbook.cases import case
from workbook.core.language import VARIABLE, LanguageError, pseudo
from workbook.course.settings import FILE, CourseError, read_course
from workbook.start import launch

pytestmark = pytest.mark.slow

__all__ = ["nothing_settled"]  # each test of this file begins as a new process does


# --- the settings


def test_a_course_without_a_language_is_in_english(tmp_path: Path) -> None:
    """Courses from before there were languages go on as they were, to the byte."""
    assert "language" not in ENGLISH.text()
    (tmp_path / FILE).write_text(ENGLISH.text(), encoding="utf-8")
    assert read_course(tmp_path).language == "en"


def test_a_course_keeps_its_language(tmp_path: Path) -> None:
    """What is written is read again."""
    (tmp_path / FILE).write_text(replace(ENGLISH, language="es").text(), encoding="utf-8")
    assert read_course(tmp_path).language == "es"


@pytest.mark.parametrize("value", ['"tlh"', "7", '["es"]', '""'])
def test_a_language_that_does_not_exist_is_refused_in_a_sentence(
    tmp_path: Path, value: str
) -> None:
    """It names the file, what was asked for and what there is."""
    text = f'id = "may"\nlanguage = {value}\n'
    (tmp_path / FILE).write_text(text, encoding="utf-8")
    with pytest.raises(CourseError, match=r"course.toml: language: .* en \(English\), es"):
        read_course(tmp_path)


def test_a_wrong_language_leaves_a_course_as_it_was(tmp_path: Path) -> None:
    """It is refused before anything is written."""
    with pytest.raises(LanguageError, match="no language 'tlh'"):
        work.assign(tmp_path / "course", units=[UNIT], language="tlh")
    assert not (tmp_path / "course").exists()


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> CourseFolder:
    """Give out one unit in the pseudo-language, and grade two who handed in."""
    folder = work.assign(
        tmp_path_factory.mktemp("course") / "may", course_id="may", units=[UNIT], language="qps"
    )
    hand_in(folder, "ada", "peep-before-pip")
    hand_in(folder, "bo", "")
    work.grade(folder.path)
    return folder


def read_page(path: Path) -> dict[str, Any]:
    """Return a notebook."""
    page: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    return page


def test_a_unit_is_given_out_in_the_course_s_language(course: CourseFolder) -> None:
    """Text is told, code and ids are the same, and the page names its language."""
    released = read_page(course.path / "release" / UNIT / f"{UNIT}.ipynb")
    source = read_page(Path("source_exercises") / UNIT / f"{UNIT}.ipynb")
    assert released["metadata"]["tpiece"]["language"] == "qps"
    assert [cell["id"] for cell in released["cells"]] == [cell["id"] for cell in source["cells"]]
    text = ["".join(c["source"]) for c in released["cells"] if c["cell_type"] == "markdown"]
    assert text
    assert [line for each in text for line in each.splitlines() if bare(line, [UNIT])] == []


def test_the_marked_page_is_told_in_the_course_s_language(course: CourseFolder) -> None:
    """What nbgrader's feedback is made from holds no English sentence of ours."""
    page = read_page(course.autograded("ada", UNIT) / f"{UNIT}.ipynb")
    outputs = [o for cell in page["cells"] for o in cell.get("outputs", ())]
    said = ["".join(o["text"]) for o in outputs if o["output_type"] == "stream"]
    said += [shown_words(o["data"]["text/html"]) for o in outputs if "data" in o
             and "text/html" in o["data"]]  # fmt: skip
    asked = [q.id for q in case("may", UNIT, "ada", course.course.book).questions]
    assert said
    assert [words for text in said if (words := bare(text, asked))] == []


def test_stock_autograding_gives_the_same_points_in_another_language(
    course: CourseFolder,
) -> None:
    """nbgrader runs the page given out in the pseudo-language; the locked cells are as released."""
    stock = Nbgrader(course)
    with stock.gradebook() as book:
        ours = totals(book)
    stock.autograde(UNIT, "ada")
    page = read_page(course.autograded("ada", UNIT) / f"{UNIT}.ipynb")
    with stock.gradebook() as book:
        stocks = totals(book)
    work.grade(course.path)  # as it was, for the other tests
    assert stocks == ours
    said = ["".join(o["text"]) for cell in page["cells"] for o in cell.get("outputs", ())
            if o["output_type"] == "stream"]  # fmt: skip
    assert any(pseudo("CRITICAL") in text for text in said)


def test_learners_pages_are_written_in_the_course_s_language(course: CourseFolder) -> None:
    """The command writes them; what the coordinator's report says stays English."""
    pages = list(write_pages(course))
    assert ['<html lang="qps">' in path.read_text(encoding="utf-8") for path in pages] == [True] * 2
    for path in work.report(course.path):
        if path.suffix == ".html":
            html = path.read_text(encoding="utf-8")
            assert '<html lang="en">' in html
            assert "⟦" not in html


def test_commands_speak_english_whatever_the_environment_says(
    course: CourseFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A coordinator's commands are out of scope; half of one in another language helps nobody."""
    monkeypatch.setenv(VARIABLE, "qps")
    done = CliRunner().invoke(
        main, ["grade", "--course", str(course.path), "--explain", "ada", UNIT]
    )
    assert done.exit_code == 0
    assert "⟦" not in done.output
    assert "[CRITICAL]" in done.output


def test_the_command_offers_the_languages_there_are(tmp_path: Path) -> None:
    """A language that does not exist is refused; those for tests are not on offer."""
    for command in ("assign", "open"):
        done = CliRunner().invoke(main, [command, "--language", "qps"])
        assert done.exit_code == 2
        assert re.search(r"'qps' is not one of 'en', 'es'", done.output)


def test_a_site_s_start_page_is_told_in_the_course_s_language(course: CourseFolder) -> None:
    """Its words, those its script says, and the titles of what there is to open."""
    html = start_page(course, "")
    script = html.index("<script>")
    spoken = " ".join(re.findall(r'data-[a-z-]+="([^"{]*)', html[:script]))
    shown = shown_words(html[:script]).replace("{learner}", "")
    assert bare(f"{shown} {spoken}", [course.course.title, "T-piece"]) == []
    assert bare(" ".join(entry.title for entry in entries(course))) == []
    assert '<html lang="qps">' in html
    assert not re.search(r"say\([`\"']", html)  # the script holds no words of its own


def test_a_site_carries_the_catalogue_of_its_own_language_and_no_other() -> None:
    """An English site carries none, and starts as fast as before."""
    assert [name for name, _ in files() if "locale" in name] == []
    found = [name for name, _ in files("es") if "locale" in name]
    assert found == ["workbook/locale/es/LC_MESSAGES/tpiece.mo"]


def test_opening_in_another_language_puts_the_course_into_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Lessons change; an exercise that was opened before stays as it is, and that is said."""
    monkeypatch.setattr(launch, "launch", lambda *given, **named: 0)
    work.assign(tmp_path / "course", course_id="may", units=[UNIT])
    said: list[str] = []

    def languages_after(language: str | None) -> tuple[Any, Any, str]:
        opening.open_workbook(
            tmp_path, "ada", browser=False, port=None, say=said.append, language=language
        )
        pages = (tmp_path / "learners" / "ada" / name
                 for name in ("start_here.ipynb", f"{UNIT}/{UNIT}.ipynb"))  # fmt: skip
        told = [read_page(page)["metadata"]["tpiece"].get("language") for page in pages]
        return *told, read_course(tmp_path / "course").language

    assert languages_after(None) == (None, None, "en")
    assert languages_after("es") == ("es", None, "es")
    assert languages_after(None) == ("es", None, "es")
    assert sum("stay in the language they were opened in" in text for text in said) == 1
