"""A control to type a number with its unit."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import traitlets

from workbook.core.quantities import convert
from workbook.widgets.control import Control, style
from workbook.widgets.modules import joined

LONGEST = 40  # characters of a typed number


class Number(Control):
    """What was typed and in which unit: ``{"text": "12,5", "unit": "kPa"}``.

    With ``gauge_top`` (cmH2O) there is a gauge as well, on which a needle is dragged to the same
    answer; ``needle`` in its feedback (cmH2O) is drawn over it.
    """

    _esm = joined("number.js")
    _css = style("typed.css")

    unit = traitlets.Unicode().tag(sync=True)
    units = traitlets.List().tag(sync=True)
    gauge_top = traitlets.Float(0.0).tag(sync=True)
    per = traitlets.Dict().tag(sync=True)

    def __init__(
        self, question: str, label: str, *, unit: str, units: Sequence[str] = (), **more: Any
    ) -> None:
        made = list(units or (unit,))
        per = {each: convert(1, each, "cmH2O") for each in made} if more.get("gauge_top") else {}
        super().__init__(question, label, unit=unit, units=made, per=per, **more)

    def problem(self, value: Any) -> str:
        """Say when a value is not a text and one of the units."""
        fine = isinstance(value, dict) and isinstance(value.get("text"), str)
        if fine and len(value["text"]) <= LONGEST and value.get("unit") in self.units:
            return ""
        return str(self.words["wrongNumber"])
