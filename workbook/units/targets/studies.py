"""What the model shows of a leak that hides behind a full needle."""

from __future__ import annotations

from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.display.cards import Reading
from workbook.display.studies import Numbers, Study
from workbook.physics import coefficients as c
from workbook.units.targets.case import leaks


def hides(n: Numbers) -> Study:
    """The largest leak that the needle hardly shows, at the two ends of the usual flow."""
    rate = 60 / (n["beat"] * (n["occlude_beats"] + n["release_beats"]))
    rows, words = [], {}
    for end in ("low", "high"):
        flow = plain(n[f"{end}_flow"], "L/min")
        setting = (
            ("flow", n[f"{end}_flow"]),
            *((name, n[name]) for name in ("relief", "pip", "peep")),
        )
        most = leaks.hidden(setting, c.LUNG_MIDDLE.value, rate, n["read_to"])
        share = plain(leaks.to_nearest(most.share), "percent")
        words[f"share_{end}"] = share
        for says, stood in (
            (_("{flow}, the mask seals"), leaks.sealed(setting, c.LUNG_MIDDLE.value, rate)),
            (_("{flow}, {share} leaks"), most),
        ):
            told = says.format(flow=flow, share=share)
            rows.append(Reading(told, told, stood.top, stood.rest))
    return Study(words, rows=tuple(rows))


TARGET_STUDIES = {"hides": hides}
