"""The laws of the circuit and the lung for many records at once; see ``physics.solver.ways``.

Pressures in cmH2O, flows in mL/s, times in s. A table has one row for each name and one column
for each record. Only +, -, x, / and square roots are used: every processor rounds those alike.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from workbook.physics.solver.ways import ALWAYS, FAINT, PER_SECOND, ROUNDS, SLIGHT, SOFT, TINY

Array = NDArray[Any]

PARTS = (
    *("begin", "end", "free", "amplitude", "pulled", "pace"),
    *("flow", "pip_opens", "pip_a", "pip_b", "relief_opens", "relief_a", "relief_b"),
    *("limb_a", "limb_b", "aperture_a", "aperture_b", "leak_opens", "leak_a", "leak_b"),
    *("takes_up", "joined", "lung_e", "lung_r", "lung_k", "lung_s", "lung_above"),
)
# Each way out of the circuit has a row of these: from which pressure at the T its drop counts, the
# least drop, the linear law, its square and four times the quadratic one.
WAY = ("base", "least", "a", "aa", "b4")
WAYS = ("aperture", "vent", "leak")  # the leak last: where nothing leaks, the first two are enough
LAWS = (
    *("begin", "end", "amplitude", "pulled", "pace", "flow", "shut", "limb_a", "limb_b"),
    *(f"{way}_{name}" for name in WAY for way in WAYS),
    # the pressures at the T at which the valves and the leak open, and from which the flow down
    # the limb has no closed form
    *("one_cracks", "two_cracks", "leak_cracks", "hard"),
    *("one_opens", "one_a", "one_b", "two_opens", "two_a", "two_b", "takes_up", "joined"),
    *("lung_e", "lung_r", "lung_k", "lung_s", "lung_above"),
    # as the balance at the T uses them: off the lung its unknown is the pressure itself
    *("e", "r", "k", "s", "near"),
)
SHEETS = {name: LAWS.index(f"aperture_{name}") for name in WAY}
SHEETS["cracks"] = LAWS.index("one_cracks")
LEAST_SQUARE = 1e-24  # of a linear resistance
NEAR = 0.1  # of the flow supplied; to a flow near zero its error is compared with this
NEAR_ZERO = 1e-4  # cmH2O; off the lung a pressure this small may be called small


def place(name: str) -> int:
    """Return the row of a name of ``PARTS``."""
    return PARTS.index(name)


class Named:
    """A table whose rows have names: ``table.flow`` is the row of that name."""

    def __init__(self, rows: Array, names: tuple[str, ...]) -> None:
        self.rows = rows
        self.__dict__.update(zip(names, rows, strict=True))

    def __getattr__(self, name: str) -> Any:
        raise AttributeError(name)


class Absent(NamedTuple):
    """What no record of a table has, so that it need not be reckoned with."""

    stiffening: bool
    leak: bool
    parting: bool
    curve: bool


class Laws(Named):
    """The laws of some records. ``base`` to ``b4`` and ``cracks`` have one row for each way."""

    def __init__(self, rows: Array, absent: Absent | None = None) -> None:
        super().__init__(rows, LAWS)
        self.absent = self._absent() if absent is None else absent
        ways = len(WAYS) - self.absent.leak
        for name, first in SHEETS.items():
            self.__dict__[name] = rows[first : first + ways]

    def _absent(self) -> Absent:
        leaks = (self.leak_cracks < np.inf).any()
        present = (self.s.any(), leaks, not self.joined.all(), self.limb_b.any())
        return Absent(*(not each for each in present))

    def some(self, at: Array) -> Laws:
        """Return the laws of some of the records."""
        return Laws(self.rows.take(at, axis=1), self.absent)


def derived(parts: Array) -> Array:
    """Return the laws that follow from the parts as they stand."""
    p = Named(parts, PARTS)
    swap = p.relief_opens < p.pip_opens
    pip, relief = parts[place("pip_opens") :][:3], parts[place("relief_opens") :][:3]
    one, two = np.where(swap, relief, pip), np.where(swap, pip, relief)
    line = one[1] + p.limb_a
    line = np.where(line > TINY, line, SLIGHT)
    shut = p.limb_a * p.flow + p.limb_b * p.flow * p.flow
    made = [p.begin, p.end, p.amplitude, p.pulled, p.pace, p.flow, shut, p.limb_a, p.limb_b]
    cracks = one[0] - shut, _second_cracks(p, one, two), p.leak_opens
    always = p.leak_opens == ALWAYS
    # What never opens does so at an endless pressure; its drop is then the least, none.
    made += [np.where(p.free > 0, 0.0, np.inf), cracks[0], np.where(always, 0.0, p.leak_opens)]
    made += [np.where(p.free > 0, -np.inf, 0.0), 0 * shut, np.where(always, -np.inf, 0.0)]
    made += [p.aperture_a, line, p.leak_a, _square(p.aperture_a), line * line, _square(p.leak_a)]
    made += [4 * p.aperture_b, 4 * one[2], 4 * p.leak_b]
    made += [*cracks, np.where(p.limb_b > 0, np.minimum(*cracks[:2]), cracks[1])]
    made += [*one, *two, *parts[place("takes_up") :]]
    made += [p.lung_e * p.joined, p.lung_r * p.joined + (1 - p.joined)]
    made += [p.lung_k * p.joined, p.lung_s * p.joined]
    made += [np.where(p.joined > 0, p.flow * NEAR + 1e-3, NEAR_ZERO)]
    return np.stack(made)


def _second_cracks(p: Named, one: Array, two: Array) -> Array:
    over = np.where(np.isfinite(two[0]), two[0] - np.where(np.isfinite(one[0]), one[0], 0.0), 0.0)
    limb = p.flow - through(over, np.maximum(one[1], TINY), one[2])
    pressure: Array = two[0] - (p.limb_a + p.limb_b * np.abs(limb)) * limb
    return pressure


def crossed(law: Laws, one: Array, two: Array) -> Array:
    """Return where a way opens or shuts between two pressures at the T."""
    made: Array = ((one > law.cracks) != (two > law.cracks)).any(axis=0)
    return made


def _square(linear: Array) -> Array:
    square: Array = np.maximum(linear * linear, LEAST_SQUARE)
    return square


def moved(parts: Array, rates: Array, rows: list[int], since: Array) -> Array:
    """Return the laws a while after a stretch began in which controls are being turned."""
    parts = parts.copy()
    parts[rows] += rates * since
    k, a = place("aperture_b"), place("aperture_a")
    turning = rates[rows.index(k)] != 0
    parts[a, turning] = 0.0
    parts[k, turning] = np.maximum(parts[k, turning], FAINT / PER_SECOND**2)
    return derived(parts)


def soft(drop: Array, a: Array, aa: Array, b4: Array) -> tuple[Array, Array]:
    """Return flow and slope of a way; a sharp opening is nearly linear close to no drop."""
    size = drop * drop
    size += SOFT * SOFT
    np.sqrt(size, out=size)
    root = b4 * size
    root += aa
    np.sqrt(root, out=root)
    ease = a + root
    np.divide(2, ease, out=ease)
    flow = ease * drop
    size *= root
    size *= 4
    bent = flow * flow
    bent *= b4
    bent /= size
    ease -= bent
    return flow, ease


def through(drop: Array, linear: Array, quadratic: Array) -> Array:
    """Return the flow that a drop drives; ``linear`` is more than nothing."""
    flow: Array = 2 * drop / (linear + np.sqrt(linear * linear + 4 * quadratic * np.abs(drop)))
    return flow


def leaving(law: Laws, at_t: Array) -> tuple[Array, Array]:
    """Return what leaves by each of the ways at a pressure at the T, with its slope.

    What the valves vent is what does not come down the limb.
    """
    drop = np.maximum(at_t - law.base, law.least)
    flows, slopes = soft(drop, law.a, law.aa, law.b4)
    slopes *= drop > law.least
    hard = np.flatnonzero(at_t > law.hard)
    if hard.size:
        some = law.some(hard)
        limb, slope = _with_valves(some, at_t[hard])
        flows[1, hard], slopes[1, hard] = some.flow - limb, -slope
    return flows, slopes


def _with_valves(law: Laws, at_t: Array) -> tuple[Array, Array]:
    """Return the same with both valves open or a curved limb: a root in the manometer's."""
    valves = (
        (law.one_opens, law.one_a, _square(law.one_a), 4 * law.one_b),
        (law.two_opens, law.two_a, _square(law.two_a), 4 * law.two_b),
    )

    def left(manometer: Array) -> tuple[Array, Array]:
        flow, slope = law.flow, np.zeros_like(manometer)
        for opens, a, aa, b4 in valves:
            one, steep = soft(np.maximum(manometer - opens, 0.0), a, aa, b4)
            flow, slope = flow - one, slope + np.where(manometer > opens, steep, 0.0)
        return flow, slope

    def surplus(manometer: Array) -> tuple[Array, Array]:
        limb, slope = left(manometer)
        size = np.abs(limb)
        drop = (law.limb_a + law.limb_b * size) * limb
        return at_t + drop - manometer, -1 - (law.limb_a + 2 * law.limb_b * size) * slope

    manometer = falling_root(surplus, at_t + law.shut)
    limb, slope = left(manometer)
    return limb, slope / surplus(manometer)[1]


def falling_root(function: Callable[[Array], tuple[Array, Array]], guess: Array) -> Array:
    """Return the roots of functions that fall at a slope of -1 or steeper; each stops by itself."""
    x = guess
    low, high, before = np.full_like(x, -np.inf), np.full_like(x, np.inf), np.zeros_like(x)
    for _ in range(ROUNDS):
        value, slope = function(x)
        found = np.abs(value) <= TINY * (1 + np.abs(x))
        if found.all():
            break
        x, low, high, before = safer(x, value, value / slope, (low, high, before), found)
    return x


def safer(
    x: Array, value: Array, step: Array, known: tuple[Array, Array, Array], found: Array
) -> tuple[Array, Array, Array, Array]:
    """Return the next guess, its bracket and the way to it: Newton's, or half way to its bound.

    ``value`` is that of the function, in shares of the least slope it falls at; the root is no
    further away. Newton's step is taken off. It is not followed out of the bracket, nor back
    nearly as far as the way ``known`` to have led here: across a root of a square root law it
    would go to and fro for ever. Where a root is ``found`` the guess stays.
    """
    low, high, before = known
    over, bound = value > 0, x + value
    low = np.where(over, x, np.maximum(low, bound))
    high = np.where(over, np.minimum(high, bound), x)
    new = x - step
    astray = (new <= low) | (new >= high)
    astray |= (step * before > 0) & (np.abs(step) > np.abs(before) * 0.5)
    new = np.where(astray, (low + high) * 0.5, new)
    new = np.where(found, x, new)
    return new, low, high, new - x
