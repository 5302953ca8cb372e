"""What a group did in its cases from birth: kept in verdicts, counted, told to an educator."""

from __future__ import annotations

import pytest

from graders.lab.births import births
from graders.units.scenario.harmful import do_nothing
from graders.units.scenario.marks import marked
from graders.units.scenario.plays import played
from graders.units.scenario.went import Went, read_went
from tests.scenario_base import BOOK, case
from workbook.physics.baby import KINDS
from workbook.scenario.expert import expert


def kept(verdict) -> Went:
    (stored,) = (finding.about for finding in verdict.findings if finding.about)
    return read_went(stored)


@pytest.mark.slow
def test_a_verdict_keeps_when_the_chest_moved_where_it_stalled_and_what_was_unsaid():
    """An expert stalls nowhere; who does nothing stalls at the first inflation, in silence."""
    met = case("leak", 3)
    right = kept(marked(met, expert(met, BOOK), BOOK))
    assert (right.course, right.stalled, right.unsaid) == ("leak", "", "")
    assert right.moved is not None
    assert 20 < right.moved < 120
    assert kept(marked(met, do_nothing(met, BOOK), BOOK)) == Went("leak", None, "begin", "silent")
    assert kept(marked(met, played(met, "silent-leader", BOOK), BOOK)).unsaid == "silent"
    slow = case("compressions", 3)
    assert kept(marked(slow, played(slow, "never-escalates", BOOK), BOOK)).stalled == "decided"


def test_a_group_is_counted_by_time_step_and_words():
    """Typed here: four cases of three courses, one baby who breathes."""
    found = births(
        [
            Went("leak", 40.0),
            Went("leak", 80.0, "acted", "chest-unsaid"),
            Went("gas-fails", None, "bag", "chest-unsaid"),
            Went("breather", None, "support", "silent"),
        ],
        not_yet=2,
    )
    assert found is not None
    assert (found.cases, found.of, found.moved, found.never, found.not_yet) == (4, 3, 60.0, 1, 2)
    assert [count for _says, count in found.stalls] == [1, 1, 1]
    assert found.unsaid[0] == ("what the chest does", 2)
    assert [(one.course, one.stalled, one.of) for one in found.live] == [
        ("gas-fails", 1, 1), ("breather", 1, 1), ("leak", 1, 2),
    ]  # fmt: skip
    assert births([]) is None


@pytest.mark.parametrize("course", KINDS)
def test_every_course_can_be_run_live(course: str):
    """A group that stalled in one is given that one first, and two more."""
    found = births([Went(course, 40.0, "acted")])
    assert found is not None
    assert found.live[0].course == course
    assert len(found.live) == 3


@pytest.mark.parametrize(
    "stored",
    ["", "born|leak|40", "born|none|40||", "born|leak|-4||", "born|leak|4|walk|", "x|leak|||"],
)
def test_what_a_verdict_did_not_write_is_refused(stored: str):
    """Another version's verdict may hold anything."""
    with pytest.raises(ValueError, match="Grade again"):
        read_went(stored)
    own = Went("leak", 40.0, "acted", "silent")
    assert read_went(own.stored) == own
