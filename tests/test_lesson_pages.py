"""Pages that run and read well: headings, links, words, safety, no number of their own."""

from __future__ import annotations

import itertools
import re
from pathlib import Path

import pytest
from nbclient import NotebookClient

from graders.marks.misconceptions import EITHER, misconceptions
from tests import page_words
from tests.lesson_screen import (
    BENCH,
    BIRTH,
    CONTROLS,
    FAULTS,
    LESSON,
    LESSONS,
    RATE,
    SENTENCES,
    SIZES,
    TARGETS,
    headings,
    page,
    prose,
    strings,
)
from workbook.lesson.page import FOLDER, texts

pytestmark = pytest.mark.slow

PAGES = sorted(path.stem for path in FOLDER.glob("*.ipynb"))
EXERCISES = Path(__file__).parent.parent / "source_exercises"
SECTIONS: dict[str, list[str]] = {}
SECTIONS[LESSON] = [
    "Before you start",
    "No baby waits for a set-up",
    "What the gauge can see",
    "Flow first",
    "Set the safety limit before PIP",
    "The order that looks right",
    "The mask goes on last",
    "When the gas fails",
    "The whole set-up",
    "Your turn",
    "Check yourself",
    "Take-away",
]
SECTIONS[BENCH] = [
    "Before you start",
    "How the bench works",
    "Which control moves the needle",
    "The needle falls to PEEP",
    "PEEP first, on the bench",
    "A change of flow",
    "A limit that caps",
    "Held or in rhythm",
    "A leak at the mask",
    "Stiff and soft lungs",
    "A fast count traps gas",
    "A narrow tube",
    "A cylinder that runs out",
    "Check yourself",
    "The model beside published measurements",
    "For educators: the bench for the room",
    "Take-away",
]
SECTIONS[TARGETS] = [
    "Before you start",
    "What do you set?",
    "Two guidelines, one baby",
    "Between the marks",
    "Oxygen by the table",
    "What the gauge will show",
    "When the flow changes",
    "A needle that looks full",
    "Heart rate first, then the chest",
    "Gauge and chest together",
    "Raise PIP while the count goes on",
    "Check yourself",
    "Take-away",
]
SECTIONS[RATE] = [
    "Before you start",
    "A question from practice",
    "One beat on, two beats off",
    "Which rate, and who says so",
    "The first inflations",
    "Your own hand",
    "Counting while somebody talks to you",
    "Reading a rate from a strip",
    "Hearing a rhythm",
    "When gas stays behind",
    "Counting with compressions",
    "Check yourself",
    "Take-away",
]
SECTIONS[SIZES] = [
    "Before you start",
    "A question from practice",
    "What a mask covers",
    "When two sizes are published",
    "What the needle says of the seal",
    "Lift the jaw, do not press",
    "When the mask fails",
    "Weight or weeks",
    "How deep",
    "Is it in the trachea",
    "Suction: when, and how long",
    "Worked example",
    "Your turn",
    "Check yourself",
    "Take-away",
]
SECTIONS[FAULTS] = [
    "Before you start",
    "Something is wrong",
    "The baby first",
    "Two tests that separate most faults",
    "The needle does not rise",
    "The needle stays up",
    "The needle falls between inflations",
    "When the needle is wrong",
    "All looks right",
    "Mend, then read again",
    "Worked example",
    "Your turn",
    "Check yourself",
    "Take-away",
]
SECTIONS[BIRTH] = [
    "Before you start",
    "A baby is born",
    "Breathing and heart rate decide",
    "The chest does not move",
    "Chest first, then heart",
    "When the heart stays slow",
    "Oxygen goes up, and down",
    "The gas fails",
    "A baby who breathes",
    "Say it aloud",
    "Editions differ",
    "Your turn",
    "Check yourself",
    "Take-away",
]
LONGEST_CELL = 60  # seconds
LONGEST_SENTENCE = 20  # words


@pytest.mark.parametrize("name", PAGES)
def test_a_page_runs_from_top_to_bottom_in_silence(name: str, tmp_path: Path):
    """Each code cell shows something, nothing warns, and any cell can be run again alone."""
    notebook = page(name)
    client = NotebookClient(
        notebook, timeout=LONGEST_CELL, resources={"metadata": {"path": str(tmp_path)}}
    )
    with client.setup_kernel():
        for n, cell in enumerate(notebook.cells):
            client.execute_cell(cell, n)
        for n, cell in enumerate(notebook.cells):
            client.execute_cell(cell, n)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    for cell in code:
        assert {out.output_type for out in cell.outputs} == {"display_data"}, cell.id
    controls = sum("widget-view" in str(cell.outputs) for cell in code)
    assert controls == CONTROLS[name] + SENTENCES.get(name, 0)


def test_the_pages_are_the_ones_there_should_be():
    """A page added later is met by every test here."""
    assert PAGES == [*LESSONS, "start_here"] == list(CONTROLS)


def bullets(name: str, cell: str) -> list[str]:
    source = "".join(each.source for each in page(name).cells if each.id == cell)
    return re.findall(r"^- (.+)$", source, re.MULTILINE)


@pytest.mark.parametrize("name", PAGES)
def test_a_page_says_what_it_aims_at(name: str):
    """Each aim names what a learner can do afterwards."""
    aims = bullets(name, "title") or bullets(name, "aims")
    assert len(aims) >= 3
    assert all(re.match(r"[a-z]+ \w", aim) for aim in aims)


REMEMBERED = range(3, 6)  # rules that a take-away holds
LONGEST_RULE = 15  # words


@pytest.mark.parametrize("name", PAGES)
def test_a_take_away_is_a_few_rules_to_remember(name: str):
    """It is true for somebody who answered nothing, and short enough to keep in mind."""
    (source,) = (each.source for each in page(name).cells if each.id == "take-away")
    assert source.splitlines()[2] == "Remember:"
    rules = bullets(name, "take-away")
    assert len(rules) in REMEMBERED
    for rule in rules:
        assert len(rule.split()) <= LONGEST_RULE, rule
        assert rule[0].isupper() or rule[0] == "*"
        assert rule.endswith(".")
    assert not re.search(r"you have", source, re.IGNORECASE)


@pytest.mark.parametrize("name", PAGES)
def test_headings_are_in_order_and_none_is_skipped(name: str):
    """One first-level heading, at the top; each heading at most one level below the last."""
    levels = [level for level, _ in headings(name)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b <= a + 1 for a, b in itertools.pairwise(levels))
    names = [text for _, text in headings(name)]
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("name", LESSONS)
def test_a_lesson_has_its_sections_in_order(name: str):
    """Misconceptions and feedback point at these headings by name."""
    assert [text for level, text in headings(name) if level == 2] == SECTIONS[name]


@pytest.mark.parametrize("unit", sorted({m.unit for m in misconceptions().values()}))
def test_every_misconception_is_explained_under_a_heading_that_exists(unit: str):
    """Where to read on is never a dead end, whichever lesson it is in."""
    every = (m.read for m in misconceptions().values() if m.unit == unit)
    pointed = {place for read in every for place in read.split(EITHER)}
    known = {
        f"{name}.ipynb, {text}" for name in PAGES for level, text in headings(name) if level == 2
    }
    assert pointed <= known, sorted(pointed - known)


def test_the_first_unit_has_its_misconceptions():
    """A unit whose misconceptions were not read would pass the test above."""
    assert sum(m.unit == LESSON for m in misconceptions().values()) >= 15


@pytest.mark.parametrize("name", LESSONS)
def test_feedback_points_only_at_headings_that_exist(name: str):
    """Each “read …” in a lesson's own feedback names a section of it."""
    pointed = re.findall(r"(?:read|under) “([^”]+)”", " ".join(strings(texts(name))))
    assert pointed
    if "{family}" in pointed:  # the section of whatever was met
        sections = texts(name)["practice"]["says"]["section"].values()
        pointed = [each for each in pointed if each != "{family}"] + list(sections)
    assert set(pointed) <= set(SECTIONS[name])


@pytest.mark.parametrize("name", PAGES)
def test_links_between_pages_lead_somewhere(name: str):
    """A lesson lies at the top of a learner's folder, an exercise in the folder of its unit."""
    for target in re.findall(r"\]\(([^)]+)\)", prose(name)):
        folder = FOLDER if "/" not in target else EXERCISES
        assert (folder / target).is_file(), target


def test_the_first_page_leads_to_the_list_of_all():
    """Whoever starts there finds all that is taught and graded, by the name that the bar says."""
    link = re.search(r'home: _\("(.+)"\)', page_words.WORDS.read_text(encoding="utf-8"))
    assert link
    assert f"*{link[1]}*" in prose("start_here")


@pytest.mark.parametrize("name", PAGES)
def test_cells_are_short_locked_and_named(name: str):
    """Cells keep their ids, cannot be cut, hold no output, and code is folded and short."""
    notebook = page(name)
    cells = notebook.cells
    assert len({cell.id for cell in cells}) == len(cells)
    for cell in cells:
        assert re.fullmatch(r"[a-z][a-z0-9-]*", cell.id)
        assert cell.metadata["deletable"] is cell.metadata["editable"] is False
        if cell.cell_type == "code":
            assert cell.outputs == []
            assert cell.execution_count is None
            assert cell.metadata["jupyter"]["source_hidden"] is True
            assert "hide-input" in cell.metadata["tags"]
            assert len(cell.source.splitlines()) <= 5
    kinds = [cell.cell_type for cell in cells]
    assert ("code", "code") not in itertools.pairwise(kinds)
    assert notebook.metadata["kernelspec"]["name"] == "python3"
    assert notebook.metadata["language_info"] == {"name": "python"}
    kind = "lesson" if name in LESSONS else "start"
    about = dict(notebook.metadata["tpiece"])
    assert 5 <= about.pop("minutes") <= 30
    assert about == {"kind": kind, "unit": name}


@pytest.mark.parametrize("name", LESSONS)
def test_a_lesson_is_neither_cramped_nor_endless(name: str):
    """A lesson has 25 to 60 cells."""
    assert 25 <= len(page(name).cells) <= 60


UNITS = r"(?:cmH2O|hPa|kPa|mmHg|mbar|psi|bar|L/min|mL/kg|mL|kg|grams?|g|mm|cm|Fr|%|percent|weeks?"
UNITS += r"|seconds?|s|°C|(?:breaths|inflations|beats) (?:a|per) minute|(?:a|per) minute|/min)"
CLINICAL = re.compile(rf"\d[\d.,–-]*\s*{UNITS}(?![\w])|\d+\s*(?:over|/)\s*\d+|\d+:\d+")


def literals(text: str) -> list[str]:
    return CLINICAL.findall(text)


@pytest.mark.parametrize("name", PAGES)
def test_no_page_holds_a_clinical_number(name: str):
    """Numbers come from the rules, in the notebook as in the lesson's own data."""
    for cell in page(name).cells:
        assert literals(cell.source) == [], cell.id
    for text in strings(texts(name)):
        assert literals(text) == []


PLANTED = ["PIP is 25 cmH2O.", "Set 8 L/min", "25/5", "20 over 5", "40 to 60 a minute", "1:2"]
PLANTED += ["21 %", "35mm", "30 weeks", "0.5 seconds"]


@pytest.mark.parametrize("planted", PLANTED)
def test_a_planted_clinical_number_is_seen(planted: str):
    """The search above finds what it is there to find."""
    assert literals(planted)


def test_minutes_of_reading_are_no_clinical_number():
    """How long a page takes may be said in it."""
    assert literals("less than 15 minutes, about 3 questions, lesson 1") == []


def sentences(text: str) -> list[str]:
    plain = re.sub(r"\{[^}]*\}|[*_#`>]|\]\([^)]*\)|\[", " ", text)
    return [s for s in re.split(r"[.!?;:](?:\s|$)|\n", plain) if s.strip()]


@pytest.mark.parametrize("name", PAGES)
def test_words_are_plain_and_sentences_short(name: str):
    """No sentence is longer than twenty words; nothing is called easy."""
    for text in (prose(name), *strings(texts(name))):
        assert not re.search(r"\b(just|simply|obviously|easy|easily)\b", text, re.IGNORECASE)
        for sentence in sentences(text):
            assert len(sentence.split()) <= LONGEST_SENTENCE, sentence


@pytest.mark.parametrize("name", PAGES)
def test_safety_is_said_on_every_page(name: str):
    """Each page says what it is for, and what comes before it."""
    text = prose(name)
    for words in ("For education only", "not a medical device", "Local protocol"):
        assert words in text
    assert "Ready for the lab does not mean competent" in text


# --- the lesson's data
