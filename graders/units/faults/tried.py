"""What a verdict keeps of a trial, so that a group can be counted by fault, name, time and surety.

It is stored in a finding as one short text, ``fault|named|seconds|sure``: written and read here
alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from workbook.trial import NAMED, UNKNOWN
from workbook.trial.moves import SURE

_PARTS = 4


@dataclass(frozen=True, slots=True)
class Tried:
    """One trial: its fault, what it was last taken for, and how sure; empty where nothing was said.

    ``safe`` is the time to the first safe act (s, whole), None where there was none or no baby.
    """

    fault: str
    named: str = ""
    safe: float | None = None
    sure: str = ""

    @property
    def right(self) -> bool:
        """Say whether it was named right."""
        return self.fault == self.named

    @property
    def misnamed(self) -> bool:
        """Say whether it was taken for another fault."""
        return self.named in NAMED and not self.right

    @property
    def stored(self) -> str:
        """Return it as a verdict stores it."""
        safe = "" if self.safe is None else f"{self.safe:.0f}"
        return "|".join((self.fault, self.named, safe, self.sure))


@lru_cache(maxsize=4096)  # a class tries the same few faults over and over
def read_tried(stored: str) -> Tried:
    """Return what ``Tried.stored`` wrote; ValueError with a sentence for anything else."""
    parts = stored.split("|")
    if len(parts) == _PARTS:
        fault, named, safe, sure = parts
        known = fault in NAMED and named in ("", UNKNOWN, *NAMED) and sure in ("", *SURE)
        if known and (not safe or (safe.isascii() and safe.isdigit())):
            return Tried(fault, named, float(safe) if safe else None, sure)
    raise ValueError(f"{stored[:80]!r} is not what a verdict keeps of a trial. Grade again.")
