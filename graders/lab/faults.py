"""What a group found in its trials, and which two faults it should meet on the real device.

Pure: from what the marking left of each trial to shares, times, pairs confused, and two faults
with how they are built safely. Nobody is named: a sure mistake is counted, not told of a person.
"""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from statistics import median
from typing import Any

from graders.units.faults.tried import Tried
from workbook.trial import FAMILIES, NAMED

PLANTED = 2


@dataclass(frozen=True, slots=True)
class Family:
    """A family of look-alikes: how many trials of it were named right, of how many.

    ``safe`` is the median time (s) to the first safe act with a baby; None where none was.
    """

    id: str
    right: int
    of: int
    safe: float | None

    @property
    def says(self) -> str:
        """Return the family in words."""
        return FAMILIES[self.id]


@dataclass(frozen=True, slots=True)
class Confused:
    """Faults taken for another: how often, and by whom sure (``sure`` of the ``count``)."""

    fault: str
    named: str
    count: int
    sure: int

    @property
    def says(self) -> str:
        """Return the pair in words."""
        return f"{_text(self.fault)}, taken for: {_text(self.named, small=True)}"


@dataclass(frozen=True, slots=True)
class Plant:
    """A fault to build in the lab: how, and what the observer watches for."""

    fault: str
    right: int
    of: int
    build: str
    watch: str

    @property
    def says(self) -> str:
        """Return the fault in words."""
        return _text(self.fault)


@dataclass(frozen=True, slots=True)
class Faults:
    """What a group found: by family, the pairs confused, most often first, what to plant."""

    families: tuple[Family, ...]
    confused: tuple[Confused, ...]
    plants: tuple[Plant, ...]

    @property
    def sure_wrong(self) -> tuple[Confused, ...]:
        """Return the pairs in which somebody was sure and wrong."""
        return tuple(one for one in self.confused if one.sure)

    @property
    def safely(self) -> str:
        """Return how the building is made safe."""
        return str(_key()["safely"])


@cache
def _key() -> dict[str, Any]:
    return tomllib.loads(Path(__file__).with_suffix(".toml").read_text(encoding="utf-8"))


def _text(fault: str, *, small: bool = False) -> str:
    text = NAMED[fault].text
    return text[:1].lower() + text[1:] if small and text[1:2].islower() else text


def faults(tried: Sequence[Tried]) -> Faults | None:
    """Return what a group found in its trials; None where nobody did any."""
    if not tried:
        return None
    return Faults(tuple(_families(tried)), tuple(_confused(tried)), tuple(_plants(tried)))


def _families(tried: Sequence[Tried]) -> Iterable[Family]:
    for id in FAMILIES:
        own = [one for one in tried if NAMED[one.fault].family == id]
        times = [one.safe for one in own if one.safe is not None]
        if own:
            right = sum(one.right for one in own)
            yield Family(id, right, len(own), median(times) if times else None)


def _confused(tried: Sequence[Tried]) -> Iterable[Confused]:
    count = Counter((one.fault, one.named) for one in tried if one.misnamed)
    sure = Counter((o.fault, o.named) for o in tried if o.misnamed and o.sure == "sure")
    ranked = sorted(count.items(), key=lambda each: (-each[1], -sure[each[0]], each[0]))
    return [Confused(*pair, n, sure[pair]) for pair, n in ranked]


def _plants(tried: Sequence[Tried]) -> list[Plant]:
    """Return the faults named wrong most often that can be built, of different families."""
    of, right = Counter(o.fault for o in tried), Counter(o.fault for o in tried if o.right)
    build = _key()["fault"]
    # Of two that were missed alike the one that could do harm sooner: the file has it first.
    ranked = sorted((fault for fault in build if fault in of), key=lambda f: right[f] - of[f])
    made: list[Plant] = []
    for fault in ranked:
        if NAMED[fault].family not in {NAMED[one.fault].family for one in made}:
            made.append(Plant(fault, right[fault], of[fault], **build[fault]))
    return made[:PLANTED]
