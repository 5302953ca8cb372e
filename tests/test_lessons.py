"""Lessons: data whose numbers come from the rules and the model, pages that run and read well."""

from __future__ import annotations

import itertools
import re
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

from graders.misconceptions import misconceptions
from workbook import practice
from workbook.answers import AnswerFileError, read_answers
from workbook.cards import Shown, shown
from workbook.cases import Draw, exercises
from workbook.lesson import FOLDER, LOOKED, Lesson, open_page, pressure, texts
from workbook.rules import editions, ordered, rulebook
from workbook.scene import Scenes
from workbook.widgets import Control

LESSON = "1_setup_order"
PAGES = sorted(path.stem for path in FOLDER.glob("*.ipynb"))
EXERCISES = Path(__file__).parent.parent / "source_exercises"
SECTIONS = [
    "Before you start",
    "A question from practice",
    "What the gauge can see",
    "Flow first",
    "A ceiling before a height",
    "The order that looks right",
    "The last step is last",
    "When the gas fails",
    "Worked example",
    "Your turn, with less and less help",
    "Check yourself",
    "Take-away",
]
LONGEST_RUN = 60.0  # seconds
LONGEST_SENTENCE = 20  # words


def page(name: str) -> Any:
    return nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)


def prose(name: str) -> str:
    return "\n\n".join(c.source for c in page(name).cells if c.cell_type == "markdown")


def headings(name: str) -> list[tuple[int, str]]:
    found = re.findall(r"^(#+) (.+)$", prose(name), re.MULTILINE)
    return [(len(marks), text) for marks, text in found]


def strings(value: Any) -> Iterator[str]:
    """Yield every sentence of a lesson's data."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        yield from itertools.chain.from_iterable(strings(v) for v in value.values())
    elif isinstance(value, list):
        yield from itertools.chain.from_iterable(strings(v) for v in value)


class Screen:
    """Stands in for the page: what is displayed now, in order; updates replace."""

    def __init__(self) -> None:
        self.shown: list[Any] = []

    def display(self, thing: Any, **_: Any) -> Handle:
        """Show a thing below the others."""
        self.shown.append(thing)
        return Handle(self, len(self.shown) - 1)

    def control(self, question: str) -> Control:
        """Return the control of a question."""
        return next(c for c in self.shown if isinstance(c, Control) and c.question == question)

    @property
    def text(self) -> str:
        """Return all that is shown, controls left out, in words."""
        return "\n".join(s.text for s in self.shown if isinstance(s, Shown))


@dataclass
class Handle:
    """What replaces one displayed thing by another."""

    screen: Screen
    place: int

    def update(self, thing: Any) -> None:
        """Show something else in the same place."""
        self.screen.shown[self.place] = thing


@pytest.fixture
def screen(monkeypatch: pytest.MonkeyPatch) -> Screen:
    made = Screen()
    monkeypatch.setattr("IPython.display.display", made.display)
    return made


@pytest.fixture
def lesson(tmp_path: Path, screen: Screen, monkeypatch: pytest.MonkeyPatch) -> Lesson:
    monkeypatch.setenv("TPIECE_LEARNER", "nurse.one")
    return open_page(LESSON, tmp_path)


def answer(control: Control, value: Any, seq: int = 1) -> None:
    control._hear(None, {"kind": "answer", "value": value, "client": "tab", "seq": seq}, [])


def ask(control: Control) -> dict[str, Any]:
    control._hear(None, {"kind": "check"}, [])
    return control.feedback


def scenes(edition: str = "aha-2020") -> Scenes:
    data = texts(LESSON)
    return Scenes(data["numbers"], data["does"], rulebook(edition))


# --- pages


@pytest.mark.parametrize("name", PAGES)
def test_a_page_runs_from_top_to_bottom_in_time_and_in_silence(name: str, tmp_path: Path):
    """Each code cell shows something, nothing warns, and any cell can be run again alone."""
    notebook = page(name)
    start = time.monotonic()
    client = NotebookClient(
        notebook, timeout=LONGEST_RUN, resources={"metadata": {"path": str(tmp_path)}}
    )
    with client.setup_kernel():
        for n, cell in enumerate(notebook.cells):
            client.execute_cell(cell, n)
        took = time.monotonic() - start
        for n, cell in enumerate(notebook.cells):
            client.execute_cell(cell, n)
    assert took < LONGEST_RUN
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    for cell in code:
        assert {out.output_type for out in cell.outputs} == {"display_data"}, cell.id
    controls = sum("widget-view" in str(cell.outputs) for cell in code)
    assert controls == (14 if name == LESSON else 4)


def test_the_pages_are_the_ones_there_should_be():
    """A page added later is met by every test here."""
    assert PAGES == [LESSON, "start_here"]


@pytest.mark.parametrize("name", PAGES)
def test_what_was_aimed_at_is_what_was_taken_away(name: str):
    """The take-away repeats the aims, word for word, in the past tense."""
    aims, take_away = (
        re.findall(r"^- (\w+) (.+)$", cell.source, re.MULTILINE)
        for cell in page(name).cells
        if cell.id in ("title", "take-away")
    )
    assert len(aims) >= 3
    assert [rest for _, rest in aims] == [rest for _, rest in take_away]
    past = {"say": "said", "see": "seen"}
    for (verb, _), (done, _) in zip(aims, take_away, strict=True):
        assert done == past.get(verb, verb + ("d" if verb.endswith("e") else "ed"))


@pytest.mark.parametrize("name", PAGES)
def test_headings_are_in_order_and_none_is_skipped(name: str):
    """One first-level heading, at the top; each heading at most one level below the last."""
    levels = [level for level, _ in headings(name)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b <= a + 1 for a, b in itertools.pairwise(levels))
    names = [text for _, text in headings(name)]
    assert len(set(names)) == len(names)


def test_the_lesson_has_its_sections_in_order():
    """Misconceptions and feedback point at these headings by name."""
    assert [text for level, text in headings(LESSON) if level == 2] == SECTIONS


def test_every_misconception_of_the_unit_is_explained_under_a_heading_that_exists():
    """Where to read on is never a dead end."""
    ours = [m for m in misconceptions().values() if m.unit == LESSON]
    assert len(ours) >= 10
    known = {f"{LESSON}.ipynb, {text}" for level, text in headings(LESSON) if level == 2}
    assert {m.read for m in ours} <= known


def test_feedback_points_only_at_headings_that_exist():
    """Each “read …” in the lesson's own feedback names a section."""
    pointed = re.findall(r"read “([^”]+)”", " ".join(strings(texts(LESSON))))
    assert pointed
    assert set(pointed) <= set(SECTIONS)


@pytest.mark.parametrize("name", PAGES)
def test_links_between_pages_lead_somewhere(name: str):
    """A lesson lies at the top of a learner's folder, an exercise in the folder of its unit."""
    for target in re.findall(r"\]\(([^)]+)\)", prose(name)):
        folder = FOLDER if "/" not in target else EXERCISES
        assert (folder / target).is_file(), target
    assert all(f"{unit}/{unit}.ipynb" in prose("start_here") for unit in exercises())


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
    kind = "lesson" if name == LESSON else "start"
    assert notebook.metadata["tpiece"] == {"kind": kind, "unit": name}


def test_the_lesson_is_neither_cramped_nor_endless():
    """A lesson has 40 to 60 cells."""
    assert 40 <= len(page(LESSON).cells) <= 60


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


def test_the_page_asks_everything_the_data_holds_once_and_explains_each_prediction():
    """Nothing in the data is left out of the page, nothing is asked twice."""
    source = "\n".join(c.source for c in page(LESSON).cells if c.cell_type == "code")
    data = texts(LESSON)
    for table in data["predict"]:
        assert source.count(f'predict("{table["id"]}")') == 1
        assert source.count(f'explain("{table["id"]}")') == 1
        assert source.index(f'predict("{table["id"]}")') < source.index(f'explain("{table["id"]}")')
    for table in data["check"]:
        assert source.count(f'quiz("{table["id"]}")') == 1
    for part in ("next", "block", "all"):
        assert source.count(f'practise("{part}")') == 1


def test_every_prediction_is_complete():
    """Each has a scene the device knows, a reason with its rule, and an option that is shown."""
    data = texts(LESSON)
    for table in data["predict"]:
        assert {*table["scene"]} <= {*data["does"]}, table["id"]
        assert table["explain"]
        assert table.get("rules") or table.get("steps")
        for key in ("label", "context", "result", "agreed", "surprise"):
            assert table[key]
        if table["kind"] == "choice":
            assert table["shows"] in table["options"]
            assert len(set(table["options"].values())) == len(table["options"]) == 4
        else:
            assert table["near"]
            assert table["units"]


def test_every_check_has_one_right_option_and_says_what_each_leads_to():
    """Feedback is one sentence and one next step, whatever was chosen."""
    for table in texts(LESSON)["check"]:
        assert table["right"] in table["options"]
        assert len(table["options"]) == 4
        for option in table["options"].values():
            assert option["text"]
            assert option["says"].count("Next: ") == 1


def test_the_worked_example_shows_a_safe_order_of_every_step(book):
    """What is shown as an example keeps every prerequisite."""
    order = [step for ids in texts(LESSON)["purposes"].values() for step in ids]
    procedure = book.procedure("set-up")
    assert sorted(order) == sorted(procedure.ids)
    assert procedure.broken(order) == ()


@pytest.mark.parametrize("edition", list(editions()))
def test_the_lesson_can_be_shown_in_every_edition(edition, tmp_path, screen):
    """Every number, rule and step it names exists in each edition a course may choose."""
    (tmp_path / "course.toml").write_text(f'id = "demo"\nedition = "{edition}"\n')
    lesson = open_page(LESSON, tmp_path)
    assert lesson.book.edition.id == edition
    lesson.introduce()
    lesson.say("practice")
    for table in lesson.data["predict"]:
        lesson.predict(table["id"])
        lesson.explain(table["id"])
        assert lesson._result(table).text
        assert lesson._why(table).text
    assert "{" not in screen.text


# --- what the model shows


def last(scene: list[str]) -> tuple[float, float]:
    played = scenes().play(scene)[-1]
    return played.held, played.released


def test_the_model_shows_what_each_prediction_says_it_shows(book):
    """The option named as shown is the one the model's own readings pick out."""
    tables = {table["id"]: table for table in texts(LESSON)["predict"]}
    pip, peep, relief = (book[id].value for id in ("pip.example", "peep.example", "relief.example"))
    near = book["peep.accept"].value
    assert last(tables["predict-release"]["scene"]) == pytest.approx((pip, peep), abs=near)
    assert last(tables["predict-open"]["scene"]) == pytest.approx((0, 0), abs=near)
    held, released = last(tables["predict-flow"]["scene"])
    assert held > pip + near
    assert released > 2 * peep
    turned = next(
        r for r in scenes().play(tables["predict-relief"]["scene"]) if r.step == "set-relief"
    )
    assert turned.held == pytest.approx(pip, abs=near)
    assert last(tables["predict-relief"]["scene"])[0] > relief + near
    assert last(tables["predict-relief"]["contrast"]["scene"])[0] == pytest.approx(relief, abs=near)
    assert last(tables["predict-peep"]["scene"])[1] > 2 * peep
    assert last(tables["predict-peep"]["contrast"]["scene"]) == pytest.approx((pip, peep), abs=near)
    assert last(tables["predict-baby"]["scene"])[0] == pytest.approx(relief, abs=near)
    assert last(tables["predict-gas"]["scene"]) == (0.0, 0.0)
    held, released = last(tables["predict-baby"]["also"]["scene"])
    assert released > peep + near


def test_only_the_right_order_of_settings_ends_where_it_should(book):
    """Of all orders a learner can try, one shows what was wanted; the others miss PIP or PEEP."""
    wanted = tuple(shown(book[id].value) for id in ("pip.example", "peep.example"))
    for order in itertools.permutations(texts(LESSON)["try-order"]["steps"]):
        end = scenes().play(order, as_left=True)[-1]
        right = (shown(end.held), shown(end.released)) == wanted
        assert right != bool(practice.broken(book.procedure("set-up"), order)), order


def test_a_peep_that_cannot_be_reached_is_said_and_not_claimed(book):
    """With the PIP control down and little flow, the gauge stops short of PEEP."""
    made = scenes()
    made.numbers["peep"] = book["peep.drawn"].band[1]
    read = made.play(["set-peep"], as_left=True)[0]
    assert "does not reach" in read.after
    assert read.released < made.numbers["peep"]


# --- predictions


def test_nothing_is_shown_before_the_prediction(lesson, screen):
    """Until then there is no reading on the page, and the explanation is folded."""
    table = lesson.data["predict"][0]
    lesson.predict(table["id"])
    lesson.explain(table["id"])
    assert "Occluded" not in screen.text
    assert lesson.data["words"]["folded"] in screen.text
    feedback = ask(screen.control(table["id"]))
    assert feedback["heading"].startswith("Answer first")
    assert "Occluded" not in screen.text
    assert not lesson.file.path.exists()


@pytest.mark.parametrize("n", range(7))
def test_a_prediction_is_set_beside_the_result_and_the_surprise_named(n, lesson, screen):
    """“You expected …; the gauge shows …”, without a mark of right or wrong."""
    table = lesson.data["predict"][n]
    lesson.predict(table["id"])
    lesson.explain(table["id"])
    control = screen.control(table["id"])
    value = next((o for o in table.get("options", ()) if o != table["shows"]), None)
    answer(control, value or {"text": "5", "unit": "cmH2O"})
    feedback = ask(control)
    assert feedback["heading"].startswith("You expected: ")
    assert table["surprise"] in feedback["heading"]
    assert feedback["lines"] == []
    assert "Occluded: " in screen.text
    assert lesson.scenes.fill(table["explain"][0]) in screen.text
    assert "Source: " in screen.text


@pytest.mark.parametrize("n", range(7))
def test_a_prediction_that_agrees_is_told_so(n, lesson, screen):
    """Whoever expected what the gauge shows reads that, not the surprise."""
    table = lesson.data["predict"][n]
    lesson.predict(table["id"])
    control = screen.control(table["id"])
    released = lesson.scenes.play(table["scene"])[-1].released
    typed = {"text": f"{released:.1f}".replace(".", ","), "unit": "cmH2O"}
    answer(control, table.get("shows") or typed)
    heading = ask(control)["heading"]
    assert table["agreed"] in heading
    assert table["surprise"] not in heading


def test_the_prediction_is_recorded_before_the_result_and_never_rewritten(lesson, screen):
    """A second thought after the result does not become the prediction."""
    id = lesson.data["predict"][0]["id"]
    lesson.predict(id)
    control = screen.control(id)
    answer(control, "zero")
    ask(control)
    answer(control, "peep", seq=2)
    ask(control)
    saved = read_answers(lesson.file.path).answers
    assert [(a.question, a.value) for a in saved] == [
        (id, "zero"), (id + LOOKED, "zero"), (id, "peep"),
    ]  # fmt: skip


def test_a_page_opened_again_shows_what_was_shown(lesson, screen, tmp_path):
    """Prediction, result and explanation are there again, without asking anew."""
    table = lesson.data["predict"][0]
    lesson.predict(table["id"])
    answer(screen.control(table["id"]), "zero")
    ask(screen.control(table["id"]))
    screen.shown.clear()
    again = open_page(LESSON, tmp_path)
    again.predict(table["id"])
    again.explain(table["id"])
    assert screen.control(table["id"]).feedback["heading"].startswith("You expected: Zero")
    assert "Occluded: " in screen.text
    assert lesson.data["words"]["folded"] not in screen.text


def test_a_prediction_that_cannot_be_recorded_shows_no_result(lesson, screen, monkeypatch):
    """A folder that may no longer be written to is said in a sentence; nothing is given away."""
    id = lesson.data["predict"][0]["id"]
    lesson.predict(id)
    answer(screen.control(id), "zero")

    def refuse(*_: Any, **__: Any) -> None:
        raise AnswerFileError("Not saved: the disk is full.")

    monkeypatch.setattr(lesson.file, "append", refuse)
    assert ask(screen.control(id)) == {"heading": "Not saved: the disk is full.", "lines": []}
    assert "Occluded" not in screen.text


@pytest.mark.parametrize(
    ("typed", "cmh2o"),
    [
        ({"text": "12,5", "unit": "cmH2O"}, 12.5),
        ({"text": "1", "unit": "kPa"}, 10.197),
        ({"text": "five", "unit": "cmH2O"}, None),
        ({"text": "5", "unit": "mL"}, None),
        ("5", None),
        (None, None),
    ],
)
def test_a_typed_pressure_is_read_or_left_alone(typed, cmh2o):
    """Whatever was typed, reading it never fails."""
    assert pressure(typed) == (cmh2o if cmh2o is None else pytest.approx(cmh2o, abs=1e-3))


# --- the learner's own order, practice, checks


def test_an_order_tried_out_ends_in_what_the_model_reads(lesson, screen):
    """The colleague's order shows its own PEEP, step by step, and why it went wrong."""
    lesson.try_order()
    control = screen.control("try-order")
    answer(control, ["set-flow", "set-peep", "set-pip"])
    feedback = ask(control)
    end = lesson.scenes.play(["set-flow", "set-peep", "set-pip"], as_left=True)[-1]
    assert shown(end.released) in feedback["heading"]
    assert "far too high once PIP is raised" in feedback["lines"][0]["says"]
    assert f"Released: {shown(end.released)}" in screen.text


def test_a_safe_order_is_called_safe_and_a_wrong_one_names_the_first_breaks(book):
    """Practice feedback says how much is kept, and mends the earliest breaks first."""
    procedure, says = book.procedure("set-up"), texts(LESSON)["practice"]["says"]
    fine = practice.on_order(procedure, procedure.ids, says)
    assert "This order is safe" in fine["heading"]
    assert fine["lines"] == []
    wrong = practice.on_order(procedure, procedure.ids[::-1], says)
    total = len(procedure.needs)
    assert f"In 0 of {total} pairs" in wrong["heading"]
    assert f"{total - practice.FIRST_BROKEN} more" in wrong["heading"]
    assert len(wrong["lines"]) == practice.FIRST_BROKEN
    first = procedure["attach-baby"].needs[0]
    assert wrong["lines"][0]["says"].count(first.why) == 1
    assert all(line["source"] and not line["met"] for line in wrong["lines"])


def test_one_break_is_named_alone(book):
    """With one thing wrong there is one line, with its reason."""
    procedure, says = book.procedure("set-up"), texts(LESSON)["practice"]["says"]
    block = ["set-flow", "close-outlet", "set-relief", "set-peep", "set-pip", "recheck"]
    feedback = practice.on_order(procedure, block, says)
    assert len(feedback["lines"]) == 1
    assert "far too high once PIP is raised" in feedback["lines"][0]["says"]
    assert "more" not in feedback["heading"]


LEARNERS = [f"learner{n}" for n in range(200)]


def test_of_the_steps_to_choose_from_exactly_one_can_come_next(book):
    """Whatever is drawn, one step has all it needs and the others do not; every kind is drawn."""
    procedure, asked = book.procedure("set-up"), set()
    for learner in LEARNERS:
        draw = Draw("demo", LESSON, learner, "practice-next")
        done, choices = practice.next_step(procedure, draw)
        ready = [step for step in choices if not practice.missing(procedure, done, step)]
        assert len(ready) == 1
        assert len(choices) == 1 + practice.OTHERS == len(set(choices))
        assert not set(choices) & set(done)
        asked.add(ready[0])
        assert practice.broken(procedure, done) == ()
    assert asked == set(practice.ASKED)


def test_feedback_on_the_next_step_gives_the_reason_either_way(book):
    """Right or early, the learner reads why."""
    procedure, says = book.procedure("set-up"), texts(LESSON)["practice"]["says"]
    done = list(ordered(procedure, procedure.ids))[: procedure.ids.index("set-pip")]
    right = practice.on_next(procedure, done, "set-pip", says)
    assert right["lines"][0] == {
        "met": True,
        "says": procedure["set-pip"].reason,
        "source": str(procedure["set-pip"].citation),
    }
    early = practice.on_next(procedure, done, "set-peep", says)
    assert early["lines"][0]["met"] is False
    assert "PEEP set first" in early["lines"][0]["says"]


@pytest.mark.parametrize("part", ["next", "block", "all"])
def test_practice_differs_between_learners_and_stays_the_same_for_one(
    part, tmp_path, screen, monkeypatch
):
    """What is asked follows from the learner, and never starts from the answer."""
    asked = {}
    for name in ("ada", "ada", "bob", "cleo", "dora", "emil"):
        monkeypatch.setenv("TPIECE_LEARNER", name)
        folder = tmp_path / name
        folder.mkdir(exist_ok=True)
        screen.shown.clear()
        lesson = open_page(LESSON, folder)
        lesson.practise(part)
        control = screen.control(f"practice-{part}")
        state = (control.help, control.options if part == "next" else control.start, screen.text)
        assert asked.setdefault(name, str(state)) == str(state)
        if part != "next":
            assert practice.broken(lesson.procedure, control.start)
    assert len(set(asked.values())) == len(asked)


def test_practice_ends_with_the_whole_order_and_says_so(lesson, screen):
    """The last part takes every step, and a safe order is told that it is safe."""
    lesson.practise("all")
    control = screen.control("practice-all")
    answer(control, list(lesson.procedure.ids))
    assert "This order is safe" in ask(control)["heading"]
    assert "Hint 3 of 3" in screen.text


def test_each_part_of_the_practice_gives_less_help():
    """One step, then the steps in the middle, then all of them."""
    parts = texts(LESSON)["practice"]
    assert "steps" not in parts["next"]
    assert 1 < len(parts["block"]["steps"]) < 14
    assert "steps" not in parts["all"]
    assert all(len(parts[part]["hints"]) == 3 for part in ("next", "block", "all"))


@pytest.mark.parametrize("n", range(3))
def test_a_check_tells_what_each_choice_leads_to(n, lesson, screen):
    """The feedback is the one written for that choice, marked in words."""
    table = lesson.data["check"][n]
    lesson.quiz(table["id"])
    control = screen.control(table["id"])
    for seq, (id, option) in enumerate(table["options"].items(), start=1):
        answer(control, id, seq)
        (line,) = ask(control)["lines"]
        assert line["says"] == option["says"]
        assert line["met"] == (id == table["right"])


def test_the_first_page_repeats_what_it_received(tmp_path, screen):
    """Trying a control shows that the answer arrived, in the learner's own words."""
    start = open_page("start_here", tmp_path)
    for table, value, said in zip(
        start.data["try"],
        ({"text": "6,5", "unit": "cm"}, ["mon", "tue", "wed", "thu", "fri"], ["pen", "kettle"]),
        ("6,5 cm", "(1) Monday (2) Tuesday", "A pen. A kettle."),
        strict=True,
    ):
        start.try_control(table["id"])
        control = screen.control(table["id"])
        answer(control, value)
        assert said in ask(control)["lines"][0]["says"]


def test_answers_of_a_lesson_are_kept_beside_it(lesson, screen, tmp_path):
    """They lie in the lesson's own file, apart from any exercise's."""
    lesson.quiz("check-bag")
    answer(screen.control("check-bag"), "bag")
    assert lesson.file.path == tmp_path / f"{LESSON}.answers.jsonl"
    assert read_answers(lesson.file.path).latest()["check-bag"].value == "bag"


def test_a_prediction_named_nowhere_is_an_error_that_names_it(lesson):
    """A slip in a notebook is told in words."""
    with pytest.raises(KeyError, match="predict-nothing"):
        lesson.predict("predict-nothing")
