"""The balance of flows at the T for many records: one stage of the stepper; see ``kernel``."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np

from workbook.physics.solver.ways import ROUNDS, SOFT, TINY
from workbook.replays.laws import Array, Laws, crossed, falling_root, leaving, safer, through

# Newton's step, in shares of the flow, after which as much is left of the flow's error as its
# square: far less than a step of the replay errs.
CLOSE = 0.05
# Where that step goes across a corner of a law, the surplus must be smaller than this.
FAR = 100  # in shares of the flow, the other way up
# So must it, if less so, close to no pressure: there the flow by the aperture bends so sharply
# that a small step can lead far past the root.
AMISS, SHARP = 10, 20 * SOFT  # in shares of the flow, the other way up; cmH2O

# Pressure at the T, flow to the patient, flow down the limb and its slope over the pressure.
Node = tuple[Array, Array, Array, Array]
NO_LOW, NO_HIGH, NO_WAY = np.array(-np.inf), np.array(np.inf), np.array(0.0)
Guess = tuple[Array, Array, Array, Array]  # the unknown, its bracket and the last way to it


class Base(NamedTuple):
    """Where a stage begins: ``recoil`` less the pull, and what stands against a flow at least."""

    volume: Array
    pressure: Array  # at the T
    share: Array  # of the step
    recoil: Array
    least: Array  # cmH2O s/mL
    store: Array  # what the circuit takes up in that share, mL/s for each cmH2O


def base(law: Laws, state: Array, share: Array, pull: Array) -> Base:
    """Return the base of a stage that begins at a volume and a pressure."""
    volume, pressure = state
    recoil, least = law.e * volume, law.e * share
    recoil -= pull
    least += law.r
    return Base(volume, pressure, share, recoil, least, law.takes_up / share)


def balanced(law: Laws, begin: Base, guess: Array, spare: Array) -> tuple[Node, Array]:
    """Return the nodes at which nothing is left over at the T, and for which that is not so yet.

    Those that can be spared are given up when one step of Newton's is not enough: arithmetic with
    a few of the records takes nearly as long as with all, so they had better come again. For a
    circuit off the lung the unknown is not the flow to the patient but the pressure itself, and
    the flow of the node is to be found apart.
    """
    made, left, bounded = _newton(law, begin, (guess, NO_LOW, NO_HIGH, NO_WAY))
    given_up = spare[left]
    lost, some = left[given_up], np.flatnonzero(~given_up)
    at = left[some]
    left, bounded = at, _taken(bounded, some)
    for _ in range(1, ROUNDS):
        if not at.size:
            break
        law, begin = law.some(left), Base(*_taken(begin, left))
        nodes, left, bounded = _newton(law, begin, bounded)
        for whole, part in zip(made, nodes, strict=True):
            whole[at] = part
        at = at[left]
    return made, lost


def _taken(rows: tuple[Array, ...], at: Array) -> Any:
    return tuple(each[at] for each in rows)


def _newton(law: Laws, begin: Base, guess: Guess) -> tuple[Node, Array, Guess]:
    """Return the nodes after one step, whose root is not yet found, and what to try for those."""
    x, *known = guess
    surplus, slope, rise, node = _surplus(law, begin, x)
    step = surplus / slope
    made = _stepped(node, x, rise, step)
    value = surplus if law.absent.parting else surplus * _reach(law, begin.store)
    left = _left(law, (x, node[0]), made[0], step, value)
    low, high, way = known if known[0] is NO_LOW else _taken(tuple(known), left)
    goes_on = safer(x[left], value[left], -step[left], (low, high, way), np.array(False))
    return made, left, goes_on


def _reach(law: Laws, store: Array) -> Array:
    """Return how far off the root is for each unit of surplus, at most."""
    return np.where(law.joined > 0, 1.0, 1 / np.maximum(store, TINY))


def _left(law: Laws, before: tuple[Array, Array], after: Array, step: Array, value: Array) -> Array:
    """Return whose root is not yet found, by the unknown and the pressures around its last step."""
    x, at_t = before
    near = np.abs(x)
    near += law.near
    close, surplus = np.abs(step) < near * CLOSE, np.abs(value)
    bent = np.minimum(np.abs(at_t), np.abs(after)) < SHARP
    bent &= surplus * AMISS > near
    doubtful = np.flatnonzero(~close | bent | crossed(law, at_t, after))
    if doubtful.size:
        small = surplus[doubtful] * FAR < near[doubtful]
        doubtful = doubtful[~(close[doubtful] & small)]
    return doubtful


def _stepped(node: tuple[Array, Array, Array], x: Array, rise: Array, step: Array) -> Node:
    at_t, limb, slope = node
    more = rise * step
    return at_t + more, x + step, limb + slope * more, slope


def _surplus(
    law: Laws, begin: Base, x: Array
) -> tuple[Array, Array, Array, tuple[Array, Array, Array]]:
    """Return the surplus at the T, how steeply it falls, the pressure's rise, and the node."""
    bend = np.abs(x)
    bend *= law.k
    resist = begin.least + bend
    at_t = resist * x
    at_t += begin.recoil
    resist += bend
    rise = resist
    if not law.absent.stiffening:
        over = np.maximum(begin.volume + begin.share * x - law.lung_above, 0.0)
        at_t += law.s * over * over
        rise += begin.share * 2 * law.s * over
    out, steep = leaving(law, at_t)
    limb, patient = law.flow - out[1], x if law.absent.parting else law.joined * x
    surplus = limb - patient
    surplus -= begin.store * (at_t - begin.pressure)
    slope = begin.store + steep[1]
    for way in range(0, len(out), 2):  # the aperture and the leak
        surplus -= out[way]
        slope += steep[way]
    slope *= rise
    slope += law.joined
    return surplus, slope, rise, (at_t, limb, -steep[1])


def alone(law: Laws, volume: Array, share: Array, pull: Array) -> Array:
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
    law: Laws, volume: Array, share: Array, pull: Array, least: Array, guess: Array
) -> Array:
    def surplus(flow: Array) -> tuple[Array, Array]:
        size, now = np.abs(flow), volume + share * flow
        over = np.maximum(now - law.lung_above, 0.0)
        steep = least + 2 * law.lung_k * size + 2 * share * law.lung_s * over
        recoil = law.lung_e * now + law.lung_s * over * over
        resist = (law.lung_r + law.lung_k * size) * flow
        return (pull - recoil - resist) / least, -steep / least

    return falling_root(surplus, guess)
