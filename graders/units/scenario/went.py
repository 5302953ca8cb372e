"""What a verdict keeps of a case from birth, so that a group can be counted.

It is stored in a finding as one short text, ``born|course|seconds|step|unsaid``: written and read
here alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from graders.units.scenario.facts import Facts
from graders.units.scenario.slip import Criterion
from workbook.physics.baby import KINDS

# Where a case can come to a stop, in the order in which a team meets it, and how that is told.
STEPS: Mapping[str, str] = {
    "begin": "the first inflation",
    "support": "PEEP by the mask on a baby who breathes",
    "acted": "the next corrective step",
    "bag": "the bag when the gas fails",
    "confirmed": "confirming a new airway",
    "looked": "the next look at the heart rate",
    "decided": "going further with a slow heart",
}
UNSAID: Mapping[str, str] = {
    "silent": "anything at all",
    "chest-unsaid": "what the chest does",
    "heart-unsaid": "the heart rate",
    "no-help": "a call for help",
    "misheard": "a line once more that was misheard",
}
SPEAKS = ("aloud", "help")
_MARK, _PARTS = "born", 5


@dataclass(frozen=True, slots=True)
class Went:
    """One case: its hidden course, when the chest first moved (s, whole; None where it never did).

    ``stalled`` is the first step that came too late or never, ``unsaid`` what was not said aloud;
    empty where there was none.
    """

    course: str
    moved: float | None = None
    stalled: str = ""
    unsaid: str = ""

    @property
    def stored(self) -> str:
        """Return it as a verdict stores it."""
        moved = "" if self.moved is None else f"{self.moved:.0f}"
        return "|".join((_MARK, self.course, moved, self.stalled, self.unsaid))


def went(facts: Facts, found: Sequence[Criterion]) -> Went:
    """Return what is kept of a case that was judged."""
    slips = {one.id: one.slip.cause for one in found if one.slip is not None}
    said = [slips[id] for id in SPEAKS if slips.get(id) in UNSAID]
    moved = facts.runs[0][0] if facts.runs else None
    stalled = next((id for id in STEPS if id in slips), "")
    return Went(facts.case.hidden.id, moved, stalled, said[0] if said else "")


@lru_cache(maxsize=4096)  # a class meets the same few courses over and over
def read_went(stored: str) -> Went:
    """Return what ``Went.stored`` wrote; ValueError with a sentence for anything else."""
    parts = stored.split("|")
    if len(parts) == _PARTS and parts[0] == _MARK:
        _mark, course, moved, stalled, unsaid = parts
        known = course in KINDS and stalled in ("", *STEPS) and unsaid in ("", *UNSAID)
        if known and (not moved or (moved.isascii() and moved.isdigit())):
            return Went(course, float(moved) if moved else None, stalled, unsaid)
    raise ValueError(f"{stored[:80]!r} is not what a verdict keeps of a case. Grade again.")
