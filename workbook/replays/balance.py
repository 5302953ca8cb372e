"""The balance of flows at the T for many records: one stage of the stepper; see ``kernel``."""

from __future__ import annotations

import numpy as np

from workbook.physics.kernel import CLOSE
from workbook.physics.ways import ROUNDS, TINY
from workbook.replays.laws import (
    Array,
    Named,
    crossed,
    down_the_limb,
    falling_root,
    safer,
    soft,
    through,
)

# Where Newton's last step goes across a corner of a law, the surplus must be smaller than this.
FAR = 100  # in shares of the flow, the other way up
FEW = 4  # fewer than one in so many left: go on with those alone

Base = tuple[Array, Array, Array, Array]  # volume, pressure at the T, share of the step, pull
# Pressure at the T, flow to the patient, flow down the limb and its slope over the pressure.
Node = tuple[Array, Array, Array, Array]
NO_LOW, NO_HIGH = np.array(-np.inf), np.array(np.inf)
Guess = tuple[Array, Array, Array]  # the unknown and its bracket


def balanced(law: Named, base: Base, guess: Array) -> Node:
    """Return the node at which nothing is left over at the T.

    For a circuit off the lung the unknown is not the flow to the patient but the pressure
    itself, and the flow of the node is to be found apart.
    """
    return _rounds(law, base, (guess, NO_LOW, NO_HIGH), ROUNDS)


def _rounds(law: Named, base: Base, guess: Guess, rounds: int) -> Node:
    x, low, high = guess
    store = law.takes_up / base[2]
    reach = _reach(law, store) if law.parted else 1.0
    for n in range(rounds):
        surplus, slope, rise, node = _surplus(law, base, store, x)
        step, near = surplus / slope, law.near + np.abs(x)
        value = surplus * reach
        found = np.abs(step) < near * CLOSE
        crossing = crossed(law, node[0], node[0] + rise * step)
        found &= ~crossing | (np.abs(value) * FAR < near)
        left = x.size - np.count_nonzero(found)
        if left == 0 or n == rounds - 1:
            break
        if left * FEW < x.size and n < rounds - 2:
            at = np.flatnonzero(~found)
            bounds = (low, high) if low is NO_LOW else (low[at], high[at])
            guess = safer(x[at], value[at], -step[at], bounds, found[at])
            made = _stepped(node, x, rise, step)
            return _with_few(law, base, guess, at, made, rounds - n - 1)
        x, low, high = safer(x, value, -step, (low, high), found)
    return _stepped(node, x, rise, step)


def _reach(law: Named, store: Array) -> Array:
    """Return how far off the root is for each unit of surplus, at most."""
    return np.where(law.joined > 0, 1.0, 1 / np.maximum(store, TINY))


def _stepped(node: tuple[Array, Array, Array], x: Array, rise: Array, step: Array) -> Node:
    at_t, limb, slope = node
    more = rise * step
    return at_t + more, x + step, limb + slope * more, slope


def _with_few(law: Named, base: Base, guess: Guess, at: Array, made: Node, rounds: int) -> Node:
    """Return the nodes that are made, once the few that are missing are found too."""
    volume, pressure, share, pull = base
    some = volume[at], pressure[at], share[at], pull[at]
    found = _rounds(law.some(at), some, guess, rounds)
    for whole, part in zip(made, found, strict=True):
        whole[at] = part
    return made


def _surplus(
    law: Named, base: Base, store: Array, x: Array
) -> tuple[Array, Array, Array, tuple[Array, Array, Array]]:
    """Return the surplus at the T, how steeply it falls, the pressure's rise, and the node."""
    volume, pressure, share, pull = base
    bend = law.k * np.abs(x)
    resist = law.r + bend
    now, rise = volume + share * x, share * law.e + resist + bend
    recoil = law.e * now
    if law.stiffening:
        over = np.maximum(now - law.lung_above, 0.0)
        recoil = recoil + law.s * over * over
        rise = rise + share * 2 * law.s * over
    at_t = recoil - pull + resist * x
    limb, limb_slope = down_the_limb(law, at_t)
    out, out_slope = _outflow(law, at_t)
    patient = law.joined * x if law.parted else x
    surplus = limb - out - patient - store * (at_t - pressure)
    slope = law.joined + (out_slope - limb_slope + store) * rise
    return surplus, slope, rise, (at_t, limb, limb_slope)


def _outflow(law: Named, at_t: Array) -> tuple[Array, Array]:
    """Return what leaves at the T, with its slope."""
    if not law.leaking:
        out, slope = soft(at_t, law.aperture_a, law.aperture_aa, law.aperture_b4)
        return law.free * out, law.free * slope
    drops = np.stack((at_t, at_t - law.leak_base))
    flows, slopes = soft(drops, law.both("a"), law.both("aa"), law.both("b4"))
    leaks = at_t > law.leak_opens
    return law.free * flows[0] + leaks * flows[1], law.free * slopes[0] + leaks * slopes[1]


def alone(law: Named, volume: Array, share: Array, pull: Array) -> Array:
    """Return the flow into lungs that are left to themselves."""
    least = share * law.lung_e + law.lung_r
    flow = through(pull - law.lung_e * volume, least, law.lung_k)
    stiff = np.flatnonzero(volume + share * np.maximum(flow, 0.0) > law.lung_above)
    if stiff.size:
        some = law.some(stiff)
        rest = volume[stiff], share[stiff], pull[stiff], least[stiff]
        flow[stiff] = _stiff(some, *rest, flow[stiff])
    return flow


def _stiff(
    law: Named, volume: Array, share: Array, pull: Array, least: Array, guess: Array
) -> Array:
    def surplus(flow: Array) -> tuple[Array, Array]:
        size, now = np.abs(flow), volume + share * flow
        over = np.maximum(now - law.lung_above, 0.0)
        steep = least + 2 * law.lung_k * size + 2 * share * law.lung_s * over
        recoil = law.lung_e * now + law.lung_s * over * over
        resist = (law.lung_r + law.lung_k * size) * flow
        return (pull - recoil - resist) / least, -steep / least

    return falling_root(surplus, guess)
