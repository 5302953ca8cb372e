"""All records side by side from event to event, each at its own time with its own step.

The method and the errors allowed are the stepper's; see ``workbook.physics.solver.stepper``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from workbook.physics.solver.stepper import (
    CAUTION,
    ERROR,
    FAINT,
    FIRST,
    GROWTH,
    LARGEST,
    PRESSURE,
    SHRINK,
    STEP,
    VOLUME,
)
from workbook.physics.solver.ways import GAMMA, REST
from workbook.replays.balance import Node, alone, balanced, base
from workbook.replays.laws import Array, Laws, Named, moved
from workbook.replays.schedule import RAMPS, Schedule

# What is known of each record now; ``tilt`` is how fast the manometer changes.
STATE = ("time", "volume", "pressure", "flow", "drift", "gauge", "tilt")
HELD, SPEEDS = slice(1, 3), slice(3, 5)  # volume and pressure at the T, and how fast they change
ALLOWED = np.array([[VOLUME], [PRESSURE]])
SMALLEST = STEP * FIRST
SURE = 2 * SMALLEST  # the step that follows, once the slopes are known
PULLED = 4.0  # while muscles pull, errors all fall to one side: so much less is allowed in a step
NONE = np.empty(0, dtype=int)
# What a march knows of each record on its way.
KEPT = ("who", "stretch", "last", "bend", "stride", "again", "fresh", "hints", "now")
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
        # Whose last try found no balance, and the flows of both stages it had come to.
        self.again, self.fresh = np.zeros((2, self.who.size), dtype=bool)
        self.hints = np.zeros((2, self.who.size))
        whole = Laws(schedule.laws)
        self.law = whole.some(self.stretch)
        self.turning, self.pulling = bool(schedule.ramped.any()), bool(whole.amplitude.any())
        self.ramped = self.apart = NONE
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
            for name in KEPT:
                setattr(self, name, getattr(self, name).compress(keep, axis=-1))
            self.law = self.law.some(np.flatnonzero(keep))
        self.law.rows[:, at] = self.schedule.laws[:, self.stretch[at]]
        self._begin(at)

    def _begin(self, at: Array) -> None:
        """Let some records begin a stretch: a smallest step on trust, for its slopes are new."""
        self.now[0, at] = self.law.begin[at]
        self.bend[at], self.stride[at], self.fresh[at] = 0.0, SMALLEST, True
        if self.turning:
            self.ramped = np.flatnonzero(self.schedule.ramped[self.stretch])
        if not self.law.absent.parting:
            self.apart = np.flatnonzero(self.law.joined == 0)

    def _at(self, time: Array) -> Laws:
        """Return the laws at times, with the controls on their way where they are being turned."""
        at = self.ramped
        if not at.size:
            return self.law
        rows, plan, stretch = self.law.rows.copy(), self.schedule, self.stretch[at]
        since = (time - self.law.begin)[at]
        rows[:, at] = moved(plan.parts[:, stretch], plan.rates[:, stretch], MOVING, since)
        return Laws(rows, self.law.absent)

    def _step(self, now: Named) -> Array:
        """Let every record try a step; return which have come to their stretch's end."""
        h, last = self._strides(now)
        then = now.time + h
        then[last] = self.law.end[last]
        after, first, self.again = self._stages(now, h, then)
        error = self._error(now, h, after, first)
        refused = (error > 1) & (h > SMALLEST)
        refused |= self.again
        kept = np.flatnonzero(refused)
        self._adapt(h, error, kept, (after[SPEEDS.start] - first[0]) / (REST * h))
        after[:, kept] = now.rows.take(kept, axis=1)
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

    def _stages(self, now: Named, h: Array, then: Array) -> tuple[Array, Array, Array]:
        """Return the state after a step, the speeds within it, and who is to try it again."""
        share, rest = GAMMA * h, REST * h
        held, middle = now.rows[HELD], now.time + share
        law, again, hinted = self._at(middle), np.zeros(h.size, dtype=bool), self.again.nonzero()[0]
        guess = now.flow + share * self.bend
        guess[hinted] = self.hints[0, hinted]
        (at_t, flow, _, _), lost = self._stage(law, middle, held, share, guess)
        again[lost] = True
        first = np.stack((flow, (at_t - now.pressure) / share))
        held = held + rest * first
        guess = flow + (flow - now.flow) * (REST / GAMMA)
        guess[hinted] = self.hints[1, hinted]
        law = self._at(then)
        two, lost = self._stage(law, then, held, share, guess)
        again[lost] = True
        if np.count_nonzero(again):
            self.hints = np.stack((flow, two[1]))
        after = np.empty(now.rows.shape)
        drift = (two[0] - held[1]) / share
        after[:5] = then, held[0] + share * two[1], two[0], two[1], drift
        after[5:] = self._gauge(law, two, drift)
        return after, first, again

    def _gauge(self, law: Laws, node: Node, drift: Array) -> tuple[Array, Array]:
        """Return what the manometer shows and how fast that changes."""
        at_t, _, limb, slope = node
        bend = law.limb_b * np.abs(limb)
        resist = law.limb_a + bend
        steep = resist + bend  # of the drop along the limb
        if self.turning:
            drift = drift + steep * self.schedule.rates[0][self.stretch]  # of the flow
        return at_t + resist * limb, drift * (1 + steep * slope)

    def _stage(
        self, law: Laws, time: Array, held: Array, share: Array, guess: Array
    ) -> tuple[Node, Array]:
        """Return the nodes, and for which no balance is found yet."""
        pull, at, spare = self._pull(time), self.apart, ~self.again
        if not at.size:
            return balanced(law, base(law, held, share, pull), guess, spare)
        spare[at], guess[at] = False, held[1, at]
        made, lost = balanced(law, base(law, held, share, pull * law.joined), guess, spare)
        made[1][at] = alone(law.some(at), held[0, at], share[at], pull[at])
        return made, lost

    def _pull(self, time: Array) -> Array:
        """Return the muscles' pressure."""
        law = self.law
        pull: Array = law.amplitude
        return pull * half_sine((time - law.pulled) * law.pace) if self.pulling else pull

    def _error(self, now: Named, h: Array, after: Array, first: Array) -> Array:
        """Return the error of a step, where 1 is the most allowed."""
        turn = after[SPEEDS] - first
        turn *= 1 / REST
        turn -= (first - now.rows[SPEEDS]) * (1 / GAMMA)
        most = np.abs(after[HELD])
        most += 1
        most *= ALLOWED
        error = np.abs(turn) / most
        worse: Array = np.maximum(*error) * (ERROR * h)
        if self.pulling:
            worse *= np.where(self.law.amplitude > 0, PULLED, 1.0)
        return worse

    def _adapt(self, h: Array, error: Array, refused: Array, bend: Array) -> None:
        """Set the step to try next, and the slope that its first guess follows."""
        fit = CAUTION / _root(np.maximum(error, FAINT))
        stride = h * np.minimum(fit, GROWTH)
        # A step cut short by the end of the stretch says little about the next one.
        cut = np.flatnonzero(h != self.stride)
        stride[cut] = np.maximum(self.stride[cut], stride[cut])
        stride = np.minimum(np.maximum(stride, SMALLEST), STEP * LARGEST)
        stride[self.fresh] = SURE
        self.fresh &= self.again
        stride[refused] = h[refused] * np.maximum(SHRINK, fit[refused])
        bend[refused] = self.bend[refused]
        again = np.flatnonzero(self.again)
        stride[again] = self.stride[again]
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
