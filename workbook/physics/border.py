"""The border of the model: quantities in, checked floats inside."""

from __future__ import annotations

import math
from typing import Any

MOST = 1e6  # a number beyond this is a slip of the pen in every unit the model uses


def number(value: Any, unit: str, what: str, *, least: float = 0.0, most: float = MOST) -> float:
    """Return a float in ``unit`` from a float in that unit or a quantity of any unit like it.

    Raises ValueError with one sentence when it measures something else or is out of range.
    """
    if type(value) is float and least <= value <= most:  # nearly every call
        return value
    if hasattr(value, "is_compatible_with"):
        if not value.is_compatible_with(unit):
            raise ValueError(f"{what} is wanted in {unit or 'no unit'}, not as {value}.")
        value = value.m_as(unit or "dimensionless")
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ValueError(f"{what} is a number, not {value!r}.")
    if not (math.isfinite(value) and least <= value <= most):
        raise ValueError(f"{what} is between {least:g} and {most:g} {unit}, not {value}.")
    return float(value)


def settle(made: object, name: str, unit: str, what: str, least: float = 0.0) -> None:
    """Check one field of a frozen dataclass while it is being made."""
    checked = number(getattr(made, name), unit, what, least=least)
    object.__setattr__(made, name, checked)
