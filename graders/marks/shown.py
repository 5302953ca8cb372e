"""How a unit says which beliefs its drawn questions show, each as often as there are answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from workbook.cases import Question
from workbook.rules import RuleBook

Beliefs = list[str]  # a belief as often as there are answers that show it
Numbers = Mapping[str, float]  # belief -> the number that is typed by it
Shown = Mapping[str, Callable[[Question, RuleBook], Beliefs]]  # by question: what a drawn one shows
Spoken = Mapping[str, Callable[[], Iterable[str]]]  # and what it can show, whatever is drawn

_ROUNDED = 1e-9


@dataclass(frozen=True, slots=True)
class Typed:
    """A number that is typed: the right one, how near to it counts, and what each belief types."""

    right: float
    near: float
    slips: Numbers

    def shown(self) -> Beliefs:
        """Return the beliefs whose number does not count as right."""
        apart = self.near + _ROUNDED
        return [b for b, at in self.slips.items() if abs(at - self.right) > apart]

    def shared(self, sign: str) -> tuple[str, ...]:
        """Return the other beliefs by which the same number may have been typed."""
        if sign not in self.slips:
            return ()
        at = self.slips[sign]
        return tuple(b for b, n in self.slips.items() if b != sign and abs(n - at) <= self.near)
