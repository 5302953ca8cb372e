"""Lesson 6: trials of fault finding."""

from workbook.cases.unit import Unit
from workbook.core.language import N_
from workbook.units.faults.case.questions import EXERCISE, questions

UNIT = Unit(EXERCISE, N_("Exercise 6: fault finding"), questions)
