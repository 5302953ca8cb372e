"""Where a set-up on the bench went wrong: the run replayed, each slip found once.

A slip costs where it was made. What follows from it elsewhere is judged as if it had not been
made, or said to follow from it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from workbook.bench import DIALS, Bench, Hands
from workbook.bench.story import Stretch, reading, story

PRESSURES = ("relief", "pip", "peep")
SETTINGS = ("flow", *PRESSURES)
PARTS = ("flow", "outlet", *PRESSURES, "recheck", "baby")


@dataclass(frozen=True, slots=True)
class Slip:
    """What went wrong in one part of a run; without a ``cause`` it follows from another slip.

    ``far`` says that it left a pressure so far above the one wanted that a baby could be harmed.
    """

    cause: str
    moment: float = 0.0  # s
    then: float = 0.0  # cmH2O, or L/min for the flow
    now: float = 0.0
    far: bool = False


@dataclass(frozen=True)
class Run:
    """One learner's run beside what was wanted (cmH2O, L/min) and how near is near enough.

    The wanted relief is the highest one; a lower one is right that lies ``margin`` above PIP.
    ``far`` is the highest PIP and PEEP that are only wrong; more could harm (cmH2O).
    """

    bench: Bench
    hands: Hands
    wanted: Mapping[str, float]
    accept: Mapping[str, float]
    look: float
    margin: float
    far: Mapping[str, float]
    stretches: list[Stretch] = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "stretches", story(self.bench, self.hands))

    @cached_property
    def last(self) -> Stretch:
        """Return how everything stood at the end."""
        return self.stretches[-1]

    @cached_property
    def turned(self) -> Mapping[str, int]:
        """Return for each control ever turned the stretch that its last turn began."""
        return {s.touched: n for n, s in enumerate(self.stretches) if s.touched in DIALS}

    @cached_property
    def connected(self) -> int | None:
        """Return the stretch in which the baby was first attached."""
        return next((n for n, s in enumerate(self.stretches) if s.touched == "connect"), None)

    def set_at(self, dial: str) -> Stretch:
        """Return how everything stood when a control was last turned, at the flow to judge it by.

        That is the flow it was set at: a later change of flow is a slip of its own.
        """
        there = self.stretches[self.turned[dial]]
        return there if there.at("flow") else there.turned(flow=self.last.at("flow"))

    def stays(self, first: int, same: Callable[[Stretch], bool]) -> bool:
        """Say whether the needle could be read from a stretch on, with everything still so."""
        seconds = 0.0
        for stretch in self.stretches[first:]:
            if not same(stretch):
                break
            seconds += stretch.length
        return seconds >= self.look

    def near(self, part: str, shown: float, wanted: float | None = None) -> bool:
        """Say whether a reading is near enough to what is wanted."""
        wanted = self.wanted[part] if wanted is None else wanted
        return abs(shown - wanted) <= self.accept[part] + 1e-9

    def caps(self, shown: float) -> bool:
        """Say whether a relief limit lies above the wanted PIP and no higher than wanted."""
        least = min(self.wanted["pip"] + self.margin, self.wanted["relief"])
        near = self.accept["relief"] + 1e-9
        return least - near <= shown <= self.wanted["relief"] + near


def limit(stretch: Stretch) -> float:
    """Return the relief's limit (cmH2O): the reading with PIP fully open, aperture occluded."""
    return reading(stretch.turned(pip=DIALS["pip"].clicks).positions, held=True)


def slips(run: Run) -> dict[str, Slip | None]:
    """Return what went wrong in each part of a run; None where it is right."""
    return {part: _weighed(run, part, _PARTS[part](run)) for part in PARTS}


def _weighed(run: Run, part: str, slip: Slip | None) -> Slip | None:
    """Return a slip with whether the pressure it left could harm."""
    if slip is None or not slip.cause or slip.now <= run.far.get(part, slip.now):
        return slip
    return replace(slip, far=True)


def _flow(run: Run) -> Slip | None:
    wanted, final = run.wanted["flow"], run.last.value("flow") or 0.0
    if "flow" not in run.turned:
        return Slip("flow-forgotten")
    turned = run.turned["flow"]
    moment = run.stretches[turned].start
    before = [run.stretches[run.turned[d]] for d in PRESSURES if run.turned.get(d, turned) < turned]
    if any(there.at("flow") != run.last.at("flow") for there in before):
        peep = run.last.positions
        earlier = before[-1].value("flow") or 0.0
        held = reading(peep, held=False)
        return Slip("flow-after", moment, earlier, held)
    if abs(final - wanted) > DIALS["flow"].step / 2:
        return Slip("flow-off", moment, wanted, final)
    return None


def _outlet(run: Run) -> Slip | None:
    seen = [run.stretches[run.turned[dial]] for dial in PRESSURES if dial in run.turned]
    open_ = [there for there in seen if there.outlet == "open"]
    if open_:
        return Slip("outlet-open", open_[0].start, 0.0, open_[0].reading)
    return None if seen else Slip("")


def _relief(run: Run) -> Slip | None:
    if "relief" not in run.turned:
        return Slip("relief-forgotten", run.last.start, 0.0, limit(run.last))
    first, there = run.turned["relief"], run.set_at("relief")
    shown, fully = limit(there), DIALS["pip"].clicks
    if there.at("pip") != fully:
        after = run.turned.get("pip", first) < first
        cause = "relief-after-pip" if after else "relief-behind-pip"
        return Slip(cause, there.start, there.reading, shown)

    def in_sight(s: Stretch) -> bool:
        still = s.positions[:3] == run.stretches[first].positions[:3]  # flow, PIP and relief
        return s.held and s.outlet != "open" and still

    seen = any(run.stays(n, in_sight) for n in range(first, len(run.stretches)))
    if there.outlet == "open" or (not seen and "flow" not in run.turned):
        return None if run.caps(shown) else Slip("", there.start)
    if not seen:
        return Slip("relief-released", there.start, there.reading, shown)
    return None if run.caps(shown) else Slip("relief-off", there.start, 0.0, shown)


def _pip(run: Run) -> Slip | None:
    if "pip" not in run.turned:
        return Slip("pip-forgotten", run.last.start, 0.0, reading(run.last.positions, held=True))
    there = run.set_at("pip")
    relief = run.turned.get("relief", -1)
    judged = there if relief < run.turned["pip"] else there.turned(relief=run.last.at("relief"))
    shown = reading(judged.positions, held=True)
    if there.at("pip") == DIALS["pip"].clicks:
        return Slip("pip-left-open", there.start, 0.0, shown)
    if run.near("pip", shown):
        return None
    capped = limit(judged) < run.wanted["pip"] - run.accept["pip"]
    if there.outlet == "open" or capped or not run.last.at("flow"):
        return Slip("", there.start, 0.0, shown)
    if not _held_while_turning(run, "pip"):
        return Slip("pip-released", there.start, there.reading, shown)
    if run.near("pip", shown, run.wanted["pip"] + run.wanted["peep"]):
        return Slip("pip-plus-peep", there.start, 0.0, shown)
    if run.near("pip", shown, limit(judged)):
        return Slip("pip-at-relief", there.start, 0.0, shown)
    return Slip("pip-off", there.start, 0.0, shown)


def _held_while_turning(run: Run, dial: str) -> bool:
    """Say whether the aperture was occluded at the last turn of a control, or soon after it."""
    last = run.turned[dial]
    following = run.stretches[last : last + 2]
    return any(s.held for s in following)


def _peep(run: Run) -> Slip | None:
    if "peep" not in run.turned:
        return Slip("peep-forgotten", run.last.start, 0.0, reading(run.last.positions, held=False))
    there, later = run.set_at("peep"), run.turned.get("pip", -1)
    pip = run.last.at("pip")
    shown = reading(there.turned(pip=pip).positions, held=False)
    if later > run.turned["peep"] and _moved(there, pip, run.accept["pip"]):
        return Slip("peep-first", there.start, there.reading, shown)
    if run.near("peep", shown):
        return None
    if there.outlet == "open" or not run.last.at("flow") or "pip" not in run.turned:
        return Slip("", there.start, 0.0, shown)
    if there.held:
        return Slip("peep-held", there.start, there.reading, shown)
    return Slip("peep-off", there.start, 0.0, shown)


def _moved(there: Stretch, pip: int, accept: float) -> bool:
    """Say whether the PIP control was turned on by more than the band that counts as set."""
    return abs(there.at("pip") - pip) * DIALS["pip"].step > accept


def _recheck(run: Run) -> Slip | None:
    end = len(run.stretches) if run.connected is None else run.connected
    turns = [n for n in range(end) if run.stretches[n].touched in SETTINGS]
    if not turns or _is_early(run) or not run.last.at("flow"):
        return Slip("")
    after = [s for s in run.stretches[turns[-1] : end] if s.outlet != "open"]
    seen = {s.held for s in after if s.length >= run.look}
    return None if seen == {True, False} else Slip("no-recheck", run.stretches[turns[-1]].start)


def _baby(run: Run) -> Slip | None:
    if run.connected is None:
        return Slip("baby-left-out", run.last.start)
    if not run.last.at("flow"):
        return Slip("")  # without gas no pressure was set for a baby
    if not _is_early(run):
        return None
    there = run.stretches[run.connected]
    return Slip("baby-early", there.start, 0.0, reading(there.positions, held=True))


def _is_early(run: Run) -> bool:
    """Say whether a pressure was first turned when the baby was already attached."""
    if run.connected is None:
        return False
    before = {s.touched for s in run.stretches[: run.connected]}
    return any(dial in run.turned and dial not in before for dial in PRESSURES)


_PARTS: dict[str, Callable[[Run], Slip | None]] = {
    "flow": _flow,
    "outlet": _outlet,
    "relief": _relief,
    "pip": _pip,
    "peep": _peep,
    "recheck": _recheck,
    "baby": _baby,
}
