"""Student's t for a whole number of degrees of freedom, exactly and without a library."""

from __future__ import annotations

import math
from functools import cache


def share_within(angle: float, freedom: int) -> float:
    """Return the share of Student's t that lies within ``sqrt(freedom) * tan(angle)`` of zero.

    For a whole ``freedom`` it is a finite sum of sines and cosines (Abramowitz and Stegun,
    26.7.3 and 26.7.4); ``angle`` is in radians from 0 to a right angle.
    """
    sine, square = math.sin(angle), math.cos(angle) ** 2
    odd = freedom % 2
    term = math.cos(angle) if odd else 1.0
    total = term if freedom > 1 else 0.0
    for k in range(2 + odd, freedom - 1, 2):
        term *= square * (k - 1) / k
        total += term
    return (angle + sine * total) * 2 / math.pi if odd else sine * total


@cache
def quantile(share: float, freedom: int) -> float:
    """Return how far from zero Student's t stays with a probability, for example 0.95."""
    if not 0 < share < 1 or freedom < 1:
        raise ValueError("Student's t needs a share between 0 and 1, and a degree of freedom.")
    low, high = 0.0, math.pi / 2
    while (middle := (low + high) / 2) not in (low, high):
        low, high = (middle, high) if share_within(middle, freedom) < share else (low, middle)
    return math.sqrt(freedom) * math.tan(low)
