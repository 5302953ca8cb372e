"""The baby of a lesson's pictures."""

from __future__ import annotations

from typing import Any

from workbook.rules import RuleBook


def baby_of(book: RuleBook) -> dict[str, Any]:
    """Return the weight (kg) of the baby of a lesson's pictures, and when its chest rises."""
    low, high = book["volume.window"].band
    return {"weight": sum(book["weight.drawn"].band) / 2, "chest": {"low": low, "high": high}}
