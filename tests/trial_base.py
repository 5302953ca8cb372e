"""Scenes of fault finding for tests: any fault, in any drawn setting, as the exercise draws it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.cases.draw import Draw
from workbook.cases.starting import Baby, baby, settings_for
from workbook.rules import editions, rulebook
from workbook.trial import NAMED, Scene
from workbook.units.faults.case import questions as fault_finding

EDITIONS = tuple(editions())
TABLE: Mapping[str, float] = {"flow": 8.0, "pip": 25.0, "peep": 5.0, "relief": 30.0}


def facts(fault: str, setting: str = "baby", edition: str = "aha-2025", **more: float) -> Any:
    """Return the facts of a fault at the settings of the table, or others."""
    return fault_finding.facts_of(
        fault, setting, {**TABLE, **more}, Baby(40, 3.0), rulebook(edition)
    )


def scene(fault: str, setting: str = "baby", edition: str = "aha-2025", **more: float) -> Scene:
    """Return a scene with a fault at the settings of the table, or others."""
    return Scene.of(facts(fault, setting, edition, **more))


def drawn(fault: str, n: int) -> Scene:
    """Return a scene with a fault, its edition, baby, flow and settings drawn."""
    draw = Draw("trials", fault, str(n), "scene")
    book = rulebook(draw.pick(EDITIONS))
    met = baby(draw, draw.pick(fault_finding.GROUPS), book)
    pip, peep, relief = draw.pick(settings_for(book, met))
    flow = float(draw.whole(*book["flow.usual"].band))
    numbers = {"flow": flow, "pip": pip, "peep": peep, "relief": relief}
    setting = draw.pick(NAMED[fault].settings)
    return Scene.of(fault_finding.facts_of(fault, setting, numbers, met, book))
