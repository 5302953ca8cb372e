"""Unit 6: trials of fault finding."""

from graders.marks.unit import Unit
from graders.units.faults import beliefs, marks, plays

UNIT = Unit(marks, plays, beliefs)
