"""Lesson 3: what to set for a baby, what gauge and chest say, raising PIP."""

from workbook.cases.unit import Unit
from workbook.core.language import N_
from workbook.units.targets.case.questions import EXERCISE, questions

UNIT = Unit(EXERCISE, N_("Exercise 3: pressure targets"), questions)
