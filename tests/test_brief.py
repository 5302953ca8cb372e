"""The lab brief: minutes that add up, groups that hold everyone once, and nobody made known."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from graders.cli import main
from graders.cohort.beliefs import SMALL, Belief
from graders.cohort.group import Cohort
from graders.course.roster import Person
from graders.lab.brief import Brief, brief
from graders.lab.plan import Lab, LabError, lab_of, shared, sizes, times
from graders.learner.standing import Learner, Standing
from graders.marking.exercise import mark_all
from graders.marking.personas import answers_of, played, shows
from graders.marks.misconceptions import beliefs_of, misconceptions
from graders.report.brief_page import brief_text, parts, plan, summary
from graders.report.brief_pdf import brief_pdf
from graders.report.paper import PAPERS, drawable
from tests.lab_course import LEARNERS, graded_course
from workbook.cases import case, exercises
from workbook.course.settings import Course
from workbook.rules import rulebook

pytestmark = pytest.mark.slow

UNIT = "1_setup_order"
COURSE = Course("test", "Invented course", units=(UNIT,))
BOOK = COURSE.book
NOW = datetime(2026, 5, 5, 9, tzinfo=UTC)
KNOWN = sorted(misconceptions())
NAMELESS: Mapping[str, str] = {}


def group_of(
    held: dict[str, tuple[str, ...]],
    *,
    ready: tuple[str, ...] = (),
    names: Mapping[str, str] = NAMELESS,
) -> Cohort:
    """Return a group in which each learner holds some misconceptions."""
    rows = tuple(
        Standing(
            Person(id, names.get(id, f"Name of {id}")),
            UNIT,
            "Read on.",
            handed_in=True,
            usable=True,
            misconceptions=wrong,
            ready=id in ready,
        )
        for id, wrong in held.items()
    )
    holders: dict[str, list[str]] = {}
    for id, wrong in held.items():
        for one in wrong:
            holders.setdefault(one, []).append(id)
    ids = dict.fromkeys(map(beliefs_of, holders))
    beliefs = tuple(_belief(id, holders, len(held)) for id in ids)
    learners = tuple(Learner(row.person, (row,)) for row in rows)
    return Cohort(COURSE, rows, learners, beliefs, ())


def _belief(id: str, holders: Mapping[str, list[str]], of: int) -> Belief:
    sure, slips = (tuple(holders.get(name, ())) for name in (id, f"a-slip/{id}"))
    return Belief(misconceptions()[id], (*sure, *slips), of, slips)


def ten() -> Cohort:
    """Return ten learners: four hold one belief, three another, one a third, two none."""
    held = {f"a{n}": ("falls-to-zero",) for n in range(4)}
    held |= {f"b{n}": ("peep-before-pip",) for n in range(3)}
    held |= {"c0": ("bag-not-needed",), "d0": (), "d1": ()}
    return group_of(held, ready=("d0", "d1"))


def pdf_pages(group: Cohort, paper: str = "a4", lab: Lab | None = None) -> list[str]:
    data = brief_pdf(group, made_at=NOW, version="1.0", paper=paper, lab=lab)
    return [page.extract_text() for page in PdfReader(io.BytesIO(data)).pages]


# --- minutes


@given(st.integers(20, 240), st.lists(st.floats(0, 1e6, allow_nan=False, width=32), max_size=30))
def test_the_minutes_of_a_session_are_all_its_minutes(minutes: int, weights: list[float]) -> None:
    """Check, topics, practice and talk sum to the session, and no topic is below the least."""
    made = times(minutes, weights, BOOK)
    assert made.total == minutes
    assert min(made.check, made.debrief) > 0
    assert all(each >= BOOK["lab.topic"].value for each in made.topics)
    assert len(made.topics) <= BOOK["lab.topics"].value
    assert (made.practice > 0) == (not made.topics)


@given(st.integers(0, 500), st.lists(st.integers(0, 50), min_size=1, max_size=12))
def test_what_is_shared_is_shared_whole_and_never_a_unit_off(total: int, by: list[int]) -> None:
    """Shares are whole, sum to the total, and lie less than one from the exact proportion."""
    got = shared(total, by)
    assert sum(got) == total
    if sum(by):
        exact = [total * weight / sum(by) for weight in by]
        assert all(abs(a - b) < 1 for a, b in zip(got, exact, strict=True))


def test_the_textbook_example_of_largest_remainders_is_met() -> None:
    """Votes 47000, 16000, 15900, 12000, 6000, 3100 for ten seats give 5, 2, 1, 1, 1, 0.

    Source: the usual worked example of Hare's quota with largest remainders: quota 10000, so
    4, 1, 1, 1, 0, 0 at once, then the remainders 7000, 6000 and 6000 take the three that are left.
    """
    assert shared(10, [47000, 16000, 15900, 12000, 6000, 3100]) == [5, 2, 1, 1, 1, 0]


def test_an_unsafe_belief_gets_more_time_than_a_commoner_safe_one_of_equal_weight() -> None:
    """Unsafe beliefs stand first, and weigh as the rules say; then the commonest."""
    made = brief(ten(), Lab(120, 3, 4))
    assert [t.misconception.id for t in made.topics] == [
        "peep-before-pip",
        "bag-not-needed",
        "falls-to-zero",
    ]
    given = {t.misconception.id: t.minutes or 0 for t in made.topics}
    assert given["peep-before-pip"] > given["falls-to-zero"] > given["bag-not-needed"]


def test_what_one_slip_explains_stands_last_and_is_held_against_no_step() -> None:
    """The answers of one learner, who may have slipped; of two it is a topic as any other."""
    held = {"a0": ("falls-to-zero",), "b0": ("a-slip/peep-before-pip",), "c0": ()}
    one = brief(group_of(held), Lab(120, 3, 4))
    ids = [t.misconception.id for t in (*one.topics, *one.left_out)]
    assert ids == ["falls-to-zero", "peep-before-pip"]
    assert not any(watch.count for watch in one.watch)
    two = brief(group_of(held | {"b1": ("a-slip/peep-before-pip",)}), Lab(120, 3, 4))
    assert two.topics[0].misconception.id == "peep-before-pip"
    assert any((watch.count, watch.slips) == (2, 2) for watch in two.watch)


def test_who_may_have_slipped_is_counted_apart_and_weighs_less() -> None:
    """Four who may have slipped stand after four who did not; page and paper say so."""
    held = {f"a{n}": ("a-slip/falls-to-zero",) for n in range(4)}
    held |= {f"b{n}": ("pip-plus-peep",) for n in range(4)}
    held |= {f"c{n}": (f"{'a-slip/' * (n > 1)}peep-before-pip",) for n in range(5)}
    group = group_of(held)
    ids = [topic.misconception.id for topic in brief(group).topics]
    assert ids == ["peep-before-pip", "pip-plus-peep", "falls-to-zero"]
    for text in (brief_text(group, made_at=NOW, version="1.0"), "".join(pdf_pages(group))):
        told = " ".join(text.split())
        assert "4 of 13, 4 perhaps by a slip" in told
        assert "5 of 13, 3 perhaps by a slip" in told
        assert "5 here believe otherwise, 3 perhaps by a slip" in told


@pytest.mark.parametrize(("asked", "says"), [
    ({"minutes": 5}, "minutes 5 cannot be planned with; choose 20 to 240 min."),
    ({"stations": 0}, "stations 0 cannot be planned with"),
    ({"group": 99}, "group 99 cannot be planned with; choose 2 to 8."),
])  # fmt: skip
def test_a_lab_that_cannot_be_is_refused_in_words(asked: dict[str, int], says: str) -> None:
    """A number outside the rules is named with what may be chosen; all of them at once."""
    with pytest.raises(LabError) as caught:
        lab_of(BOOK, **asked)
    assert says in str(caught.value)


def test_every_mistake_of_a_lab_is_told_at_once() -> None:
    """Three numbers that cannot be give three sentences."""
    with pytest.raises(LabError) as caught:
        lab_of(BOOK, minutes=-1, stations=-1, group=0)
    assert str(caught.value).count("cannot be planned with") == 3


# --- groups

GROUPS = st.dictionaries(
    st.from_regex(r"[a-z][a-z0-9]{0,5}", fullmatch=True),
    st.lists(st.sampled_from(KNOWN), max_size=3, unique=True).map(tuple),
    max_size=40,
)


@settings(max_examples=60, deadline=None)
@given(GROUPS, st.integers(1, 20), st.integers(2, 8), st.randoms(use_true_random=False))
def test_everyone_is_in_exactly_one_group(held, stations, size, random) -> None:
    """Groups part the learners, are balanced, not-ready first, and the same every time."""
    ready = tuple(id for id in held if random.random() < 0.4)
    made = brief(group_of(held, ready=ready), Lab(60, stations, size))
    where = [(g, p.learner) for g in made.groups for p in g.people]
    assert sorted(id for _, id in where) == sorted(held)
    counts = [len(g.people) for g in made.groups]
    assert not counts or max(counts) - min(counts) <= 1
    assert len(held) < 2 or min(counts) >= 2
    assert max(counts, default=0) <= size + 1
    order = [id in ready for _, id in where]
    assert order == sorted(order)
    assert all(1 <= g.station <= stations for g in made.groups)
    assert len({(g.session, g.station) for g in made.groups}) == len(made.groups)
    turned = group_of(dict(reversed(held.items())), ready=ready)
    assert brief(turned, Lab(60, stations, size)).groups == made.groups


@settings(max_examples=60, deadline=None)
@given(GROUPS)
def test_a_group_never_gives_away_a_belief_that_few_hold(held) -> None:
    """A group's own topic is one that enough learners hold to hide among."""
    holders = {m: [id for id, wrong in held.items() if m in wrong] for m in KNOWN}
    for group in brief(group_of(held)).groups:
        if group.begins:
            assert len(holders[group.begins]) >= SMALL
            own = [p.learner for p in group.people if p.learner in holders[group.begins]]
            assert len(own) > 1


def test_learners_who_share_a_belief_work_together() -> None:
    """Four who hold one belief and fit a group are one group, which begins with it."""
    made = brief(ten(), Lab(60, 3, 4))
    together = {tuple(p.learner for p in g.people): g.begins for g in made.groups}
    assert together == {
        ("b0", "b1", "b2", "a0"): "peep-before-pip",
        ("a1", "a2", "a3"): "falls-to-zero",
        ("c0", "d0", "d1"): "",
    }


@pytest.mark.parametrize(("people", "wanted", "made"), [
    (0, 4, []), (1, 4, [1]), (2, 4, [2]), (3, 2, [3]), (5, 4, [3, 2]), (24, 4, [4] * 6),
    (9, 8, [5, 4]),
])  # fmt: skip
def test_group_sizes_are_balanced_and_nobody_works_alone(
    people: int, wanted: int, made: list[int]
) -> None:
    """Few learners have a defined outcome too."""
    assert sizes(people, wanted) == made


@pytest.mark.parametrize("count", [0, 1, SMALL - 1])
def test_a_group_too_small_to_hide_in_is_named_nowhere(count: int) -> None:
    """Nobody, one or two learners: a plan, and no name or id on page or paper."""
    names = {f"learner{n}": f"Zinnia Number{n}" for n in range(count)}
    group = group_of(dict.fromkeys(names, ("falls-to-zero",)), names=names)
    texts = [brief_text(group, made_at=NOW, version="1.0"), *pdf_pages(group)]
    for text in texts:
        assert "Zinnia" not in text
        assert "learner0" not in text
    assert ("nobody in this course" in texts[0]) == (count == 0)


def test_a_belief_of_few_stands_with_its_count_and_nobodys_name() -> None:
    """The part on beliefs names nobody at all; names stand with the groups alone."""
    page = brief_text(ten(), made_at=NOW, version="1.0")
    topics = page[page.index('id="h-topics"') : page.index('id="h-groups"')]
    assert "1 of 10" in topics
    assert "Name of" not in topics
    assert "Name of c0" in page[page.index('id="h-groups"') :]


# --- what it says


def test_all_right_gives_whole_set_ups_by_hand() -> None:
    """A group without a misconception practises the whole; nothing divides by nothing."""
    group = group_of({f"x{n}": () for n in range(5)}, ready=tuple(f"x{n}" for n in range(5)))
    made = brief(group)
    assert made.topics == ()
    assert made.times.practice > 0
    assert [part.minutes for part in parts(made)] == [15, 36, 9]
    assert "whole set-ups by hand" in brief_text(group, made_at=NOW, version="1.0")


def test_sentences_count_people_as_one_says_it() -> None:
    """One is, two are, nobody is."""
    made: Brief = brief(ten())
    assert summary(made) == (
        "10 learners: 10 of 10 handed in; 2 are ready for the lab; nobody showed an unsafe act in "
        "the workbook."
    )
    assert plan(made) == (
        "1 session of 60 min at 3 stations: 3 groups of up to 4. Those not ready come first."
    )


def test_markup_in_a_name_stays_text() -> None:
    """A name that looks like markup is shown, never run."""
    names = {"a": "<script>alert(1)</script>", "b": "B", "c": "C"}
    page = brief_text(group_of(dict.fromkeys(names, ()), names=names), made_at=NOW, version="1")
    assert "<script" not in page
    assert "&lt;script&gt;" in page


# --- the PDF


@pytest.mark.parametrize("paper", PAPERS)
def test_the_pdf_has_the_same_words_as_the_page_on_two_sheets(paper: str) -> None:
    """Its text can be read back: every belief, what to show, each learner; at most two pages."""
    pages = pdf_pages(ten(), paper)
    text = " ".join(" ".join(pages).split())
    for topic in brief(ten()).topics:
        wrong = topic.misconception
        for words in (wrong.believes, wrong.true, wrong.lab):
            assert words in text
    for row in ten().rows:
        assert f"{row.person.name} ({row.learner})" in text
    for words in ("never a baby", "not a medical device", "Ready for the lab is not competent"):
        assert words in text
    assert len(pages) == 2


def test_paper_is_as_large_as_it_is_called() -> None:
    """A4 is 210 x 297 mm (ISO 216), Letter 8.5 x 11 inches (ANSI/ASME Y14.1), at 72 points."""
    for paper, (wide, high) in {"a4": (595.3, 841.9), "letter": (612, 792)}.items():
        data = brief_pdf(ten(), made_at=NOW, version="1.0", paper=paper)
        box = PdfReader(io.BytesIO(data)).pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx((wide, high), abs=0.2)


def test_a_name_the_fonts_have_not_is_given_by_its_id_and_said_so() -> None:
    """Letters without a glyph, from right to left or joined fall back; others stay."""
    names = {"a": "見本 花子", "b": "دمو", "c": "Δέλτα Демо", "d": "Zoë Ångström", "e": "डेमो"}
    text = " ".join(pdf_pages(group_of(dict.fromkeys(names, ()), names=names)))
    assert "Δέλτα Демо (c)" in text
    assert "Zoë Ångström (d)" in text
    assert "3 names are written in letters this sheet cannot set" in text
    page = brief_text(group_of(dict.fromkeys(names, ()), names=names), made_at=NOW, version="1")
    assert all(name in page for name in names.values())


def test_long_names_never_make_a_third_page() -> None:
    """What has no room on the second page is counted, and stands in the table."""
    names = {
        f"n{n:02d}.invented": "Antirrhinum-Bartholomea-von-Erfundenhausen " * 2 for n in range(48)
    }
    for paper in PAPERS:
        pages = pdf_pages(group_of(dict.fromkeys(names, KNOWN[:2]), names=names), paper)
        text = " ".join(" ".join(pages).split())
        assert len(pages) == 2
        drawn = sum(f"({id})" in text for id in names)
        assert 0 < drawn < len(names)
        assert f"{(len(names) - drawn) // 4} more groups stand in lab-groups.csv" in text


@given(st.text(max_size=30))
@settings(max_examples=40, deadline=None)
def test_no_name_and_no_title_breaks_the_pdf(name: str) -> None:
    """Whatever stands in a roster or as title, a PDF comes out that can be read."""
    group = group_of(dict.fromkeys("abc", ()), names=dict.fromkeys("abc", name))
    group = replace(group, course=replace(COURSE, title=name))
    pages = pdf_pages(group)
    assert (name in " ".join(pages)) or not drawable(name) or name != " ".join(name.split())


def test_a_paper_nobody_has_is_refused() -> None:
    """Another paper is named with those there are."""
    with pytest.raises(LabError, match="choose a4 or letter"):
        brief_pdf(ten(), made_at=NOW, version="1.0", paper="foolscap")


def test_a_large_group_stays_on_few_pages_and_its_table_has_everyone() -> None:
    """Two thousand learners: the first groups on paper, the number of the others said."""
    group = group_of({f"p{n:04d}": (KNOWN[n % len(KNOWN)],) for n in range(2000)})
    pages = pdf_pages(group)
    assert len(pages) == 2
    text = " ".join(" ".join(pages).split())
    drawn = len(re.findall(r"Group \d+\. ", text))
    assert 3 <= drawn <= 12
    assert f"{500 - drawn} more groups stand in lab-groups.csv" in text


# --- the data beside the marking


def test_a_belief_is_called_unsafe_where_the_marking_calls_it_critical() -> None:
    """Each belief is played in drawn cases: what the marking calls critical is marked so here."""
    critical = set()
    for unit in exercises():
        for wrong in played(unit):
            drawn = (case("unsafe", unit, f"learner{n}", BOOK) for n in range(8))
            for one in [c for c in drawn if shows(c, wrong)][:3]:
                verdicts = mark_all(one, answers_of(one, BOOK, wrong), BOOK)
                unsafe = [f for v in verdicts for f in v.findings if f.unsafe]
                if any(beliefs_of(f.misconception) == wrong for f in unsafe):
                    critical.add(wrong)
    marked = {id for id, each in misconceptions().items() if each.unsafe}
    assert critical <= marked
    assert len(critical) >= 15
    # Critical where the relief is opened (test_raise_pip), where a count is slow (test_rate_taps),
    # where a leak is drawn (test_fault_finding), where PEEP is added to PIP (test_setup_bench),
    # where a heart stays slow or a monitor comes late (test_scenario_marks).
    elsewhere = {"pressure-without-limit", "ratio-turned-round", "flow-cures-all", "pip-plus-peep",
                 "chest-is-enough", "waits-for-the-monitor"}  # fmt: skip
    assert marked - critical <= elsewhere


def test_the_plans_numbers_say_that_they_are_assumed() -> None:
    """No number of the plan pretends to come from a publication."""
    rules = [rule for rule in rulebook("aha-2020") if rule.id.startswith("lab.")]
    assert len(rules) == 9
    assert {str(rule.citation.basis) for rule in rules} == {"assumption"}


# --- the command


def test_the_command_writes_page_paper_and_groups(tmp_path: Path) -> None:
    """From a course with verdicts the brief is written, and the command says where."""
    folder = graded_course(tmp_path / "course")
    run = CliRunner().invoke(main, ["lab", "brief", "--course", str(folder), "--paper", "letter"])
    assert run.exit_code == 0, run.output
    for name in ("lab-brief.html", "lab-brief.pdf", "lab-groups.csv"):
        assert str(folder / name) in run.output
        assert (folder / name).stat().st_size > 100
    rows = (folder / "lab-groups.csv").read_text(encoding="utf-8-sig").splitlines()
    assert len(rows) == 1 + len(LEARNERS)


def test_without_verdicts_or_course_the_command_says_what_to_do(tmp_path: Path) -> None:
    """One sentence and a non-zero exit, no trace."""
    run = CliRunner().invoke(main, ["lab", "brief", "--course", str(tmp_path)])
    assert run.exit_code == 1
    assert "is not a course folder" in run.output
    (tmp_path / "course.toml").write_text('id = "x"\n', encoding="utf-8")
    run = CliRunner().invoke(main, ["lab", "brief", "--course", str(tmp_path)])
    assert run.exit_code == 1
    assert "Nobody has handed in" in run.output
    assert "Traceback" not in run.output
