"""What a group found in its trials: counts, pairs confused, two faults to build, nobody named."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime

import pytest
from pypdf import PdfReader

from graders.cohort.group import cohort
from graders.lab.faults import faults
from graders.marking.graded import Graded
from graders.marks.verdict import Finding, Verdict, as_data, from_data
from graders.report.brief_page import brief_text
from graders.report.brief_pdf import brief_pdf
from graders.units.faults import marks
from graders.units.faults.expert import Hand
from graders.units.faults.tried import Tried, read_tried
from tests.lab_course import COURSE, UNIT
from tests.test_brief import ten
from tests.test_fault_finding import BOOK, alone
from workbook.trial import FAMILIES, NAMED

NOW = datetime(2026, 5, 5, 9, tzinfo=UTC)
GROUP = [
    *["hose-off|no-gas|3|sure"] * 4,
    *["hose-off|hose-off|5|fairly"] * 2,
    *["hole-narrow|hose-blocked|9|guess"] * 3,
    *["no-gas|no-gas|1|sure"] * 5,
    *["limits-fail|pip-open||sure"] * 6,
    *["oxygen-out|unknown|2|"] * 2,
]
TRIED = [*map(read_tried, GROUP)]


def graded(about: str) -> Graded:
    found = Finding("name", True, "Said.", 1.0, 1.0, about=about)
    return Graded("a", UNIT, COURSE.edition, (Verdict("q", (found,)),), (), "", "abc", "1")


def test_what_the_marking_leaves_of_a_trial_is_read_back() -> None:
    """By a verdict's own file; nothing of it stands in what a learner reads."""
    drawn, asked = alone("hose-off")
    hand = Hand(asked, BOOK)
    hand.cover()
    hand.do("bag")
    hand.say("no-gas", "sure")
    verdict = marks.check(drawn, asked.id, hand.trial.to_data(), BOOK)
    (kept,) = from_data(as_data([verdict]))
    (about,) = [f.about for f in kept.findings if f.about]
    assert read_tried(about) == Tried("hose-off", "no-gas", 2, "sure")
    assert read_tried(about).stored == about
    assert about not in verdict.told
    assert kept == verdict
    others = [f for f in as_data([verdict])[0]["findings"] if f["criterion"] != "trial-1-name"]
    assert all("about" not in f for f in others)


OTHERS = ["", "x", "a|b|c|d", "hose-off|no-gas|3", "hose-off|no-gas|3|sure|", "hose-off|x|3|sure",
          "hose-off|no-gas|3.5|sure", "hose-off|no-gas|-3|sure", "hose-off|no-gas|\u0663|sure",
          "hose-off|no-gas|3|very"]  # fmt: skip


@pytest.mark.parametrize("about", OTHERS)
def test_what_is_no_trial_is_refused_and_left_out_of_a_group(about: str) -> None:
    """Of another version, or of another kind of question: a sentence, and nothing is counted."""
    with pytest.raises(ValueError, match="is not what a verdict keeps of a trial"):
        read_tried(about)
    (row,) = cohort([graded(about)], {}, COURSE).rows
    assert row.tried == ()


def test_what_a_trial_is_stored_as_is_read_back_from_any_file_ever_written() -> None:
    """The stored text, letter by letter: files of earlier courses hold it."""
    made = [Tried("hose-off", "no-gas", 3, "sure"), Tried("oxygen-out", "unknown"), Tried("no-gas")]
    assert [one.stored for one in made] == ["hose-off|no-gas|3|sure", "oxygen-out|unknown||",
                                            "no-gas|||"]  # fmt: skip
    assert [read_tried(one.stored) for one in made] == made
    (row,) = cohort([graded(made[0].stored)], {}, COURSE).rows
    assert row.tried == (made[0],)


def test_a_group_is_counted_by_family_by_pair_and_by_time() -> None:
    """Worked out by hand."""
    made = faults(TRIED)
    assert made is not None
    shares = {one.id: (one.right, one.of, one.safe) for one in made.families}
    assert shares == {
        "not-rise": (7, 11, 3), "sticks": (0, 3, 9), "high": (0, 6, None), "right": (0, 2, 2),
    }  # fmt: skip
    pairs = [(one.fault, one.named, one.count, one.sure) for one in made.confused]
    assert pairs == [
        ("limits-fail", "pip-open", 6, 6),
        ("hose-off", "no-gas", 4, 4),
        ("hole-narrow", "hose-blocked", 3, 0),
    ]
    assert [one.fault for one in made.sure_wrong] == ["limits-fail", "hose-off"]


def test_two_faults_of_two_families_are_planted_and_none_that_is_unsafe_to_build() -> None:
    """A device without limits is never built; what was missed most comes first."""
    made = faults(TRIED)
    assert made is not None
    assert [one.fault for one in made.plants] == ["hose-off", "hole-narrow"]
    one_family = ["hose-off|no-gas||"] * 3 + ["no-gas|hose-off||"] * 2 + ["flow-low|gas-fading||"]
    apart = faults([*map(read_tried, one_family)])
    assert apart is not None
    assert [one.fault for one in apart.plants] == ["hose-off", "flow-low"]
    alike = faults([Tried("flow-low", "flow-low", 2), Tried("hole-narrow", "hole-narrow", 2)])
    assert alike is not None
    assert [one.fault for one in alike.plants] == ["hole-narrow", "flow-low"]
    for fault in NAMED:
        (one,) = faults([Tried(fault)]).plants or (None,)  # type: ignore[union-attr]
        assert one is None or (one.build and one.watch)
        assert (one is None) == (fault in ("limits-fail", "needle-sticks", "needle-off-zero"))


def test_page_and_sheet_show_the_same_and_name_nobody() -> None:
    """Two pages still; a group without trials has no such part."""
    group = ten()
    rows = tuple(replace(row, tried=tuple(TRIED[n::10])) for n, row in enumerate(group.rows))
    with_trials = replace(group, rows=rows)
    page = brief_text(with_trials, made_at=NOW, version="1.0")
    data = brief_pdf(with_trials, made_at=NOW, version="1.0")
    pages = [each.extract_text() for each in PdfReader(io.BytesIO(data)).pages]
    sheet = " ".join(" ".join(pages).split())
    for text in (" ".join(page.split()), sheet):
        assert "Two faults to find on the real device" in text
        assert "Push the patient hose on so loosely" in text
        assert "(6)" in text
        assert "7 of 11, 3 s" in text
    assert len(pages) == 2
    assert "Two faults" not in brief_text(group, made_at=NOW, version="1.0")
    assert set(FAMILIES) >= {one.id for one in faults(TRIED).families}  # type: ignore[union-attr]
