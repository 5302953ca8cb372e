"""Tubes, depths and catheters of the sizing cases: what may be drawn, and what it comes to."""

from __future__ import annotations

import math

from workbook.rules.files import file
from workbook.rules.signed import kept
from workbook.rules.sizes import blade, tube
from workbook.units.sizing.case.babies import STEP, Baby, babies, grams_at

LIGHT, HEAVY = (0.5, 1.0), (-0.5,)  # cm that the depth by weight lies below the one by gestation
MARKS = 2  # marks on a tube for each centimetre


# --- tubes by weight and by gestation


@kept
def made() -> tuple[float, ...]:
    """Return the tubes there are (mm), from the published bands."""
    ends = {end for rule in file("sizes").all("tube.weight") for end in rule.band}
    return tuple(sorted(ends))


@kept
def sizes_by_weight(grams: float) -> tuple[float, ...]:
    """Return the tubes that the band of a weight allows: one, or two where sources differ."""
    rule = file("sizes").find("tube.weight", weight=grams)
    return tuple(size for size in made() if rule.holds(size))


def by_weight(grams: float) -> float | None:
    """Return the one tube of a weight, or None where sources differ."""
    sizes = sizes_by_weight(grams)
    return sizes[0] if len(sizes) == 1 else None


@kept
def by_gestation(week: float) -> float:
    """Return the tube by the bands of gestation."""
    return tube(gestation=f"{week} week")["tube.gestation"].value


def smaller(size: float) -> float:
    """Return the next smaller tube, or the smallest there is."""
    return made()[max(made().index(size) - 1, 0)]


@kept
def often_downsized(grams: float) -> bool:
    """Say whether many first tubes were too large at a weight."""
    bands = [rule.population.weight for rule in file("sizes").all("tube.downsized")]
    return any((low or 0) <= grams < (high or 0) for low, high in bands)


@kept
def blades() -> tuple[float, ...]:
    """Return the straight blades there are."""
    return tuple(sorted({rule.value for rule in file("sizes").all("blade")}))


def blade_of(week: float) -> float:
    """Return the straight blade of a gestation."""
    return blade(f"{week} week")["blade"].value


# --- babies small or large for their weeks


@kept
def off_their_weeks(depths: tuple[float, ...]) -> tuple[Baby, ...]:
    """Return babies ``LIGHT`` or ``HEAVY`` for their weeks, whose weight gives another tube."""
    weeks = sorted({baby.weeks for baby in babies()})
    drawn = [Baby(w, g) for w in weeks for less in depths for g in grams_at(w, less)]
    return tuple(b for b in drawn if _by_weight_alone(b) and not often_downsized(b.grams))


def _by_weight_alone(baby: Baby) -> bool:
    return by_weight(baby.grams) not in (None, by_gestation(baby.weeks))


# --- depth


@kept
def small_weights() -> tuple[int, ...]:
    """Return weights (g) for which weight plus a constant may be too deep, as the textbook says."""
    caution = file("sizes")["depth.weight-plus.caution"]
    least = file("sizes").all("depth.table-weight")[0].population.weight[0] or 0.0
    return tuple(g for g in range(int(least), int(caution.band[1]), STEP) if caution.holds(g))


def depths(grams: float) -> dict[str, float]:
    """Return the depth (cm) by weight plus a constant and by the table of weight."""
    return {"plus": by_plus(grams), "table": by_table(grams)}


def by_plus(grams: float) -> float:
    """Return the depth (cm) by weight in kilograms plus a constant."""
    return grams / 1000 + file("sizes")["depth.weight-plus.add"].value


def by_table(grams: float) -> float:
    """Return the depth (cm) by the table of weight."""
    return file("sizes").find("depth.table-weight", weight=grams).value


@kept
def held(grams: float) -> dict[str, tuple[float, ...]]:
    """Return marks (cm) a tube may be held at: within the rules, deeper, or less deep than all."""
    low, high = sorted(depths(grams).values())
    off = file("sizes")["depth.held"].value
    inside = range(math.ceil(low * MARKS), math.floor(high * MARKS) + 1)
    return {
        "within": tuple(mark / MARKS for mark in inside),
        "deep": (math.ceil((high + off) * MARKS) / MARKS,),
        "shallow": (math.floor((low - off) * MARKS) / MARKS,),
    }
