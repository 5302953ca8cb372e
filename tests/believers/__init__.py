"""Learners who hold a belief, written anew from what `misconceptions.toml` says they believe.

None of this was made from how the answers are marked: each play asks only what somebody who
believes the sentence would do with the question as it is drawn. Those in `plays.py` of each unit,
which the key was made with, are kept beside them.

What everybody shares: a person at the bench reads the needle by eye and pauses to think.
"""

from __future__ import annotations

from collections.abc import Mapping
from random import Random

from graders.marking.exercise import mark
from tests.believers.base import Answers, Play
from tests.believers.faults import FAULTY
from tests.believers.rate import RATE
from tests.believers.scenario import BORN
from tests.believers.setup import SETUP
from tests.believers.sizing import SIZES
from tests.believers.targets import TARGETS
from workbook.cases import Case
from workbook.rules import RuleBook

UNITS: Mapping[str, Mapping[str, Play]] = {
    "1_setup_order": SETUP,
    "3_pressure_targets": TARGETS,
    "4_rate_counting": RATE,
    "5_interface_sizing": SIZES,
    "6_fault_finding": FAULTY,
    "7_from_birth": BORN,
}


def acts(case: Case, book: RuleBook, belief: str, chance: Random) -> Answers:
    """Return the answers by which a belief shows in a case: those that are not right."""
    made = UNITS[case.exercise][belief](case, book, chance)
    known = {q.id for q in case.questions}
    missed = {id: mark(case, id, value, book) for id, value in made.items() if id in known}
    return {id: made[id] for id, verdict in missed.items() if verdict.earned < verdict.possible}


def in_part(made: Answers, chance: Random) -> Answers:
    """Return two thirds of the answers of a belief, and at least one."""
    many = max(1, round(2 * len(made) / 3))
    return {id: made[id] for id in chance.sample(sorted(made), many)}
