"""One stage of the stepper: the balance of flows at the T, solved for one unknown.

Everything here is in cmH2O, mL and s (flows in mL/s); nothing is checked. With the patient's
flow q as the unknown the pressure at the T is explicit, and the surplus at the T falls with q
at a slope of -1 or steeper. So one value of the surplus already encloses the root.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from workbook.physics.parts.circuit import Circuit
from workbook.physics.parts.lung import Lung
from workbook.physics.solver.ways import PER_SECOND, ROUNDS, falling_root, outflow, upstream

BARE = 0.01  # mL/cmH2O; a circuit with nothing attached still takes up some gas
CLOSE = 0.02  # a Newton step this small, in shares of the flow, leaves far less than the step errs
FAR = 10  # and the surplus must be below a tenth: at a sharp corner a step can be tiny

# (pressure at the T, flow to the patient, flow out by the aperture, by the leak, down the limb)
Node = tuple[float, float, float, float, float]
# (base volume, base pressure at the T, share of the step, effort, guess of q) -> Node
Stage = Callable[[float, float, float, float, float], Node]


def connected(circuit: Circuit, lung: Lung, *, held: bool) -> Stage:
    """Return the stage of a circuit with the lung on it."""
    above, out = upstream(circuit), outflow(circuit, held=held)
    e, r, k = 1 / lung.open_compliance, lung.linear / 1000, lung.quadratic / 1e6
    stiff = lung.stiffening
    s, v_stiff = (stiff.factor, stiff.above) if stiff else (0.0, math.inf)
    compressible, scale, inf = circuit.compressible, _scale(circuit), math.inf

    def stage(volume: float, pressure: float, share: float, pull: float, q: float) -> Node:
        low, high, store = -inf, inf, compressible / share
        for _ in range(ROUNDS):
            size = q if q > 0 else -q
            now, resist = volume + share * q, r + k * size
            recoil, rise = e * now, share * e + resist + k * size
            if now > v_stiff:
                recoil += s * (now - v_stiff) ** 2
                rise += share * 2 * s * (now - v_stiff)
            at_t = recoil - pull + resist * q
            limb, limb_slope = above(at_t)
            aperture, leak, aperture_slope, leak_slope = out(at_t)
            surplus = limb - aperture - leak - q - store * (at_t - pressure)
            step = surplus / (1 + (aperture_slope + leak_slope - limb_slope + store) * rise)
            near = scale + size
            if -near * CLOSE < step < near * CLOSE and -near < surplus * FAR < near:
                break
            # The slope is -1 or steeper, so the root is no further away than the surplus.
            if surplus > 0:
                low, high = q, min(high, q + surplus)
            else:
                low, high = max(low, q + surplus), q
            q = q + step if low < q + step < high else (low + high) / 2
        more = rise * step
        aperture, leak = aperture + aperture_slope * more, leak + leak_slope * more
        return at_t + more, q + step, aperture, leak, limb + limb_slope * more

    return stage


def _scale(circuit: Circuit) -> float:
    """Return a flow (mL/s) beside which q may be called small when it is near zero."""
    return circuit.flow * PER_SECOND * 0.01 + 1e-3


def apart(circuit: Circuit, lung: Lung, *, held: bool, capped: bool) -> Stage:
    """Return the stage of a circuit taken off the lung: each is left to itself."""
    above, out = upstream(circuit), outflow(circuit, held=held, capped=capped)
    e, r, k = 1 / lung.open_compliance, lung.linear / 1000, lung.quadratic / 1e6
    compressible = stored(circuit, joined=False)

    def stage(volume: float, pressure: float, share: float, pull: float, q: float) -> Node:
        least = share * e + r

        def net(flow: float) -> tuple[float, float]:
            resist = r * flow + k * flow * abs(flow)
            now = volume + share * flow
            return (pull - lung.recoil(now) - resist) / least, -1 - 2 * k * abs(flow) / least

        def surplus(at_t: float) -> tuple[float, float]:
            limb, slope = above(at_t)
            aperture, leak, one, two = out(at_t)
            gain = share / compressible
            fall = (slope - one - two) * gain - 1
            return (limb - aperture - leak) * gain - (at_t - pressure), fall

        at_t, flow = falling_root(surplus, pressure), falling_root(net, q)
        aperture, leak, _, _ = out(at_t)
        return at_t, flow, aperture, leak, above(at_t)[0]

    return stage


def stored(circuit: Circuit, *, joined: bool) -> float:
    """Return the circuit's compressible volume (mL/cmH2O) as the kernel uses it."""
    return circuit.compressible if joined else max(circuit.compressible, BARE)


def drift(circuit: Circuit, pressure: float, flow: float, *, held: bool, outlet: str) -> float:
    """Return how fast the pressure at the T changes (cmH2O/s) at a flow to the patient."""
    joined = outlet == "lung"
    capped = None if joined else outlet == "capped"
    aperture, leak, _, _ = outflow(circuit, held=held, capped=capped)(pressure)
    net = upstream(circuit)(pressure)[0] - aperture - leak - (flow if joined else 0.0)
    return net / stored(circuit, joined=joined)
