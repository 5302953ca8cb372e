"""How many people there are, how many handed in, and of how many the work was marked."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from graders.learner.standing import Learner


@dataclass(frozen=True, slots=True)
class Turnout:
    """How many people there are, handed in all that was asked or some of it, and were marked.

    ``marked`` counts people of whose work some was, ``unmarked`` those of whose work some was not.
    """

    people: int
    every: int
    some: int
    marked: int
    unmarked: int
    several: bool = False

    @property
    def handed_in(self) -> str:
        """Return who handed in, for report and brief alike."""
        if not self.several:
            return f"{self.every} of {self.people} handed in"
        says = f"{self.every} of {self.people} handed in every unit"
        return f"{says}, {self.some} some of them" if self.some else says

    @property
    def left_out(self) -> str:
        """Return whose work nothing can be said of; empty when all of it was marked."""
        if not self.unmarked:
            return ""
        whose = "1 person" if self.unmarked == 1 else f"{self.unmarked} people"
        return (
            f"The work of {whose} was not marked, or not all of it: nothing can be said of that, "
            "neither good nor bad."
        )

    def none_of(self, says: str) -> str:
        """Return that nobody showed something, of those only of whom it can be said."""
        if not self.marked:
            return "nothing was marked, so nothing can be said of unsafe acts"
        return f"of what was marked, nobody {says}" if self.unmarked else f"nobody {says}"


def turnout(learners: Iterable[Learner], units: Sequence[str]) -> Turnout:
    """Return how many handed in all or some of the units, and of how many the work was marked."""
    people = every = some = marked = unmarked = 0
    for one in learners:
        handed = [row for row in one.standings if row.handed_in]
        people += 1
        every += len(handed) == len(one.standings)
        some += 0 < len(handed) < len(one.standings)
        marked += any(row.usable for row in handed)
        unmarked += any(row.unmarked for row in handed)
    return Turnout(people, every, some, marked, unmarked, len(units) > 1)
