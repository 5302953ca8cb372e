"""Lessons: data whose numbers come from the rules and the model; predictions kept and compared."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from tests.lesson_screen import LESSON, answer, ask, page, scenes
from workbook.core.answer_sheet import AnswerFileError, read_answers
from workbook.display.cards import Shown, shown
from workbook.lesson.page import LOOKED, UNSURE, open_page, pressure, texts
from workbook.physics import Circuit, set_peep, set_pip, set_relief, steady_reading
from workbook.rules import Basis, editions
from workbook.units.setup import practice

pytestmark = pytest.mark.slow


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
    assert source.count('practise("next")') == 1


def test_every_prediction_is_complete():
    """Each has a scene the device knows, a reason with its rule, and an option that is shown."""
    data = texts(LESSON)
    for table in data["predict"]:
        assert {*table["scene"]} <= {*data["does"]}, table["id"]
        assert table["explain"]
        assert table.get("rules") or table.get("steps") or table.get("fold")
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


@pytest.mark.parametrize("edition", list(editions()))
def test_the_law_of_flow_and_peep_is_told_as_the_model_has_it(edition):
    """Half as much flow again: more than double; from about twice on, less than the square."""
    n = scenes(edition).numbers
    made = set_relief(Circuit(n["flow"]), n["relief"])
    made = set_peep(set_pip(made, n["pip"]), n["peep"])
    shown_at = {k: steady_reading(made.at(k * n["flow"]), held=False) for k in (1.5, 1.8, 2.5, 3)}
    assert shown_at[1.5] > 2 * n["peep"]
    assert shown_at[1.8] == pytest.approx(1.8**2 * n["peep"], rel=0.05)
    assert shown_at[2.5] < 0.8 * 2.5**2 * n["peep"]
    assert shown_at[3] < 0.6 * 3**2 * n["peep"]


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
    """“Your answer: …; the gauge shows …”, without a mark of right or wrong."""
    table = lesson.data["predict"][n]
    lesson.predict(table["id"])
    lesson.explain(table["id"])
    control = screen.control(table["id"])
    value = next(o for o in table["options"] if o != table["shows"])
    answer(control, value)
    feedback = ask(control)
    assert feedback["heading"].startswith("Your answer: ")
    assert table["surprise"] in feedback["heading"]
    assert feedback["lines"] == []
    assert table.get("title", lesson.data["words"]["title"]) in screen.text
    assert lesson.scenes.fill(table["explain"][0]) in screen.text
    shown = "".join(each.html + each.text for each in screen.shown if isinstance(each, Shown))
    assert "Source" in shown or Basis.PRACTICE.says in shown


@pytest.mark.parametrize("n", range(7))
def test_somebody_who_cannot_predict_says_so_and_is_shown_why(n, lesson, screen):
    """The explanation has no other door: no fold, and nothing said of an expectation."""
    table = lesson.data["predict"][n]
    lesson.predict(table["id"])
    lesson.explain(table["id"])
    control = screen.control(table["id"])
    assert control.options[-1]["id"] == UNSURE
    assert not any("<details>" in s.html for s in screen.shown if isinstance(s, Shown))
    answer(control, UNSURE)
    heading = ask(control)["heading"]
    assert not heading.startswith("Your answer")
    assert lesson.scenes.fill(table["explain"][0]) in screen.text


@pytest.mark.parametrize("n", range(7))
def test_a_prediction_that_agrees_is_told_so(n, lesson, screen):
    """Whoever expected what the gauge shows reads that, not the surprise."""
    table = lesson.data["predict"][n]
    lesson.predict(table["id"])
    control = screen.control(table["id"])
    answer(control, table["shows"])
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
    assert screen.control(table["id"]).feedback["heading"].startswith("Your answer: Zero")
    assert lesson.data["words"]["title"] in screen.text
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
