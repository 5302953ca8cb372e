"""No thumb on the hole: CPAP where the mask seals, gas without pressure where it does not."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question
from workbook.cases.starting import baby, settings_for
from workbook.core.quantities import plain
from workbook.rules import RuleBook

QUESTION = "cpap"
RIGHT = {"sealed": "cpap", "near": "free"}


def question(
    draw: Draw, groups: tuple[str, ...], book: RuleBook, texts: Mapping[str, Any]
) -> Question:
    """Return a mask that seals, or one held near the face, and no thumb on the hole."""
    met = baby(draw, draw.pick(groups), book)
    pip, peep, relief = draw.pick(settings_for(book, met))
    facts = {
        "mask": draw.pick(tuple(RIGHT)), "flow": book["flow.start"].value, "pip": pip,
        "peep": peep, "relief": relief,
    }  # fmt: skip
    zero = book["reading.open-air"].value
    said = {"pip": plain(pip, "cmH2O"), "peep": plain(peep, "cmH2O"), "zero": plain(zero, "cmH2O")}
    options = [Option(id, says.format_map(said)) for id, says in texts["option"].items()]
    return Question(
        QUESTION,
        Kind.CHOICE,
        texts["asks"],
        context=texts["stands"][facts["mask"]].format_map(said),
        options=tuple(draw.shuffled(options)),
        facts=facts,
    )
