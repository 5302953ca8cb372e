"""Set-up on the bench: from everything off to ready, at pressures drawn for one learner."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache

from workbook.bench import DIALS, Bench, circuit_at
from workbook.bench.baby import healthy
from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Question
from workbook.cases.starting import Baby
from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.physics import Circuit, set_peep, set_pip, set_relief

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


def set_for(
    numbers: Mapping[str, float], stands: Mapping[str, int] | None = None
) -> dict[str, int]:
    """Return the positions at which the gauge shows what is wanted, set one after another.

    A control in ``stands`` is left at its position, and the others are set beside it.
    """
    left = stands or {}
    turned = ("flow", *(dial for dial in _TURNS if dial not in left))
    asked = tuple((name, numbers[name]) for name in turned)
    return dict(_set_for(asked, tuple(left.items())))


@lru_cache(maxsize=4096)  # of a class, many are asked for the same settings
def _set_for(
    asked: tuple[tuple[str, float], ...], left: tuple[tuple[str, int], ...]
) -> dict[str, int]:
    numbers, stands = dict(asked), dict(left)
    flow = DIALS["flow"].nearest(numbers["flow"])
    at = {**dict.fromkeys(DIALS, 0), "pip": DIALS["pip"].clicks, "flow": flow, **stands}
    for dial, turn in _TURNS.items():
        if dial not in stands:
            made = turn(circuit_at(at), numbers[dial])
            at[dial] = DIALS[dial].nearest(_stands(made, dial))
    return at


_TURNS: Mapping[str, Callable[[Circuit, float], Circuit]] = {
    "relief": set_relief,
    "pip": set_pip,
    "peep": set_peep,
}


def _stands(circuit: Circuit, dial: str) -> float | None:
    if dial == "peep":
        return circuit.aperture.quadratic
    valve = circuit.pip_valve if dial == "pip" else circuit.relief_valve
    return None if valve is None else valve.opens_at
