"""The pressure lesson: everything is asked once, and says what rules and model say."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from graders.misconceptions import misconceptions
from tests.lesson_screen import TARGETS, Screen, answer, ask, page, told
from workbook.cases import case, starting
from workbook.cases.pressure_targets import EXERCISE, GAUGES
from workbook.cases.pressure_targets import TARGETS as SETS
from workbook.lesson import texts
from workbook.lesson_targets import FINDS, LESSON, TargetsLesson, open_page
from workbook.rules import editions
from workbook.rules.protocol import EXAMPLE
from workbook.target_draws import NEEDLES
from workbook.target_studies import TARGET_STUDIES
from workbook.widgets import Control

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
    assert all(code.count(f'practise_start("{part}")') == 1 for part in ("steps", "all"))
    assert [code.count(f"strip({n})") for n in (1, 2)] == [1, 1]


def test_every_prediction_is_complete():
    """Each choice that is offered and not shown has words of its own; each has a rule or cards."""
    for each in DATA["predict"]:
        assert each["explain"]
        assert each.get("rules") or each["also_shows"] in ("editions", "units", "acts")
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


# --- where a baby starts


def test_a_blank_is_said_and_the_example_stands_in_by_its_own_rules(targets_lesson, screen, book):
    """The teaching example is shown by its two rules, and where it is needed is said."""
    targets_lesson.starts()
    assert "not stated here; see the printed edition" in screen.text
    assert f"stands in, on this page and in the exercise: {book['pip.example'].text}" in screen.text
    for id in ("pip.example", "peep.example"):
        assert book[id].says in screen.text
    assert "no local protocol" in screen.text
    assert "From memory" in screen.text


def test_an_edition_without_a_blank_says_when_the_example_stands_in(tmp_path, screen):
    """The textbook gives both numbers, so nothing is said to be missing from it."""
    opened(tmp_path, "textbook-2021").starts()
    assert "gives a number for every baby" in screen.text


def test_a_sites_number_stands_beside_the_one_it_replaces(tmp_path, screen):
    """With a local protocol the card names the site, its number, and what the edition says."""
    lesson = opened(tmp_path, "aha-2020", protocol=True)
    lesson.starts()
    lesson.worked_start()
    assert "Rule of your site (Example Protocol" in screen.text
    assert f"The edition says: {lesson.book['pip.start'].replaces.text}" in screen.text
    assert DATA["worked"]["whence"]["site"] in screen.text


@pytest.mark.parametrize("part", ["steps", "all"])
def test_each_set_of_the_practice_is_told_what_is_wrong_with_it(part, targets_lesson, screen):
    """One set is right; every other is met with its own reason and what is asked for."""
    targets_lesson.practise_start(part)
    control, met = screen.control(f"start-{part}"), targets_lesson.drawn.babies[part]
    rights = 0
    for seq, (letter, each) in enumerate(targets_lesson.drawn.sets(part).items(), start=1):
        answer(control, letter, seq)
        line = told(control)
        wrong = starting.broken(each, targets_lesson.book, met)
        assert line["met"] == (not wrong)
        assert ("Asked for here is " in line["says"]) == bool(wrong)
        rights += line["met"]
    assert rights == 1


def test_the_first_practice_shows_the_rules_and_the_second_does_not(targets_lesson, screen):
    """Help fades: the table with its open last step goes with the first baby only."""
    targets_lesson.practise_start("steps")
    assert "PEEP is not added to PIP.; ?" in screen.text
    screen.shown.clear()
    targets_lesson.practise_start("all")
    assert "PEEP is not added to PIP." not in screen.text


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
        same += lesson.drawn.sets("all") in sets
        same += [*lesson.drawn.needles.values()][:3] == [graded[g].facts["value"] for g in GAUGES]
        assert len({*lesson.drawn.needles.values()}) == len(NEEDLES)
    assert same <= 1


def test_statements_about_two_editions_are_answered_one_by_one(targets_lesson, screen):
    """Only the statement with both numbers right, and neither a mistake, is met."""
    targets_lesson.practise_two()
    control, said = screen.control("two-again"), []
    for seq, option in enumerate(control.options, start=1):
        answer(control, option["id"], seq)
        line = told(control)
        said.append(line)
    assert sum(line["met"] for line in said) == 1
    says = {name: text for name, text in DATA["two"]["says"].items() if name != "heading"}
    assert {line["says"] for line in said} == {*says.values()}


def test_editions_are_compared_only_after_the_prediction(targets_lesson, screen):
    """The picture with its words and both editions' cards come with the result."""
    targets_lesson.phenomenon("predict-editions")
    assert "edition by edition" not in screen.text
    control = screen.control("predict-editions")
    answer(control, "average")
    heading = ask(control)["heading"]
    assert DATA["predict"][0]["on"]["average"] in heading
    assert "edition by edition" in screen.text
    assert screen.text.count("Source: ") >= 2


# --- the needle, and units


@pytest.mark.parametrize("id", ["read-steps", "read-all"])
def test_a_needle_misread_is_told_how(id, targets_lesson, screen):
    """Right, each mark taken for one, the nearest number, ten times off: four answers."""
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


@pytest.mark.parametrize("id", ["unit-steps", "unit-all"])
def test_a_converted_needle_is_told_each_way_to_go_wrong(id, targets_lesson, screen):
    """Left as it was, divided, or in another unit: each has its own words."""
    says, stands = DATA["read_says"]["unit"], targets_lesson.drawn.needles[id]
    unit = targets_lesson.drawn.units[id]
    each = {"mmHg": 98.0665 / 133.322387415, "kPa": 0.0980665}[unit]
    targets_lesson.read(id)
    control = screen.control(id)
    tried = [(stands * each, unit, "right"), (stands, "cmH2O", "unit")]
    tried += [(stands, unit, "tenfold" if unit == "kPa" else "alike")]
    tried += [(stands / each, unit, "backwards")] if unit == "mmHg" else []
    for seq, (typed, typed_unit, name) in enumerate(tried, start=1):
        answer(control, {"text": f"{typed:.4g}".replace(".", ","), "unit": typed_unit}, seq)
        line = told(control)
        assert line["met"] == (name == "right")
        if name != "tenfold":
            assert line["says"].startswith(says[name].split("{")[0]), name
