"""Unit 3: pressure targets, what gauge and chest say, and raising PIP at the bench."""

from graders.marks.unit import Unit
from graders.units.targets import beliefs, marks, plays

UNIT = Unit(marks, plays, beliefs, marks.model_run)
