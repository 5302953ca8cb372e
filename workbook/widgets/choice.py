"""A control to choose one, or several, of a few options."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import traitlets

from workbook.widgets.control import Control
from workbook.widgets.modules import joined


class Choice(Control):
    """One option's id, or with ``many`` a list of ids."""

    _esm = joined("choice.js")

    options = traitlets.List().tag(sync=True)
    many = traitlets.Bool(False).tag(sync=True)

    def __init__(
        self,
        question: str,
        label: str,
        *,
        options: Sequence[Mapping[str, str]],
        many: bool = False,
        **more: Any,
    ) -> None:
        shown: dict[str, Any] = {"options": [dict(option) for option in options], "many": many}
        super().__init__(question, label, **shown, **more)

    def problem(self, value: Any) -> str:
        """Say when a value is not one of the options."""
        chosen = value if self.many else [value]
        known = {option["id"] for option in self.options}
        fine = isinstance(chosen, list) and all(isinstance(v, str) and v in known for v in chosen)
        if fine and len(set(chosen)) == len(chosen) and not ("none" in chosen and len(chosen) > 1):
            return ""
        return str(self.words["wrongChoice"])
