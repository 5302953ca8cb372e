"""Inflations tapped by hand: what was tapped, and the rhythm it makes."""

from workbook.taps.beginning import parted
from workbook.taps.reading import Inflation, Taps, TapsError, read_taps, steady
from workbook.taps.rhythm import Judged, Timing, timing

__all__ = [
    "Inflation",
    "Judged",
    "Taps",
    "TapsError",
    "Timing",
    "parted",
    "read_taps",
    "steady",
    "timing",
]
