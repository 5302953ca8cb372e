"""The baby: a teaching model of a newborn's first minutes, never a forecast of any baby.

Aeration, gas, heart and depth of asphyxia go on by what a bench delivers to the lung (`model`,
`delivery`); nine hidden courses are drawn (`courses`); what a team can see of it is late and, of a
monitor, wrong at first (`signs`, `monitors`). Nothing here chooses a setting, and no baby dies.
"""

from workbook.physics.baby.constants import constants, k
from workbook.physics.baby.course import Course
from workbook.physics.baby.courses import KINDS, Hidden, drawn
from workbook.physics.baby.delivery import Ways, airway, arrives, moves_until, ways_of
from workbook.physics.baby.model import Drive, State, advance, born, inflated, inflations
from workbook.physics.baby.monitors import (
    LEADS,
    OXIMETER,
    Monitor,
    by_leads,
    by_oximeter,
    expired,
    heard,
)
from workbook.physics.baby.nature import Nature, healthy, preterm, term
from workbook.physics.baby.signs import BREATHING, TONE, breathing, tone

__all__ = [
    "BREATHING",
    "KINDS",
    "LEADS",
    "OXIMETER",
    "TONE",
    "Course",
    "Drive",
    "Hidden",
    "Monitor",
    "Nature",
    "State",
    "Ways",
    "advance",
    "airway",
    "arrives",
    "born",
    "breathing",
    "by_leads",
    "by_oximeter",
    "constants",
    "drawn",
    "expired",
    "healthy",
    "heard",
    "inflated",
    "inflations",
    "k",
    "moves_until",
    "preterm",
    "term",
    "tone",
    "ways_of",
]
