"""A group's statuses by ward, role or site; nobody can be picked out of a small part."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from graders.cohort.beliefs import SMALL
from graders.course.roster import Person
from graders.learner.standing import Learner, Status

NOT_GIVEN = "Not given"


@dataclass(frozen=True, slots=True)
class Part:
    """One ward, role or site, or several that are too small to be shown by themselves."""

    name: str
    counts: Mapping[Status, int]

    @property
    def learners(self) -> int:
        """Return how many learners there are."""
        return sum(self.counts.values())


def parts(learners: Iterable[Learner], of: Callable[[Person], str]) -> tuple[Part, ...]:
    """Return how each part of a group stands, in order of name; empty when there are no two.

    Parts of fewer than SMALL are taken together, and the smallest other part with them while they
    are still so few that the whole less the rest would tell who they are.
    """
    found: dict[str, Counter[Status]] = {}
    for one in learners:
        found.setdefault(of(one.person) or NOT_GIVEN, Counter())[one.status] += 1
    if len(found) < 2:
        return ()
    order = sorted(found, key=lambda name: (found[name].total(), name))
    few = [name for name in order if found[name].total() < SMALL]
    if few:
        rest = order[len(few) :]
        while rest and sum(found[name].total() for name in few) < SMALL:
            few.append(rest.pop(0))
        order = rest
    shown = [Part(name, found[name]) for name in sorted(order, key=lambda n: (n == NOT_GIVEN, n))]
    return (*shown, *([_together(found, few)] if few else [])) if shown else ()


def _together(found: Mapping[str, Counter[Status]], names: list[str]) -> Part:
    counts = sum((found[name] for name in names), Counter[Status]())
    large = [name for name in names if found[name].total() >= SMALL]
    joined = f", taken together with {large[0]}" if large else ""
    return Part(f"Other, fewer than {SMALL} each{joined}", counts)
