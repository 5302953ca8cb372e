"""A control to arrange steps in order."""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Sequence as Ordered
from typing import Any

import traitlets

from workbook.widgets.control import Control, style
from workbook.widgets.modules import joined


class Sequence(Control):
    """Steps in an order; the answer is the list of their ids."""

    _esm = joined("sequence.js")
    _css = style("sequence.css")

    items = traitlets.List().tag(sync=True)
    start = traitlets.List().tag(sync=True)

    def __init__(
        self,
        question: str,
        label: str,
        *,
        items: Ordered[Mapping[str, str]],
        start: Ordered[str],
        **more: Any,
    ) -> None:
        shown: dict[str, Any] = {"items": [dict(item) for item in items], "start": list(start)}
        super().__init__(question, label, **shown, **more)

    def problem(self, value: Any) -> str:
        """Say when a value does not name each step once."""
        fine = isinstance(value, list) and all(isinstance(v, str) for v in value)
        if fine and sorted(value) == sorted(self.start):
            return ""
        return str(self.words["wrongSequence"])
