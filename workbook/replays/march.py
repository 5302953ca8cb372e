"""All records side by side from event to event, each at its own time with its own step.

The method and the errors allowed are the stepper's; see ``workbook.physics.stepper``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from workbook.physics.stepper import (
    CAUTION,
    ERROR,
    FAINT,
    FIRST,
    GAMMA,
    GROWTH,
    LARGEST,
    PRESSURE,
    REST,
    SHRINK,
    STEP,
    VOLUME,
)
from workbook.replays.balance import Node, alone, balanced
from workbook.replays.laws import Array, Named, moved
from workbook.replays.schedule import RAMPS, Schedule

# What is known of each record now; ``tilt`` is how fast the manometer changes.
STATE = ("time", "volume", "flow", "pressure", "drift", "gauge", "tilt")
SMALLEST = STEP * FIRST
MOVING = [part for part, _ in RAMPS.values()]


class March:
    """The records of a schedule on their way; ``ends`` gathers the state at each stretch's end."""

    def __init__(self, schedule: Schedule) -> None:
        self.schedule = schedule
        self.ends = np.full((len(STATE), schedule.laws.shape[1]), np.nan)
        self.who = np.flatnonzero(np.diff(schedule.bounds))
        self.stretch = schedule.bounds[:-1][self.who]
        self.last = schedule.bounds[1:][self.who] - 1
        self.now = np.zeros((len(STATE), self.who.size))
        for name, row in zip(("volume", "pressure", "gauge"), schedule.first, strict=True):
            self.now[STATE.index(name)] = row[self.who]
        # The slope of the patient's flow, and the step to try.
        self.bend, self.stride = np.zeros((2, self.who.size))
        whole = Named(schedule.laws)
        whole.note()
        self.law = whole.some(self.stretch)
        self.turning, self.pulling = bool(schedule.ramped.any()), bool(whole.amplitude.any())
        self.hurry: Array | float = 0.0
        self.ramped = self.apart = np.empty(0, dtype=int)
        self._begin(np.arange(self.who.size))

    def steps(self) -> Iterator[tuple[Array, Array, Array]]:
        """Yield the records that stand, and their states before and after a step of each.

        A record whose step was refused has the same state before and after.
        """
        while self.who.size:
            before, who = self.now, self.who
            arrived = self._step(Named(before, STATE))
            yield who, before, self.now
            if arrived.size:
                self._next(arrived)

    def _next(self, at: Array) -> None:
        """Let some records go on to their next stretch; those at their end drop out."""
        self.ends[:, self.stretch[at]] = self.now[:, at]
        self.stretch[at] += 1
        over = self.stretch[at] > self.last[at]
        if over.any():
            keep = np.ones(self.who.size, dtype=bool)
            keep[at[over]] = False
            at = (np.cumsum(keep) - 1)[at[~over]]
            for name in ("who", "stretch", "last", "bend", "stride"):
                setattr(self, name, getattr(self, name)[keep])
            self.now, self.law = self.now[:, keep], self.law.like(self.law.rows[:, keep])
        self.law.rows[:, at] = self.schedule.laws[:, self.stretch[at]]
        self._begin(at)

    def _begin(self, at: Array) -> None:
        """Let some records begin a stretch: a smallest step on trust, for its slopes are new."""
        self.now[0, at] = self.law.begin[at]
        self.bend[at], self.stride[at] = 0.0, SMALLEST
        if self.turning:
            self.hurry = self.schedule.rates[0][self.stretch]  # of the flow
            self.ramped = np.flatnonzero(self.schedule.ramped[self.stretch])
        if self.law.parted:
            self.apart = np.flatnonzero(self.law.joined == 0)

    def _at(self, time: Array) -> Named:
        """Return the laws at times, with the controls on their way where they are being turned."""
        at = self.ramped
        if not at.size:
            return self.law
        rows, plan, stretch = self.law.rows.copy(), self.schedule, self.stretch[at]
        since = (time - self.law.begin)[at]
        rows[:, at] = moved(plan.parts[:, stretch], plan.rates[:, stretch], MOVING, since)
        return self.law.like(rows)

    def _step(self, now: Named) -> Array:
        """Let every record try a step; return which have come to their stretch's end."""
        h, last = self._strides(now)
        then = now.time + h
        then[last] = self.law.end[last]
        after, flows, rise = self._stages(now, h, then)
        error = self._error(now, h, after, flows, rise)
        refused = (error > 1) & (h > SMALLEST)
        self._adapt(h, error, np.flatnonzero(refused), flows)
        kept = np.flatnonzero(refused)
        after[:, kept] = now.rows[:, kept]
        self.now = after
        return last[~refused[last]]

    def _strides(self, now: Named) -> tuple[Array, Array]:
        """Return the step each record tries, and for which it is the stretch's last."""
        h, left = self.stride.copy(), self.law.end - now.time
        close = np.flatnonzero(left < 2 * h)
        left = left[close]
        ending = left <= h[close] * 1.001
        h[close] = np.where(ending, left, left * 0.5)
        return h, close[ending]

    def _stages(
        self, now: Named, h: Array, then: Array
    ) -> tuple[Array, tuple[Array, Array], Array]:
        """Return the state after a step, the flows of its two stages and the first one's drift."""
        share, rest = GAMMA * h, REST * h
        law = self._at(now.time + share)
        guess = now.flow + share * self.bend
        one = self._stage(law, now.time + share, (now.volume, now.pressure, share), guess)
        rise = (one[0] - now.pressure) / share
        base = now.volume + rest * one[1], now.pressure + rest * rise, share
        law = self._at(then)
        two = self._stage(law, then, base, one[1] + (one[1] - now.flow) * (REST / GAMMA))
        drift = (two[0] - base[1]) / share
        size = np.abs(two[2])
        steep = law.limb_a + 2 * law.limb_b * size  # of the drop along the limb
        gauge = two[0] + (law.limb_a + law.limb_b * size) * two[2]
        tilt = (drift + steep * self.hurry) * (1 + steep * two[3])
        volume = base[0] + share * two[1]
        after = np.stack((then, volume, two[1], two[0], drift, gauge, tilt))
        return after, (one[1], two[1]), rise

    def _stage(
        self, law: Named, time: Array, base: tuple[Array, Array, Array], guess: Array
    ) -> Node:
        """Return pressure at the T, flow to the patient, flow down the limb and its slope."""
        volume, pressure, share = base
        pull, at = self._pull(time), self.apart
        if not at.size:
            return balanced(law, (*base, pull), guess)
        guess = np.where(law.joined > 0, guess, pressure)
        made = balanced(law, (*base, pull * law.joined), guess)
        made[1][at] = alone(law.some(at), volume[at], share[at], pull[at])
        return made

    def _pull(self, time: Array) -> Array:
        """Return the muscles' pressure."""
        law = self.law
        pull: Array = law.amplitude
        return pull * half_sine((time - law.pulled) * law.pace) if self.pulling else pull

    def _error(
        self, now: Named, h: Array, after: Array, flows: tuple[Array, Array], rise: Array
    ) -> Array:
        """Return the error of a step, where 1 is the most allowed."""
        end, (one, two) = Named(after, STATE), flows
        turn = (two - one) / REST - (one - now.flow) / GAMMA
        error = np.abs(turn) / (VOLUME + VOLUME * np.abs(end.volume))
        turn = (end.drift - rise) / REST - (rise - now.drift) / GAMMA
        sway = np.abs(turn) / (PRESSURE + PRESSURE * np.abs(end.pressure))
        worse: Array = ERROR * h * np.maximum(error, sway)
        return worse

    def _adapt(self, h: Array, error: Array, refused: Array, flows: tuple[Array, Array]) -> None:
        """Set the step to try next, and the slope that its first guess follows."""
        fit = CAUTION / _root(np.maximum(error, FAINT))
        stride, bend = h * np.minimum(fit, GROWTH), (flows[1] - flows[0]) / (REST * h)
        # A step cut short by the end of the stretch says little about the next one.
        cut = np.flatnonzero(h != self.stride)
        stride[cut] = np.maximum(self.stride[cut], stride[cut])
        np.clip(stride, SMALLEST, STEP * LARGEST, out=stride)
        stride[refused] = h[refused] * np.maximum(SHRINK, fit[refused])
        bend[refused] = self.bend[refused]
        self.stride, self.bend = stride, bend


def _root(error: Array) -> Array:
    """Return nearly the cube root, from square roots alone: every processor rounds them alike."""
    fourth = np.sqrt(np.sqrt(error))
    root: Array = fourth * np.sqrt(np.sqrt(fourth))
    return root


def half_sine(share: Array) -> Array:
    """Return sin(pi x) for x between 0 and 1, by its series about the middle, to 1e-12."""
    square = (np.minimum(np.maximum(share, 0.0), 1.0) - 0.5) ** 2 * math.pi**2
    value = np.ones_like(square)
    for n in range(18, 0, -2):
        value = 1 - value * square / (n * (n - 1))
    return value
