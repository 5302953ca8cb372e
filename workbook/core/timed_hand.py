"""A hand that plays a timed record: one thing after another, each in the time it takes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Generic, TypeVar

Deed = TypeVar("Deed")


class TimedHand(Generic[Deed]):
    """A hand at work; ``time`` (s) is now, ``takes`` how long (s) each thing keeps it busy.

    ``makes`` is what a thing done is written down as: from its time, its id and its number or id.
    """

    def __init__(
        self,
        makes: Callable[[float, str, Any], Deed],
        takes: Mapping[str, float],
        time: float,
    ) -> None:
        self._makes = makes
        self.takes, self.time = takes, time
        self.done: list[Deed] = []

    def begin(self, id: str, what: Any = None) -> Deed:
        """Write down what is begun now, and return it."""
        made = self._makes(round(self.time, 3), id, what)
        self.done.append(made)
        return made
