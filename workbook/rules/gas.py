"""Gas: how long a cylinder lasts, what a blender mixes, and one pressure in every unit."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from workbook.core.quantities import plain
from workbook.rules.checkinput import Given, read
from workbook.rules.files import file
from workbook.rules.found import answered
from workbook.rules.rule import Rule, RuleError

UNITS = ("cmH2O", "hPa", "mbar", "kPa", "bar", "mmHg", "psi")
SIZES = ("D", "E", "M", "G", "H", "K")


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A cylinder of gas: its factor in litres for each psi, its gauge and what stays in it."""

    size: str
    factor: Rule
    pressure: float
    reserve: float
    others: tuple[Rule, ...] = ()

    def litres(self, factor: Rule | None = None) -> float:
        """Return the gas that may be used: (gauge - reserve) times the factor."""
        return max(0.0, self.pressure - self.reserve) * (factor or self.factor).value

    def minutes(self, flow: Given, factor: Rule | None = None) -> float:
        """Return how long the gas lasts at a flow drawn from this cylinder."""
        return self.litres(factor) / read("flow", flow)

    def after(self, time: Given, flow: Given) -> float:
        """Return the gauge pressure in psi after a time at a flow; RuleError once it is empty."""
        left = self.pressure - read("duration", time) * read("flow", flow) / self.factor.value
        if left < 0:
            whole = self.pressure * self.factor.value / read("flow", flow)
            raise RuleError(f"The cylinder is empty after {whole:.0f} min at this flow.")
        return left

    def told(self, flow: Given) -> str:
        """Return the time left in words, with factor, reserve and any other factor named."""
        drawn = plain(read("flow", flow), "L/min")
        says = (
            f"A cylinder of size {self.size} at {plain(self.pressure, 'psi')}, with a reserve of "
            f"{plain(self.reserve, 'psi')}, gives {self.litres():.0f} L at "
            f"{self.factor.value:g} L for each psi: {self.minutes(flow):.0f} min at {drawn}."
        )
        for other in self.others:
            says += f" With {other.value:g} L for each psi: {self.minutes(flow, other):.0f} min."
        return f"{says} {file('gas')['cylinder.blender-bleeds'].says}"


def cylinder(size: str, pressure: Given, *, reserve: Given, factor: str = "") -> Cylinder:
    """Return a cylinder by size letter; the reserve is never assumed.

    ``factor`` names another published factor, for example ``"cylinder.E.other"``.
    """
    book = file("gas")
    if size not in SIZES:
        raise RuleError(f"{size!r} is not a cylinder size; there are {', '.join(SIZES)}.")
    name = f"cylinder.{'H' if size == 'K' else size}"
    mine = [rule for rule in book if rule.id in (name, f"{name}.other")]
    used = [rule for rule in mine if rule.id == (factor or name)]
    if not used:
        known = ", ".join(rule.id for rule in mine)
        raise RuleError(f"{factor!r} is not a factor of size {size}; there are {known}.")
    psi, kept = read("cylinder", pressure), read("cylinder", reserve)
    if kept > psi:
        raise RuleError(
            f"The reserve, {plain(kept, 'psi')}, is above the gauge, {plain(psi, 'psi')}."
        )
    return Cylinder(size, used[0], psi, kept, tuple(rule for rule in mine if rule not in used))


@dataclass(frozen=True, slots=True)
class Blend:
    """Oxygen and air mixed to a share of oxygen. Flows in L/min, shares in percent."""

    flow: float
    share: float
    air: Rule

    @property
    def oxygen(self) -> float:
        """Return the flow of pure oxygen: flow times (share - air) over (100 - air)."""
        return self.flow * (self.share - self.air.value) / (100 - self.air.value)

    @property
    def air_flow(self) -> float:
        """Return the flow of air: what is left, reckoned so that no rounding makes it negative."""
        return self.flow * (100 - self.share) / (100 - self.air.value)

    @property
    def ratio(self) -> float:
        """Return litres of air for each litre of oxygen; infinite for air alone."""
        above = self.share - self.air.value
        return (100 - self.share) / above if above else float("inf")

    @property
    def text(self) -> str:
        """Return the mixture in a sentence that states what air is counted as."""
        return (
            f"{plain(self.flow, 'L/min')} at {plain(self.share, 'percent')} oxygen is "
            f"{self.oxygen:.2f} L/min of oxygen and {self.air_flow:.2f} L/min of air, "
            f"air counted as {self.air.text} oxygen."
        )


def blend(flow: Given, share: Given) -> Blend:
    """Return the flows that make a share of oxygen."""
    return Blend(read("flow", flow), read("oxygen", share), file("gas")["air.oxygen"])


def mixed(oxygen: float, air: float) -> float:
    """Return the share of oxygen, in percent, of two flows in L/min that meet."""
    if oxygen < 0 or air < 0 or oxygen + air == 0:
        raise RuleError(f"Flows of {oxygen:g} and {air:g} L/min do not mix; neither is below zero.")
    return (100 * oxygen + file("gas")["air.oxygen"].value * air) / (oxygen + air)


def exactly(value: float, unit: str, to: str) -> Fraction:
    """Return a pressure in another unit as an exact fraction of the units' definitions."""
    return _decimal(value) * _size(unit) / _size(to)


def pressures(value: float, unit: str) -> tuple[Rule, ...]:
    """Return one pressure in every unit, each under the definition the unit goes by."""
    book = file("gas")
    return tuple(answered(book[f"unit.{u}"], float(exactly(value, unit, u)), u) for u in UNITS)


def _size(unit: str) -> Fraction:
    if unit not in UNITS:
        raise RuleError(f"{unit!r} is not a unit of pressure here; there are {', '.join(UNITS)}.")
    return _decimal(file("gas")[f"unit.{unit}"].value)


def _decimal(value: float) -> Fraction:
    """Return the decimal number that was written, not its nearest binary fraction."""
    return Fraction(repr(float(value)))
