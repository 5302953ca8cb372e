"""The nine hidden courses: what is the matter with a baby, and how deep it goes, is drawn.

No course names a setting for a patient; each is a teaching case. A course says what would help;
that is for replay and debrief, never for the page.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import exp, log
from statistics import NormalDist

from workbook.physics import coefficients as c
from workbook.physics.baby.constants import k, limits
from workbook.physics.baby.monitors import LEADS, OXIMETER, Chance, Monitor, drawn_monitor
from workbook.physics.baby.nature import Nature, preterm, term

LONGEST = 600.0  # s of dropouts drawn


@dataclass(frozen=True, slots=True)
class Kind:
    """One hidden course: whether its baby is very preterm, and what would open its airway.

    ``clears`` are acts any of which opens an airway that is shut; ``seals`` acts any of which
    stops a leak; ``breathes`` says that the baby needs no inflation.
    """

    very_preterm: bool = False
    clears: tuple[str, ...] = ()
    seals: tuple[str, ...] = ()
    stiff: bool = False
    fails: bool = False
    breathes: bool = False
    overshoots: bool = False
    deep: bool = False


ANOTHER_AIRWAY = ("laryngeal-mask", "tube")
KINDS: Mapping[str, Kind] = {
    "easy": Kind(),
    "leak": Kind(seals=("mask-adjust", "two-hands", *ANOTHER_AIRWAY)),
    "position": Kind(clears=("reposition", *ANOTHER_AIRWAY)),
    "stiff": Kind(stiff=True),
    "gas-fails": Kind(fails=True),
    "laryngeal-mask": Kind(clears=ANOTHER_AIRWAY),
    "compressions": Kind(deep=True),
    "breather": Kind(very_preterm=True, breathes=True),
    "overshoot": Kind(very_preterm=True, overshoots=True),
}


@dataclass(frozen=True, slots=True)
class Hidden:
    """A drawn baby of a course: what nobody is told.

    ``fails`` is when the gas fails (s), or None; ``leak`` the coefficient of the mask as first
    put on, or None; ``phase`` how far in a beat the heart was at birth.
    """

    id: str
    nature: Nature
    fails: float | None
    leak: float | None
    oximeter: Monitor
    leads: Monitor
    phase: float

    @property
    def kind(self) -> Kind:
        """Return the course it is of."""
        return KINDS[self.id]


def drawn(id: str, weight: float, start: float, chance: Chance) -> Hidden:
    """Return a baby of a course, of a weight (kg), drawn by ``chance``.

    ``start`` (cmH2O) is the pressure a team begins with: a stiff lung is made so that it opens,
    but slowly, at that. KeyError for a course there is not.
    """
    kind = KINDS[id]
    middle = preterm(weight) if kind.very_preterm else term(weight)
    nature = varied(middle, chance, k("course.deep-within" if kind.deep else "drawn.within"))
    if kind.breathes:
        breath = first_breath(chance, k("breath.first"))
        nature = replace(nature, breath=breath)
    else:
        low, high = limits(f"course.{id}")
        nature = replace(nature, depth=round(low + (high - low) * chance(), 3))
    if kind.very_preterm:
        effort = k("course.breather-effort")
        nature = replace(nature, effort=effort, pulls=k("breath.rate"))
    if kind.stiff:
        opens = max(k("open.above-stiff"), start - k("course.stiff-room"))
        nature = replace(nature, opens=opens, compliance=k("compliance-stiff"))
    if kind.overshoots:
        nature = replace(nature, transfer=k("transfer.preterm") * k("course.transfer"))
    low, high = limits("course.fails")
    fails = round(low + (high - low) * chance(), 1)
    return Hidden(
        id, nature, fails if kind.fails else None, c.FAULT_LEAKS[1].value if kind.seals else None,
        drawn_monitor(OXIMETER, chance, LONGEST), drawn_monitor(LEADS, chance, LONGEST),
        round(chance(), 3),
    )  # fmt: skip


def varied(middle: Nature, chance: Chance, within: float) -> Nature:
    """Return a baby that differs from the middle one, by at most ``within`` standard deviations."""

    def off() -> float:
        normal = NormalDist()
        edge = normal.cdf(-within)
        return normal.inv_cdf(edge + (1 - 2 * edge) * chance())

    odds = log(middle.shunt / (1 - middle.shunt)) + off() * k("drawn.shunt")
    returning = middle.returning + off() * k("drawn.returning")
    vessels = middle.vessels * exp(off() * k("drawn.vessels"))
    wide = off() * k("drawn.transfer-preterm")
    return replace(
        middle,
        shunt=round(1 / (1 + exp(-odds)), 4),
        returning=round(min(max(returning, k("start.returning-least")), k("most")), 4),
        vessels=round(vessels, 1),
        transfer=round(middle.transfer * exp(wide), 5) if middle.preterm else middle.transfer,
    )


def first_breath(chance: Chance, middle: float, within: float | None = None) -> float:
    """Return when a baby takes its first breath (s), drawn around a median."""
    normal = NormalDist()
    edge = normal.cdf(-(k("drawn.within") if within is None else within))
    return round(
        middle * exp(normal.inv_cdf(edge + (1 - 2 * edge) * chance()) * k("drawn.first")), 1
    )
