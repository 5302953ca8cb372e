"""The page on the questions: whole in every kind of group, escaped, and true to the figures."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from itertools import pairwise

import numpy as np
import pytest

from graders.course.coursefolder import Person
from graders.items.forms import FormStudy, Played
from graders.items.gains import Gain
from graders.items.intervals import Estimate
from graders.items.scores import ItemScores
from graders.marking.graded import Graded
from graders.marks.verdict import Finding, Verdict
from graders.report.items_page import figure, items_text, percent, signed
from tests.report_base import tags, text_of
from workbook.cases import case
from workbook.course.settings import Course

UNIT = "1_setup_order"
COURSE = Course("test", "Invented course", units=(UNIT,))
MADE_AT = datetime(2026, 5, 5, 9, tzinfo=UTC)
QUESTIONS = tuple(q.id for q in case("test", UNIT, "a", COURSE.book).questions)
STUDY = FormStudy(
    UNIT,
    (Played("", (1.0, 1.0), (True, True), 0), Played("outlet-open", (0.9, 0.7), (True, False), 1)),
)


def graded(learner: str, earned: dict[str, float], *, unit: str = UNIT, digest: str = "x",
           belief: str = "") -> Graded:  # fmt: skip
    verdicts = tuple(
        Verdict(q, (Finding(q, e == 1, "Said.", e, 1, misconception="" if e == 1 else belief),))
        for q, e in earned.items()
    )
    return Graded(learner, unit, COURSE.edition, verdicts, (), "", digest, "1.0", {"order": "x"})


def scores_of(*every: Graded) -> ItemScores:
    scores = ItemScores()
    for one in every:
        scores.add(one)
    return scores


def group(n: int, right: float | None = None, seed: int = 1) -> list[Graded]:
    """Return learners of different skill, or all right (1) or all wrong (0)."""
    rng = np.random.default_rng(seed)
    skill = rng.normal(size=n)
    return [
        graded(
            f"l{k:02d}",
            {q: float(rng.normal() < skill[k] + 0.5) if right is None else right
             for q in QUESTIONS},
        )
        for k in range(n)
    ]  # fmt: skip


def html_of(scores: ItemScores, course: Course = COURSE, **more: object) -> str:
    return items_text(scores, course, made_at=MADE_AT, version="1.0", **more)  # type: ignore[arg-type]


GROUPS = {
    "nobody": [],
    "one learner": group(1),
    "two learners": group(2),
    "three learners": group(3),
    "a class": group(40),
    "all right": group(12, 1.0),
    "all wrong": group(12, 0.0),
    "one question": [graded(f"l{k}", {"order": float(k % 2)}) for k in range(8)],
    "nothing usable": [graded(f"l{k}", {}, digest="") for k in range(8)],
    "a unit of another version": [graded(f"l{k}", {"q": 1.0}, unit="9_gone") for k in range(8)],
    "no two alike": [graded(f"l{k}", {QUESTIONS[k]: 1.0}) for k in range(8)],
}


@pytest.mark.parametrize("every", GROUPS.values(), ids=GROUPS)
def test_every_kind_of_group_makes_a_whole_page(every):
    """One title, headings in order, ids once, links that lead somewhere, and no broken number."""
    html = html_of(scores_of(*every))
    found = tags(html)
    levels = [int(tag[1]) for tag, _ in found if re.fullmatch(r"h\d", tag)]
    assert levels.count(1) == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    ids = [attrs["id"] for _, attrs in found if "id" in attrs]
    assert len(ids) == len(set(ids))
    targets = {attrs["href"] for tag, attrs in found if tag == "a"}
    assert all(str(target).removeprefix("#") in ids for target in targets)
    assert not re.search(r"\b(nan|inf|None of None|None %)\b", text_of(html))
    assert html.count("<script") == 1
    assert "default-src 'none'" in html
    assert "script-src 'sha256-" in html
    assert "not a medical device" in text_of(html)


@pytest.mark.parametrize("n", [1, 2])
def test_figures_of_one_or_two_learners_are_not_shown(n):
    """They would be about a person."""
    text = text_of(html_of(scores_of(*group(n))))
    assert "Fewer than 3 learners" in text
    assert "alpha" not in text.split("How the figures are made", maxsplit=2)[1].split("Points")[0]
    assert "l00" not in text


def test_a_question_that_misleads_stands_first():
    """One planted question, which only the weak get right, is named at the top."""
    rng = np.random.default_rng(7)
    strong = rng.random(80) < 0.5
    every = [
        graded(f"l{k:02d}", {q: float(strong[k] if q != "reason" else not strong[k])
                             if rng.random() < 0.9 else float(rng.random() < 0.5)
                             for q in QUESTIONS})
        for k in range(80)
    ]  # fmt: skip
    html = html_of(scores_of(*every))
    assert text_of(html).count("Misleads") == 2  # in the list at the top, and in its own row
    assert f"1 of {len(QUESTIONS)} questions of 1 unit misleads" in text_of(html)
    first = html[html.index('id="first"') : html.index(f'id="u-{UNIT}"')]
    assert f"#q-{UNIT}-reason" in first


def test_a_belief_that_draws_many_is_named_by_its_title():
    """What the group believes stands beside the question that shows it."""
    every = [graded(f"l{k}", {"order": 0.0, "reason": k % 2}, belief="peep-before-pip")
             for k in range(9)]  # fmt: skip
    text = text_of(html_of(scores_of(*every)))
    assert "One belief draws many 9 of 9 answers here show the same belief." in text
    assert "It is: PEEP before PIP." in text


def test_studies_and_gains_are_told():
    """The drawn cases, whose readiness hangs on them, and each learner's change, least first."""
    gains = [Gain(f"l{k:02d}", UNIT, 0.5, 0.5 + k / 10, 2) for k in range(4)]
    people = {"l03": Person("l03", "Fern Demo")}
    text = text_of(html_of(scores_of(*group(40)), studies=[STUDY], gains=gains, people=people))
    assert "2 drawn cases were each answered by 2 scripted learners" in text
    assert "Outlet open: ready in 1 of 2 cases" in text
    assert "4 learners handed in more than once: 3 rose, 1 stayed, 0 fell" in text
    assert text.index("l00 2 1 50 % 50 %") < text.index("Fern Demo l03")
    assert "This page names people" in text
    assert "This page names nobody" in text_of(html_of(scores_of(*group(40))))


def test_gains_of_few_have_no_figures_of_a_group():
    """One learner's change is that learner's row, not a mean."""
    text = text_of(html_of(scores_of(*group(5)), gains=[Gain("l00", UNIT, 0.5, 0.7, 2)]))
    assert "Fewer than 3 learners handed in again" in text
    assert "The mean change" not in text


def test_what_others_typed_is_escaped():
    """Neither a title, an id, a question nor a name becomes markup."""
    bad = '<img src=x onerror="alert(1)">'
    course = Course("test", bad.replace('"', "'"), units=(UNIT,))
    every = [graded(f"{bad}{k}", {bad: 1.0, "order": k % 2}) for k in range(4)]
    html = html_of(
        scores_of(*every), course, gains=[Gain(bad, UNIT, 0, 1, 2)], people={bad: Person(bad, bad)}
    )
    assert "<img" not in html
    assert "&lt;img" in html


def test_the_page_is_the_same_every_time():
    """Whatever order the verdicts came in."""
    every = group(40)
    assert html_of(scores_of(*every)) == html_of(scores_of(*every[::-1]))


def test_figures_are_said_in_full():
    """A true minus, no minus before nothing, an interval in brackets, nothing for nothing."""
    assert figure(Estimate(-0.123, -0.5, 0.25)) == "\N{MINUS SIGN}0.12 (\N{MINUS SIGN}0.50 to 0.25)"
    assert figure(Estimate(-0.001)) == "0.00"
    assert figure(Estimate(None, why="Why.")) == percent(Estimate(None, why="Why.")) == ""
    assert percent(Estimate(0.5, 0.25, 0.75)) == "50\N{NO-BREAK SPACE}% (25 to 75)"
    assert [signed(x)[:2] for x in (0.1, -0.1, 0.0)] == ["+1", "\N{MINUS SIGN}1", "0\xa0"]
