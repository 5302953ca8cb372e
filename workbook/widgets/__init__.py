"""The controls a learner answers with: native HTML, by keyboard, touch or mouse."""

from workbook.widgets.choice import Choice
from workbook.widgets.control import Control
from workbook.widgets.number import Number
from workbook.widgets.sequence import Sequence

__all__ = ["Choice", "Control", "Number", "Sequence"]
