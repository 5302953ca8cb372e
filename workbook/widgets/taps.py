"""A control to hold and release a rhythm: the aperture occluded by a key, a finger, the mouse."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import traitlets

from workbook.widgets.control import Check, Control, style
from workbook.widgets.modules import joined

LONGEST = 60_000  # bytes; with its envelope the answer still fits a line of the answers file


class Taps(Control):
    """What a hand did within ``duration`` seconds, as a record of presses and releases.

    ``metronome`` has rate, occlude_beats and release_beats, or nothing; ``distraction`` has at,
    says, sound, options and until, or nothing. ``picture`` sets intervals against a band; it
    goes with the next answer, as feedback does, and feedback may bring its own.
    """

    _esm = joined("taps.js")
    _css = style("taps.css")

    duration = traitlets.Float().tag(sync=True)
    metronome = traitlets.Dict().tag(sync=True)
    distraction = traitlets.Dict().tag(sync=True)
    picture = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        question: str,
        label: str,
        *,
        duration: float,
        metronome: Mapping[str, Any] | None = None,
        distraction: Mapping[str, Any] | None = None,
        **more: Any,
    ) -> None:
        beside: dict[str, Any] = {
            "metronome": dict(metronome or {}),
            "distraction": dict(distraction or {}),
        }
        super().__init__(question, label, duration=float(duration), **beside, **more)

    def problem(self, value: Any) -> str:
        """Say when a value is no record of this length of time, or too long to be kept."""
        from workbook.taps import TapsError, read_taps

        try:
            read_taps(value)
        except TapsError:
            return str(self.words["wrongTaps"])
        if value["duration"] != self.duration:
            return str(self.words["wrongTaps"])
        too_long = len(json.dumps(value)) > LONGEST
        return str(self.words["longTaps"]) if too_long else ""

    def _keep(self, value: Any, client: str, seq: int) -> dict[str, Any]:
        self.picture = {}  # it was of the answer before
        return super()._keep(value, client, seq)

    def _give_feedback(self, check: Check) -> None:
        super()._give_feedback(check)
        self.picture = dict(self.feedback.get("picture", self.picture))
