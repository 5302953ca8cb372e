"""All mistakes of a file that somebody filled in, told at once."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

SHOWN = 40  # mistakes told at once; more would scroll the first ones away


def told(path: Path, problems: Sequence[str], outcome: str) -> str:
    """Return the mistakes of a file, a line each, below what became of it."""
    count = "1 mistake" if len(problems) == 1 else f"{len(problems)} mistakes"
    more = len(problems) - SHOWN
    shown = [*problems[:SHOWN], *([f"and {more} more."] if more > 0 else [])]
    return "\n".join([f"{path.name}: {count}; {outcome}", *(f"  {says}" for says in shown)])
