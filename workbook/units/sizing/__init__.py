"""Lesson 5: masks and tubes of the right size."""

from workbook.cases.unit import Unit
from workbook.core.language import N_
from workbook.units.sizing.case.questions import EXERCISE, questions

UNIT = Unit(EXERCISE, N_("Exercise 5: mask and tube"), questions)
