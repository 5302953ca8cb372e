"""The model's constants as floats; each stands in the rules with its source and basis."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from workbook.rules.files import file

BEGINS = "baby."


@cache
def constants() -> Mapping[str, float]:
    """Return every constant by its id without ``baby.``, in the unit of its rule."""
    one = (rule for rule in file("baby") if rule.low == rule.high)
    return {rule.id.removeprefix(BEGINS): rule.value for rule in one}


def k(id: str) -> float:
    """Return one constant; KeyError for one that is not in the rules."""
    return constants()[id]


def limits(id: str) -> tuple[float, float]:
    """Return the band (low, high) within which something is drawn."""
    return file("baby")[f"{BEGINS}{id}"].band
