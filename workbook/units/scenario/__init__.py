"""Lesson 7: a case from birth to stabilised, and the note that is written of it."""

from workbook.cases.unit import Unit
from workbook.core.language import N_
from workbook.units.scenario.case.questions import EXERCISE, questions

UNIT = Unit(EXERCISE, N_("Exercise 7: from birth to stabilised"), questions)
