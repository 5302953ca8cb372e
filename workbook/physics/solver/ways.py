"""The ways gas takes, in the kernel's units: what comes down the limb, what leaves at the T.

Pressures in cmH2O, flows in mL/s; nothing is checked.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from workbook.physics.parts.circuit import OPEN_MASK, Circuit
from workbook.physics.parts.passage import LimitValve, Passage

PER_SECOND = 1000 / 60  # mL/s in 1 L/min
GAMMA = 1 - math.sqrt(0.5)  # of the stepper's two stages: the share of a step in each
REST = 1 - GAMMA
FAINT = 1e-6  # cmH2O/(L/min)^2; a way without any resistance is treated as having this
SLIGHT = 1e-3 / PER_SECOND  # a valve and limb without linear resistance are treated as having this
SOFT = 1e-3  # cmH2O; below this a sharp opening is nearly linear, as a real one is
NEAR = 1.0  # cmH2O; beyond this the difference is below a millionth
TINY = 1e-12
ROUNDS = 80

Way = tuple[float, float, float]  # opens at, linear, quadratic
Upstream = Callable[[float], tuple[float, float]]  # pressure at the T -> flow, slope
# pressure at the T -> flow by the aperture, by the leak, and the slopes of both
Outflow = Callable[[float], tuple[float, float, float, float]]

ALWAYS = -math.inf
NEVER: Way = (math.inf, 1.0, 0.0)


def way(part: Passage | LimitValve | None) -> Way:
    """Return a part in the kernel's units: where it opens, linear, quadratic."""
    if part is None:
        return NEVER
    opens = part.opens_at if isinstance(part, LimitValve) else ALWAYS
    quadratic = part.quadratic if part.linear else max(part.quadratic, FAINT)
    return opens, part.linear / PER_SECOND, quadratic / PER_SECOND**2


def falling_root(function: Callable[[float], tuple[float, float]], guess: float) -> float:
    """Return the root of a function (value, slope) that falls at a slope of -1 or steeper."""
    low, high, x = -math.inf, math.inf, guess
    for _ in range(ROUNDS):
        value, slope = function(x)
        if abs(value) <= TINY * (1 + abs(x)):
            break
        if value > 0:
            low, high = x, min(high, x + value)
        else:
            low, high = max(low, x + value), x
        step = x - value / slope
        x = step if low < step < high else (low + high) / 2
        if high - low <= TINY * TINY:
            break
    return x


def _soft(drop: float, a: float, b: float) -> tuple[float, float]:
    """Return flow and slope where a sharp opening's own law would be endlessly steep."""
    size = math.hypot(drop, SOFT)
    root = math.sqrt(a * a + 4 * b * size)
    bottom = a + root
    return 2 * drop / bottom, (2 - 4 * b * drop * drop / (size * root * bottom)) / bottom


def upstream(circuit: Circuit) -> Upstream:
    """Return what comes down the limb at a pressure at the T, with its slope."""
    flow = circuit.flow * PER_SECOND
    r, r2 = circuit.limb.linear / PER_SECOND, circuit.limb.quadratic / PER_SECOND**2
    first, second = sorted((way(circuit.pip_valve), way(circuit.relief_valve)))
    opens, a, b = first
    line, b4, both, root_of = a + r or SLIGHT, 4 * b, second[0], math.sqrt
    shut = r * flow + r2 * flow * flow

    def down_the_limb(at_t: float) -> tuple[float, float]:
        over = at_t + shut - opens
        if over <= 0:
            return flow, 0.0
        if r2:
            return _with_valves(at_t, flow, (first, second), (r, r2))
        root = root_of(line * line + b4 * over) or TINY
        vented = 2 * over / (line + root)
        if over + opens - r * vented > both:
            return _with_valves(at_t, flow, (first, second), (r, r2))
        return flow - vented, -1 / root

    return down_the_limb


def _with_valves(
    at_t: float, flow: float, valves: tuple[Way, Way], limb: tuple[float, float]
) -> tuple[float, float]:
    """Return the same with any number of valves open: a root in the manometer's pressure."""
    r, r2 = limb

    def left(manometer: float) -> tuple[float, float]:
        vented = slope = 0.0
        for opens, a, b in valves:
            if manometer > opens:
                one = _soft(manometer - opens, a, b)
                vented, slope = vented + one[0], slope + one[1]
        return flow - vented, slope

    def surplus(manometer: float) -> tuple[float, float]:
        limb_flow, slope = left(manometer)
        drop = r * limb_flow + r2 * limb_flow * abs(limb_flow)
        return at_t + drop - manometer, -1 - (r + 2 * r2 * abs(limb_flow)) * slope

    manometer = falling_root(surplus, at_t + r * flow + r2 * flow * flow)
    limb_flow, slope = left(manometer)
    return limb_flow, slope / surplus(manometer)[1]


def outflow(circuit: Circuit, *, held: bool, capped: bool | None = None) -> Outflow:
    """Return what leaves at the T by the aperture and by the leak.

    ``capped`` is None with the lung on the circuit; without it the outlet is capped or open.
    """
    leaky = {None: circuit.leak, True: None, False: OPEN_MASK}[capped]
    opening = circuit.opening(held=held)
    _, a, b = way(opening)
    opens, leak_a, leak_b = way(leaky)
    base, aa, b4 = (0.0 if opens == ALWAYS else opens), a * a, 4 * b
    leak_aa, leak_b4, root_of = leak_a * leak_a, 4 * leak_b, math.sqrt

    def out(at_t: float) -> tuple[float, float, float, float]:
        aperture = leak = aperture_slope = leak_slope = 0.0
        if opening is not None:
            if -NEAR < at_t < NEAR:
                aperture, aperture_slope = _soft(at_t, a, b)
            else:
                root = root_of(aa + b4 * abs(at_t))
                aperture, aperture_slope = 2 * at_t / (a + root), 1 / root
        if at_t > opens:
            over = at_t - base
            if -NEAR < over < NEAR:
                leak, leak_slope = _soft(over, leak_a, leak_b)
            else:
                root = root_of(leak_aa + leak_b4 * abs(over))
                leak, leak_slope = 2 * over / (leak_a + root), 1 / root
        return aperture, leak, aperture_slope, leak_slope

    return out
