"""What a group believes: whose answers fit a misconception, and who of them may have slipped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from graders.beliefs.bayes import number
from graders.beliefs.chances import speaks
from graders.learner.standing import Standing
from graders.marks.misconceptions import (
    EITHER,
    Misconception,
    allows_a_slip,
    beliefs_of,
    misconceptions,
)

SMALL = 3  # fewer learners than this could be recognised, so the group's part names none of them


@dataclass(frozen=True, slots=True)
class Belief:
    """A misconception of the group: whose answers fit it, out of how many usable answers.

    ``slips`` are those of the learners whom a slip explains as well.
    """

    misconception: Misconception
    learners: tuple[str, ...]
    of: int
    slips: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """Return how many learners' answers fit it."""
        return len(self.learners)

    @property
    def share(self) -> float:
        """Return the share of learners whose answers fit it, 0 to 1."""
        return self.count / self.of if self.of else 0.0

    @property
    def expected(self) -> float:
        """Return how many learners hold it, as far as can be said: not all who may have slipped."""
        return self.count - (1 - number("slip-or-holds")) * len(self.slips)

    @property
    def named(self) -> tuple[str, ...]:
        """Return the learners that the group's part may name: none when they are few."""
        return self.learners if self.count >= SMALL else ()


def beliefs_of_group(usable: Sequence[Standing]) -> tuple[Belief, ...]:
    """Return each belief with whom it fits, of those who answered a unit that looks for it."""
    known = misconceptions()
    holders: dict[str, set[str]] = {}
    sure: dict[str, set[str]] = {}
    answered: dict[tuple[str, ...], set[str]] = {}
    for one in usable:
        answered.setdefault(one.points.questions, set()).add(one.learner)
        for id in one.misconceptions:
            holders.setdefault(beliefs_of(id), set()).add(one.learner)
            if not allows_a_slip(id):
                sure.setdefault(id, set()).add(one.learner)

    def asked(id: str) -> set[str]:
        could = set(id.split(EITHER))
        looks = (who for asks, who in answered.items() if could & set().union(*map(speaks, asks)))
        return set().union(*looks)

    found = [
        Belief(
            known[id],
            tuple(sorted(who)),
            len(who | asked(id)),
            tuple(sorted(who - sure.get(id, set()))),
        )
        for id, who in holders.items()
        if id in known
    ]
    return tuple(sorted(found, key=lambda b: (-b.expected, -b.count, b.misconception.id)))
