"""Unit 1: the set-up order, a set-up at the bench, and a colleague's to look over."""

from graders.marks.unit import Unit
from graders.units.setup import beliefs, marks, plays

UNIT = Unit(marks, plays, beliefs, marks.model_run)
