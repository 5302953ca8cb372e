"""Where the controls of a bench stand, so that its gauge shows what is wanted."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache

from workbook.bench import DIALS, circuit_at
from workbook.physics import Circuit, set_peep, set_pip, set_relief


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
