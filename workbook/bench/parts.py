"""The laws of a circuit's parts, as tables: from them a page joins those of any setting at once.

A bench without a fault is made of the same parts wherever its controls stand. A valve lets go the
same at the same pressure above where it opens, and a sharp opening, drop = k Q^2, lets go what any
other does, times 1/sqrt(k). So a page that has each part's law once needs no kernel for a turn: it
adds up what comes and goes. Tests hold what it joins to `workbook.bench.laws`.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

from workbook.bench.dial import DIALS, Dial
from workbook.bench.laws import Table, table
from workbook.physics import Circuit, Passage, pip_valve, relief_valve
from workbook.physics import coefficients as c
from workbook.physics.parts.circuit import LIMB, OPEN_MASK
from workbook.physics.parts.passage import LimitValve
from workbook.physics.solver.kernel import stored
from workbook.physics.solver.ways import PER_SECOND, outflow


@lru_cache(maxsize=1)
def part_laws() -> dict[str, Any]:
    """Return the laws of the parts, and where each position of a control puts them.

    ``flow`` is [at position 0, for each further one] in mL/s. ``pip`` and ``relief`` have where
    they open (cmH2O, told like the flow), the position that takes them out of the way or None,
    and what they let go (mL/s) by the pressure above that. ``limb`` is the drop (cmH2O) by what
    comes down it (mL/s). ``sharp`` is what an open mask lets go (mL/s) by the pressure at the T,
    in as out. Of that the ``peep`` control's aperture lets go its first number, and its second
    times as much at each further position; a ``leak`` the share of its position. ``store`` is the
    gas the circuit takes up (mL/cmH2O) with the lung on it and without.
    """
    flow, peep = DIALS["flow"], DIALS["peep"]
    return {
        "flow": [flow.first * PER_SECOND, flow.step * PER_SECOND],
        "pip": _valve(DIALS["pip"], pip_valve(0.0)),
        "relief": _valve(DIALS["relief"], relief_valve(0.0)),
        "limb": [[0.0, PER_SECOND], [0.0, LIMB.drop(1.0)]],
        "sharp": _sharp(),
        "peep": [_share(peep.first), 1 / math.sqrt(peep.step)],
        "leak": [0.0, *(_share(seal.value) for seal in c.SEALS)],
        "store": [stored(Circuit(0.0), joined=joined) for joined in (True, False)],
    }


def _valve(dial: Dial, at_zero: LimitValve) -> dict[str, Any]:
    return {
        "opens": [dial.first, dial.step],
        "away": dial.clicks if dial.ends_open else None,
        "vents": table(lambda over: PER_SECOND * at_zero.flow(over), low=0.0),
    }


def _sharp() -> Table:
    out = outflow(Circuit(0.0, aperture=OPEN_MASK), held=False)
    return table(lambda at_t: out(at_t)[0], low=0.0)


def _share(k: float) -> float:
    """Return what a sharp opening lets go, as a share of what an open mask does."""
    return math.sqrt(OPEN_MASK.quadratic / Passage(quadratic=k).quadratic)
