"""Long inflations at the beginning of a count, told apart from the ordinary ones that follow."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from workbook.taps.reading import Inflation, Taps
from workbook.taps.rhythm import without_doubles


def parted(taps: Taps, least: float) -> tuple[tuple[Inflation, ...], Taps]:
    """Return the long inflations at the beginning, and the count that follows them.

    An inflation of ``least`` seconds or more is long. The beginning ends where two in a row are
    not: one long inflation that was let go too early still belongs to it. A bounce of the hand
    is taken out first.
    """
    struck, _doubles = without_doubles(taps.inflations)
    many = _beginning([_held(each, taps.duration) >= least for each in struck])
    after = struck[many].press if many < len(struck) else taps.duration
    rest = tuple(each for each in taps.inflations if each.press >= after)
    return tuple(struck[:many]), replace(taps, inflations=rest)


def _held(each: Inflation, end: float) -> float:
    return (end if each.release is None else each.release) - each.press


def _beginning(long: Sequence[bool]) -> int:
    """Return how many inflations the beginning has."""
    if not any(long[:2]):
        return 0
    for n, (one, two) in enumerate(pairwise(long)):
        if not one and not two:
            return n
    return len(long) if not long or long[-1] else len(long) - 1
