"""The controls a learner answers with: native HTML, by keyboard, touch or mouse."""

from workbook.widgets.bench import BenchControl
from workbook.widgets.bench.trial import TrialControl
from workbook.widgets.choice import Choice
from workbook.widgets.control import Control
from workbook.widgets.debrief import Debrief
from workbook.widgets.face import Face
from workbook.widgets.number import Number
from workbook.widgets.sequence import Sequence
from workbook.widgets.sketch import Sketch
from workbook.widgets.taps import Taps

__all__ = [
    "BenchControl",
    "Choice",
    "Control",
    "Debrief",
    "Face",
    "Number",
    "Sequence",
    "Sketch",
    "Taps",
    "TrialControl",
]
