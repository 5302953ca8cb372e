"""Unit 9: one question, made up for a test."""

from graders.marks.unit import Unit
from graders.units.tiny import beliefs, marks, plays

UNIT = Unit(marks, plays, beliefs)
