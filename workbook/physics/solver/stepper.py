"""The stepper: from one event to the next by an L-stable, stiffly accurate two-stage method.

SDIRK with gamma = 1 - 1/sqrt(2). After every event the steps start small and grow as far as an
estimate of the error of one step allows. The grid of the output has no say in it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from workbook.physics.action import Ramp, turned
from workbook.physics.parts.circuit import Circuit
from workbook.physics.parts.lung import Effort, Lung
from workbook.physics.parts.passage import flow_through
from workbook.physics.solver.kernel import Node, Stage, apart, connected, drift
from workbook.physics.solver.opening import Opening
from workbook.physics.solver.ways import GAMMA, PER_SECOND, REST

ERROR = 0.138  # share of the difference of slopes that is the error of one step
STEP = 0.002  # s; the accuracy asked for is stated at this step
VOLUME = 6e-5  # error allowed in one step at that step, as a share of the volume
PRESSURE = 5e-4  # and of the pressure at the T, which the next steps forget
FIRST, LARGEST = 1 / 32, 25.0  # smallest and largest step; what is faster is only damped
GROWTH, SHRINK, CAUTION = 2.0, 0.3, 0.85
SLIPPERY = 1e-6  # cmH2O s/mL; with less resistance the first slope is taken as with this
FAINT = 1e-3  # an error below this lets the step grow freely

Outlet = str  # "lung", "open" or "capped"


@dataclass(frozen=True, slots=True)
class Gas:
    """Gas so far, in mL: what was supplied and where it went."""

    supplied: float = 0.0
    vented: float = 0.0
    by_aperture: float = 0.0
    by_leak: float = 0.0
    to_lung: float = 0.0

    @property
    def kept(self) -> float:
        """Return what the circuit must have taken up by compression."""
        return self.supplied - self.vented - self.by_aperture - self.by_leak - self.to_lung


@dataclass(frozen=True, slots=True)
class State:
    """Everything the model needs to go on from a time (s): volumes in mL, pressures in cmH2O."""

    time: float
    volume: float
    pressure_t: float
    circuit: Circuit
    held: bool = False
    outlet: Outlet = "lung"
    ramps: tuple[Ramp, ...] = ()
    gas: Gas = field(default_factory=Gas)
    flow_patient: float = 0.0
    drift: float = 0.0  # how fast the pressure at the T changes, cmH2O/s
    stride: float = 0.0  # the step to go on with; 0 after an event
    open_share: float | None = None  # of a lung that opens


Point = tuple[float, float, Node, Circuit, Lung]  # time, volume, node, circuit, lung as it stands
Keep = Callable[[Point], None]


def stage_of(circuit: Circuit, lung: Lung, held: bool, outlet: Outlet) -> Stage:
    """Return the law of one stage for what is attached and what is held."""
    if outlet == "lung":
        return connected(circuit, lung, held=held)
    return apart(circuit, lung, held=held, capped=outlet == "capped")


def circuit_at(state: State, time: float) -> Circuit:
    """Return the circuit at a time, its controls on their way where they are being turned."""
    circuit = state.circuit
    for ramp in state.ramps:
        circuit = turned(circuit, ramp.kind, ramp.at(time))
    return circuit


def _no_pull(time: float) -> float:
    return 0.0


class Smooth:
    """A stretch between two events; goes from its state to an end, keeping points on the way."""

    def __init__(self, state: State, lung: Lung, effort: Effort | None, step: float) -> None:
        self.time, self.volume, self.pressure = state.time, state.volume, state.pressure_t
        self.flow, self.drift, self.bend = state.flow_patient, state.drift, 0.0
        self.supplied = self.patient = self.by_aperture = self.by_leak = self.by_limb = 0.0
        self.state, self.step = state, step
        self.lung = lung if state.open_share is None else lung.opened(state.open_share)
        law = self.lung.recruitment
        self.opening = Opening(self.lung, law, self.volume) if law else None
        self.exact = ERROR * (STEP / step) ** 3
        self.pull = effort.pull if effort else _no_pull
        self.joined = state.outlet == "lung"
        self.rigid = self.joined and not state.circuit.compressible
        self._fixed = None if state.ramps or law else self._make(state.time, self.lung)
        self.fresh = state.stride == 0
        self.stride = state.stride or self._begin()

    def _begin(self) -> float:
        """Return the first step after an event, with the slopes as they now are."""
        if self.rigid:
            return self.step * FIRST
        circuit, held = circuit_at(self.state, self.time), self.state.held
        outlet = self.state.outlet
        if self.joined:
            drive = self.pressure - self.lung.recoil(self.volume) + self.pull(self.time)
            r, k = max(self.lung.linear / 1000, SLIPPERY), self.lung.quadratic / 1e6
            self.flow = flow_through(drive, r, k)
        self.drift = drift(circuit, self.pressure, self.flow, held=held, outlet=outlet)
        return self.step * FIRST * 8

    def _make(self, time: float, lung: Lung) -> tuple[Circuit, Stage]:
        circuit = circuit_at(self.state, time)
        return circuit, stage_of(circuit, lung, self.state.held, self.state.outlet)

    def go(self, end: float, keep: Keep | None) -> None:
        """Step to ``end`` exactly."""
        smallest, largest = self.step * FIRST, self.step * LARGEST
        blind = self.rigid and self.fresh
        while self.time < end:
            left, stride = end - self.time, self.stride
            last = left <= stride * 1.001
            h = left if last else min(stride, left / 2) if left < 2 * stride else stride
            error = self._try(h, end if last else self.time + h)
            if error > 1 and h > smallest and not blind:
                self.stride = h * max(SHRINK, CAUTION * error ** (-1 / 3))
                continue
            self._take()
            if keep is not None:
                keep((self.time, self.volume, self.last[1], self.last[0], self.lung))
            grown = h * min(GROWTH, CAUTION * error ** (-1 / 3)) if error > FAINT else h * GROWTH
            # A step cut short by the end of the stretch says little about the next one.
            self.stride = min(grown if h == stride else max(stride, grown), largest)
            blind = False

    def _try(self, h: float, then: float) -> float:
        """Take a step on trial; return its error, where 1 is the most allowed."""
        share, rest = GAMMA * h, REST * h
        middle, flow, pressure = self.time + share, self.flow, self.pressure
        opening = self.opening
        lung = opening.partway(h) if opening else self.lung
        circuit, stage = self._fixed or self._make(middle, lung)
        one = stage(self.volume, pressure, share, self.pull(middle), flow + share * self.bend)
        self.middle, rise = (circuit, one), (one[0] - pressure) / share
        lung = opening.whole(self.volume + share * one[1], h) if opening else self.lung
        circuit, stage = self._fixed or self._make(then, lung)
        base, partway = pressure + rest * rise, self.volume + rest * one[1]
        two = stage(partway, base, share, self.pull(then), one[1] + (one[1] - flow) * REST / GAMMA)
        self.last, final = (circuit, two), (two[0] - base) / share
        volume = partway + share * two[1]
        self.trial = (h, then, volume, final, lung)
        turn = (two[1] - one[1]) / REST - (one[1] - flow) / GAMMA
        error = abs(turn) / (VOLUME + VOLUME * abs(volume))
        if not self.rigid:
            turn = (final - rise) / REST - (rise - self.drift) / GAMMA
            error = max(error, abs(turn) / (PRESSURE + PRESSURE * abs(two[0])))
        if opening:
            error = max(error, abs(opening.bend(volume)) / VOLUME)
        return self.exact * h * error

    def _take(self) -> None:
        """Make the step that was tried count."""
        (circuit, one), (later, two) = self.middle, self.last
        h, then, volume, final, self.lung = self.trial
        if self.opening:
            self.opening.take()
        self.bend = (two[1] - one[1]) / (REST * h)
        self.time, self.volume, self.pressure = then, volume, two[0]
        self.flow, self.drift = two[1], final
        first, second = REST * h, GAMMA * h
        self.supplied += first * circuit.flow + second * later.flow
        self.patient += first * one[1] + second * two[1]
        self.by_aperture += first * one[2] + second * two[2]
        self.by_leak += first * one[3] + second * two[3]
        self.by_limb += first * one[4] + second * two[4]

    def counted(self) -> Gas:
        """Return the gas of everything so far."""
        before, supplied = self.state.gas, self.supplied * PER_SECOND
        return Gas(
            before.supplied + supplied,
            before.vented + supplied - self.by_limb,
            before.by_aperture + self.by_aperture,
            before.by_leak + self.by_leak,
            before.to_lung + (self.patient if self.joined else 0.0),
        )
