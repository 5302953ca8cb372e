"""Set-up on the bench: from everything off to ready, at pressures drawn for one learner."""

from __future__ import annotations

from collections.abc import Mapping

from workbook.bench import Bench
from workbook.bench.baby import healthy
from workbook.cases.dials import set_for
from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Question
from workbook.cases.starting import Baby
from workbook.core.language import _
from workbook.core.quantities import plain

QUESTION = "bench"


def question(draw: Draw, numbers: Mapping[str, float], baby: Baby) -> Question:
    """Return the question; its bench stands as the last user left it, its gas turned off."""
    bench = _left(draw, numbers, baby)
    said = {name: plain(value, "L/min" if name == "flow" else "cmH2O")
            for name, value in numbers.items()}  # fmt: skip
    return Question(
        QUESTION,
        Kind.BENCH,
        _("Make the T-piece ready on the bench, then put the mask on the baby."),
        context=_(
            "You prepare for {baby}, who comes in some minutes. The gas is off, and the controls "
            "stand where the last user left them. Wanted: flow {flow}, PIP {pip}, PEEP {peep}, and "
            "a relief above PIP, no higher than {relief}: numbers for practice; your guideline's "
            "may differ. The scales say nothing: read the gauge."
        ).format(**said, baby=baby.says),
        help=_(
            "Take your time; the pace is not marked. Ready? Choose “Use this run as my answer”."
        ),
        facts={**numbers, "bench": bench.to_data()},
        shows={
            "bench": bench.to_data(),
            "outlets": ["capped", "open", "lung"],
            "dials": ["flow", "pip", "relief", "peep"],
        },
    )


def _left(draw: Draw, numbers: Mapping[str, float], baby: Baby) -> Bench:
    """Return a bench on which no control happens to stand where it is wanted."""
    wanted = set_for(numbers)
    positions = {
        "flow": 0,
        "pip": draw.whole(0, wanted["pip"] // 2),
        "relief": draw.pick(_apart(wanted["relief"], draw)),
        "peep": draw.whole(0, wanted["peep"] // 2),
        "leak": 0,
    }
    return Bench(positions, healthy(baby.kg), baby.kg)


def _apart(wanted: int, draw: Draw) -> list[int]:
    """Return positions of the relief well above or well below the one wanted."""
    quarter = wanted // 4
    return [wanted - draw.whole(quarter, 2 * quarter), wanted + draw.whole(quarter, 2 * quarter)]
