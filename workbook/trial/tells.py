"""What a look, a listening ear or a hand shows in a state of a trial: by the model, in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from workbook.bench import DIALS
from workbook.core.language import N_, _
from workbook.core.quantities import plain
from workbook.physics import coefficients as c
from workbook.trial.moves import BEFORE
from workbook.trial.scene import SHUT, Scene
from workbook.trial.state import State

HEARD, LOUD = 1 / 16, 1 / 2  # shares of the flow that is set: what is heard, what is loud
FULL = 0.95  # of the flow that is set: no supply that fades
MOVES_AT_ALL, MOVES_WELL = 0.15, 0.8  # shares of a right inflation
Tell = Callable[[Scene, State, bool], str]


def tells(scene: Scene, state: State, move: str, *, held: bool) -> str:
    """Return the sentence that a move gives in a state; nothing where it gives none.

    ``held`` says that the hole is covered meanwhile.
    """
    sign = sign_of(scene, state, move, held=held)
    says = _SAYS.get(sign.partition("@")[0], "")
    if not says:
        return ""
    flow = scene.circuit(state).flow
    set_at = DIALS["flow"].value(state.at["flow"]) or 0.0
    return _(says).format(flow=plain(round(flow, 1), "L/min"), set=plain(set_at, "L/min"))


def sign_of(scene: Scene, state: State, move: str, *, held: bool) -> str:
    """Return the id of what a move shows in a state; nothing where it shows nothing.

    What is read off as a number stands behind an ``@``.
    """
    return _SHOWN[move](scene, state, held) if move in _SHOWN else ""


def _share(scene: Scene, state: State) -> float:
    """Return how much of the flow that is set really comes."""
    wanted = DIALS["flow"].value(state.at["flow"])
    return scene.circuit(state).flow / wanted if wanted else 1.0


def float_at(scene: Scene, state: State) -> float:
    """Return where the float stands (L/min); what is off or shut behind it does not move it."""
    return float(scene.circuit(state).flow)


def _flow(scene: Scene, state: State, held: bool) -> str:
    flow = float_at(scene, state)
    if not flow:
        return "float-down"
    low = "" if _share(scene, state) > FULL else "-low"
    return f"float{low}@{flow:.0f}"


def _supply(scene: Scene, state: State, held: bool) -> str:
    share = _share(scene, state)
    if not share:
        return "supply-gone"
    return "supply-good" if share > FULL else "supply-low"


def _blender(scene: Scene, state: State, held: bool) -> str:
    return "air-only" if scene.fault == "oxygen-out" and scene.present(state) else "oxygen-right"


def _hose(scene: Scene, state: State, held: bool) -> str:
    if scene.fault == "hose-off" and scene.present(state):
        return "hose-off"
    limb = scene.circuit(state).limb.linear
    if limb >= SHUT:
        return "hose-shut"
    return "hose-kinked" if limb > c.LIMB.value else "hose-right"


def _loud(flow: float, scene: Scene, state: State, place: str) -> str:
    whole = DIALS["flow"].value(state.at["flow"]) or 1.0
    if flow < HEARD * whole:
        return f"{place}-silent"
    return f"{place}-loud" if flow >= LOUD * whole else f"{place}-soft"


def _box(scene: Scene, state: State, held: bool) -> str:
    circuit, steady = scene.circuit(state), scene.steady(state, held=held)
    at = min(steady.manometer, c.GAUGE_TOP.value)
    return _loud(circuit.vented(at) if circuit.flow else 0.0, scene, state, "box")


def _at_t(scene: Scene, state: State, held: bool) -> str:
    circuit, steady = scene.circuit(state), scene.steady(state, held=held)
    opening, at = circuit.opening(held=held), min(steady.at_t, c.GAUGE_TOP.value)
    gone = 0.0 if opening is None or at <= 0 else (at / max(opening.quadratic, 1e-9)) ** 0.5
    return _loud(min(gone, circuit.flow), scene, state, "t-held" if held else "t")


def _rim(scene: Scene, state: State, held: bool) -> str:
    if state.outlet != "lung":
        return "rim-off"
    circuit, at = scene.circuit(state), min(scene.steady(state, held=held).at_t, c.GAUGE_TOP.value)
    return _loud(min(circuit.leaked(at), circuit.flow), scene, state, "rim")


def _bag(scene: Scene, state: State, held: bool) -> str:
    if scene.setting == BEFORE:
        return "bag-ready"
    return "bag-works" if bag_helps(scene, state) else "bag-fails"


def bag_helps(scene: Scene, state: State) -> bool:
    """Say whether a bag on the same mask moves this chest: not past a mask or airway at fault."""
    return scene.fault not in PAST_THE_DEVICE or not scene.present(state)


PAST_THE_DEVICE = ("leak-large", "airway-blocked")


def chest(scene: Scene, state: State) -> str:
    """Return how the chest moves with an inflation by the T-piece: by the model."""
    share = scene.brings(state)
    if share < MOVES_AT_ALL:
        return "none"
    return "little" if share < MOVES_WELL else "good"


def _always(sign: str) -> Tell:
    return lambda scene, state, held: sign


_SHOWN: Mapping[str, Tell] = {
    "look-flow": _flow,
    "look-supply": _supply,
    "look-blender": _blender,
    "follow-hose": _hose,
    "listen-box": _box,
    "listen-t": _at_t,
    "listen-mask": _rim,
    "bag": _bag,
    **{move: _always(move) for move in ("call", "swap-mask", "swap-t", "reposition", "ease-hold")},
}
_SAYS: Mapping[str, str] = {
    "float-down": N_("The float lies at the bottom. The flow control is set for {set}."),
    "float": N_("The float stands at {flow}."),
    "float-low": N_("The float stands at {flow}, though the control is set for {set}."),
    "supply-gone": N_("The supply gauge stands at zero."),
    "supply-low": N_("The supply gauge stands just above zero, far below its working range."),
    "supply-good": N_("The supply gauge stands in its working range."),
    "air-only": N_("The blender is set for more oxygen, but the analyser shows air."),
    "oxygen-right": N_("The analyser shows what the blender is set for."),
    "hose-off": N_("The patient hose has come off the device. Gas blows at the connector."),
    "hose-shut": N_("The patient hose is bent over and pinched shut."),
    "hose-kinked": N_("The patient hose has a kink, but is not shut."),
    "hose-right": N_("The patient hose is whole, free, and fits at both ends."),
    "box-silent": N_("You hear no gas at the device."),
    "box-soft": N_("Some gas hisses at the device."),
    "box-loud": N_("Gas hisses loudly at the device."),
    "t-silent": N_("You hear no gas at the hole of the T."),
    "t-soft": N_("Only a little gas hisses at the hole of the T."),
    "t-loud": N_("Gas streams from the hole of the T."),
    "t-held-silent": N_("With the hole covered you hear no gas at the T."),
    "t-held-soft": N_("With the hole covered some gas still hisses at the T, beside your finger."),
    "t-held-loud": N_("With the hole covered gas still streams from the T, beside your finger."),
    "rim-off": N_("The mask is off the face: nothing can be heard at its rim."),
    "rim-silent": N_("You hear no gas at the mask."),
    "rim-soft": N_("Some gas hisses at the mask."),
    "rim-loud": N_("Gas streams out at the mask."),
    "bag-ready": N_("The bag and a mask lie ready, checked."),
    "bag-works": N_("You ventilate with the bag. The chest rises."),
    "bag-fails": N_("You ventilate with the bag and this mask. The chest does not rise either."),
    "call": N_("Somebody comes and stands beside you."),
    "swap-mask": N_("Another mask, measured on this face, is on the T."),
    "swap-t": N_("Another T is on."),
    "reposition": N_("The head lies straight, neither bent nor stretched."),
    "ease-hold": N_("The mask is held with less force, and the jaw is lifted into it."),
}
__all__ = ["bag_helps", "chest", "sign_of", "tells"]
