"""What the needle of a described T-piece shows, and which belief reads it otherwise."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from workbook.cases import Question
from workbook.core.language import N_, _
from workbook.rules import Rule, RuleBook
from workbook.units.setup.case.questions import GAUGES

Facts = Mapping[str, float]
Reading = Callable[[Facts], float]


@dataclass(frozen=True, slots=True)
class Needle:
    """The right reading (cmH2O), the rule that says how near is right, why, and the slips.

    Typed in another unit, up to ``rounded`` (cmH2O) is allowed for rounding.
    """

    right: float
    rule: Rule
    explains: str
    slips: Mapping[str, float]
    rounded: float


@dataclass(frozen=True, slots=True)
class _Stands:
    """How a T-piece stands: its reading in cmH2O, why, and what each belief would read."""

    right: Reading
    explains: str
    slips: Mapping[str, Reading] = field(default_factory=dict)


def needle(asked: Question, book: RuleBook) -> Needle:
    """Return what is right for a question about the needle."""
    part, facts = GAUGES[asked.id], asked.facts
    stands = STANDS[part, facts["stands"]]
    slips = {belief: read(facts) for belief, read in stands.slips.items()}
    rounded = book["tolerance.rounded"].value
    return Needle(stands.right(facts), book[_ACCEPT[part]], _(stands.explains), slips, rounded)


_ACCEPT = {"held": "pip.accept", "released": "peep.accept", "open": "reading.open-air.accept"}
_OFF = N_("the needle stood too high by what it shows with the gas off, and so PIP is lower.")
_OFF_PEEP = N_("the needle stood too high by what it shows with the gas off: PEEP is lower.")
_LIMIT = N_("the relief opens first and lets the gas out; PIP cannot pass it.")
_NOT_ADDED = N_("occluded, the needle shows PIP counted from zero. PEEP is not added.")
_STAYS = N_("released, the needle falls to PEEP. A PIP control turned up later does not move it.")
_AIR = N_("the gas leaves by the mask, so almost no pressure builds up.")
_AIR_OFF = N_("no pressure builds up in the open air; a needle off zero goes to where it rests.")

STANDS: Mapping[tuple[str, str], _Stands] = {
    ("held", "off-zero"): _Stands(
        lambda f: f["pip"] - f["off"], _OFF,
        {"needle-trusted": lambda f: f["pip"], "pip-plus-peep": lambda f: f["pip"] + f["peep"]},
    ),
    ("held", "limit-low"): _Stands(
        lambda f: f["low"], _LIMIT, {"pip-plus-peep": lambda f: f["pip"] + f["peep"]}
    ),
    ("held", "peep-raised"): _Stands(
        lambda f: f["pip"], _NOT_ADDED,
        {
            "pip-plus-peep": lambda f: f["pip"] + f["peep"] + f["step"],
            "gauge-shows-relief": lambda f: f["relief"],
        },
    ),
    ("released", "off-zero"): _Stands(
        lambda f: f["peep"] - f["off"], _OFF_PEEP,
        {"needle-trusted": lambda f: f["peep"], "falls-to-zero": lambda f: 0.0},
    ),
    ("released", "pip-raised"): _Stands(
        lambda f: f["peep"], _STAYS, {"falls-to-zero": lambda f: 0.0}
    ),
    ("open", "air"): _Stands(lambda f: 0.0, _AIR, {"open-shows-peep": lambda f: f["peep"]}),
    ("open", "off-zero"): _Stands(
        lambda f: f["off"], _AIR_OFF,
        {"open-shows-peep": lambda f: f["peep"], "needle-trusted": lambda f: 0.0},
    ),
}  # fmt: skip
