"""Units of measurement: the one place that builds a pint registry.

Pint costs a few tenths of a second to import, so the registry is built at first use.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any

from workbook.core.language import N_, _, number

if TYPE_CHECKING:
    import pint

# Units a rule file or an answer may use, with what they measure. Checked without pint,
# so reading the rules stays fast; a test holds each entry against pint.
MEASURES: dict[str, str] = {
    "cmH2O": N_("pressure"),
    "hPa": N_("pressure"),
    "kPa": N_("pressure"),
    "mbar": N_("pressure"),
    "mmHg": N_("pressure"),
    "psi": N_("pressure"),
    "bar": N_("pressure"),
    "L/min": N_("flow"),
    "mL/s": N_("flow"),
    "1/min": N_("rate"),
    "s": N_("time"),
    "min": N_("time"),
    "h": N_("time"),
    "day": N_("time"),
    "week": N_("time"),
    "month": N_("time"),
    "g": N_("mass"),
    "kg": N_("mass"),
    "mL": N_("volume"),
    "L": N_("volume"),
    "mL/kg": N_("volume per mass"),
    "mm": N_("length"),
    "cm": N_("length"),
    "inch": N_("length"),
    "Fr": N_("length"),
    "degC": N_("temperature"),
    "percent": N_("share"),
    "": N_("number"),
}


class UnitError(ValueError):
    """A unit that is not known, or that measures something else."""


@cache
def registry() -> pint.UnitRegistry[Any]:
    """Return the registry every quantity of the workbook belongs to.

    One cmH2O is the conventional 98.0665 Pa (1000 kg/m3 times standard gravity, NIST SP 811);
    one French is a third of a millimetre (ISO 8836).
    """
    import pint

    made: pint.UnitRegistry[Any] = pint.UnitRegistry(cache_folder=None)
    made.define("French_gauge = millimeter / 3 = Fr")
    made.formatter.default_format = "~P"
    return made


def quantity(value: float | str, unit: str | None = None) -> pint.Quantity[Any]:
    """Return a quantity: ``quantity("25 cmH2O")`` or ``quantity(25, "cmH2O")``."""
    if isinstance(value, str) and unit is None:
        return _parse(value)
    return registry().Quantity(float(value), _checked(unit or ""))


def _parse(text: str) -> pint.Quantity[Any]:
    figure, _space, unit = text.strip().partition(" ")
    try:
        magnitude = typed_number(figure)
    except ValueError:
        raise UnitError(
            _("{text} is not a number and a unit, for example '25 cmH2O'.").format(text=repr(text))
        ) from None
    return registry().Quantity(magnitude, _checked(unit.strip()))


def typed_number(text: str) -> float:
    """Return a number as people type it: a decimal comma is a decimal point, in every language.

    Raises UnitError for anything else, also for a number with marks between its thousands.
    """
    try:
        return float(text.strip().replace("\u2212", "-").replace(",", "."))
    except ValueError:
        raise UnitError(
            _(
                "{text} is not a number: type its digits and one decimal sign, as in 12.5 or 12,5."
            ).format(text=repr(text))
        ) from None


def _checked(unit: str) -> str:
    if unit not in MEASURES:
        known = ", ".join(u for u in MEASURES if u)
        raise UnitError(f"{unit!r} is not a unit the workbook knows; it knows {known}.")
    return unit or "dimensionless"


@lru_cache(maxsize=1024)  # the same few numbers are asked for over and over
def convert(value: float, unit: str, to: str) -> float:
    """Return ``value`` given in ``unit`` as a number in ``to``.

    Raises UnitError when the two measure different things.
    """
    if unit == to:
        return float(value)
    if MEASURES.get(unit) != MEASURES.get(to):
        says = _("{unit} measures {measure}, but {other} in {wanted} is wanted.")
        raise UnitError(
            says.format(
                unit=unit or _("a plain number"),
                measure=_(MEASURES.get(unit, N_("nothing known"))),
                other=_(MEASURES.get(to, N_("something else"))),
                wanted=to,
            )
        )
    return float(quantity(value, unit).m_as(_checked(to)))


def plain(value: float, unit: str) -> str:
    """Return a value as a person would say it: ``25 cmH2O``, ``4.5 cmH2O``, ``21 %``."""
    word = _MANY.get(unit) if value != 1 else _ONE.get(unit)
    return f"{number(value, '.4g')} {_(word) if word else _SIGNS.get(unit, unit)}".strip()


def in_words(unit: str) -> str:
    """Return a unit as a person says it of several: ``a minute``, ``%``, ``cmH2O``."""
    return _(_MANY[unit]) if unit in _MANY else _SIGNS.get(unit, unit)


_SIGNS = {"percent": "%"}
_ONE = {"1/min": N_("a minute"), "day": N_("day"), "week": N_("week"),
        "month": N_("month")}  # fmt: skip
_MANY = {**_ONE, "day": N_("days"), "week": N_("weeks"), "month": N_("months")}
