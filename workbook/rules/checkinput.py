"""What a person typed, read into a plain number or refused in one sentence.

A number needs its unit and must lie within sane limits. Nothing is clamped and nothing is assumed:
a refusal names the value, what is allowed, and the nearest sensible reading.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, TypeAlias

from workbook.core.quantities import MEASURES, convert, plain
from workbook.rules.reader.rulefile import limits
from workbook.rules.rule import Rule, RuleError

if TYPE_CHECKING:
    from typing import Any

    import pint

Given: TypeAlias = "pint.Quantity[Any] | str | float"

# Units people write each of these in; another unit of the same measure is refused with its reading.
ACCEPTED: dict[str, tuple[str, ...]] = {
    "gestation": ("week", "day"),
    "weight": ("g", "kg"),
    "pressure": ("cmH2O", "mbar", "hPa"),
    "flow": ("L/min",),
    "rate": ("1/min",),
    "time": ("s",),
    "duration": ("min", "h"),
    "oxygen": ("percent",),
    "mask": ("mm", "cm", "inch"),
    "tube": ("mm", "Fr", "inch"),
    "catheter": ("Fr", "mm", "inch"),
    "ntl": ("cm", "mm", "inch"),
    "cylinder": ("psi", "bar", "kPa"),
}
_NAMES = {
    "ntl": "nasal septum to tragus",
    "oxygen": "oxygen share",
    "cylinder": "cylinder pressure",
    "mask": "mask diameter",
    "tube": "tube inside diameter",
    "catheter": "catheter outside diameter",
}
_SPOKEN = {
    "weeks": "week", "wk": "week", "days": "day", "d": "day", "grams": "g", "gram": "g",
    "%": "percent", "a minute": "1/min", "/min": "1/min", "minutes": "min", "hours": "h",
    "French": "Fr", "FR": "Fr", "in": "inch", "inches": "inch", "cmh2o": "cmH2O", "seconds": "s",
}  # fmt: skip
_NUMBER = re.compile(r"\s*([-+]?\d*[.,]?\d+(?:[eE][-+]?\d+)?)\s*(.*?)\s*")
_WEEKS_AND_DAYS = re.compile(r"\s*(\d+)\s*(?:\+|\s)\s*(\d+)(?:/7)?\s*(?:weeks?|wk)?\s*")


class InputError(RuleError, ValueError):
    """A value that cannot be meant; the message says what is allowed and what was likely meant."""


def read(what: str, given: Given) -> float:
    """Return a value as a number in the first accepted unit of ``what``, for example weeks.

    ``given`` is a quantity or a text with a unit, such as ``"1.5 kg"`` or ``"28+3"`` weeks.
    Raises InputError.
    """
    number, unit = _taken_apart(what, given)
    limit = limits()[f"input.{what}"]
    home = limit.unit or ""
    if unit not in ACCEPTED[what] or not limit.holds(value := convert(number, unit, home)):
        raise InputError(_refusal(what, number, unit, limit))
    return value


def weeks(gestation: Given) -> float:
    """Return a gestation in weeks."""
    return read("gestation", gestation)


def grams(weight: Given) -> float:
    """Return a weight in grams."""
    return read("weight", weight)


def sane_number(what: str, value: float) -> float:
    """Return a bare number in the home unit of ``what``, refused when it cannot be meant."""
    limit = limits()[f"input.{what}"]
    if limit.holds(value):
        return value
    raise InputError(_refusal(what, value, limit.unit or "", limit))


def _taken_apart(what: str, given: Given) -> tuple[float, str]:
    """Return number and unit as given; InputError when one of them is missing."""
    if isinstance(given, str):
        return _from_text(what, given)
    if isinstance(given, int | float):
        return float(given), ""
    home = limits()[f"input.{what}"].unit or ""
    unit = next((u for u in ACCEPTED[what] if f"{given.units:~P}" == u), None)
    if unit is not None:
        return float(given.magnitude), unit
    if not given.is_compatible_with(_pint_name(home)):
        raise InputError(f"{given} is not a {_name(what)}; {_allowed(what)}.")
    return float(given.m_as(_pint_name(home))), home


def _from_text(what: str, text: str) -> tuple[float, str]:
    if what == "gestation" and (both := _WEEKS_AND_DAYS.fullmatch(text)):
        full, days = int(both[1]), int(both[2])
        if days < convert(1, "week", "day"):
            return full + convert(days, "day", "week"), "week"
        raise InputError(f"{text!r} has {days} days; weeks and days are written like '28+3'.")
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise InputError(f"{text!r} is not a {_name(what)}; {_allowed(what)}.")
    unit = _SPOKEN.get(found[2], found[2])
    return float(found[1].replace(",", ".")), unit


def _refusal(what: str, number: float, unit: str, limit: Rule) -> str:
    shown = f"{number:.10g} {_word(unit)}".strip()
    wrong = f"{shown} is not a {_name(what)} that can be meant"
    if number != number:
        return f"That is not a number; {_allowed(what)}."
    if not unit:
        wrong = f"{number:.10g} has no unit, so it is not taken as a {_name(what)}"
    elif unit not in MEASURES or MEASURES[unit] != MEASURES[limit.unit or ""]:
        wrong = f"{shown} is not a {_name(what)}"
    elif unit not in ACCEPTED[what]:
        wrong = f"{shown} is not in a unit of {_name(what)}"
    return f"{wrong}; {_allowed(what)}; {_nearest(what, number, unit, limit)}"


def _allowed(what: str) -> str:
    limit = limits()[f"input.{what}"]
    units = " or ".join(_word(unit) for unit in ACCEPTED[what])
    return f"write {limit.text}, in {units}"


def _nearest(what: str, number: float, unit: str, limit: Rule) -> str:
    """Return the sentence on what was likely meant: another unit, no sign, or the nearer end."""
    home = limit.unit or ""
    if MEASURES.get(unit) == MEASURES[home] and unit not in ACCEPTED[what]:
        value = convert(number, unit, home)
        if limit.holds(value):
            return f"{plain(number, unit)} is {plain(value, home)}."
    for size in (number, abs(number)):
        for candidate in ACCEPTED[what]:
            value = convert(size, candidate, home)
            if limit.holds(value):
                which = "" if candidate == home else f", which is {plain(value, home)}"
                return f"did you mean {size:.10g} {_word(candidate)}{which}?"
    low, high = limit.band
    end = low if _in_home(number, unit, home) < low else high
    return f"the nearest allowed is {plain(end, home)}."


def _in_home(number: float, unit: str, home: str) -> float:
    same = MEASURES.get(unit) == MEASURES[home] and unit
    return convert(number, unit, home) if same else number


def _word(unit: str) -> str:
    return plain(2, unit).removeprefix("2").strip()


def _name(what: str) -> str:
    return _NAMES.get(what, what)


def _pint_name(unit: str) -> str:
    return unit or "dimensionless"
