"""Tubes, depths and catheters of the sizing cases: what may be drawn, and what it comes to."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from workbook.bench.baby import healthy
from workbook.cases.babies import STEP, Baby, babies, grams_at
from workbook.language import number
from workbook.physics import Tube
from workbook.rules.files import file
from workbook.rules.sizes import Lumen, blade, tube
from workbook.units import plain

LESS = (0.5, 1.0)  # cm that the depth by weight may lie below the one by gestation
SMALLEST, FINE_STEP = (
    500,
    10,
)  # g: the lightest baby of the depth table, and the steps from it
PER_LITRE_A_SECOND = 60.0


# --- tubes by weight and by gestation


@cache
def made() -> tuple[float, ...]:
    """Return the tubes there are (mm), from the published bands."""
    ends = {end for rule in file("sizes").all("tube.weight") for end in rule.band}
    return tuple(sorted(ends))


@cache
def sizes_by_weight(grams: float) -> tuple[float, ...]:
    """Return the tubes that the band of a weight allows: one, or two where sources differ."""
    rule = file("sizes").find("tube.weight", weight=grams)
    return tuple(size for size in made() if rule.holds(size))


def by_weight(grams: float) -> float | None:
    """Return the one tube of a weight, or None where sources differ."""
    sizes = sizes_by_weight(grams)
    return sizes[0] if len(sizes) == 1 else None


@cache
def by_gestation(week: float) -> tuple[float, float]:
    """Return the tube by the bands of gestation and by a tenth of the weeks."""
    found = tube(gestation=f"{week} week")
    return found["tube.gestation"].value, found["tube.tenth"].value


@cache
def weeks_that_differ() -> tuple[int, ...]:
    """Return the weeks at which the two rules give different tubes that are made."""
    weeks = sorted({baby.weeks for baby in babies()})
    pairs = {week: by_gestation(week) for week in weeks}
    return tuple(w for w, (one, two) in pairs.items() if one != two and {one, two} <= {*made()})


def beside(size: float, steps: int) -> float:
    """Return the tube some sizes larger, or smaller; the last one there is where it ends."""
    at = made().index(size) + steps
    return made()[min(max(at, 0), len(made()) - 1)]


@cache
def often_downsized() -> tuple[int, ...]:
    """Return weights (g) at which many first tubes were too large."""
    bands = [rule.population.weight for rule in file("sizes").all("tube.downsized")]
    every = sorted({baby.grams for baby in babies() if by_weight(baby.grams) is not None})
    return tuple(g for g in every if any((a or 0) < g < (b or 0) for a, b in bands))


@cache
def blades() -> tuple[float, ...]:
    """Return the straight blades there are."""
    return tuple(sorted({rule.value for rule in file("sizes").all("blade")}))


def blade_of(week: float) -> float:
    """Return the straight blade of a gestation."""
    return blade(f"{week} week")["blade"].value


# --- a baby small for its weeks


@cache
def growth_restricted() -> tuple[Baby, ...]:
    """Return babies whose weight and gestation give different tubes and depths."""
    weeks = sorted({baby.weeks for baby in babies()})
    light = [Baby(w, g) for w in weeks for less in LESS for g in grams_at(w, less)]
    return tuple(b for b in light if by_weight(b.grams) is not None and _differ(b))


def _differ(baby: Baby) -> bool:
    (size, deep), (old_size, old_deep) = laid_out(baby)
    return size < old_size and deep < old_deep


@cache
def laid_out(baby: Baby) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return (tube, depth) by weight, and by gestation."""
    old = file("sizes").find("depth.table-gestation", gestation=baby.weeks).value
    own = (by_weight(baby.grams) or 0.0, _by_table(baby.grams))
    return own, (by_gestation(baby.weeks)[0], old)


def _by_table(grams: float) -> float:
    return file("sizes").find("depth.table-weight", weight=grams).value


# --- depth


@cache
def small_weights() -> tuple[int, ...]:
    """Return weights (g) below which weight plus 6 is often too deep."""
    caution = file("sizes")["depth.weight-plus.caution"]
    return tuple(g for g in range(SMALLEST, 2 * SMALLEST, FINE_STEP) if caution.holds(g))


def small_depths(grams: float) -> dict[str, float]:
    """Return the depth (cm) by weight plus 6 and by the table of weight."""
    return {"plus": plus_six(grams), "table": _by_table(grams)}


def plus_six(grams: float) -> float:
    """Return the depth (cm) by weight in kilograms plus a constant."""
    return grams / 1000 + file("sizes")["depth.weight-plus.add"].value


# --- a tube one size off, by the model


@cache
def off_by_one() -> tuple[Mapping[str, Any], ...]:
    """Return (weight, tube that fits, another, "small" or "large") a case may ask about."""
    weights = sorted({b.grams for b in babies() if b.grams % (2 * STEP) == 0})
    found = []
    for grams in weights:
        size = by_weight(grams)
        for facet, by in (("small", -1), ("large", 1)):
            if size is not None and (other := beside(size, by)) != size:
                found.append({"grams": grams, "size": size, "other": other, "facet": facet})
    return tuple(found)


def effect(facts: Mapping[str, Any]) -> dict[str, str]:
    """Return in words what the model makes of both tubes."""
    flow = file("sizes")["flow.tube"].value
    said = {"weight": plain(facts["grams"] / 1000, "kg"), "flow": plain(flow, "L/min")}
    for name, end in (("size", ""), ("other", "_other")):
        size = facts[name]
        said |= {
            name: f"{number(size, '.1f')} mm",
            f"drop{end}": plain(round(drop(size, flow), 1), "cmH2O"),
            f"fill{end}": f"{filling(size, facts['grams']):.0f}",
        }
    return said


def drop(size: float, flow: float) -> float:
    """Return the pressure (cmH2O) that drives a flow (L/min) through a tube (mm)."""
    one, per_second = Tube(size), flow / PER_LITRE_A_SECOND
    return one.linear * per_second + one.quadratic * per_second * per_second


def filling(size: float, grams: float) -> float:
    """Return the time constant (ms) of a lung's filling through a tube (mm)."""
    lung = healthy(grams / 1000, size)
    return lung.linear * lung.compliance


# --- catheters


@cache
def catheters() -> tuple[float, ...]:
    """Return the catheters there are (Fr), from the published tables."""
    named = [r for r in file("sizes") if r.id.startswith(("catheter.table", "catheter.textbook"))]
    return tuple(sorted({end for rule in named for end in rule.band}))


def millimetres(french: float) -> float:
    """Return the outside diameter (mm) of a catheter."""
    book = file("sizes")
    return french / book["french.in-millimetre"].value * book["french"].value


@cache
def fills(french: float, size: float) -> Lumen:
    """Return how much of a tube a catheter fills, and the limits for a newborn."""
    limits = tuple(file("sizes")[f"lumen.limit.aarc-{year}"] for year in ("2010", "2022"))
    return Lumen(millimetres(french), size, limits)


@cache
def passing() -> tuple[tuple[float, float], ...]:
    """Return each (catheter, tube) where the catheter is thinner and its number is not."""
    every = [(french, size) for french in catheters() for size in made()]
    return tuple((f, s) for f, s in every if millimetres(f) < s < f)
