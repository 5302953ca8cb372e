"""Mistakes played at the bench: for the demo and for tests of the marking."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from graders.units.setup.bench import played
from workbook.bench import DIALS
from workbook.cases import Question
from workbook.cases.dials import set_for

Touches = list[tuple[str, int | None]]
Positions = Mapping[str, int]
FULLY_OPEN = DIALS["pip"].clicks
OFF = 16  # clicks: well outside the band accepted for PIP and relief


def _on(at: Positions) -> Touches:
    return [("cap", None), ("flow", at["flow"])]


def _relief(at: Positions) -> Touches:
    return [("pip", FULLY_OPEN), ("occlude", None), ("relief", at["relief"])]


def _pip(at: Positions) -> Touches:
    return [("occlude", None), ("pip", at["pip"])]


def _peep(at: Positions) -> Touches:
    return [("release", None), ("peep", at["peep"])]


_LOOK: Touches = [("release", None), ("occlude", None), ("release", None)]
_BABY: Touches = [("connect", None)]
Play = Callable[[Positions], Touches]


def _all(at: Positions) -> Touches:
    return [*_on(at), *_relief(at), *_pip(at), *_peep(at), *_LOOK, *_BABY]


def _without(*parts: str) -> Play:
    """Return the model run with parts of it left out."""
    made: dict[str, Callable[[Positions], Touches]] = {
        "on": _on, "relief": _relief, "pip": _pip, "peep": _peep,
        "look": lambda at: _LOOK, "baby": lambda at: _BABY,
    }  # fmt: skip
    return lambda at: [
        touch for name, part in made.items() if name not in parts for touch in part(at)
    ]


PLAYS: dict[str, Play] = {
    "flow-after": lambda at: [
        *_without("look", "baby")(at), ("flow", at["flow"] + 6), *_LOOK, *_BABY,
    ],
    "flow-off": _all,
    "outlet-open": lambda at: [
        *_without("look", "baby")(at)[1:], ("cap", None), *_LOOK, *_BABY,
    ],
    "relief-forgotten": _without("relief"),
    "relief-after-pip": lambda at: [
        *_on(at), *_pip(at), ("relief", at["relief"]), *_peep(at), *_LOOK, *_BABY,
    ],
    "relief-behind-pip": lambda at: [
        *_on(at), *_relief(at)[1:], *_pip(at), *_peep(at), *_LOOK, *_BABY,
    ],
    "relief-released": lambda at: [
        *_on(at), ("pip", FULLY_OPEN), ("relief", at["relief"]), ("pip", 0),
        *_pip(at), *_peep(at), *_LOOK, *_BABY,
    ],
    "relief-off": _all,
    "pip-left-open": _without("pip"),
    "pip-released": lambda at: [
        *_on(at), *_relief(at), ("release", None), ("pip", at["pip"]), ("peep", at["peep"]),
        *_LOOK, *_BABY,
    ],
    "pip-plus-peep": _all,
    "pip-at-relief": _all,
    "pip-off": _all,
    "peep-forgotten": _without("peep"),
    "peep-first": lambda at: [
        *_on(at), *_relief(at), ("pip", at["pip"] // 4), *_peep(at), *_pip(at), *_LOOK, *_BABY,
    ],
    "peep-held": lambda at: [
        *_on(at), *_relief(at), *_pip(at), ("peep", at["peep"]), *_LOOK, *_BABY,
    ],
    "peep-off": _all,
    "no-recheck": _without("look"),
    "baby-early": lambda at: [*_BABY, *_on(at)[1:], *_without("on", "baby")(at)],
    "baby-left-out": _without("baby"),
}  # fmt: skip

# What somebody who makes the mistake reads off the gauge, where that is not what is wanted.
_READS: Mapping[str, Callable[[Mapping[str, float]], dict[str, float]]] = {
    "flow-off": lambda facts: {"flow": facts["flow"] + 2},
    "relief-off": lambda facts: {"relief": facts["relief"] + 4},
    "pip-plus-peep": lambda facts: {"pip": facts["pip"] + facts["peep"]},
    "pip-at-relief": lambda facts: {"pip": facts["relief"]},
    "pip-released": lambda facts: {"pip": facts["pip"] - 4},
    "pip-off": lambda facts: {"pip": facts["pip"] - 4},
    "peep-held": lambda facts: {"peep": facts["peep"] + 2},
    "peep-off": lambda facts: {"peep": facts["peep"] + 2},
}


def _positions(asked: Question, mistake: str) -> Positions:
    """Return where the controls end up for somebody who sets them by the gauge."""
    reads = _READS.get(mistake)
    numbers = {**asked.facts, **(reads(asked.facts) if reads else {})}
    left = asked.facts["bench"]["positions"]
    if mistake == "relief-forgotten":
        return set_for(numbers, {"relief": left["relief"]})
    at = set_for(numbers)
    if mistake == "peep-first":
        # Set with the PIP control still low, by a gauge that then looks right.
        low = {"relief": at["relief"], "pip": at["pip"] // 4}
        try:
            return {**at, "peep": set_for(numbers, low)["peep"]}
        except ValueError:  # the gauge does not get there, however far the aperture is turned
            return {**at, "peep": DIALS["peep"].clicks}
    return at


# How a belief shows at the bench.
BELIEFS = {
    "peep-before-pip": "peep-first",
    "flow-any-time": "flow-after",
    "relief-after-pip": "relief-after-pip",
    "outlet-open": "outlet-open",
    "baby-before-pressures": "baby-early",
    "no-second-look": "no-recheck",
    "pip-plus-peep": "pip-plus-peep",
    "gauge-shows-relief": "pip-at-relief",
    "relief-behind-pip": "relief-behind-pip",
    "set-without-occluding": "pip-released",
    "peep-while-occluded": "peep-held",
}


def shows_at_bench(asked: Question, mistake: str) -> bool:
    """Say whether the mistake can be made: a PIP above the relief cannot be reached."""
    facts = asked.facts
    return mistake != "pip-plus-peep" or facts["pip"] + facts["peep"] < facts["relief"]


def run_with(asked: Question, mistake: str) -> dict[str, Any]:
    """Return a run at a question's bench with one mistake in it."""
    return played(PLAYS[mistake](_positions(asked, mistake)))
