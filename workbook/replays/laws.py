"""The laws of the circuit and the lung for many records at once; see ``workbook.physics.ways``.

Pressures in cmH2O, flows in mL/s, times in s. A table has one row for each name and one column
for each record. Only +, -, x, / and square roots are used: every processor rounds those alike.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from workbook.physics.ways import FAINT, PER_SECOND, ROUNDS, SLIGHT, SOFT, TINY

Array = NDArray[Any]

PARTS = (
    *("begin", "end", "free", "amplitude", "pulled", "pace"),
    *("flow", "pip_opens", "pip_a", "pip_b", "relief_opens", "relief_a", "relief_b"),
    *("limb_a", "limb_b", "aperture_a", "aperture_b"),
    *("leak_opens", "leak_base", "leak_a", "leak_b", "takes_up", "joined"),
    *("lung_e", "lung_r", "lung_k", "lung_s", "lung_above"),
)
LAWS = (
    *("begin", "end", "free", "amplitude", "pulled", "pace"),
    *("flow", "shut", "limb_a", "limb_b", "line", "line2", "b4"),
    *("one_opens", "one_a", "one_b", "two_opens", "two_a", "two_b"),
    *("aperture_a", "leak_a", "aperture_aa", "leak_aa", "aperture_b4", "leak_b4"),
    *("leak_opens", "leak_base", "takes_up", "joined"),
    *("lung_e", "lung_r", "lung_k", "lung_s", "lung_above"),
    # as the balance at the T uses them: off the lung its unknown is the pressure itself
    *("e", "r", "k", "s", "near"),
    *("one_cracks", "two_cracks"),  # the pressures at the T at which the valves begin to open
)
LEAST_SQUARE = 1e-24  # of a linear resistance
NEAR_ZERO = 1e-4  # cmH2O; off the lung a pressure this small may be called small


def place(name: str) -> int:
    """Return the row of a name of ``PARTS``."""
    return PARTS.index(name)


class Named:
    """A table whose rows have names: ``table.flow`` is the row of that name.

    Its flags say what no record in it has, so that it need not be reckoned with.
    """

    def __init__(self, rows: Array, names: tuple[str, ...] = LAWS) -> None:
        self.rows = rows
        self.__dict__.update(zip(names, rows, strict=True))

    def both(self, name: str) -> Array:
        """Return two rows at once: the aperture's of this name and, next to it, the leak's."""
        first = LAWS.index(f"aperture_{name}")
        return self.rows[first : first + 2]

    def note(self) -> None:
        """Set the flags; they stay as they are when only some of the laws are taken."""
        self.stiffening, self.leaking = bool(self.s.any()), bool((self.leak_opens < np.inf).any())
        self.parted, self.curved = not self.joined.all(), bool(self.limb_b.any())

    def like(self, rows: Array) -> Named:
        """Return another table of the same laws, with these flags."""
        made = Named(rows)
        made.stiffening, made.leaking = self.stiffening, self.leaking
        made.parted, made.curved = self.parted, self.curved
        return made

    def some(self, at: Array) -> Named:
        """Return the laws of some of the records."""
        return self.like(self.rows.take(at, axis=1))

    def __getattr__(self, name: str) -> Any:
        raise AttributeError(name)


def derived(parts: Array) -> Array:
    """Return the laws that follow from the parts as they stand."""
    p = Named(parts, PARTS)
    swap = p.relief_opens < p.pip_opens
    pip, relief = parts[place("pip_opens") :][:3], parts[place("relief_opens") :][:3]
    one, two = np.where(swap, relief, pip), np.where(swap, pip, relief)
    line = one[1] + p.limb_a
    line = np.where(line > TINY, line, SLIGHT)
    shut = p.limb_a * p.flow + p.limb_b * p.flow * p.flow
    made = [p.begin, p.end, p.free, p.amplitude, p.pulled, p.pace]
    made += [p.flow, shut, p.limb_a, p.limb_b, line, line * line, 4 * one[2], *one, *two]
    made += [p.aperture_a, p.leak_a, _square(p.aperture_a), _square(p.leak_a)]
    made += [4 * p.aperture_b, 4 * p.leak_b, p.leak_opens, p.leak_base]
    made += [p.takes_up, p.joined, *parts[place("lung_e") :]]
    made += [p.lung_e * p.joined, p.lung_r * p.joined + (1 - p.joined)]
    made += [p.lung_k * p.joined, p.lung_s * p.joined]
    made += [np.where(p.joined > 0, p.flow * 0.01 + 1e-3, NEAR_ZERO)]
    made += [one[0] - shut, _second_cracks(p, one, two)]
    return np.stack(made)


def _second_cracks(p: Named, one: Array, two: Array) -> Array:
    over = np.where(np.isfinite(two[0]), two[0] - np.where(np.isfinite(one[0]), one[0], 0.0), 0.0)
    limb = p.flow - through(over, np.maximum(one[1], TINY), one[2])
    pressure: Array = two[0] - (p.limb_a + p.limb_b * np.abs(limb)) * limb
    return pressure


def crossed(law: Named, one: Array, two: Array) -> Array:
    """Return where a way opens or shuts between two pressures at the T."""
    made: Array = (one > law.one_cracks) != (two > law.one_cracks)
    made |= (one > law.two_cracks) != (two > law.two_cracks)
    if law.leaking:
        made |= (one > law.leak_opens) != (two > law.leak_opens)
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
    size = np.sqrt(drop * drop + SOFT * SOFT)
    root = np.sqrt(aa + b4 * size)
    ease = 2 / (a + root)
    flow = ease * drop
    return flow, ease - b4 * (flow * flow) / (4 * size * root)


def through(drop: Array, linear: Array, quadratic: Array) -> Array:
    """Return the flow that a drop drives; ``linear`` is more than nothing."""
    flow: Array = 2 * drop / (linear + np.sqrt(linear * linear + 4 * quadratic * np.abs(drop)))
    return flow


def down_the_limb(law: Named, at_t: Array) -> tuple[Array, Array]:
    """Return what comes down the limb at a pressure at the T, with its slope."""
    manometer = at_t + law.shut
    over = np.maximum(manometer - law.one_opens, 0.0)
    root = np.sqrt(law.line2 + law.b4 * over)
    vented = 2 * over / (law.line + root)
    opened = over > 0
    limb, slope = law.flow - vented, opened / -root
    hard = manometer - law.limb_a * vented > law.two_opens
    if law.curved:
        hard |= opened & (law.limb_b > 0)
    if np.count_nonzero(hard):
        at = np.flatnonzero(hard)
        limb[at], slope[at] = _with_valves(law.some(at), at_t[at])
    return limb, slope


def _with_valves(law: Named, at_t: Array) -> tuple[Array, Array]:
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
    low, high = np.full_like(x, -np.inf), np.full_like(x, np.inf)
    for _ in range(ROUNDS):
        value, slope = function(x)
        found = np.abs(value) <= TINY * (1 + np.abs(x))
        if found.all():
            break
        x, low, high = safer(x, value, value / slope, (low, high), found)
    return x


def safer(
    x: Array, value: Array, step: Array, bracket: tuple[Array, Array], found: Array
) -> tuple[Array, Array, Array]:
    """Return the next guess and its bracket: Newton's inside it, else half way to its bound.

    ``value`` is that of the function, in shares of the least slope it falls at; the root is no
    further away. Newton's step is taken off. Where a root is ``found`` the guess stays.
    """
    low, high = bracket
    over, bound = value > 0, x + value
    low = np.where(over, x, np.maximum(low, bound))
    high = np.where(over, np.minimum(high, bound), x)
    new = x - step
    inside = (low < new) & (new < high)
    new = np.where(inside, new, (low + high) * 0.5)
    return np.where(found, x, new), low, high
