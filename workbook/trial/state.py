"""How a trial stands: each control, what is at the outlet, what was done that lasts."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

from workbook.bench import DIALS
from workbook.trial.moves import LASTING
from workbook.trial.named import NAMED

OUTLETS = {"cap": "capped", "open": "open", "connect": "lung", "bag": "open"}
MOST_DONE = 400  # lasting moves that a state may hold
PLACE = {name: n for n, name in enumerate(DIALS)}


class State(NamedTuple):
    """How a trial stands: each control (clicks), what is at the outlet, lasting moves so far."""

    positions: tuple[int, ...]
    outlet: str
    done: tuple[str, ...] = ()

    @property
    def at(self) -> dict[str, int]:
        """Return where each control stands (clicks)."""
        return dict(zip(DIALS, self.positions, strict=True))

    def turned(self, dial: str, position: int) -> State:
        """Return the state with a control at another position."""
        n, stands = PLACE[dial], self.positions
        return State((*stands[:n], position, *stands[n + 1 :]), self.outlet, self.done)

    def joined(self, outlet: str) -> State:
        """Return the state with something else at the outlet."""
        return self if outlet == self.outlet else State(self.positions, outlet, self.done)

    def to_data(self) -> dict[str, Any]:
        """Return the state as data for a page."""
        return {"positions": self.at, "outlet": self.outlet, "done": list(self.done)}

    @classmethod
    def read(cls, data: object) -> State:
        """Return the state a page describes; ValueError when it is none."""
        if not isinstance(data, Mapping):
            raise ValueError("This is no state of a trial.")
        positions, outlet, done = (data.get(name) for name in ("positions", "outlet", "done"))
        if not isinstance(positions, Mapping) or set(positions) != set(DIALS):
            raise ValueError("A state names a position for every control.")
        if not all(type(n) is int and 0 <= n <= DIALS[d].clicks for d, n in positions.items()):
            raise ValueError("A control cannot stand there.")
        if not isinstance(outlet, str) or outlet not in OUTLETS.values():
            raise ValueError("There is no such outlet.")
        if not isinstance(done, list) or len(done) > MOST_DONE or not set(done) <= _LASTS:
            raise ValueError("There is no such lasting move.")
        return cls(tuple(positions[name] for name in DIALS), outlet, tuple(done))


_LASTS = {*LASTING, *(f"mend:{fault}" for fault in NAMED)}
