"""A control to type a number with its unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import traitlets

from workbook.widgets.control import Control, source

LONGEST = 40  # characters of a typed number


class Number(Control):
    """What was typed and in which unit: ``{"text": "12,5", "unit": "kPa"}``."""

    _esm = source("number.js")

    unit = traitlets.Unicode().tag(sync=True)
    units = traitlets.List().tag(sync=True)

    def __init__(
        self, question: str, label: str, *, unit: str, units: Sequence[str] = (), **more: Any
    ) -> None:
        super().__init__(question, label, unit=unit, units=list(units or (unit,)), **more)

    def problem(self, value: Any) -> str:
        """Say when a value is not a text and one of the units."""
        fine = isinstance(value, dict) and isinstance(value.get("text"), str)
        if fine and len(value["text"]) <= LONGEST and value.get("unit") in self.units:
            return ""
        return str(self.words["wrongNumber"])
