"""Lesson and unit 1: setting a T-piece up, in order."""

from workbook.cases.unit import Unit
from workbook.core.language import N_
from workbook.units.setup.case.questions import EXERCISE, questions

UNIT = Unit(EXERCISE, N_("Exercise 1: set-up order"), questions, f"{__name__}.lesson")
