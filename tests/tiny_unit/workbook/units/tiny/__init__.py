"""Unit 9: one question, made up for a test."""

from workbook.cases.unit import Unit
from workbook.core.language import N_
from workbook.units.tiny.case.questions import EXERCISE, questions

UNIT = Unit(EXERCISE, N_("Exercise 9: tiny"), questions)
