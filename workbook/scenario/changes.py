"""When an act changes what: most have done so once their time is over; a helper does one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from workbook.physics.baby import arrives
from workbook.scenario.acts import ACTS, HELPER, NEW_AIRWAYS
from workbook.scenario.record import Done, Played

DIALLED = ("flow", "pip", "peep", "relief")
AT_ONCE = ("occlude", "release", "compress-stop", *DIALLED)
LASTING = ("mask-adjust", "two-hands", "reposition", "suction", "open-mouth")


@dataclass(frozen=True, slots=True)
class Change:
    """Something that changes at a time (s): ``kind`` is an act's id, or what it brings about."""

    time: float
    kind: str
    what: Any = None


@dataclass(frozen=True, slots=True)
class Ordered:
    """An act with when its work really began and ended (s)."""

    done: Done
    begins: float
    ends: float


class Orders:
    """Gives acts their times as they come; the helper begins one thing when the last is done."""

    def __init__(self, seconds: Mapping[str, float]) -> None:
        self.seconds, self.free = seconds, 0.0

    def of(self, one: Done) -> Ordered:
        """Return the next act with its times."""
        begins, takes = one.time, self.seconds.get(one.act, 0.0)
        if ACTS[one.act].by == HELPER:
            begins = max(begins, self.free)
            self.free = begins + takes
        return Ordered(one, begins, begins + takes)


def ordered(played: Played, seconds: Mapping[str, float]) -> list[Ordered]:
    """Return the acts of a record with their times."""
    orders = Orders(seconds)
    return [orders.of(one) for one in played.done]


def changes(played: Played, seconds: Mapping[str, float], fails: float | None) -> list[Change]:
    """Return all that changes, in the order of time; the gas fails at ``fails`` (s), or never."""
    found = [change for one in ordered(played, seconds) for change in effects(one)]
    if fails is not None:
        found.append(Change(fails, "gas-fails"))
    return sorted(found, key=lambda change: change.time)


def effects(one: Ordered) -> Iterator[Change]:
    """Yield what an act changes, and when."""
    act, what = one.done.act, one.done.what
    if act in AT_ONCE:
        yield Change(one.begins, act, what)
    elif act == "oxygen":
        yield Change(arrives(one.ends), "oxygen-there", what)
    elif act in NEW_AIRWAYS:
        yield Change(one.begins, "away")
        yield Change(one.ends, "airway", act)
    elif act == "bag":
        yield Change(one.begins, "away")
        yield Change(one.ends, "bag")
    elif act in ("connect", "open", "t-piece", "compress", "cpap", *LASTING):
        yield Change(one.ends, act)
