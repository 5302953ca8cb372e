"""Estimates with their intervals; where there is none, a sentence says why.

``confidence`` is everywhere a share, for example 0.95.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import special

Column = NDArray[np.float64]

_ALL_BUT = 1e-12  # a correlation nearer to 1 than this is 1: what is left is rounding


@dataclass(frozen=True, slots=True)
class Estimate:
    """A number with the interval it lies in; ``why`` says in a sentence what is missing.

    ``value`` is None where the number does not exist, ``low`` and ``high`` where only the interval
    does not.
    """

    value: float | None
    low: float | None = None
    high: float | None = None
    why: str = ""


def none(why: str) -> Estimate:
    """Return a number that does not exist, and why."""
    return Estimate(None, why=why)


def wilson(right: int, n: int, confidence: float) -> Estimate:
    """Return a proportion with Wilson's score interval (Wilson 1927, J Am Stat Assoc 22:209)."""
    if n < 1:
        return none("Nobody answered.")
    p, z = right / n, float(special.ndtri(0.5 + confidence / 2))
    middle = (p + z * z / (2 * n)) / (1 + z * z / n)
    half = z * math.sqrt(p * (1 - p) / n + z * z / (4 * n * n)) / (1 + z * z / n)
    low = 0.0 if right == 0 else middle - half
    return Estimate(p, low, 1.0 if right == n else middle + half)


def mean(values: Column, confidence: float) -> Estimate:
    """Return a mean with Student's t interval; none for one value, or values all alike."""
    n = len(values)
    if n < 1:
        return none("Nobody answered.")
    middle = float(values.mean())
    if n == 1:
        return Estimate(middle, why="One value has no spread, so there is no interval.")
    if np.ptp(values) == 0:
        return Estimate(middle, why="All values are the same, so there is no interval.")
    t = float(special.stdtrit(n - 1, 0.5 + confidence / 2))
    half = t * float(values.std(ddof=1)) / math.sqrt(n)
    return Estimate(middle, middle - half, middle + half)


def share(values: Column, confidence: float) -> Estimate:
    """Return a mean share of points, its t interval kept within 0 and 1."""
    found = mean(values, confidence)
    if found.low is None or found.high is None:
        return found
    return Estimate(found.value, max(0.0, found.low), min(1.0, found.high))


def correlation(one: Column, other: Column, confidence: float) -> Estimate:
    """Return Pearson's r with Fisher's z interval; of a 0/1 column this is the point-biserial.

    The divisor of the variances cancels, so it does not matter here.
    """
    n = len(one)
    if n < 2:
        return none("It takes at least two learners.")
    a, b = one - one.mean(), other - other.mean()
    if np.ptp(one) == 0 or np.ptp(other) == 0:
        return none("All scored alike, so nothing can go along with it.")
    r = float(a @ b / math.sqrt(float(a @ a) * float(b @ b)))
    if abs(r) > 1 - _ALL_BUT:
        r = math.copysign(1.0, r)
    if n < 4:
        return Estimate(r, why="An interval takes at least four learners.")
    if abs(r) == 1:
        return Estimate(r, r, r)
    half = float(special.ndtri(0.5 + confidence / 2)) / math.sqrt(n - 3)
    return Estimate(r, math.tanh(math.atanh(r) - half), math.tanh(math.atanh(r) + half))


def feldt(alpha: float, n: int, items: int, confidence: float) -> Estimate:
    """Return alpha with its interval from F (Feldt, Woodruff and Salih 1987, formulas 6 and 7)."""
    if n < 2 or items < 2:
        return Estimate(alpha, why="An interval takes two learners and two questions.")
    if alpha > 1 - _ALL_BUT:
        return Estimate(1.0, 1.0, 1.0)
    free, tail = (n - 1, (n - 1) * (items - 1)), (1 - confidence) / 2
    above, below = (float(special.fdtri(*free, p)) for p in (1 - tail, tail))
    return Estimate(alpha, 1 - (1 - alpha) * above, 1 - (1 - alpha) * below)
