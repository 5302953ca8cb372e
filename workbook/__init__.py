"""The T-piece workbook: what a learner's notebook imports.

For education only; not a medical device. Local protocol, the device's own instructions and
licensed practice come first.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from workbook.cases import case
    from workbook.core.quantities import quantity
    from workbook.lesson.unit import ask, open_lesson, open_unit
    from workbook.rules import rulebook

_HOME = {
    "ask": "workbook.lesson.unit",
    "case": "workbook.cases",
    "open_lesson": "workbook.lesson.unit",
    "open_unit": "workbook.lesson.unit",
    "quantity": "workbook.core.quantities",
    "rulebook": "workbook.rules",
}

__version__ = "0.1.0"
__all__ = ["ask", "case", "open_lesson", "open_unit", "quantity", "rulebook"]


def __getattr__(name: str) -> Any:
    """Import a public name at its first use, so that importing the package stays light."""
    if name in _HOME:
        return getattr(import_module(_HOME[name]), name)
    raise AttributeError(f"module 'workbook' has no attribute {name!r}")
