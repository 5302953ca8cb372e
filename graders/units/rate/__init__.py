"""Unit 4: rate and counting, with inflations that a hand taps."""

from graders.marks.unit import Unit
from graders.units.rate import beliefs, marks, plays

UNIT = Unit(marks, plays, beliefs)
