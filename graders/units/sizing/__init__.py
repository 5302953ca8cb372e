"""Unit 5: masks and tubes of the right size, and a mask laid on a face."""

from graders.marks.unit import Unit
from graders.units.sizing import beliefs, marks, plays

UNIT = Unit(marks, plays, beliefs)
