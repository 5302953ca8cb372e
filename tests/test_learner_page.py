"""A learner's own page: unsafe first, every finding with its rule and source, nobody compared."""

from __future__ import annotations

import json
import re
from datetime import UTC, date, datetime

import pytest
from click.testing import CliRunner

from graders.cli import main
from graders.course.coursefolder import CourseFolder
from graders.learner.page import LearnerView, learner_view
from graders.learner.retest import Retest
from graders.marking.exercise import mark_all
from graders.marking.graded import Graded
from graders.marking.personas import answers_of
from graders.marks.verdict import Finding, Verdict
from graders.report.learner_page import learner_data, learner_text
from graders.tasks import work
from tests.handover_course import UNITS, handed_in_course
from tests.lab_course import COURSE, UNIT, marked
from workbook.cases import case

pytestmark = pytest.mark.slow

AT = datetime(2026, 5, 5, 9, tzinfo=UTC)
LATER = Retest("ada", AT.date(), (date(2026, 5, 4),), date(2026, 6, 1), date(2026, 6, 29))


def view(*tries: Graded, **more) -> LearnerView:
    latest = {tries[-1].unit: tries[-1]} if tries else {}
    return learner_view("ada", COURSE, {UNIT: tries}, latest, retest=LATER, **more)


def page(made: LearnerView) -> str:
    return learner_text(made, made_at=AT, version="1")


def one(finding: Finding, said: str = "", **more) -> Graded:
    verdicts = (Verdict("order", (finding,)),)
    about = {"said": {"order": said}, **more}
    return Graded("ada", UNIT, "aha-2020", verdicts, (), "2026-05-04", "d", "1", **about)


def words(html: str) -> str:
    body = html.partition("<main")[2]
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body))


def test_what_could_harm_comes_first_with_belief_rule_source_and_place_to_read():
    """The finding, what was believed, what is true, where to read, and the rule in words."""
    made = view(marked("ada", "peep-before-pip"))
    text = words(page(made))
    assert "Something here could harm a baby" in text
    assert made.next.startswith("Unsafe act first")
    for says in (
        "PEEP can be set before PIP",
        "PEEP is set after PIP",
        "The order that looks right",
    ):
        assert says in text
    missed = [t for q in made.parts[0].again for t in q.missed]
    assert missed[0].unsafe
    assert all(t.rule for t in missed if t.finding.rule)
    assert all(t.finding.source in text for t in missed if t.finding.source)
    assert "Source:" in text


def judged(question: str) -> Graded:
    """Return the work of somebody right in all but a critical guess about a colleague's set-up."""
    for n in range(200):
        drawn = case(COURSE.id, UNIT, f"ada{n}", COURSE.book)
        right = answers_of(drawn, COURSE.book, "")
        for option in drawn[question].options:
            verdicts = mark_all(drawn, {**right, question: option.id}, COURSE.book)
            if any(v.unsafe for v in verdicts):
                return Graded(f"ada{n}", UNIT, COURSE.edition, verdicts, (), "2026-05-04", "d", "1")
    raise AssertionError("no wrong guess there is critical")


@pytest.mark.parametrize("question", ["setup-1", "setup-2"])
def test_a_wrong_guess_about_a_colleagues_set_up_is_not_called_harm(question):
    """It comes first and keeps from the lab; what the learner's own hands did was right."""
    made = view(judged(question))
    text = words(page(made))
    assert "Look again at what your colleague did" in text
    assert "Something was overlooked in a colleague" in text
    assert "could harm a baby" not in text
    assert "Unsafe act" not in text
    assert not made.ready
    assert not made.parts[0].ready
    assert "Unsafe act" not in made.next


def test_what_ones_own_hands_did_has_a_heading_of_its_own():
    """A run at the bench is no choice from a list."""
    text = words(page(view(marked("ada", "peep-before-pip"))))
    assert "What your hands did here could harm a baby" in text
    assert "This could harm a baby" in text


def test_the_needle_stands_beside_the_finding_it_explains():
    """Where hands were at the bench the page has the little trace, with its words."""
    html = page(view(marked("ada", "peep-before-pip")))
    assert "<figure" in html
    assert "the needle went from" in words(html)


def test_who_is_ready_reads_so_and_when_the_next_test_comes():
    """Ready is said with what it does not mean."""
    text = words(page(view(marked("ada", ""))))
    assert "You are ready for the skills lab" in text
    assert "Ready for the lab is not competent" in text
    assert "test again between 2026-06-01 and 2026-06-29" in text
    assert "Everything was right" in text


def test_nobody_is_compared():
    """No rank, no mean, no other learner."""
    text = words(page(view(marked("ada", "falls-to-zero")))).lower()
    for word in ("rank", "average", "others", "percentile", "group", "best of"):
        assert word not in text


def test_attempts_are_listed_with_what_was_gained():
    """First and latest, in percent points."""
    first, second = marked("ada", "peep-before-pip"), marked("ada", "")
    made = view(first, second)
    gain = made.parts[0].gain
    assert gain == pytest.approx(100 * (second.earned - first.earned) / first.possible, abs=0.11)
    assert f"{gain:+g} percent points" in words(page(made))


def test_nothing_handed_in_is_said_with_what_to_do():
    """No question, no points, the thing to do."""
    text = words(page(view()))
    assert "Nothing is marked yet" in text
    assert f"Open the exercise {UNIT}.ipynb" in text


def test_a_file_that_could_not_be_read_says_why():
    """The problem stands on the page; an attempt without a usable file has no percent."""
    broken = Graded("ada", UNIT, "aha-2020", (), ("It is cut short.",), "2026-05-04", "", "1")
    made = view(broken, marked("ada", ""))
    assert made.parts[0].tries[0].percent is None
    assert made.parts[0].gain is None
    assert "It is cut short." in words(page(view(broken)))


def test_hostile_text_is_shown_and_never_run():
    """Markup in an answer, half a character, a control sign, a belief of another version."""
    bad = one(
        Finding("c", False, "<b>no</b>", misconception="of-the-future", rule="no.such.rule"),
        "<script>alert(1)</script>\ud800\x07",
    )
    html = page(view(bad, name="<img src=x onerror=alert(1)>"))
    assert "<script>alert" not in html
    assert "<img" not in html
    assert "&lt;b&gt;no&lt;/b&gt;" in html
    html.encode(errors="replace")
    json.loads(learner_data(view(bad), made_at=AT, version="1").encode(errors="replace"))


def test_a_humans_score_stands_and_lifts_no_unsafe_act():
    """The gradebook's points are shown; the unsafe act still keeps the learner from being ready."""
    made = view(marked("ada", "peep-before-pip"), scores={UNIT: 30.0})
    assert made.parts[0].score == 30.0
    assert not made.parts[0].ready
    assert "30 of 32 points" in words(page(made))


def test_the_data_says_what_the_page_says():
    """For the learner to keep, read by any program."""
    made = view(marked("ada", "peep-before-pip"))
    data = json.loads(learner_data(made, made_at=AT, version="1"))
    assert data["next"] == made.next
    (unit,) = data["units"]
    assert sum(q["earned"] for q in unit["questions"]) == pytest.approx(made.parts[0].work.earned)
    assert {q["question"] for q in unit["questions"]} == {
        v.question for v in made.parts[0].work.verdicts
    }


# --- the command, and the learner's folder


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> CourseFolder:
    """Return a course graded for real."""
    return handed_in_course(tmp_path_factory.mktemp("pages") / "may")


def told(*command: object, code: int = 0) -> str:
    done = CliRunner().invoke(main, ["pages", *map(str, command)])
    assert done.exit_code == code, done.output
    return done.output


def test_the_command_writes_a_page_and_its_data_for_each(course):
    """Everyone with marked work; the page names its learner and nobody else."""
    assert "4 pages" in told("--course", course.path)
    home = course.path / "pages"
    ids = {"ada.q7", "bo.q7", "cy.q7", "eve.q7"}
    assert {p.stem for p in home.glob("*.html")} == {p.stem for p in home.glob("*.json")} == ids
    for path in home.iterdir():
        text = path.read_text("utf-8")
        assert not [id for id in ids - {path.stem} if id in text]


def test_the_command_writes_one_page_when_asked(course, tmp_path):
    """And says which id has nothing."""
    assert "1 pages" in told("--course", course.path, "--learner", "ada.q7")
    said = told("--course", course.path, "--learner", "zoe", code=1)
    assert "zoe: nothing is graded" in said
    empty = work.assign(tmp_path / "empty", course_id="e", title="E", units=UNITS[:1])
    assert "Nobody has handed in" in told("--course", empty.path, code=1)
