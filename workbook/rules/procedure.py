"""A procedure: steps, what must come before each, and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from workbook.rules.rule import Citation


@dataclass(frozen=True, slots=True)
class Need:
    """One prerequisite: ``before`` must be done earlier than ``step``, and why."""

    before: str
    step: str
    why: str
    critical: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """One step: what to do, and the reason for it."""

    id: str
    says: str
    reason: str
    citation: Citation
    needs: tuple[Need, ...] = ()


@dataclass(frozen=True, slots=True)
class Procedure:
    """Steps under a partial order; any order the needs allow is right."""

    id: str
    title: str
    steps: tuple[Step, ...]

    def __getitem__(self, step: str) -> Step:
        for each in self.steps:
            if each.id == step:
                return each
        known = ", ".join(self.ids)
        raise KeyError(f"{step!r} is not a step of {self.id}; its steps are {known}.")

    def __iter__(self) -> Iterator[Step]:
        return iter(self.steps)

    def __len__(self) -> int:
        return len(self.steps)

    @property
    def ids(self) -> tuple[str, ...]:
        """Return the steps' ids in the order the file teaches them."""
        return tuple(step.id for step in self.steps)

    @property
    def needs(self) -> tuple[Need, ...]:
        """Return every prerequisite."""
        return tuple(need for step in self.steps for need in step.needs)

    def kept(self, order: Sequence[str]) -> tuple[Need, ...]:
        """Return the prerequisites that an order keeps."""
        place = {step: n for n, step in enumerate(order)}
        return tuple(n for n in self.needs if _kept(n, place))

    def broken(self, order: Sequence[str]) -> tuple[Need, ...]:
        """Return the prerequisites that an order breaks, in the procedure's own order."""
        place = {step: n for n, step in enumerate(order)}
        return tuple(n for n in self.needs if not _kept(n, place))

    def after(self, step: str) -> frozenset[str]:
        """Return every step that must come later than this one."""
        found: set[str] = set()
        edge = {step}
        while edge:
            edge = {n.step for n in self.needs if n.before in edge} - found
            found |= edge
        return frozenset(found)

    def cycle(self) -> tuple[str, ...]:
        """Return the steps that wait for one another, empty when the order is possible."""
        return tuple(step for step in self.ids if step in self.after(step))


def _kept(need: Need, place: dict[str, int]) -> bool:
    first, then = place.get(need.before), place.get(need.step)
    return first is not None and then is not None and first < then


def ordered(procedure: Procedure, preference: Iterable[str]) -> tuple[str, ...]:
    """Return the legal order that follows a preference as far as the needs allow."""
    waiting = list(preference)
    done: list[str] = []
    while waiting:
        ready = next(s for s in waiting if all(n.before in done for n in procedure[s].needs))
        waiting.remove(ready)
        done.append(ready)
    return tuple(done)
