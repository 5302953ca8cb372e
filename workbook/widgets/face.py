"""A control to choose a mask and lay it on a newborn's face, drawn to scale."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import traitlets

from workbook.core.language import fixed
from workbook.face.fit import Face as Drawn
from workbook.face.fit import FaceError, read_fit, told
from workbook.widgets.control import Control, style
from workbook.widgets.face_words import WORDS
from workbook.widgets.modules import joined

TOLD = ("", "where", "fit")


class Face(Control):
    """A mask of a size, laid at a place and turned, as ``workbook.face.fit`` describes it.

    ``face`` is what the page draws. ``live`` is what is told while the mask moves: nothing,
    ``"where"`` its edges lie, or ``"fit"``: also what it covers, its seal, and what the gauge
    does. ``placed`` tells it of the mask that was saved.
    """

    _esm = joined("face.js")
    _css = style("typed.css", "face.css")

    face = traitlets.Dict().tag(sync=True)
    live = traitlets.Enum(TOLD, "").tag(sync=True)
    placed = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        question: str,
        label: str,
        *,
        face: Mapping[str, Any],
        live: str = "",
        words: Mapping[str, str] | None = None,
        **more: Any,
    ) -> None:
        said = {**fixed(WORDS), **(words or {})}
        super().__init__(question, label, face=dict(face), live=live, words=said, **more)
        if self.value is not None:
            self.placed = self._told(self.value)

    def problem(self, value: Any) -> str:
        """Say why a mask's place cannot be read, or that it lies off the face."""
        try:
            read_fit(value, Drawn(self.face["length"]))
        except FaceError as error:
            still = [] if self.value is None else [str(self.words["stillCounts"])]
            return " ".join([str(self.words["wrongFace"]).format(why=error), *still])
        return ""

    def _hear(self, widget: Any, content: Any, buffers: Any) -> None:
        if not isinstance(content, dict) or content.get("kind") != "place":
            super()._hear(widget, content, buffers)
        elif type(content.get("n")) is int:
            self.send({**self._told(content.get("value")), "n": content["n"]})

    def _told(self, value: Any) -> dict[str, Any]:
        """Return where a mask lies, as far as this question tells it."""
        if not self.live:
            return {}
        return told(self.face["length"], value, full=self.live == "fit")
