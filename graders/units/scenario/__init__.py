"""Unit 7: cases from birth to stabilised, and the note of each."""

from graders.marks.unit import Unit
from graders.units.scenario import beliefs, marks, plays
from workbook.units.scenario.case.questions import CASE_OF

UNIT = Unit(marks, plays, beliefs, beside=CASE_OF)
