"""What is seen of a baby at once: breathing and tone, as ids of what a team would say."""

from __future__ import annotations

from workbook.physics.baby.constants import k
from workbook.physics.baby.model import State, own_effort
from workbook.physics.baby.nature import Nature

BREATHING = ("none", "gasps", "weak", "draws-in", "breathes")
TONE = ("limp", "some", "good")


def breathing(nature: Nature, state: State, peep: float) -> str:
    """Return how a baby breathes by itself, at a PEEP (cmH2O) that reaches it."""
    effort = own_effort(nature, state)
    if effort >= k("breath.strong") * nature.effort:
        held = not nature.preterm or peep >= k("breath.held-by")
        return "breathes" if held else "draws-in"
    if effort > 0:
        return "weak"
    return "gasps" if k("breath.gasps") <= state.depth < k("breath.gasps-until") else "none"


def tone(state: State) -> str:
    """Return a baby's tone, which follows how free the heart is to rise."""
    rise = round(state.rise, 3)
    if rise < k("tone.limp"):
        return "limp"
    return "some" if rise < k("tone.some") else "good"
