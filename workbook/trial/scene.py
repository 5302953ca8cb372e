"""A trial's device and baby with the fault in it: what stands in a state, by the model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Any

from workbook.bench import DIALS, Bench, circuit_at, laws
from workbook.physics import Circuit, Lung
from workbook.physics import coefficients as c
from workbook.physics.faults import FAULTS, NONE, TRUE, Gauge
from workbook.physics.steady import Steady, steady_state
from workbook.trial.moves import DIALLED, LASTING
from workbook.trial.named import NAMED, mends

OUTLETS = {"cap": "capped", "open": "open", "connect": "lung", "bag": "open"}
SHUT = c.FAULT_BLOCKED.value / 10  # cmH2O/(L/min); a hose as good as shut
MOST_DONE = 400  # lasting moves that a state may hold
_PLACE = {name: n for n, name in enumerate(DIALS)}


@dataclass(frozen=True, slots=True)
class State:
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
        n, stands = _PLACE[dial], self.positions
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


@dataclass(frozen=True)
class Scene:
    """A drawn trial: the bench as it is met, how it was set, the fault, and the rules' numbers.

    ``right`` are the positions (clicks) that were set; ``step`` is one step of PIP (cmH2O).
    """

    setting: str
    fault: str
    bench: Bench
    right: Mapping[str, int]
    step: float
    accept: Mapping[str, float]

    @classmethod
    def of(cls, facts: Mapping[str, Any]) -> Scene:
        """Return the scene that a question's facts describe."""
        return cls(
            facts["setting"], facts["fault"], Bench.from_data(facts["bench"]), facts["right"],
            facts["step"], facts["accept"],
        )  # fmt: skip

    @cached_property
    def start(self) -> State:
        """Return the state a trial begins in."""
        at = tuple(self.bench.positions[name] for name in DIALS)
        return State(at, self.bench.outlet)

    @cached_property
    def _right(self) -> tuple[int, ...]:
        return tuple(self.right[name] for name in DIALS)

    def with_fault(self, fault: str) -> Scene:
        """Return the same device and baby with another fault, or none (an empty name)."""
        if fault not in self._others:
            self._others[fault] = self._with(fault)
        return self._others[fault]

    @cached_property
    def _others(self) -> dict[str, Scene]:
        return {}

    def _with(self, fault: str) -> Scene:
        of = self.bench
        positions = wrong(self.right, fault) if fault else dict(self.right)
        bench = Bench(positions, of.lung, of.weight, of.outlet)
        return Scene(self.setting, fault, bench, self.right, self.step, self.accept)

    def after(self, state: State, move: str, what: Any = None) -> State:
        """Return the state after a move; ``what`` is a dial's click, or the fault that is mended.

        To hold or let go of the hole, to look and to say change nothing of a state.
        """
        if move in OUTLETS:
            return state.joined(OUTLETS[move])
        if move in DIALLED:
            return state.turned(move, what)
        if move in LASTING:
            return State(state.positions, state.outlet, (*state.done, move))
        if move == "mend" and what in NAMED:
            return self._mended(
                State(state.positions, state.outlet, (*state.done, f"mend:{what}")), what
            )
        return state

    def _mended(self, state: State, fault: str) -> State:
        """Turn what the mend of a named fault turns, whether it was at fault or not."""
        one = NAMED[fault]
        if one.dial:
            return state.turned(one.dial, self.right[one.dial])
        if one.device:
            return State(self._right, state.outlet, state.done)
        if fault == "lung-stiff":
            dial = DIALS["pip"]
            more = round(self.step / dial.step)
            return state.turned("pip", min(state.at["pip"] + more, dial.clicks))
        return state

    def present(self, state: State) -> bool:
        """Say whether the fault is still there in a state."""
        one = NAMED.get(self.fault)
        if one is None:
            return False
        if one.dial:
            return not self._set_right(state)
        if self.fault == "lung-stiff":
            return state.positions[_PLACE["pip"]] <= self.right["pip"]
        return not state.done or not set(mends(self.fault)) & set(state.done)

    def _set_right(self, state: State) -> bool:
        """Say whether both pressures, and the limit above, are what was set, by the gauge."""
        held, rest = _apart(state.positions, self._right)
        near = held <= self.accept["pip"] and rest <= self.accept["peep"]
        return near and self._limited(state)

    def _limited(self, state: State) -> bool:
        """Say whether the relief still opens about where it was set."""
        dial = DIALS["relief"]
        apart = abs(state.positions[_PLACE["relief"]] - self.right["relief"]) * dial.step
        return self.fault != "relief-low" or apart <= self.accept["relief"]

    # --- by the model

    def _changed(self, state: State) -> str:
        """Return the physics in force: that of the fault while it is there (a lung stays stiff)."""
        one = NAMED.get(self.fault)
        if one is None or not one.physics:
            return ""
        stays = self.fault == "lung-stiff"
        return one.physics if stays or self.present(state) else ""

    def circuit(self, state: State) -> Circuit:
        """Return the circuit in a state, with the fault in it."""
        return _faulty(self._changed(state), state.positions)

    def lung(self, state: State) -> Lung:
        """Return the lung behind the mask, with the fault in it."""
        return FAULTS.get(self._changed(state), NONE).lung(self.bench.lung)

    def gauge(self, state: State) -> Gauge:
        """Return the gauge, with the fault in it."""
        return _gauge(self._changed(state), state.positions)

    def steady(self, state: State, *, held: bool) -> Steady:
        """Return pressures (cmH2O) and flow (L/min) once nothing changes any more."""
        return _steady(self._changed(state), state.positions, state.outlet, held)

    def needle(self, state: State, *, held: bool) -> float:
        """Return what the needle shows (cmH2O) once it has settled, no further than its end."""
        return _needle(self._changed(state), state.positions, state.outlet, held)

    def brings(self, state: State) -> float:
        """Return an inflation's volume as a share of a right one's, from the settled pressures.

        Nothing where the airway lets no gas through in time.
        """
        return self.swing(state) / self._full if self._full else 0.0

    @cached_property
    def _full(self) -> float:
        right = self.with_fault("")
        return right.swing(right.start)

    def swing(self, state: State) -> float:
        """Return how much an inflation brings (mL) with the mask on, once it has settled."""
        physics = self._changed(state)
        lung = FAULTS.get(physics, NONE).lung(self.bench.lung)
        if lung.airway >= c.FAULT_AIRWAY.value:
            return 0.0
        return float(lung.compliance * _drive(physics, state.positions))


def wrong(right: Mapping[str, int], fault: str) -> dict[str, int]:
    """Return the positions (clicks) with the control of a fault left wrong."""
    turned = dict(right)
    if fault not in NAMED or not NAMED[fault].dial:
        return turned
    if fault in ("flow-low", "flow-high"):
        turned["flow"] = DIALS["flow"].nearest(c.FAULT_FLOWS[fault == "flow-high"].value)
    if fault == "pip-open":
        turned["pip"] = DIALS["pip"].clicks
    if fault == "relief-low":
        turned["relief"] = _under(right)
    return turned


@lru_cache(maxsize=4096)
def _low(right: tuple[int, ...]) -> int:
    at = dict(zip(DIALS, right, strict=True))
    open_pip = tuple({**at, "pip": DIALS["pip"].clicks}.values())
    wanted = _read(right, held=True) - c.FAULT_UNDER.value
    stands = _read(open_pip, held=True)
    return max(0, at["relief"] - round((stands - wanted) / DIALS["relief"].step))


def _under(right: Mapping[str, int]) -> int:
    return _low(tuple(right[name] for name in DIALS))


def _read(positions: tuple[int, ...], held: bool) -> float:
    """Return what a true gauge shows (cmH2O) with the outlet capped and nothing wrong."""
    return _steady("", positions, "capped", held).manometer


@lru_cache(maxsize=4096)
def _apart(one: tuple[int, ...], other: tuple[int, ...]) -> tuple[float, float]:
    """Return how far apart (cmH2O) a true gauge stands, with the hole covered and let go."""
    held, rest = (abs(_read(one, h) - _read(other, h)) for h in (True, False))
    return held, rest


@lru_cache(maxsize=8192)
def _faulty(physics: str, positions: tuple[int, ...]) -> Circuit:
    circuit = circuit_at(dict(zip(DIALS, positions, strict=True)))
    return FAULTS.get(physics, NONE).circuit(circuit)


@lru_cache(maxsize=4096)
def _gauge(physics: str, positions: tuple[int, ...]) -> Gauge:
    made = FAULTS.get(physics, NONE).gauge
    return TRUE if made is NONE.gauge else made(_faulty("", positions))


@lru_cache(maxsize=16384)
def _steady(physics: str, positions: tuple[int, ...], outlet: str, held: bool) -> Steady:
    made = _faulty(physics, positions)
    # What stands alike is worked out once: faults that leave the circuit as it is, sealed masks.
    same = "" if FAULTS.get(physics, NONE).circuit is NONE.circuit else physics
    ends = "capped" if outlet == "lung" and made.leak is None else outlet
    if (same, ends) != (physics, outlet):
        return _steady(same, positions, ends, held)
    if outlet != "lung":
        made = replace(made, leak=None)  # a mask that is off leaks nothing
    return steady_state(made, held=held, outlet="open" if outlet == "open" else "capped")


@lru_cache(maxsize=16384)
def _needle(physics: str, positions: tuple[int, ...], outlet: str, held: bool) -> float:
    at, top = _steady(physics, positions, outlet, held).manometer, c.GAUGE_TOP.value
    return min(_gauge(physics, positions).reads(min(at, top)), top)


@lru_cache(maxsize=4096)
def _drive(physics: str, positions: tuple[int, ...]) -> float:
    """Return how far pressure at a lung rises with an inflation (cmH2O), once it has settled."""
    if _faulty(physics, positions).limb.linear >= SHUT:
        return 0.0
    top, rest = (
        min(_steady(physics, positions, "lung", held).at_t, c.GAUGE_TOP.value)
        for held in (True, False)
    )
    return max(0.0, top - rest)


def tables(scene: Scene, state: State) -> dict[str, Any]:
    """Return the tables that a page plays in a state (`workbook.bench.laws`)."""
    return laws(scene.circuit(state), state.outlet, scene.lung(state), scene.gauge(state))
