"""When to test again: dates from the rules, and a refresher of what went wrong.

The times are checked against what they were inferred from: McCaw 2023 (10.1186/s41077-023-00244-5:
slower at 2 months) and Briggs 2021 (PAMJ 38:75: most of the loss at 3 months), held as the rules
`fact.fade.*`.
"""

from __future__ import annotations

import shutil
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from graders.cli import main
from graders.course.coursefolder import CourseFolder, lay_out
from graders.learner.history import FOLDER
from graders.learner.refresher import refresher
from graders.learner.retest import Due, later, retest, window
from graders.marking.graded import Graded, write_verdict
from graders.marks.verdict import Finding, Verdict
from tests.lab_course import COURSE, UNIT, marked
from workbook.rules import rulebook
from workbook.rules.site.protocol import overlay
from workbook.rules.site.protocolfile import read_protocol

BOOK = rulebook("aha-2020")
SITE = """
[protocol]
edition = "aha-2020"
title = "Times of an invented hospital"
approved_by = "nobody real"
review_by = 2099-01-15
source = "Invented for this test"

[[replace]]
rule = "retest.interval"
unit = "month"
value = 2
"""
DAYS = st.dates(date(2020, 1, 1), date(2040, 12, 31))


def work(day: str, ready: bool = True, unit: str = "u") -> Graded:
    finding = Finding("f", ready, "Said.", float(ready), 1.0)
    return Graded("ada", unit, "e", (Verdict("q", (finding,)),), (), day, "d", "1")


def due(on: str, *works: Graded, units: tuple[str, ...] = ("u",), **more):
    tries = {unit: [one for one in works if one.unit == unit] for unit in units}
    return retest("ada", tries, BOOK, needed=0.8, on=date.fromisoformat(on), **more)


@given(DAYS, st.integers(0, 60))
def test_months_are_added_as_calendars_do(day, months):
    """Reference: dateutil, which clips to the last day of a short month."""
    assert later(day, months) == day + relativedelta(months=months)


def test_the_first_test_comes_before_the_loss_that_was_published():
    """Four to eight weeks; slower first inflations were seen at two months (McCaw 2023)."""
    first, last = window([date(2026, 1, 31)], BOOK)
    assert (first, last) == (date(2026, 2, 28), date(2026, 3, 28))
    assert last <= later(date(2026, 1, 31), 2)


def test_later_tests_come_each_three_months_and_none_after_six():
    """FACTS: most is lost by 3 months (Briggs 2021), and skill fades within 6 to 12."""
    assert window([date(2025, 8, 31), date(2025, 11, 30)], BOOK) == (
        date(2026, 2, 28), date(2026, 5, 30)
    )  # fmt: skip


def test_a_leap_day_has_a_day_after():
    """29 February, three months on."""
    assert window([date(2023, 11, 1), date(2024, 2, 29)], BOOK)[0] == date(2024, 5, 29)


@pytest.mark.parametrize(
    ("on", "state"),
    [
        ("2026-01-09", Due.NEVER), ("2026-02-06", Due.LATER), ("2026-02-07", Due.DUE),
        ("2026-03-07", Due.DUE), ("2026-03-08", Due.OVERDUE),
    ],
)  # fmt: skip
def test_a_learner_is_due_from_the_fourth_week_and_overdue_after_the_eighth(on, state):
    """Before the work was handed in there is nothing to test again."""
    assert due(on, work("2026-01-10 08:00:00 UTC")).state is state


def test_every_unit_must_have_been_ready_once():
    """The last of the units to be ready starts the time."""
    one, two = work("2026-01-10", unit="a"), work("2026-02-10", unit="b")
    assert due("2026-03-01", one, units=("a", "b")).state is Due.NEVER
    both = due("2026-03-20", one, two, units=("a", "b"))
    assert both.shown == (date(2026, 2, 10),)
    assert both.due == date(2026, 3, 10)


def test_a_later_ready_attempt_or_an_observation_starts_the_time_anew():
    """A failed attempt does not."""
    first, again, failed = work("2026-01-10"), work("2026-03-01"), work("2026-04-01", ready=False)
    plan = due("2026-05-01", first, again, failed)
    assert plan.shown[-1] == date(2026, 3, 1)
    assert plan.due == date(2026, 6, 1)
    seen = due("2026-05-01", first, observed=[date(2026, 4, 20), date(2026, 6, 1)])
    assert seen.shown == (date(2026, 1, 10), date(2026, 4, 20))


def test_work_of_an_unknown_day_starts_nothing():
    """There is no time to count from."""
    assert due("2026-05-01", work("")).state is Due.NEVER


@given(DAYS, DAYS)
def test_the_next_test_never_comes_before_the_last_nor_after_the_limit(one, other):
    """Whatever days it was shown on."""
    shown = sorted([one, other])
    first, last = window(shown, BOOK)
    assert shown[-1] < first <= last <= later(shown[-1], 6)


def test_a_site_may_set_its_own_interval(tmp_path):
    """By protocol, as any other rule; the edition's stays readable."""
    (tmp_path / "site.toml").write_text(SITE, encoding="utf-8")
    book = overlay(BOOK, read_protocol(tmp_path / "site.toml"))
    shown = [date(2025, 8, 1), date(2025, 11, 1)]
    assert window(shown, book)[0] == date(2026, 1, 1)
    assert window(shown, BOOK)[0] == date(2026, 2, 1)


def test_no_interval_of_a_site_leads_past_the_limit(tmp_path):
    """Nine months between two tests: the next is due after six all the same, on one last day."""
    site = SITE.replace("value = 2", "value = 9")
    (tmp_path / "site.toml").write_text(site, encoding="utf-8")
    book = overlay(BOOK, read_protocol(tmp_path / "site.toml"))
    shown = [date(2025, 8, 1), date(2025, 11, 1)]
    assert window(shown, book) == (date(2026, 5, 1), date(2026, 5, 1))


# --- the refresher


def test_a_refresher_begins_with_what_was_unsafe():
    """An unsafe belief comes before one that is not; what was right is left out."""
    unsafe, safe = marked("ada", "peep-before-pip"), marked("ada", "falls-to-zero")
    made = refresher("ada", [unsafe], BOOK, course="may", on=date(2026, 5, 4))
    wrong = {v.question for v in unsafe.verdicts if any(not f.met for f in v.findings)}
    assert {item.question for item in made.items} <= wrong
    assert made.items[0].question in {v.question for v in unsafe.verdicts if v.unsafe}
    assert len(made.items) <= BOOK["retest.questions"].band[1]
    other = refresher("ada", [safe], BOOK, course="may", on=date(2026, 5, 4))
    assert "1_setup_order.ipynb" in other.items[0].read


def test_a_refresher_is_the_same_for_the_same_day_and_has_a_course_of_its_own():
    """Fresh cases: they are drawn for another course id."""
    one = marked("ada", "peep-before-pip")
    made = [refresher("ada", [one], BOOK, course="m" * 40, on=date(2026, 5, 4)) for _ in "ab"]
    assert made[0] == made[1]
    assert made[0].course.endswith("-r2026-05")
    assert len(made[0].course) == 40


def test_who_had_everything_right_keeps_one_question_a_unit():
    """Nobody goes without."""
    made = refresher("ada", [marked("ada", "")], BOOK, course="may", on=date(2026, 5, 4))
    assert [item.unit for item in made.items] == [UNIT]


# --- the command


@pytest.fixture
def course(tmp_path: Path) -> CourseFolder:
    """Return a course in which one learner was ready in May and one never."""
    path = tmp_path / "may"
    path.mkdir()
    lay_out(path, COURSE)
    for learner, holds in (("ada", ""), ("bo", "peep-before-pip")):
        home = path / FOLDER / learner / UNIT
        home.mkdir(parents=True)
        write_verdict(marked(learner, holds), home, "one.json")
    return CourseFolder(path)


def told(*command: object, code: int = 0) -> str:
    done = CliRunner().invoke(main, ["due", *map(str, command)])
    assert done.exit_code == code, done.output
    return done.output


def test_the_command_lists_who_is_due_and_writes_everyone(course, tmp_path):
    """As of a day of the coordinator's choosing, which it says."""
    said = told("--course", course.path, "--on", "2026-06-10", "--csv", tmp_path / "due.csv")
    assert "Due: 1, Not ready yet: 1" in said
    assert "As of 2026-06-10, which is past" in said
    assert "ada: Last shown on 2026-05-04. Due now: test again by 2026-06-29." in said
    lines = (tmp_path / "due.csv").read_text("utf-8-sig").splitlines()
    assert [line.split(",")[0] for line in lines] == ["learner", "ada", "bo"]
    assert "to come" in told("--course", course.path, "--on", "2099-01-01")


def test_the_command_tells_a_learners_refresher_with_the_command_that_gives_it_out(course):
    """What to do again, why, what to read, and how."""
    said = told("--course", course.path, "--refresher", "bo", "--on", "2026-06-10")
    assert "1. 1_setup_order, " in said
    assert "Read first: lesson 1_setup_order.ipynb" in said
    assert f"--id may-r2026-06 --edition {COURSE.edition} 1_setup_order" in said


def test_mistakes_are_said_in_a_sentence(course, tmp_path):
    """No such day, nobody of that id, nothing graded, no course."""
    assert "'2026-02-30' is no day" in told("--on", "2026-02-30", code=2)
    assert "zoe: nothing is graded" in told("--course", course.path, "--refresher", "zoe", code=1)
    shutil.rmtree(course.path / FOLDER)
    assert "Nobody has handed in" in told("--course", course.path, code=1)
    assert "course.toml" in told("--course", tmp_path / "none", code=1)
