"""The constants of one step under short names, worked out once for its length."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp

from workbook.physics.baby.constants import k


@dataclass(frozen=True, slots=True)
class Step:
    """Constants under short names; those that end a relaxation are its share within the step."""

    pulling: float
    product: float
    close: float
    close_peep: float
    faster: float
    air: float
    dry: float
    carbon: float
    volume: float
    gas_least: float
    wet: float
    dead: float
    frc_least: float
    shunt_end: float
    flow: float
    flow_heart: float
    flow_least: float
    flow_compressions: float
    capacity: float
    stores: float
    half: float
    p50: float
    hill: float
    dissolved: float
    most: float
    stretches: float
    uses: float
    used: float
    used_least: float
    free: float
    steep: float
    low: float
    span: float
    up: float
    down: float
    depth_heart: float
    depth_compressions: float
    repays: float
    repaid_over: float
    deepens: float
    deepens_over: float
    breath_heart: float


_SAME = {
    "pulling": "open.effort", "product": "open.product", "close": "close",
    "close_peep": "close.peep", "faster": "vessels.oxygen", "air": "air", "dry": "gas.dry",
    "carbon": "gas.carbon", "volume": "gas.volume", "gas_least": "gas.least",
    "wet": "compliance.wet", "dead": "dead-space", "frc_least": "frc.least",
    "shunt_end": "shunt.end", "flow": "flow", "flow_heart": "flow.heart",
    "flow_least": "flow.least", "flow_compressions": "flow.compressions",
    "capacity": "capacity", "half": "use.half", "p50": "p50", "hill": "hill",
    "dissolved": "dissolved", "most": "most", "used": "heart.used",
    "used_least": "heart.used-least", "free": "heart.free", "steep": "heart.steep",
    "low": "heart.low", "span": "heart.span", "depth_heart": "depth.heart",
    "depth_compressions": "depth.compressions", "repays": "depth.repays",
    "repaid_over": "depth.over", "deepens": "depth.deepens",
    "deepens_over": "depth.deepens-over", "breath_heart": "breath.heart",
}  # fmt: skip
_RELAX = {
    "stretches": "heart.stretch", "uses": "heart.used-over", "up": "heart.up",
    "down": "heart.down",
}  # fmt: skip


@lru_cache(maxsize=4096)
def step_of(dt: float) -> Step:
    """Return the constants of a step of ``dt`` seconds."""
    same = {name: k(id) for name, id in _SAME.items()}
    relaxed = {name: 1 - exp(-dt / k(id)) for name, id in _RELAX.items()}
    return Step(stores=k("capacity") * k("blood"), **same, **relaxed)
