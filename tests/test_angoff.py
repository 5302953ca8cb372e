"""Pass marks from judges' estimates: the worked example, the published end-points, bad sheets."""

from __future__ import annotations

import csv
import math
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from graders.cli import main
from graders.marking.exercise import points
from graders.passmark.angoff import (
    AngoffError,
    Panel,
    SheetError,
    cut,
    disputed,
    doubts,
    far,
    lowered,
    units,
)
from graders.passmark.sheet import course_points, read_sheets, template
from graders.tasks import work
from workbook.cases import case, exercises
from workbook.course.settings import Course, read_course
from workbook.rules import rulebook

BOOK = rulebook("aha-2020")
UNIT = "4_rate_counting"

# A worked example: three judges, five questions of one point.
TOY = {
    "A": [0.6, 0.7, 0.8, 0.5, 0.9],
    "B": [0.5, 0.8, 0.7, 0.6, 0.8],
    "C": [0.7, 0.6, 0.9, 0.5, 0.9],
}


def panel(said: dict[str, list[float]], weights: list[float] | None = None) -> Panel:
    count = len(next(iter(said.values())))
    items = [f"{UNIT}/q{k}" for k in range(count)]
    worth = dict(zip(items, weights or [1.0] * count, strict=True))
    return Panel({j: dict(zip(items, each, strict=True)) for j, each in said.items()}, worth)


def sheet(folder: Path, text: str, name: str = "sheet.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


# --- the sums


def test_the_worked_example_is_exact():
    """Judges' sums 3.5, 3.4 and 3.6 of 5: the cut is 70 %, and their spread is as by hand."""
    made = cut(panel(TOY))
    assert [5 * mark for mark in made.judges.values()] == pytest.approx([3.5, 3.4, 3.6], abs=1e-12)
    assert made.share == pytest.approx(0.7, abs=1e-12)
    assert made.points == pytest.approx(3.5, abs=1e-12)
    assert made.sd == pytest.approx(0.02, abs=1e-12)  # 0.70, 0.68, 0.72: sum of squares 8e-4 over 2
    assert made.error == pytest.approx(0.02 / math.sqrt(3), abs=1e-12)
    assert (made.low, made.high) == pytest.approx((0.68, 0.72), abs=1e-12)


def test_the_published_end_point_of_the_individual_panel():
    """Adv Med Educ Pract 2013;4:195, DOI 10.2147/AMEP.S46705: 56.75 - 4.57 = 52.18, or 52.

    The abstract gives the end-points; these three judges are made to have that mean and error.
    """
    off = 4.57 * math.sqrt(3) / 100
    made = cut(panel({"A": [0.5675 - off], "B": [0.5675], "C": [0.5675 + off]}, [100]))
    assert made.points == pytest.approx(56.75, abs=1e-9)
    assert made.possible * made.error == pytest.approx(4.57, abs=1e-9)
    assert 100 * lowered(made) == pytest.approx(52.18, abs=1e-9)
    assert round(100 * lowered(made)) == 52


def test_points_weigh_the_estimates():
    """Two points at 50 % and eight at 100 % make 90 %, not 75 %."""
    assert cut(panel({"A": [0.5, 1.0]}, [2, 8])).share == pytest.approx(0.9)


def test_one_judge_has_a_mark_but_no_spread():
    """No division by zero; nothing can be taken off."""
    made = cut(panel({"A": [0.5, 0.7]}))
    assert (made.sd, made.error, made.apart) == (None, None, {})
    assert made.share == pytest.approx(0.6)
    with pytest.raises(AngoffError, match="Ask another"):
        lowered(made)
    assert doubts(made, BOOK)[0].startswith("Only 1 judge:")


def test_no_judge_and_no_question_are_refused():
    """There is no mean of nothing."""
    for empty in (Panel({}, {"a/b": 1.0}), Panel({"A": {}}, {})):
        with pytest.raises(AngoffError, match="no judge"):
            cut(empty)


def test_each_unit_has_its_own_mark():
    """The whole weighs units by their points."""
    made = Panel({"A": {"x/1": 1.0, "y/1": 0.0}}, {"x/1": 3.0, "y/1": 1.0})
    assert units(made) == ("x", "y")
    assert (cut(made, "x").share, cut(made, "y").share, cut(made).share) == (1, 0, 0.75)


def test_a_judge_far_from_the_rest_is_named():
    """By the median of the others, so that one strict judge does not make all others lenient."""
    made = cut(panel({"A": [0.7], "B": [0.72], "C": [0.71], "D": [0.95]}))
    assert far(made, BOOK) == ("D",)
    assert made.apart["D"] == pytest.approx(0.24)
    assert any(said.startswith("D lies 24.0 %") for said in doubts(made, BOOK))
    assert far(cut(panel({"A": [0.2], "B": [0.9]})), BOOK) == ()


def test_about_fifteen_judges_are_enough():
    """Shulruf 2016, DOI 10.1186/s12909-016-0656-7: about 15 mixed judges."""
    few = cut(panel({f"J{n}": [0.7] for n in range(14)}))
    assert "about 15 judges" in doubts(few, BOOK)[0]
    assert doubts(cut(panel({f"J{n}": [0.7] for n in range(15)})), BOOK) == ()


def test_what_judges_see_most_differently_comes_first():
    """Only questions on which they differ."""
    found = disputed(panel({"A": [0.2, 0.5, 0.5], "B": [0.9, 0.5, 0.6]}), 5)
    assert [(d.item[-2:], d.low, d.high) for d in found] == [("q0", 0.2, 0.9), ("q2", 0.5, 0.6)]


SHARES = st.floats(0, 1)


@given(st.integers(1, 6).flatmap(lambda k: st.tuples(
    st.lists(st.lists(SHARES, min_size=k, max_size=k), min_size=2, max_size=8),
    st.lists(st.floats(0.5, 10), min_size=k, max_size=k),
)))  # fmt: skip
@settings(deadline=None)
def test_a_cut_is_what_numpy_makes_of_it(made):
    """The weighted mean and its spread agree with numpy; the mark lies among the judges."""
    said, weights = made
    ours = cut(panel({f"J{n}": each for n, each in enumerate(said)}, weights))
    marks = np.average(np.array(said), axis=1, weights=weights)
    assert ours.share == pytest.approx(marks.mean(), abs=1e-9)
    assert ours.sd == pytest.approx(marks.std(ddof=1), abs=1e-7)
    assert ours.low - 1e-12 <= ours.share <= ours.high + 1e-12
    assert 0 <= lowered(ours) <= ours.share


# --- the sheets

SMALL_POINTS = {"u/a": 2.0, "u/b": 1.0}
SAME = {"A": {"u/a": 0.7, "u/b": 0.05}}
SHEETS = {
    "shares": "judge,item,estimate\nA,u/a,0.7\nA,u/b,0.05\n",
    "percentages": "judge,item,estimate\nA,u/a,70\nA,u/b,5\n",
    "per cent signs": "judge,item,estimate\nA,u/a,70 %\nA,u/b,5%\n",
    "a sign beside shares": "judge,item,estimate\nA,u/a,70%\nA,u/b,.05\n",
    "semicolons and decimal commas": 'judge;item;estimate\r\nA;u/a;0,7\r\nA;u/b;"0,05"\r\n',
    "a mark at the start": "\ufeffjudge,item,estimate\nA,u/a,0.7\nA,u/b,0.05\n",
    "other columns, other order": "note,Estimate,ITEM,Judge\n,0.7,u/a,A\nx,0.05,u/b,A\n",
    "empty lines and spaces": "judge,item,estimate\n\n A , u/a , 0.7 \n,,\nA,u/b,0.05\n",
    "tabs": "judge\titem\testimate\nA\tu/a\t0.7\nA\tu/b\t0.05\n",
}


@pytest.mark.parametrize("text", SHEETS.values(), ids=SHEETS)
def test_every_way_of_writing_a_sheet_gives_the_same_panel(text, tmp_path):
    """As spreadsheets of different countries save it."""
    made = read_sheets([sheet(tmp_path, text)], SMALL_POINTS)
    assert made.estimates["A"] == pytest.approx(SAME["A"])


def test_copies_filled_in_by_several_judges_go_together(tmp_path):
    """A judge left empty is the file's name; each file may be in shares or in percent."""
    one = sheet(tmp_path, "judge,item,estimate\n,u/a,0.7\n,u/b,1\n", "ana.csv")
    two = sheet(tmp_path, "judge,item,estimate\n,u/a,60\n,u/b,0\n", "ハシバミ.csv")
    made = read_sheets([one, two], SMALL_POINTS)
    wanted = {"ana": {"u/a": 0.7, "u/b": 1}, "ハシバミ": {"u/a": 0.6, "u/b": 0}}
    assert made.estimates == wanted


GOOD = "judge,item,estimate\nA,u/a,0.7\nA,u/b,0.5\n"
BAD = {
    "no such column": ("name,item,estimate\nA,u/a,0.7\n", "no column judge"),
    "nothing at all": ("", "no column judge or item or estimate"),
    "only a head": ("judge,item,estimate\n", "has no estimates"),
    "an unknown question": (GOOD + "A,u/c,0.5\n", "line 4: 'u/c' is not a question here"),
    "no question": (GOOD + "A,,0.5\n", "line 4: the item is empty"),
    "a near miss": (GOOD + "A,u/aa,0.5\n", "did you mean u/a"),
    "twice": (GOOD + "A,u/b,0.5\n", "line 4: A estimates u/b a second time"),
    "a gap": ("judge,item,estimate\nA,u/a,0.7\n", "A gives no estimate for u/b"),
    "no estimate": ("judge,item,estimate\nA,u/a,\nA,u/b,1\n", "line 2: the estimate is empty"),
    "below nothing": ("judge,item,estimate\nA,u/a,-0.1\nA,u/b,1\n", "'-0.1' is no estimate"),
    "more than all": ("judge,item,estimate\nA,u/a,101\nA,u/b,50\n", "'101' is more than all"),
    "words": ("judge,item,estimate\nA,u/a,most\nA,u/b,1\n", "'most' is no estimate"),
    "not a number": ("judge,item,estimate\nA,u/a,nan\nA,u/b,1\n", "'nan' is no estimate"),
    "a short line": ("judge,item,estimate\nA,u/a\nA,u/b,1\n", "the estimate is empty"),
    "shares among percentages": ("judge,item,estimate\nA,u/a,70\nA,u/b,0.5\n", "mixes shares"),
    "a judge beyond bounds": (f"judge,item,estimate\n{'J' * 61},u/a,0.5\n", "name the judge"),
    "a control character": (GOOD + "A\x07,u/a,0.5\n", "name the judge"),
}  # fmt: skip


@pytest.mark.parametrize(("text", "says"), BAD.values(), ids=BAD)
def test_a_mistake_is_named_with_its_place(text, says, tmp_path):
    """Each mistake has a sentence of its own, and no number comes of the sheet."""
    with pytest.raises(SheetError) as caught:
        read_sheets([sheet(tmp_path, text)], SMALL_POINTS)
    assert says in str(caught.value)
    assert all(problem.endswith((".", "?")) for problem in caught.value.problems)


def test_all_mistakes_are_named_at_once(tmp_path):
    """One round of mending is enough, whatever went wrong in whichever file."""
    one = sheet(tmp_path, "judge,item,estimate\nA,u/x,0.7\nA,u/a,2%%\nB,u/a,0.5\n", "one.csv")
    gone = tmp_path / "gone.csv"
    binary = tmp_path / "binary.csv"
    binary.write_bytes(b"\xff\xfe\x00judge")
    with pytest.raises(SheetError) as caught:
        read_sheets([one, gone, binary], SMALL_POINTS)
    said = str(caught.value)
    assert "6 mistakes" in said
    for part in ("u/x", "2%%", "A gives no", "B gives no", "gone.csv cannot", "binary.csv cannot"):
        assert part in said


def test_a_huge_file_is_not_read(tmp_path):
    """A wrong file picked by accident ends in a sentence, not in a full memory."""
    path = sheet(tmp_path, "judge,item,estimate\n" + "A,u/a,0.5\n" * 600_000)
    with pytest.raises(SheetError, match="far larger"):
        read_sheets([path], SMALL_POINTS)


def test_the_empty_sheet_names_every_question_with_its_points(tmp_path):
    """Filled in with anything sound, it can be read back."""
    course = Course("test", units=(UNIT, "1_setup_order"))
    text = template(course)
    rows = list(csv.DictReader(text.splitlines()))
    wanted = {f"{u}/{q}": p for u in course.units for q, p in points(u).items()}
    assert {row["item"]: float(row["points"]) for row in rows} == wanted
    drawn = case("test", UNIT, "judge", course.book)
    asks = {row["item"]: row["asks"] for row in rows}
    assert all(asks[f"{UNIT}/{q.id}"] == q.label for q in drawn.questions)
    filled = text.replace(",,", ",0.7,")
    made = read_sheets([sheet(tmp_path, filled)], course_points(course.units))
    assert cut(made).share == pytest.approx(0.7)


# --- the command


def run(*words: str) -> tuple[int, str]:
    result = CliRunner().invoke(main, ["angoff", *words])
    return result.exit_code, result.output


def filled(folder: Path, name: str, share: float, names: tuple[str, ...] = (UNIT,)) -> str:
    lines = [f"{name},{item},{share}" for item in course_points(names)]
    path = sheet(folder, "\n".join(["judge,item,estimate", *lines]), f"{name}.csv")
    return str(path)


def test_the_command_prints_the_mark_and_the_spread(tmp_path):
    """Judges, spread, doubts; units are those the sheets name."""
    sheets = [filled(tmp_path, name, share) for name, share in (("A", 0.7), ("B", 0.8))]
    code, said = run(*sheets, "--less-error")
    assert code == 0
    assert "Pass mark: 75.00 % of the points" in said
    assert "2 judges and 9 questions" in said
    assert "from 70.0 % to 80.0 %" in said
    assert "Less one standard error: 70.00 %" in said
    assert "Only 2 judges: about 15" in said


def test_the_command_ends_in_sentences_on_mistakes(tmp_path):
    """No traceback, a non-zero exit, and what to do."""
    bad = sheet(tmp_path, "judge,item,estimate\nA,u/a,most\n")
    for words, says in (
        ([str(bad)], "'most' is no estimate"),
        ([filled(tmp_path, "A", 0.7), "--set"], "Name its folder with --course"),
        ([filled(tmp_path, "A", 0.7), "--course", str(tmp_path)], "is not a course folder"),
        ([filled(tmp_path, "A", 0.7), "--less-error"], "Ask another"),
        ([str(bad), "--template"], "exists already"),
        (["a.csv", "b.csv", "--template"], "Name one file"),
    ):
        code, said = run(*words)
        assert code == 1
        assert says in said
        assert "Traceback" not in said


def test_the_command_writes_an_empty_sheet(tmp_path):
    """All units without a course, those of the course with one."""
    path = tmp_path / "sheet.csv"
    code, said = run(str(path), "--template")
    assert code == 0, said
    rows = list(csv.DictReader(path.read_text("utf-8-sig").splitlines()))
    assert {row["item"].split("/")[0] for row in rows} == set(exercises())


def test_the_mark_is_set_as_the_course_command_sets_it(tmp_path, monkeypatch):
    """It goes through work.assign, to four digits, and is said; a mark of nothing is refused."""
    folder = tmp_path / "course"
    folder.mkdir()
    (folder / "course.toml").write_text(Course("may", units=(UNIT,)).text())
    calls = []

    def assign(path: Path, *, pass_mark: float, even_so: bool):
        assert even_so  # judges meant it, however low
        calls.append(pass_mark)
        (path / "course.toml").write_text(Course("may", units=(UNIT,), pass_mark=pass_mark).text())
        return work.CourseFolder(path)

    monkeypatch.setattr(work, "assign", assign)
    sheets = [filled(tmp_path, n, s) for n, s in (("A", 0.7), ("B", 0.8), ("C", 0.8))]
    code, said = run(*sheets, "--course", str(folder), "--set")
    assert code == 0, said
    assert calls == [0.7667]
    assert read_course(folder).needed == 0.7667
    assert "now 76.67 %" in said
    code, said = run(filled(tmp_path, "Z", 0), "--course", str(folder), "--set")
    assert code == 1
    assert "everybody passes" in said
    assert calls == [0.7667]
