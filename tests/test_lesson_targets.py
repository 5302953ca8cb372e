"""The pressure lesson: everything is asked once, and says what rules and model say."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import pytest

from graders.marks.misconceptions import misconceptions
from tests.lesson_screen import TARGETS, Screen, answer, ask, page, told
from workbook.cases import case, starting
from workbook.display.editions import side_by_side
from workbook.lesson.page import texts
from workbook.rules import editions
from workbook.rules.site.protocol import EXAMPLE
from workbook.units.targets.case import oxygen, starting_sets, two_editions
from workbook.units.targets.case.questions import EXERCISE, GAUGES
from workbook.units.targets.case.questions import TARGETS as SETS
from workbook.units.targets.draws import NEEDLES
from workbook.units.targets.lesson import FINDS, LESSON, TargetsLesson, open_page
from workbook.units.targets.studies import TARGET_STUDIES
from workbook.widgets import Control

pytestmark = pytest.mark.slow

DATA = texts(TARGETS)
PREDICTIONS = [each["id"] for each in DATA["predict"]]
BENCHES = [each["id"] for each in DATA["bench"]]
LEARNERS = [f"learner{n}" for n in range(12)]


def source() -> str:
    return "\n".join(c.source for c in page(TARGETS).cells if c.cell_type == "code")


def everything(lesson: TargetsLesson) -> None:
    """Show all that the page shows."""
    exec(source().replace("lesson = open_page()", ""), {"lesson": lesson})  # noqa: S102


def opened(folder: Path, edition: str, protocol: bool = False) -> TargetsLesson:
    course = f'id = "demo"\nedition = "{edition}"\n'
    if protocol:
        shutil.copy(EXAMPLE, folder / "protocol.toml")
        course += 'protocol = "protocol.toml"\n'
    (folder / "course.toml").write_text(course)
    return open_page(folder=folder)


# --- the page and its data


def test_the_page_asks_and_explains_everything_once():
    """Nothing in the data is left out of the page, nothing is asked twice."""
    code = source()
    for id in PREDICTIONS:
        whole = code.count(f'phenomenon("{id}")')
        assert whole + code.count(f'predict("{id}")') == 1
        assert whole + code.count(f'explain("{id}")') == 1
    for kind, call in (("bench", "bench"), ("read", "read"), ("check", "quiz")):
        assert all(code.count(f'{call}("{each["id"]}")') == 1 for each in DATA[kind])
    calls = ("start_first", "oxygen_first")
    assert all(code.count(f"lesson.{call}()") == 1 for call in calls)


def test_every_prediction_is_complete():
    """Each choice that is offered and not shown has words of its own; each has a rule or cards."""
    for each in DATA["predict"]:
        assert each["explain"]
        assert each.get("rules") or each.get("fold") or each["also_shows"] in ("editions", "acts")
        if "options" in each:
            assert len({*each["options"].values()}) == len(each["options"]) == 4
            assert each["shows"] in each["options"]
            assert {*each.get("on", each["options"])} <= {*each["options"]}
    assert {each["study"] for each in DATA["predict"] if "study" in each} == {*TARGET_STUDIES}
    assert {f for each in DATA["bench"] for f in (*each["finds"], *each["reads"])} == {*FINDS}


def test_its_misconceptions_are_there_to_be_read_about():
    """A unit whose misconceptions were not read would pass for one that resolves."""
    pointed = {m.read.split(", ", 1)[1] for m in misconceptions().values() if m.unit == LESSON}
    assert len(pointed) >= 7


@pytest.mark.parametrize("edition", list(editions()))
def test_the_lesson_can_be_shown_in_every_edition(edition: str, tmp_path: Path, screen: Screen):
    """Every number, rule and baby it names exists in each edition a course may choose."""
    lesson = opened(tmp_path, edition)
    everything(lesson)
    for each in DATA["predict"]:
        table = lesson._table("predict", each["id"])
        assert "{" not in lesson._found(table) + lesson._result(table).text
        assert "{" not in lesson._why(table).text
    seen = [screen.text, *(c.label + c.help for c in screen.shown if isinstance(c, Control))]
    assert "{" not in " ".join(seen)


# --- what to set


def test_numbers_come_after_the_first_answer(targets_lesson, screen):
    """The question stands first; then a table says who says so, and folds every rule away."""
    targets_lesson.start_first()
    assert "Who says so" not in screen.text
    control = screen.control("start-first")
    answer(control, "a")
    ask(control)
    assert "The guideline" in screen.text
    assert DATA["starts"]["whence"]["example"] in screen.text
    assert DATA["starts"]["whence"]["practice"] in screen.text
    assert DATA["starts"]["memory"] in screen.text
    assert DATA["starts"]["folded"] in screen.text


def test_every_rule_is_in_the_fold(targets_lesson, book):
    """A blank is said there, and the teaching example is shown by its own two rules."""
    text = targets_lesson._every_card().text
    assert "not stated here; see the printed edition" in text
    for id in ("pip.example", "peep.example"):
        assert book[id].says in text


def test_a_sites_number_stands_beside_the_one_it_replaces(tmp_path, screen):
    """With a local protocol the table names the site; the card what the edition says."""
    lesson = opened(tmp_path, "aha-2020", protocol=True)
    shown = lesson.whence_shown(lesson.drawn.start).text
    assert DATA["starts"]["whence"]["site"] in shown
    assert "Example Protocol" in shown
    cards = lesson._every_card().text
    assert "Rule of your site (Example Protocol" in cards
    assert f"The edition says: {lesson.book['pip.start'].replaces.text}" in cards


def test_each_set_of_the_practice_is_told_what_is_wrong_with_it(targets_lesson, screen):
    """One set is right; every other is met with its own reasons and what is asked for."""
    targets_lesson.start_first()
    control, asked = screen.control("start-first"), targets_lesson.drawn.start
    met = starting.Baby(asked.facts["weeks"], asked.facts["kg"])
    rights = 0
    for seq, (letter, each) in enumerate(asked.facts["sets"].items(), start=1):
        answer(control, letter, seq)
        lines = ask(control)["lines"]
        wrong = starting_sets.broken(each, targets_lesson.book, met)
        assert len(lines) == max(1, len(wrong))
        assert all(line["met"] == (not wrong) for line in lines)
        assert all(("The question asks for " in line["says"]) == bool(wrong) for line in lines)
        rights += not wrong
    assert rights == 1


def test_oxygen_is_told_by_the_table(targets_lesson, screen, book):
    """The table comes after the answer; right is what it asks for in that minute."""
    targets_lesson.oxygen_first()
    assert "Saturation at the right hand" not in screen.text
    control, asked = screen.control("oxygen-first"), targets_lesson.drawn.oxygen
    turn, rule = oxygen.found(asked.facts, book)
    for seq, choice in enumerate(oxygen.CHOICES, start=1):
        answer(control, choice, seq)
        line = told(control)
        assert line["met"] == (choice == turn)
        assert rule.text in line["says"]
    assert "Saturation at the right hand" in screen.text


def test_nothing_drawn_for_practice_is_a_graded_question(tmp_path, screen, monkeypatch):
    """Babies, needles and strips of the lesson are drawn apart from the exercise's own."""
    same = 0
    for learner in LEARNERS:
        monkeypatch.setenv("TPIECE_LEARNER", learner)
        folder = tmp_path / learner
        folder.mkdir()
        lesson = opened(folder, "aha-2020")
        graded = case("demo", EXERCISE, learner, lesson.book)
        sets = [graded[id].facts["sets"] for id in SETS]
        same += lesson.drawn.start.facts["sets"] in sets
        same += lesson.drawn.needles["read-all"] == graded[GAUGES[0]].facts["value"]
        assert len({*lesson.drawn.needles.values()}) == len(NEEDLES)
    assert same <= 3  # a needle has few places to stand


def test_editions_are_compared_only_after_the_prediction(targets_lesson, screen):
    """The picture with its words and both editions' cards come with the result."""
    targets_lesson.phenomenon("predict-editions")
    assert "edition by edition" not in screen.text
    control = screen.control("predict-editions")
    answer(control, "average")
    heading = ask(control)["heading"]
    assert DATA["predict"][0]["on"]["average"] in heading
    assert "edition by edition" in screen.text
    assert DATA["words"]["cards"] in screen.text


@pytest.mark.parametrize("edition", list(editions()))
def test_editions_side_by_side_are_named_in_words(edition, tmp_path):
    """Titles and numbers, no ids; the two of the question stand out, with their own numbers."""
    drawn = opened(tmp_path, edition).drawn
    facts, known = drawn.pair.facts, editions()
    what = two_editions.STARTS[facts["rule"]]
    asked = (facts["one"], facts["two"])
    made = side_by_side(facts["rule"], what, two_editions.whom(facts), asked, drawn.book)
    for shown in (made.html, made.text):
        assert facts["rule"] not in shown
        assert not [id for id in known if re.search(rf"\b{id}\b", shown) and id != "practice"]
    for id, rule in zip(asked, two_editions.rules_of(facts), strict=True):
        assert f"<strong>{known[id].named}</strong>" in made.html
        (line,) = [line for line in made.text.splitlines() if known[id].named in line]
        assert line.startswith(f"- {rule.text}: ")


# --- the needle


def test_a_needle_misread_is_told_how(targets_lesson, screen):
    """Right, each mark taken for one, the nearest number, ten times off: four answers."""
    id = "read-all"
    says, stands = DATA["read_says"]["needle"], targets_lesson.drawn.needles[id]
    targets_lesson.read(id)
    control, below = screen.control(id), stands // 10 * 10
    nearest = below + 10 * (2 * (stands - below) >= 10)
    marks = below + (stands - below) / 2
    tried = {stands: "right", marks: "small-mark-is-one", nearest: "nearest-number"}
    tried[stands / 10] = "tenfold"
    for seq, (typed, name) in enumerate(tried.items(), start=1):
        answer(control, {"text": f"{typed:g}", "unit": "cmH2O"}, seq)
        line = told(control)
        assert line["says"].startswith(says[name].split("{")[0]), name
        assert line["met"] == (name == "right")
