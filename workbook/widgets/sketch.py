"""A control to sketch a strip, pressure over time, by moving a few points up and down."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import traitlets

from workbook.bench.sketch import SketchError, read_sketch
from workbook.core.language import fixed
from workbook.widgets.control import Control, style
from workbook.widgets.modules import joined

# Every fixed word of it, so that its page can be in another language.
WORDS = {
    "untouched": "Not answered yet: move a point, or press Enter on one to leave all as they are.",
    "sketchPoint": "Pressure at {time} s, {hole}",
    "sketchCovered": "hole covered",
    "sketchOpen": "hole open",
    "sketchSays": "{value} cmH2O",
    "sketchHow": "Drag a point, or go to it with the Tab key: arrow keys move it {step} cmH2O.",
    "sketchTyped": "Type the pressures",
    "sketchTime": "At {time} s",
    "sketchStart": "Thin: {start}",
    "sketchOwn": "Dashed: your strip",
    "sketchTrue": "Solid: {true}",
    "sketchGroup": "The strip you sketch: pressure over {seconds} s, from 0 to {top} cmH2O. "
    "The hole is covered from {from} s to {to} s.",
    "wrongSketch": "Not saved: {why}",
}


class Sketch(Control):
    """Points at given times that a learner moves to where a strip will run.

    ``sketch`` holds ``times`` (s), where the points stand at ``first`` (cmH2O), the ``covered``
    stretch, a strip to ``start`` from, and the names of both strips, ``start_says`` and
    ``true_says``. ``strip`` in its feedback, {"time", "pressure"}, is drawn over the points.
    """

    _esm = joined("sketch.js")
    _css = style("typed.css", "sketch.css")

    sketch = traitlets.Dict().tag(sync=True)

    def __init__(
        self, question: str, label: str, *, sketch: Mapping[str, Any],
        words: Mapping[str, str] | None = None, **more: Any,
    ) -> None:  # fmt: skip
        said = {**fixed(WORDS), **(words or {})}
        super().__init__(question, label, sketch=dict(sketch), words=said, **more)

    def problem(self, value: Any) -> str:
        """Say why a sketch cannot be read, or nothing."""
        try:
            read_sketch(value, len(self.sketch["times"]))
        except SketchError as error:
            return str(self.words["wrongSketch"]).format(why=error)
        return ""
