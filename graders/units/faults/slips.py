"""What went wrong in a trial, part by part: each with its cause, and what is told of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from graders.units.faults.tried import Tried
from graders.watch import Hazard
from workbook.bench import DIALS
from workbook.core.once import once
from workbook.trial import NAMED, UNKNOWN
from workbook.trial.apart import READ_OFF, Seen, differ, look_alikes, shown, states
from workbook.trial.moves import BABY, DIALLED
from workbook.trial.named import mends
from workbook.trial.replay import Replay

GAUGE_FAULTS = ("gauge-blocked", "needle-sticks", "needle-off-zero")
AT_ZERO = ("hose-off", "outlet-open", "gauge-blocked")  # the needle stands at zero, and gas flows
LEAKS = ("leak-some", "leak-large", "cap-beside-finger", "outlet-open")
CHANGES = ("swap-mask", "swap-t", "mend")  # moves that change something for new, or mend it
FAR_TOO_HIGH = ("flow-high", "hole-narrow")  # pressure at the baby stays up between inflations
_UP = ("flow", "pip")


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip: its cause, a time (s) or rate (1/min) and its limit, another fault, a belief."""

    cause: str
    seconds: float = 0.0
    other: str = ""
    belief: str = ""
    limit: float = 0.0


@dataclass(frozen=True)
class Judged:
    """A replayed trial, judged: ``apart`` (cmH2O) is how far apart two needles are told.

    ``hazards`` are what the watch found in its inflations.
    """

    replay: Replay
    apart: float
    alarm: bool = False
    hazards: tuple[Hazard, ...] = ()
    slips: Mapping[str, Slip | None] = field(init=False)

    def __post_init__(self) -> None:
        found = {part: getattr(self, f"_{part}")() for part in PARTS}
        object.__setattr__(self, "slips", found)

    @property
    def fault(self) -> str:
        """Return the fault that was hidden."""
        return self.replay.scene.fault

    @property
    def on_baby(self) -> bool:
        """Say whether a baby was there."""
        return self.replay.scene.setting == BABY

    @once
    def named(self) -> str:
        """Return the last name that was given, or nothing."""
        return "" if self.replay.name is None else str(self.replay.name.what)

    @property
    def tried(self) -> Tried:
        """Return what a group is counted by."""
        begun = self.replay.safe_at if self.on_baby else None
        safe = None if begun is None else float(round(begun))
        return Tried(self.fault, self.named, safe, self.replay.sure)

    @once
    def wrong_mends(self) -> list[str]:
        """Return what was mended though it was right, in order."""
        mended = [what for move, what in self.replay.alters if move == "mend"]
        return [what for what in mended if what in NAMED and what != self.fault]

    # --- the baby first

    def _safe(self) -> Slip | None:
        return self._safe_on_baby() if self.on_baby else self._safe_before()

    def _safe_on_baby(self) -> Slip | None:
        replay, limits = self.replay, self.replay.limits
        begin, end = replay.gap
        if replay.high > limits.high:
            return Slip("high", replay.high)
        if replay.stuck > limits.stuck:
            belief = "high-rest-is-good-peep" if self.fault in FAR_TOO_HIGH else ""
            return Slip("stuck", replay.stuck, belief=belief)
        if self.hazards:
            return self._harmed()
        past = replay.past is not None and begin >= replay.past
        if past and end - begin > limits.act:
            return Slip("past" if end - begin > limits.unventilated else "past-late", end - begin)
        if end - begin > limits.unventilated:
            if replay.looks(begin, end):
                return Slip("searched", end - begin, belief="search-before-bag")
            return Slip("waited", end - begin)
        if not replay.ventilated and replay.past is None:
            return Slip("nothing", end - begin)
        return Slip("late", end - begin) if end - begin > limits.act else None

    def _harmed(self) -> Slip:
        """Return what the watch found: the first hazard that the hand did not end itself."""
        lasting = next((each for each in self.hazards if not each.mended), None)
        first = lasting or self.hazards[0]
        cause = first.kind if lasting else f"{first.kind}-once"
        return Slip(cause, first.worst, limit=first.limit)

    def _safe_before(self) -> Slip | None:
        return None if self.replay.mended or self.replay.moved("bag") else Slip("left")

    # --- one test

    @once
    def _tested(self) -> tuple[bool, list[str]]:
        """Say whether a test of one's own was made, and return the look-alikes it left."""
        scene, seen = self.replay.scene, self._telling
        alters = self.replay.alters[: max((one.after for one in seen), default=0)]
        here, mine = states(scene, alters), dict[int, str | float]()
        left, own = [], False
        for id in look_alikes(scene):
            other = scene.with_fault(id)
            there = states(other, alters)
            for n, one in enumerate(seen):
                if n not in mine:
                    mine[n] = shown(scene, here[one.after], one.by, held=one.held)
                theirs = shown(other, there[one.after], one.by, held=one.held)
                if differ(mine[n], theirs, one.by, self.apart):
                    own = own or self._own(one)
                    break
            else:
                left.append(id)
        return own, left

    @once
    def _telling(self) -> list[Seen]:
        """Return what was seen that can tell faults apart, what decides soonest first.

        Tests of one's own mostly decide, and what needs no pressure is known at once: the rest
        need not be worked out then.
        """
        telling = filter(self._tells, self.replay.seen)
        return sorted(telling, key=lambda one: (not self._own(one), one.by not in READ_OFF))

    def _tells(self, seen: Seen) -> bool:
        """Say whether it was seen before anything was changed for new or mended."""
        return seen.after <= self._untouched

    @once
    def _untouched(self) -> int:
        """Return how many moves altered the state before one that changed for new or mended."""
        alters = self.replay.alters
        return next((n for n, (move, _) in enumerate(alters) if move in CHANGES), len(alters))

    @once
    def _only_bag(self) -> int:
        """Return how many moves altered the state before one that was not to take the bag."""
        alters = self.replay.alters
        return next((n for n, (move, _) in enumerate(alters) if move != "bag"), len(alters))

    def _own(self, seen: Seen) -> bool:
        """Say whether it is a test; what the bag shows by the way is one to who understood it."""
        if not seen.deliberate:
            return False
        in_sight = seen.by in ("needle", "chest")
        by_the_way = seen.by == "bag" or (in_sight and seen.after <= self._only_bag)
        return not by_the_way or self.named == self.fault

    def _test(self) -> Slip | None:
        return self.slips_of_test

    @once
    def slips_of_test(self) -> Slip | None:
        """Return the slip of the test."""
        if self.named == UNKNOWN:
            return Slip("test-unknown")
        own, left = self._tested
        if self._swapped_first:
            return Slip("swapped-untested", belief="swap-everything")
        if not own:
            return Slip("untested")
        return Slip("not-apart", other=left[0]) if left else None

    @once
    def _swapped_first(self) -> bool:
        """Say whether parts were changed for new without any test before."""
        swaps = self.replay.moved("swap-mask", "swap-t")
        if len({act.move for act in swaps}) < (2 if self.on_baby else 1):
            return False
        first = swaps[0].time
        tried = (*DIALLED, "cap", "open")
        looked = any(act.time < first for act in self.replay.moved(*tried))
        return not looked and not any(
            one.by not in ("needle", "chest", "bag") and self._tells(one)
            for one in self.replay.seen
        )

    # --- the name

    def _name(self) -> Slip | None:
        if not self.named:
            return Slip("unnamed")
        if self.named == UNKNOWN:
            return None if self.replay.moved("bag") else Slip("unknown-no-bag")
        if self.named == self.fault:
            return Slip("named-at-last", other=self.wrong_mends[0]) if self.wrong_mends else None
        return Slip("misnamed", other=self.named, belief=self._misled())

    def _misled(self) -> str:
        looked = {one.by for one in self.replay.seen}
        if self._swapped_first:
            return ""  # a name given after parts were changed at random says nothing of a belief
        if self.alarm and self.named == "oxygen-out" and "look-blender" not in looked:
            return "alarm-is-fault"
        if self.named == "no-gas" and self.fault in AT_ZERO:
            return "" if looked & {"look-flow", "look-supply"} else "zero-means-empty"
        if self.fault in GAUGE_FAULTS and self.named not in GAUGE_FAULTS:
            return "needle-is-truth"
        return ""

    # --- mended, read again, nothing else touched

    def _mend(self) -> Slip | None:
        if self.named == UNKNOWN:
            return Slip("unknown-used" if self._used_unknown else "mend-unknown")
        if not self.replay.mended:
            return Slip("unmended")
        return None if self.named == self.fault else Slip("mended-by-luck", other=self.named)

    @property
    def _used_unknown(self) -> bool:
        """Say whether a device that was said to be out of use went on at a baby."""
        last = self.replay.last
        used = self.on_baby and last.state.outlet == "lung" and not last.bagged
        return used and not self.replay.mended

    def _read(self) -> Slip | None:
        if self.named == UNKNOWN:
            return Slip("read-unmended" if self._used_unknown else "read-unknown")
        if not self.replay.mended:
            return Slip("read-unmended")
        if self.replay.read_again:
            # Whether a mask seals again shows on the baby alone.
            late = self.on_baby and self.fault not in LEAKS and self.replay.read_on_baby
            return Slip("read-on-baby") if late else None
        if self.replay.read_open:
            return Slip("read-open")
        last = self.replay.last
        attached = self.on_baby and last.state.outlet == "lung" and not last.bagged
        cause = "unread-on-baby" if attached else "unread"
        return Slip(cause, belief="new-baby-same-device")

    def _alone(self) -> Slip | None:
        turned = self._turned()
        if turned is not None:
            return turned
        if self.wrong_mends:
            return Slip("mended-right", other=self.wrong_mends[0])
        swaps = {act.move for act in self.replay.moved("swap-mask", "swap-t")}
        if swaps.difference(mends(self.fault)):
            return Slip("swapped")
        if self.named == UNKNOWN:
            return None
        # Who tested nothing has left alone what nobody knew.
        return None if self.slips_of_test is None else Slip("alone-untested")

    def _turned(self) -> Slip | None:
        """Return the slip of a control that was left elsewhere, though it was not at fault."""
        start, end = self.replay.scene.start.at, self._by_hand
        leaks = self.fault in LEAKS and self.on_baby
        up = [d for d in _UP if leaks and any(a.what > start[d] for a in self.replay.moved(d))]
        if up:
            belief = "flow-cures-all" if "flow" in up else ""
            return Slip(f"{up[0]}-against-leak", belief=belief)
        free = self._free
        moved = [dial for dial in DIALLED if end[dial] != start[dial] and dial not in free]
        if not moved:
            return None
        if "flow" in moved and end["flow"] > start["flow"]:
            return Slip("flow-up", belief="flow-cures-all")
        if self.fault in GAUGE_FAULTS and set(moved) & {"pip", "peep"}:
            return Slip("pressure-by-gauge", belief="chest-proves-gauge")
        return Slip(f"{moved[0]}-turned")

    @once
    def _by_hand(self) -> dict[str, int]:
        """Return where each control was left by hand; what a mend turned is not counted."""
        at = dict(self.replay.scene.start.at)
        for act in self.replay.moved(*DIALLED):
            at[act.move] = act.what
        return at

    @once
    def _free(self) -> set[str]:
        """Return the controls that may be turned: the one at fault, and what follows from it."""
        dial = NAMED[self.fault].dial
        if dial == "flow":
            return set(DIALS)
        return {dial} if dial else {"pip"} if self.fault == "lung-stiff" else set()


PARTS = ("safe", "test", "name", "mend", "read", "alone")
