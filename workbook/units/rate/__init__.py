"""Lesson 4: rate and counting, by hand, on a strip and by ear."""

from workbook.cases.unit import Unit
from workbook.core.language import N_
from workbook.units.rate.case.questions import EXERCISE, questions

UNIT = Unit(EXERCISE, N_("Exercise 4: counting the rate"), questions)
