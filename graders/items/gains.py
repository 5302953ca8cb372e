"""Before and after: what learners gained who handed in more than once."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import numpy as np

from graders.items.intervals import Estimate, mean
from graders.learner.history import FOLDER, attempts


@dataclass(frozen=True, slots=True)
class Gain:
    """One learner's first and latest usable work on a unit, as shares of the points.

    ``handed_in`` counts what was handed in and marked; ``attempts`` is the latest attempt's number,
    and each attempt asks about another case.
    """

    learner: str
    unit: str
    first: float
    latest: float
    handed_in: int
    when: str = ""
    attempts: int = 1

    @property
    def change(self) -> float:
        """Return the change, a share of the points; below 0 where something was lost."""
        return self.latest - self.first

    @property
    def normalised(self) -> float | None:
        """Return the part gained of what was left to gain (Hake 1998, Am J Phys 66:64).

        A loss is the part lost of what there was to lose, so that it lies within -1 and 0. None
        where the first work earned everything and the latest does too: nothing was left.
        """
        if self.change < 0:
            return self.change / self.first
        return self.change / (1 - self.first) if self.first < 1 else None


@dataclass(frozen=True, slots=True)
class GainSummary:
    """The gains of a unit; ``change`` is the mean change, ``normalised`` the median of its kind."""

    unit: str
    learners: int
    rose: int
    same: int
    fell: int
    change: Estimate
    normalised: float | None


def gains(course: Path, unit: str) -> Iterator[Gain]:
    """Yield the gain of each learner with two usable works or more, in order of id."""
    home = course / FOLDER
    for folder in sorted(home.iterdir()) if home.is_dir() else ():
        if not _tried_twice(f"{folder}/{unit}"):
            continue
        made = [a for a in attempts(course, folder.name, unit) if a.digest and a.possible > 0]
        if len(made) > 1:
            first, latest = made[0], made[-1]
            yield Gain(
                folder.name,
                unit,
                first.earned / first.possible,
                latest.earned / latest.possible,
                len(made),
                latest.handed_in,
                max(each.attempt for each in made),
            )


def _tried_twice(path: str) -> bool:
    try:
        return sum(name.endswith(".json") for name in os.listdir(path)) > 1  # noqa: PTH208
    except (FileNotFoundError, NotADirectoryError):
        return False


def summary(unit: str, found: Sequence[Gain], confidence: float) -> GainSummary:
    """Return the gains of a unit in figures; with nobody, figures that say why there are none."""
    changes = np.array([g.change for g in found], dtype=float)
    parts = [g.normalised for g in found if g.normalised is not None]
    return GainSummary(
        unit,
        len(found),
        int((changes > 0).sum()),
        int((changes == 0).sum()),
        int((changes < 0).sum()),
        mean(changes, confidence),
        median(parts) if parts else None,
    )
