"""A trial's device and baby with the fault in it: what stands in a state, by the model."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from workbook.bench import DIALS, Bench, circuit_at, laws
from workbook.core.once import once
from workbook.physics import Circuit, Lung
from workbook.physics import coefficients as c
from workbook.physics.faults import FAULTS, NONE, TRUE, Gauge
from workbook.physics.steady import Steady, steady_state
from workbook.trial.moves import DIALLED, LASTING
from workbook.trial.named import NAMED, mends
from workbook.trial.state import OUTLETS, PLACE, State

SHUT = c.FAULT_BLOCKED.value / 10  # cmH2O/(L/min); a hose as good as shut


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
        bench = dict(facts["bench"])
        positions, right, accept = bench.pop("positions"), facts["right"], facts["accept"]
        return _scene(
            facts["setting"], facts["fault"], tuple(positions.items()), tuple(bench.items()),
            tuple(right.items()), facts["step"], tuple(accept.items()),
        )  # fmt: skip

    @once
    def start(self) -> State:
        """Return the state a trial begins in."""
        return State(tuple(map(self.bench.positions.__getitem__, DIALS)), self.bench.outlet)

    @once
    def _right(self) -> tuple[int, ...]:
        return tuple(map(self.right.__getitem__, DIALS))

    def with_fault(self, fault: str) -> Scene:
        """Return the same device and baby with another fault, or none (an empty name)."""
        if fault not in self._others:
            self._others[fault] = self._with(fault)
        return self._others[fault]

    @once
    def _others(self) -> dict[str, Scene]:
        return {}

    def _with(self, fault: str) -> Scene:
        bench = self.bench
        if _placed(self._right, fault) != self.start.positions:
            bench = replace(bench, positions=wrong(self.right, fault))
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
            return state.positions[PLACE["pip"]] <= self.right["pip"]
        return not state.done or set(mends(self.fault)).isdisjoint(state.done)

    def _set_right(self, state: State) -> bool:
        """Say whether both pressures, and the limit above, are what was set, by the gauge."""
        held, rest = _apart(state.positions, self._right)
        near = held <= self.accept["pip"] and rest <= self.accept["peep"]
        return near and self._limited(state)

    def _limited(self, state: State) -> bool:
        """Say whether the relief still opens about where it was set."""
        dial = DIALS["relief"]
        apart = abs(state.positions[PLACE["relief"]] - self.right["relief"]) * dial.step
        return self.fault != "relief-low" or apart <= self.accept["relief"]

    # --- by the model

    def _changed(self, state: State) -> str:
        """Return the physics in force: that of the fault while it is there (a lung stays stiff)."""
        one = NAMED.get(self.fault)
        if one is None or not one.physics:
            return ""
        there = not state.done or self.fault == "lung-stiff" or self.present(state)
        return one.physics if there else ""

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

    def first_needle(self, fault: str, *, held: bool) -> float:
        """Return what the needle would show at the beginning (cmH2O), were this fault the one."""
        return _needle(NAMED[fault].physics, _placed(self._right, fault), self.bench.outlet, held)

    def brings(self, state: State) -> float:
        """Return an inflation's volume as a share of a right one's, from the settled pressures.

        Nothing where the airway lets no gas through in time.
        """
        return self.swing(state) / self._full if self._full else 0.0

    @once
    def _full(self) -> float:
        return self._swing("", self._right)

    def swing(self, state: State) -> float:
        """Return how much an inflation brings (mL) with the mask on, once it has settled."""
        return self._swing(self._changed(state), state.positions)

    def _swing(self, physics: str, positions: tuple[int, ...]) -> float:
        lung = FAULTS.get(physics, NONE).lung(self.bench.lung)
        if lung.airway >= c.FAULT_AIRWAY.value:
            return 0.0
        return float(lung.compliance * _drive(physics, positions))


Pairs = tuple[tuple[str, Any], ...]


@lru_cache(maxsize=32)  # a trial is drawn, and at once marked: what is known of it is kept
def _scene(
    setting: str, fault: str, positions: Pairs, bench: Pairs, right: Pairs, step: float,
    accept: Pairs,
) -> Scene:  # fmt: skip
    made = Bench.from_data({**dict(bench), "positions": dict(positions)})
    return Scene(setting, fault, made, dict(right), step, dict(accept))


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


@lru_cache(maxsize=8192)
def _placed(right: tuple[int, ...], fault: str) -> tuple[int, ...]:
    """Return the same as clicks in the order of the controls."""
    return tuple(wrong(dict(zip(DIALS, right, strict=True)), fault).values())


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
    if outlet != "lung" and made.leak is not None:
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
