"""Which faults look alike, and what tells them apart: what is observed, by the model."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from typing import Any, NamedTuple
from weakref import ref

from workbook.bench import DIALS
from workbook.trial.moves import DIALLED, MOVES, may
from workbook.trial.named import NAMED, named_in
from workbook.trial.scene import Scene
from workbook.trial.state import State
from workbook.trial.tells import sign_of

CHEST_APART = 0.3  # of a right inflation: an eye tells two chests so far apart
LISTENED = ("listen-box", "listen-t", "listen-mask")
READ_OFF = tuple(
    id for id, move in MOVES.items() if move.does in ("look", "bag") and id not in LISTENED
)
TURNED = 8  # clicks by which a control is turned to see whether the needle follows


class Seen(NamedTuple):
    """One thing that was observed.

    ``after`` counts the moves before it that change a state, from the beginning of the trial;
    ``by`` is a look, or "needle" or "chest"; ``held`` says that the hole was covered.
    """

    after: int
    by: str
    held: bool = False

    @property
    def deliberate(self) -> bool:
        """Say whether it is more than what is in sight anyhow."""
        return bool(self.after) or self.by not in ("needle", "chest")


def states(scene: Scene, acts: Iterable[tuple[str, Any]]) -> list[State]:
    """Return the states of a scene: at the beginning, and after each of some moves."""
    found = [scene.start]
    for move, what in acts:
        found.append(scene.after(found[-1], move, what))
    return found


def shown(scene: Scene, state: State, by: str, *, held: bool) -> str | float:
    """Return what is seen in a scene: a look's sign, a needle (cmH2O), a chest (share)."""
    if by == "needle":
        return scene.needle(state, held=held)
    if by == "chest":
        return scene.brings(state)
    return sign_of(scene, state, by, held=held)


def values(scene: Scene, states: Sequence[State], seen: Sequence[Seen]) -> list[str | float]:
    """Return what each thing that was observed shows in a scene, given its states."""
    return [shown(scene, states[one.after], one.by, held=one.held) for one in seen]


def differ(a: str | float, b: str | float, by: str, apart: float) -> bool:
    """Say whether two things seen are told apart; ``apart`` (cmH2O) for needles."""
    if isinstance(a, str) or isinstance(b, str):
        return a != b
    if by == "chest":
        return abs(a - b) >= CHEST_APART
    return abs(a - b) >= apart


def look_alikes(scene: Scene) -> tuple[str, ...]:
    """Return the other faults of the family that can be met in the setting."""
    family = NAMED[scene.fault].family
    return tuple(id for id in named_in(scene.setting, family) if id != scene.fault)


def _changes(scene: Scene) -> Iterator[tuple[tuple[str, Any], ...]]:
    """Yield what may be done, from the beginning, to see what follows: mostly nothing at all."""
    yield ()
    yield from ((("cap", None),), (("open", None),))
    at = scene.start.at
    for dial in DIALLED:
        for by in (-TURNED, TURNED):
            yield ((dial, min(max(at[dial] + by, 0), DIALS[dial].clicks)),)
    yield (("pip", scene.right["pip"]),)
    yield (("cap", None), ("flow", 0))
    for id, move in MOVES.items():
        if move.does in ("part", "care") and may(id, scene.setting):
            yield ((id, None),)


def told_apart(scene: Scene, apart: float) -> bool:
    """Say whether some move tells the fault from each other one that can be named.

    ``apart`` (cmH2O) is how far apart two needles are told.
    """
    # A chest is seen as a share of a right one, so the size of the baby decides nothing.
    right = tuple(scene.right.items())
    return _told_apart(scene.setting, scene.fault, right, apart, _Unkeyed(scene))


class _Unkeyed:
    """A scene beside the key it follows from: all are equal, and no cache keeps one alive."""

    __slots__ = ("_scene",)

    def __init__(self, scene: Scene) -> None:
        self._scene = ref(scene)

    @property
    def scene(self) -> Scene:
        """Return the scene; whoever asks a cache holds it meanwhile."""
        scene = self._scene()
        if scene is None:
            raise ReferenceError("The scene is gone, and a cache asks for it.")
        return scene

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Unkeyed)

    def __hash__(self) -> int:
        return 0


@lru_cache(maxsize=8192)
def _told_apart(
    setting: str,
    fault: str,
    right: tuple[tuple[str, int], ...],
    apart: float,
    of: _Unkeyed,
) -> bool:
    return not confused(of.scene, apart)


def confused(scene: Scene, apart: float) -> list[str]:
    """Return the faults that can be named and that no move tells from this one."""
    alike = _alike(scene.setting, scene.fault, scene.right["flow"], _Unkeyed(scene))
    for held in (True, False):  # mostly enough, and no other scene need be made for it
        if not alike:
            break
        stands = scene.needle(scene.start, held=held)
        there = {id: scene.first_needle(id, held=held) for id in alike}
        alike = tuple(id for id in alike if not differ(stands, there[id], "needle", apart))
    if not alike:
        return []
    left = {id: scene.with_fault(id) for id in alike}
    for acts in _changes(scene):
        mine = states(scene, acts)[-1]
        theirs = {id: states(other, acts)[-1] for id, other in left.items()}
        for by, held in _seen_in(scene, mine, acts):
            here = shown(scene, mine, by, held=held)
            for id, other in list(left.items()):
                if differ(here, shown(other, theirs[id], by, held=held), by, apart):
                    del left[id]
            if not left:
                return []
    return list(left)


@lru_cache(maxsize=1024)
def _alike(setting: str, fault: str, flow: int, of: _Unkeyed) -> tuple[str, ...]:
    """Return the other faults that no look tells from this one: by fault and flow alone."""
    here = read_off(of.scene, fault)
    others = (id for id in named_in(setting) if id != fault)
    return tuple(id for id in others if read_off(of.scene, id) == here)


def read_off(scene: Scene, fault: str) -> tuple[str, ...]:
    """Return what would be read off at the beginning, were this fault the one."""
    return _read_off(scene.setting, fault, scene.right["flow"], _Unkeyed(scene))


@lru_cache(maxsize=1024)
def _read_off(setting: str, fault: str, flow: int, of: _Unkeyed) -> tuple[str, ...]:
    """Return what every look shows that asks for no pressure: by fault and flow alone."""
    other = of.scene.with_fault(fault)
    return tuple(sign_of(other, other.start, id, held=False) for id in _looks(setting, READ_OFF))


def _looks(setting: str, among: Iterable[str]) -> list[str]:
    return [id for id in among if may(id, setting)]


def _seen_in(scene: Scene, state: State, acts: Iterable[Any]) -> list[tuple[str, bool]]:
    found = [("needle", True), ("needle", False)]
    if state.outlet == "lung":
        found.append(("chest", True))
    if not acts:
        found += [(id, held) for id in _looks(scene.setting, LISTENED) for held in (False, True)]
    return found
