"""A sentence with a number in it that moves a picture of the bench; it asks nothing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import anywidget
import traitlets

from workbook.bench import DIALS, laws
from workbook.core.language import fixed, number
from workbook.core.quantities import plain
from workbook.display.sentences import Moving
from workbook.physics import coefficients as c
from workbook.physics import start
from workbook.widgets.bench import TURN, short_tables
from workbook.widgets.bench.words import WORDS as BENCH_WORDS
from workbook.widgets.control import WORDS
from workbook.widgets.modules import joined, styles

SPOKEN = ("lang", "dir", "decimal", "benchGauge", "benchGaugeName", "benchBeyond",
          "benchSchematic", "benchOccluded", "benchReleased", "benchCapOn", "benchOpen",
          "benchMaskOn", "benchTubeIn", "benchChestStill", "benchChestLittle", "benchChestRises",
          "benchChestTooFar", "benchChestUp")  # fmt: skip
HANDS = ("count", "held")


class Sentence(anywidget.AnyWidget):  # type: ignore[misc]  # its base has no types
    """A sentence in which ``{drag}`` is a number to move; the other braces are what follows it.

    ``label`` is what the number is, ``moving`` what the model makes of it; ``outlet`` and ``hand``
    (of ``HANDS``) are what the picture plays, ``weight`` (kg) and ``chest`` (mL/kg) those of its
    baby. Nothing is there before ``show``.
    """

    _esm = joined("sentence.js")
    _css = styles("shared.css", "bench.css", "sentence.css")

    says = traitlets.Unicode().tag(sync=True)
    label = traitlets.Unicode().tag(sync=True)
    stops = traitlets.List().tag(sync=True)
    at = traitlets.Int().tag(sync=True)
    first = traitlets.Dict().tag(sync=True)
    plays = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)

    def __init__(
        self,
        says: str,
        label: str,
        moving: Moving,
        *,
        weight: float,
        chest: Mapping[str, float],
        outlet: str = "capped",
        hand: str = "count",
        open: bool = False,
    ) -> None:
        if hand not in HANDS:
            raise ValueError(f"{hand!r} is no hand; there are {', '.join(HANDS)}.")
        self._moving, self._outlet = moving, outlet
        self._base: dict[str, Any] = {}
        said = {**fixed(WORDS), **fixed(BENCH_WORDS)}
        names = [n for n in said if n in SPOKEN or n.startswith(("benchSeen_", "sentence"))]
        dials = {n: {"clicks": dial.clicks, "turn": TURN[n]} for n, dial in DIALS.items()}
        plays = {"outlet": outlet, "hand": hand, "weight": weight, "chest": dict(chest),
                 "dials": dials}  # fmt: skip
        super().__init__(
            says=says, label=label, stops=[_stop(value, moving.unit) for value in moving.values],
            at=moving.first, plays={**plays, "top": c.GAUGE_TOP.value},
            words={name: said[name] for name in names},
        )  # fmt: skip
        self.on_msg(self._hear)
        if open:
            self.show()

    def show(self) -> None:
        """Let the sentence be seen, with its number where it starts."""
        if self.first:
            return
        standing = self._moving.standing(self._moving.values[self.at])
        self._base = laws(standing.circuit, self._outlet, standing.lung)
        state = start(standing.circuit, standing.lung, outlet=self._outlet)
        rest = {"volume": state.volume, "pressure": state.pressure_t}
        told = self._told(self.at)
        self.first = {**told, "rest": rest, "tables": short_tables(self._base)}

    def _hear(self, _widget: Any, content: Any, buffers: Any) -> None:
        at = content.get("at") if isinstance(content, dict) else None
        if type(at) is int and 0 <= at < len(self._moving.values) and self._base:
            self.send(self._told(at))

    def _told(self, at: int) -> dict[str, Any]:
        """Return what stands at one of the number's values: words, controls, count and tables.

        Of the tables only those are told that differ from the ones the sentence started with.
        """
        value = self._moving.values[at]
        standing = self._moving.standing(value)
        made = laws(standing.circuit, self._outlet, standing.lung)
        new = {name: table for name, table in made.items() if table is not self._base.get(name)}
        stands = {"positions": standing.positions, "period": standing.period, "held": standing.held}
        told = {"answers": self._moving.answers(value), "stands": stands}
        return {"kind": "stop", "at": at, **told, "tables": short_tables(new)}


def _stop(value: float, unit: str) -> dict[str, Any]:
    """Return one of a number's values: as it is typed, as it is said, and its unit."""
    text, says = number(value, ".4g"), plain(value, unit)
    return {"value": value, "text": text, "says": says, "unit": says.removeprefix(text).strip()}
