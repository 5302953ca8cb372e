"""How aeration, gas, heart and depth of asphyxia go on: one step after another, in plain Python.

A teaching model, never a forecast of a baby. Pressure times time aerates; aeration opens vessels
over minutes; oxygen acts at once; a moving lung takes the brake off the heart. Every state relaxes
exponentially within a step, and a step begins anew where anything is done.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import ceil, exp
from typing import NamedTuple

from workbook.physics.baby.constants import k
from workbook.physics.baby.nature import Nature
from workbook.physics.baby.steps import step_of

STEP = 0.1  # s
LONGEST = 1.0  # s for which own breathing is taken as it was
OPEN = 0.2  # an airway less open than this moves no lung
MINUTE = 60.0
INSTANT = 1e-9  # s


class State(NamedTuple):
    """A baby at a ``time`` (s): shares from 0 to 1 but for what is said.

    ``alveolar`` oxygen in mmHg, ``heart`` in 1/min, ``roused`` the time (s) for which the heart
    has been fast, ``effort`` of own breathing in cmH2O.
    """

    time: float
    aerated: float
    vessels: float
    alveolar: float
    returning: float
    moved: float
    stretch: float
    heart: float
    used: float
    depth: float
    roused: float
    saturation: float
    rise: float
    effort: float


@dataclass(frozen=True, slots=True)
class Drive:
    """What reaches the baby while nothing changes.

    ``pip`` and ``peep`` in cmH2O at the lung, after any leak; ``duty`` the share of time at
    ``pip``; ``rate`` in 1/min of whole inflations, nothing where they are counted one by one
    (`inflated`); ``oxygen`` a share, at the baby; ``patent`` from 0, shut, to 1; ``effort``
    (cmH2O) instead of the baby's own; ``moving`` says that inflations still move the lung.
    """

    pip: float = 0.0
    peep: float = 0.0
    duty: float = 0.0
    rate: float = 0.0
    oxygen: float = 0.0
    patent: float = 1.0
    effort: float | None = None
    compressions: bool = False
    moving: bool = False


def inflations(
    pip: float, peep: float, rate: float, ti: float, oxygen: float, *, compressions: bool = False
) -> Drive:
    """Return a drive of regular inflations: cmH2O, 1/min, s and a share of oxygen."""
    above = pip > k("open.above")
    return Drive(
        pip, peep, min(1.0, rate * ti / MINUTE), rate, oxygen, compressions=compressions,
        moving=rate > 0 and above,
    )  # fmt: skip


def born(nature: Nature) -> State:
    """Return a baby at birth, the lung full of liquid."""
    depth = nature.depth
    returning = max(
        k("start.returning-least"), nature.returning - k("start.returning-depth") * depth
    )
    slowed = k("heart.asphyxia") - k("heart.depth") * depth
    heart = slowed if depth else k("heart.start")
    used = k("start.used-to")
    half = k("heart.used") * max(used, k("heart.used-least"))
    free = (1 - depth * depth) * _answer(returning, half)
    return State(
        0.0, 0.0, 0.0, k("gas.start"), returning, 0.0, 0.0, heart, used, depth, 0.0,
        returning, free, 0.0,
    )  # fmt: skip


def _answer(saturation: float, half: float) -> float:
    ratio = (saturation / half) ** k("heart.steep")
    return float(ratio / (1 + ratio))


def inflated(nature: Nature, state: State, volume: float, oxygen: float) -> State:
    """Return the baby after one inflation of a volume (mL for each kg) and a share of oxygen."""
    fresh = max(0.0, volume - k("dead-space"))
    if not fresh:
        return state
    room = nature.frc * state.aerated + k("frc.least")
    target = k("gas.dry") * oxygen - k("gas.carbon")
    mixed = state.alveolar + (target - state.alveolar) * (1 - exp(-fresh / room))
    return state._replace(alveolar=mixed)


def own_effort(nature: Nature, state: State) -> float:
    """Return how hard a baby pulls (cmH2O) by its own breathing now."""
    if nature.breath is not None:
        return nature.effort if state.time >= nature.breath else 0.0
    back = (state.roused - nature.wait) / k("breath.grows")
    return nature.effort * min(max(back, 0.0), 1.0)


def advance(
    nature: Nature,
    state: State,
    drive: Drive,
    until: float,
    keep: Callable[[State], None] | None = None,
    step: float = STEP,
    *,
    whole: bool = False,
) -> State:
    """Return the baby at ``until`` (s), what reaches it being the same all the time.

    ``keep`` is called with the state at least once a second. ``whole`` stops where a span would
    be cut by ``until``: going on from there is as if it had never been stopped.
    """
    changes = [at for at in (nature.breath, nature.clamp) if at is not None]
    while until - state.time > INSTANT:
        end = state.time + LONGEST
        end = min([end, *(at for at in changes if at - state.time > INSTANT)])
        if whole and end > until:
            break
        end = min(until, end)
        state = _span(nature, state, drive, end, step)
        if keep is not None:
            keep(state)
    return state


def _span(nature: Nature, state: State, drive: Drive, end: float, step: float) -> State:
    """Return the baby at ``end``; own breathing is taken as it was at the beginning."""
    (time, aerated, vessels, alveolar, returning, moved, stretch, heart, used, depth, roused,
     saturation, rise, _) = state  # fmt: skip
    effort = own_effort(nature, state) if drive.effort is None else drive.effort
    count = max(1, ceil((end - time) / step - 1e-9))
    dt = (end - time) / count
    c = step_of(dt)
    breathing = effort > 0
    moves = breathing or (drive.moving and drive.patent > OPEN)
    product = drive.duty * max(0.0, drive.pip - nature.opens)
    product += c.pulling * max(0.0, effort - nature.opens)
    opening = product * drive.patent / c.product
    closing = 0.0 if breathing else max(0.0, 1 - drive.peep / c.close_peep) / c.close
    whole = opening + closing
    settles = opening / whole if whole else 0.0
    near = 1 - exp(-whole * dt)
    speed = 1 + c.faster * (drive.oxygen - c.air) / (1 - c.air)
    widens = 1 - exp(-speed * dt / nature.vessels)
    target_gas = c.dry * drive.oxygen - c.carbon
    reach = (drive.pip - drive.peep) * drive.patent
    pull = c.pulling * effort * drive.patent
    rate, pulls = drive.rate, nature.pulls
    compliance, wet, dead = nature.compliance, c.wet, c.dead
    shunt, shunt_end = nature.shunt, c.shunt_end
    pumped = c.flow / c.flow_heart * c.capacity
    least = c.flow_compressions if drive.compressions else c.flow_least
    share = c.depth_compressions if drive.compressions else 0.0
    transfer, frc = nature.transfer, nature.frc
    use = nature.use if time >= nature.clamp - INSTANT else 0.0
    asphyxiated = nature.depth > 0
    minutes = dt / MINUTE
    p50, hill, back = c.p50, c.hill, 1 / c.hill
    for _step in range(count):
        aerated += (settles - aerated) * near
        taken = compliance * (wet + (1 - wet) * aerated)
        fresh = 0.0
        if rate:
            fresh = rate * max(0.0, taken * reach - dead)
        if effort:
            fresh += pulls * max(0.0, taken * pull - dead)
        vessels += (aerated - vessels) * widens
        shunted = shunt - (shunt - shunt_end) * vessels
        carried = pumped * (heart if heart > least else least) * (1 - shunted)
        high = (alveolar / p50) ** hill
        most = high / (high + 1) + c.dissolved * alveolar
        ends = returning
        gap = most - returning
        if gap > 0:
            drop = alveolar - p50 * (returning / (1 - returning)) ** back
            if drop > 0:
                ends += gap * (1 - exp(-transfer * aerated * drop / (carried * gap)))
        saturation = min(c.most, returning + (1 - shunted) * (ends - returning))
        uptake = carried * (ends - returning)
        used_up = use * returning / (returning + c.half)
        returning = min(c.most, max(0.001, returning + (uptake - used_up) / c.stores * minutes))
        room = frc * aerated + c.frc_least
        if fresh:
            settled = target_gas - c.volume * uptake / fresh
            alveolar += (settled - alveolar) * (1 - exp(-fresh / room * minutes))
        else:
            alveolar -= c.volume * uptake / room * minutes
        if alveolar < c.gas_least:
            alveolar = c.gas_least
        moved += ((aerated if moves else 0.0) - moved) * c.stretches
        stretch += (moved - stretch) * c.stretches
        used += (saturation - used) * c.uses
        half = c.used * max(c.used_least, used)
        half += (c.free - half) * stretch * stretch
        ratio = (saturation / half) ** c.steep
        rise = (1 - depth * depth) * ratio / (1 + ratio)
        toward = c.low + c.span * rise
        heart += (toward - heart) * (c.up if toward > heart else c.down)
        if asphyxiated:
            supply = saturation * max(heart / c.depth_heart, share)
            if supply > c.repays:
                depth -= (supply - c.repays) / c.repaid_over * dt
            if saturation < c.deepens:
                depth += (c.deepens - saturation) / c.deepens_over * dt
            depth = min(max(depth, 0.0), 1.0)
        roused = roused + dt if heart >= c.breath_heart else max(0.0, roused - dt)
    return State(
        end, aerated, vessels, alveolar, returning, moved, stretch, heart, used, depth, roused,
        saturation, rise, effort,
    )  # fmt: skip
