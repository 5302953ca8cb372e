"""Marking in a course's language: only words differ, and no word a learner reads is forgotten.

Under the pseudo-language every vowel of a text that was looked up carries an accent, so a bare one
was not looked up. What is named in print (publications, units, files, ids) keeps its letters.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from graders.grading.grade import grade
from graders.learner.next_step import next_step
from graders.learner.page import LearnerView, learner_view
from graders.learner.retest import Retest
from graders.marking.exercise import mark, mark_all
from graders.marking.graded import Graded, read_verdict, write_verdict
from graders.marking.personas import answers_of, played, shows
from graders.marks.misconceptions import EITHER, misconceptions
from graders.marks.verdict import Verdict
from graders.report.learner_page import learner_data, learner_text
from workbook.cases import case, exercises
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.core.language import VARIABLE, pseudo, speaking
from workbook.course.settings import Course
from workbook.rules import editions, rulebook
from workbook.rules.files import file

pytestmark = pytest.mark.slow

ENGLISH = Course("may", "Mäy", units=exercises())
AT = datetime(2026, 5, 5, 9, tzinfo=UTC)
UNIT = "1_setup_order"
LETTERS = re.compile(r"[aeioun]")
# Units, and the parts of a page that nobody translates.
AS_PRINTED = {"L/min", "1/min", "min", "in", "kPa", "hPa", "Fr"}


@pytest.fixture(autouse=True)
def nothing_settled(monkeypatch):
    """Each test begins as a new process does, and leaves nothing behind."""
    monkeypatch.delenv(VARIABLE, raising=False)
    monkeypatch.setattr("workbook.core.language._chosen", [])


@cache
def printed() -> tuple[str, ...]:
    """Return every name of a publication, the longest first."""
    book, sizes = ENGLISH.book, file("sizes")
    books = (book, sizes, *(rulebook(edition) for edition in editions()))
    sources = {rule.citation.source for each in books for rule in each}
    names = {str(s) for s in sources} | {n for s in sources for n in (s.body, s.title, s.edition)}
    names |= {each.edition.title for each in books}
    return tuple(sorted((n for n in names if n), key=len, reverse=True))


def bare(text: str, kept: Iterable[str] = ()) -> list[str]:
    """Return the words of a text that were not looked up."""
    for name in (*kept, *printed()):
        text = text.replace(name, " ")
    found = re.findall(r"[^\s⟦⟧«»“”\"'(),;:.!?=+]+", text)
    return [word for word in found if LETTERS.search(word) and word not in AS_PRINTED]


def beliefs(unit: str) -> Iterator[tuple[str, str]]:
    """Yield learner and belief: each belief in a case that can show it, and none."""
    yield "ada", ""
    for belief in played(unit):
        ids = (f"nurse{n}" for n in range(200))
        found = (id for id in ids if shows(case("may", unit, id, ENGLISH.book), belief))
        if learner := next(found, ""):
            yield learner, belief


def marked(unit: str, learner: str, belief: str) -> tuple[Verdict, ...]:
    """Return the verdicts on a learner who holds a belief, in the language in force."""
    drawn = case("may", unit, learner, ENGLISH.book)
    return mark_all(drawn, answers_of(drawn, ENGLISH.book, belief), ENGLISH.book)


def without_words(verdicts: Iterable[Verdict]) -> list[Verdict]:
    """Return verdicts without what is said in them."""
    return [v.worded([("", "")] * len(v.findings)) for v in verdicts]


@pytest.mark.parametrize("unit", exercises())
def test_a_language_changes_words_and_nothing_else(unit: str) -> None:
    """Points, criteria, what is critical and which belief is named are those of English."""
    for learner, belief in beliefs(unit):
        english = marked(unit, learner, belief)
        for code in ("es", "qps"):
            with speaking(code):
                assert without_words(marked(unit, learner, belief)) == without_words(english)
        assert marked(unit, learner, belief) == english  # nothing of the others stayed behind


def in_unit(unit: str) -> dict[str, str]:
    """Return a typed number that is none in cmH2O, and five in any other unit."""
    return {"text": "1.2.3" if unit == "cmH2O" else "5", "unit": unit}


@pytest.mark.parametrize("unit", exercises())
def test_every_sentence_of_a_finding_is_looked_up(unit: str) -> None:
    """Right, wrong by each belief, not answered, or unreadable: no English is left."""
    left = set()
    with speaking("qps"):
        drawn = case("may", unit, "ada", ENGLISH.book)
        lists = [marked(unit, learner, belief) for learner, belief in beliefs(unit)]
        for value in (None, 7, "nothing of the kind", *map(in_unit, ("cmH2O", "kg", "ell"))):
            given = {question.id: value for question in drawn.questions}
            lists.append(mark_all(drawn, given, ENGLISH.book))
        for verdicts in lists:
            for v in verdicts:
                left |= {(f.criterion, " ".join(bare(f.says, ["'ell'"]))) for f in v.findings}
    assert sorted((where, words) for where, words in left if words) == []


def commas(value: Any) -> Any:
    """Return an answer as it is typed where the decimal sign is a comma."""
    if isinstance(value, Mapping) and isinstance(value.get("text"), str):
        return {**value, "text": value["text"].replace(".", ",")}
    return value


@pytest.mark.parametrize("code", ["en", "es"])
@pytest.mark.parametrize("unit", exercises())
def test_a_decimal_comma_earns_what_a_point_earns(unit: str, code: str) -> None:
    """Whatever the language of the course, either sign may be typed."""
    typed = 0
    with speaking(code):
        for learner in ("ada", "bo", "cy"):
            drawn = case("may", unit, learner, ENGLISH.book)
            for id, value in answers_of(drawn, ENGLISH.book).items():
                point, comma = (mark(drawn, id, v, ENGLISH.book) for v in (value, commas(value)))
                assert comma == point
                typed += commas(value) != value and comma.earned == comma.possible
    whole = (UNIT, "3_pressure_targets")  # there right readings are whole numbers
    assert typed or unit in (*whole, "6_fault_finding", "7_from_birth")  # there nothing is typed


@pytest.mark.parametrize("text", ["1.234,5", "1,234.5", "1.2.3", "1,2,3", "12,", ",", "1 2"])
def test_a_number_that_could_be_read_two_ways_is_refused_in_a_sentence(text: str) -> None:
    """Two signs are never guessed at; a trailing sign is what Python itself would read."""
    drawn = case("may", "4_rate_counting", "ada", ENGLISH.book)
    found = mark(drawn, "strip-rate", {"text": text, "unit": "1/min"}, ENGLISH.book).findings[0]
    if text == "12,":
        assert not found.met
    else:
        assert found.says == f"This answer could not be read: {text!r} is not a number."


# --- a course


def answered(course: Course, home: Path, unit: str, belief: str, learner: str = "ada") -> Graded:
    """Grade one learner of a course."""
    path = answers_path(home / f"{unit}.ipynb")
    sheet = AnswersFile(path, course.id, unit, learner, course.edition)
    drawn = case(course.id, unit, learner, course.book)
    for question, value in answers_of(drawn, course.book, belief).items():
        sheet.append(question, value)
    return grade(home, course, unit, learner)


def test_a_verdict_is_kept_in_english_and_told_in_the_course_s_language(tmp_path: Path) -> None:
    """A coordinator reads one language for every course; a learner reads the course's."""
    english = answered(ENGLISH, tmp_path, UNIT, "peep-before-pip")
    told = grade(tmp_path, replace(ENGLISH, language="qps"), UNIT, "ada")
    assert (told.verdicts, told.said, told.problems) == (english.verdicts, english.said, ())
    assert (english.told, english.for_learner()) == (None, english)
    shown = told.for_learner()
    assert [bare(f.says) for v in shown.verdicts for f in v.findings if bare(f.says)] == []
    assert [said for said in shown.said.values() if bare(said)] == []
    assert without_words(shown.verdicts) == without_words(english.verdicts)
    assert [f.trace for v in shown.verdicts for f in v.findings] == [
        f.trace for v in english.verdicts for f in v.findings
    ]


def test_a_verdict_reads_back_and_so_does_one_from_before_there_were_languages(
    tmp_path: Path,
) -> None:
    """A course that changes its language tells old verdicts in English until they are graded."""
    told = answered(replace(ENGLISH, language="es"), tmp_path, UNIT, "falls-to-zero")
    write_verdict(told, tmp_path)
    assert read_verdict(tmp_path / "verdict.json") == told
    data = json.loads((tmp_path / "verdict.json").read_text(encoding="utf-8"))
    del data["told"]
    (tmp_path / "old.json").write_text(json.dumps(data), encoding="utf-8")
    old = read_verdict(tmp_path / "old.json")
    assert (old, old.for_learner()) == (replace(told, told=None), old)


@pytest.mark.parametrize(
    "text", ["not an answers file", '{"n": 1, "format": "tpiece-answers/1", "course": "june"}']
)
def test_what_is_wrong_with_a_file_is_told_in_both_languages(tmp_path: Path, text: str) -> None:
    """The coordinator reads the problem in English, the learner in the course's language."""
    answers_path(tmp_path / f"{UNIT}.ipynb").write_text(text, encoding="utf-8")
    told = grade(tmp_path, replace(ENGLISH, language="qps"), UNIT, "ada")
    kept = [f"{UNIT}.answers.jsonl", f"'{UNIT}'", "'june'", "'may'", "'ada'", "''"]
    assert len(told.problems) == len(told.for_learner().problems) == 1
    assert bare(told.problems[0], kept)
    assert bare(told.for_learner().problems[0], kept) == []


def test_the_next_step_is_looked_up_for_each_kind_of_work(tmp_path: Path) -> None:
    """Unsafe, left open, to be read again, right, or not usable."""
    course = replace(ENGLISH, language="qps")
    works = []
    for n, belief in enumerate(("", "peep-before-pip", "falls-to-zero", "order-is-habit")):
        home = tmp_path / str(n)
        home.mkdir()
        works.append(answered(course, home, UNIT, belief).for_learner())
    empty = tmp_path / "empty"
    empty.mkdir()
    works.append(grade(empty, course, UNIT, "ada").for_learner())
    with speaking("qps"):
        said = [next_step(one) for one in works]
    kept = [f"{UNIT}.ipynb", "gauge-released", "reason"]
    assert [bare(text, kept) for text in said] == [[]] * len(said)
    assert len(set(said)) > 3


def test_where_to_read_is_named_as_the_page_names_it() -> None:
    """The heading is looked up by itself, so that it is the lesson's own in every language."""
    for belief in misconceptions().values():
        places = [place.split(", ", 1) for place in belief.read.split(EITHER)]
        for name, heading in places:
            page = json.loads((Path("workbook/lessons") / name).read_text(encoding="utf-8"))
            cells = ("".join(cell["source"]) for cell in page["cells"])
            lines = {line.lstrip("# ") for cell in cells for line in cell.splitlines()}
            assert heading in lines, belief.id
            with speaking("qps"):
                assert bare(belief.where, [file for file, _ in places]) == []
                assert pseudo(heading) in belief.where


def page_of(course: Course, works: Mapping[str, Graded]) -> LearnerView:
    """Return the page of a learner whose work was marked."""
    latest = Retest("ada", AT.date(), (AT.date(),), AT.date(), AT.date())
    tries = {unit: [one, one] for unit, one in works.items()}
    return learner_view("ada", course, tries, works, retest=latest, name="Ädä")


def shown_words(html: str) -> str:
    """Return what a page shows and says, without its styles and marks."""
    html = re.sub(r"<style>.*?</style>", " ", html, flags=re.DOTALL)
    spoken = " ".join(re.findall(r'(?:aria-label|title|alt)="([^"]*)"', html))
    return re.sub(r"<[^>]+>", " ", html) + " " + spoken


def test_a_learner_s_page_has_no_english_left(tmp_path: Path) -> None:
    """Every unit, each with a belief that shows, a unit without work, and the data beside it."""
    course = replace(ENGLISH, language="qps")
    held = dict(zip(exercises(), ("peep-before-pip", "hold-to-turn", "stretch-is-a-minute"),
                    strict=False))  # fmt: skip
    works = {}
    for unit, belief in held.items():
        (tmp_path / unit).mkdir()
        works[unit] = answered(course, tmp_path / unit, unit, belief)
    view = page_of(course, works)
    html = learner_text(view, made_at=AT, version="1")
    asked = [q.id for unit in exercises() for q in case("may", unit, "ada", course.book).questions]
    kept = [*(f"{unit}.ipynb" for unit in exercises()), *exercises(), *asked]
    locators = {f.source for one in works.values() for v in one.verdicts for f in v.findings}
    assert bare(shown_words(html), kept) == []
    assert '<html lang="qps">' in html
    assert locators
    data = json.loads(learner_data(view, made_at=AT, version="1"))
    assert bare(" ".join([data["says"], data["next"], data["retest"]]), kept) == []
    assert data["units"][0]["status"] == "Unsafe act"  # for programs, and the same in all


def test_a_page_right_to_left_says_so(tmp_path: Path) -> None:
    """The direction stands on the page itself; English pages stay as they were."""
    course = replace(ENGLISH, language="qps-rtl")
    html = learner_text(page_of(course, {}), made_at=AT, version="1")
    assert '<html lang="qps-rtl" dir="rtl">' in html
    assert '<html lang="en">\n' in learner_text(page_of(ENGLISH, {}), made_at=AT, version="1")


def test_a_spanish_page_says_that_nobody_reviewed_it() -> None:
    """The notice stands near the top; no other language shows it."""
    pages = {
        code: learner_text(page_of(replace(ENGLISH, language=code), {}), made_at=AT, version="1")
        for code in ("en", "es", "qps")
    }
    notes = {code: html.partition("<main")[0].count('class="note"') for code, html in pages.items()}
    assert notes == {"en": 0, "es": 1, "qps": 0}
