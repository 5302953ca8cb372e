"""The virtual bench: its controls, what hands did at them, and the tables its page plays."""

from workbook.bench.dial import DIALS, Dial
from workbook.bench.hands import (
    Bench,
    Hands,
    HandsError,
    Touch,
    action_of,
    circuit_at,
    positions_at,
    read_hands,
)
from workbook.bench.laws import laws

__all__ = [
    "DIALS",
    "Bench",
    "Dial",
    "Hands",
    "HandsError",
    "Touch",
    "action_of",
    "circuit_at",
    "laws",
    "positions_at",
    "read_hands",
]
