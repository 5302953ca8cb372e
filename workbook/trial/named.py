"""What can be wrong in a trial: the words for it, where it is met, and what mends it.

``physics`` names the change of circuit, lung or gauge (`workbook.physics.faults`); a fault that
is a control left wrong names the control (``dial``) instead. Two hoses connected the wrong way
round are left out: what a device does then is in its own instructions only.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

from workbook.core.language import N_
from workbook.trial.moves import BABY, BEFORE, SETTINGS

FAMILIES: Mapping[str, str] = {
    "not-rise": N_("The needle does not rise"),
    "sticks": N_("The needle sticks"),
    "falls": N_("The needle falls to zero between inflations"),
    "high": N_("The needle reads too high"),
    "airway": N_("The chest moves too little: mask, airway, lung"),
    "right": N_("All looks right at first"),
}
UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Named:
    """One fault: what it is called, what mends it, its family of look-alikes and its settings.

    ``acts`` are lasting moves that mend it too. ``device`` says that only another device mends it.
    """

    text: str
    mend: str
    family: str
    physics: str = ""
    dial: str = ""
    settings: tuple[str, ...] = SETTINGS
    acts: tuple[str, ...] = ()
    device: bool = False


NAMED: Mapping[str, Named] = {
    "no-gas": Named(
        N_("No gas: the supply is empty, or its hose is out of the wall"),
        N_("Connect a supply that has gas"), "not-rise", "no-gas"),
    "hose-off": Named(
        N_("The patient hose has come off the device"),
        N_("Push the hose back on"), "not-rise", "hose-off"),
    "outlet-open": Named(
        N_("The mask sits loose on the T: its outlet is open"),
        N_("Fit the mask tightly on the T"), "not-rise", "outlet-open", settings=(BABY,)),
    "gauge-blocked": Named(
        N_("The line to the gauge is blocked"),
        N_("Change to another device"), "not-rise", "gauge-blocked", device=True),
    "needle-sticks": Named(
        N_("The needle itself sticks"),
        N_("Change to another device"), "sticks", "needle-sticks", device=True),
    "hose-blocked": Named(
        N_("The patient hose is kinked shut"),
        N_("Free the hose, or change it"), "sticks", "hose-blocked"),
    "hole-narrow": Named(
        N_("The hole of the T is nearly blocked"),
        N_("Clear the T, or change it"), "sticks", "hole-narrow", acts=("swap-t",)),
    "cap-under-finger": Named(
        N_("The T is cracked where the finger covers it"),
        N_("Change the T"), "falls", "cap-under-finger", acts=("swap-t",)),
    "flow-low": Named(
        N_("The flow is set too low"),
        N_("Set the flow, then check all pressures"), "falls", dial="flow"),
    "gas-fading": Named(
        N_("The supply is nearly empty: the gas fades"),
        N_("Connect a supply that has gas"), "falls", "gas-fading"),
    "flow-high": Named(
        N_("The flow is set too high"),
        N_("Set the flow, then check all pressures"), "high", dial="flow"),
    "pip-open": Named(
        N_("The PIP control was left open"),
        N_("Turn the PIP control back to its pressure"), "high", dial="pip"),
    "limits-fail": Named(
        N_("PIP control and relief no longer limit the pressure"),
        N_("Change to another device"), "high", "limits-fail", device=True),
    "hose-kinked": Named(
        N_("The patient hose is kinked in part"),
        N_("Free the hose, or change it"), "high", "hose-kinked"),
    "leak-some": Named(
        N_("The mask leaks a little"),
        N_("Hold the mask with two hands; check its size"), "airway", "leak-some",
        settings=(BABY,), acts=("swap-mask",)),
    "leak-large": Named(
        N_("The mask leaks almost all the gas"),
        N_("Hold the mask with two hands; check its size"), "airway", "leak-large",
        settings=(BABY,), acts=("swap-mask",)),
    "cap-beside-finger": Named(
        N_("The T is cracked beside the finger"),
        N_("Change the T"), "airway", "cap-beside-finger", settings=(BABY,), acts=("swap-t",)),
    "airway-blocked": Named(
        N_("The airway is blocked by position or pressing"),
        N_("Straighten the head, open the mouth, press less"), "airway", "airway-blocked",
        settings=(BABY,), acts=("reposition", "ease-hold")),
    "lung-stiff": Named(
        N_("The lung is stiff: this PIP moves too little"),
        N_("Raise PIP by one step"), "airway", "lung-stiff", settings=(BABY,)),
    "oxygen-out": Named(
        N_("Blender or oxygen supply: only air comes"),
        N_("Connect another oxygen source; air goes on meanwhile"), "right"),
    "needle-off-zero": Named(
        N_("The needle does not stand at zero without gas"),
        N_("Change to another device"), "right", "needle-off-zero", settings=(BEFORE,),
        device=True),
    "relief-low": Named(
        N_("The relief is set below PIP"),
        N_("Set the relief above PIP again"), "right", dial="relief"),
}  # fmt: skip
I_DO_NOT_KNOW = Named(
    N_("I do not know. I ventilate with the bag and take this device out of use."), "", ""
)


@lru_cache(maxsize=64)
def named_in(setting: str, family: str = "") -> tuple[str, ...]:
    """Return the faults that can be met in a setting, of one family or of all."""
    return tuple(
        id
        for id, one in NAMED.items()
        if setting in one.settings and (not family or one.family == family)
    )


def mends(fault: str) -> tuple[str, ...]:
    """Return the lasting moves, as a state keeps them, each of which mends a fault."""
    return (f"mend:{fault}", *NAMED[fault].acts)
