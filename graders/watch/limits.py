"""What a baby may meet in a run, by the rules, and what a hazard is."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from workbook.rules import RuleBook

Kind = Literal["pressure", "volume", "weak", "long", "gap", "fast", "slow", "unread", "peep-lost",
               "peep-high"]  # fmt: skip
KINDS: tuple[Kind, ...] = (
    "unread", "pressure", "volume", "long", "gap", "weak", "fast", "slow", "peep-lost", "peep-high",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Hazard:
    """What a baby met: from when to when (s), the worst of it, and the limit it passed.

    ``seconds`` is how long it lasted in all, ``mended`` that the hand itself ended it at once.
    """

    kind: Kind
    start: float
    end: float
    worst: float
    limit: float
    seconds: float
    mended: bool = False


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a baby may meet: times in s, pressures in cmH2O, rates in 1/min, volumes in mL.

    None leaves a hazard out where a task cannot show it. ``first`` is how many long inflations
    the edition begins with, and the longest of them (s). ``settled`` is how far PIP or PEEP may
    be turned on the baby, in a task that sets them before it (cmH2O).
    """

    pause: float
    ends: float
    spell: float
    mended: float
    rate: tuple[float, float] | None
    longest: float
    long: float
    pressure: float | None
    brief: float
    peep: tuple[float, float] | None
    volume: tuple[float, float] | None
    least: float
    look: float
    first: tuple[int, float] = (0, 0.0)
    settled: float | None = None


@lru_cache(maxsize=4096)  # of a class, many are asked for the same
def bounds(
    book: RuleBook,
    *,
    rate: tuple[float, float] | None,
    longest: float,
    pressure: float | None = None,
    peep: float | None = None,
    volume: tuple[float, float] | None = None,
    pip: float = 0.0,
    first: tuple[int, float] = (0, 0.0),
    set_before: bool = False,
) -> Bounds:
    """Return the bounds of a task by the rules.

    ``rate`` is the band asked for (1/min), ``longest`` an ordinary inflation (s), ``pressure``
    the ceiling at the baby, ``peep`` and ``pip`` those wanted (cmH2O), ``volume`` the wanted
    band (mL); ``first`` how many long inflations an edition begins with, and the longest (s);
    ``set_before`` says that the task is to set pressures before a baby is attached.
    """
    more = 1 + book["watch.rate"].value / 100
    low, high = (book[f"watch.peep.{end}"].value for end in ("low", "high"))
    return Bounds(
        pause=book["watch.pause"].value,
        ends=book["watch.pause.ends"].value,
        spell=book["watch.spell"].value,
        mended=book["watch.mended"].value,
        rate=None if rate is None else (rate[0] / more, rate[1] * more),
        longest=longest + book["watch.length"].value,
        long=max(book["inflation.long"].value, longest + book["watch.length"].value),
        pressure=None if pressure is None else pressure + book["pip.accept"].value,
        brief=book["watch.pressure"].value,
        peep=None if peep is None else (peep * low / 100, peep + high),
        volume=volume,
        least=pip * book["watch.least"].value / 100,
        look=book["bench.look"].value,
        first=(first[0], first[1] + book["watch.first"].value),
        settled=book["pip.accept"].value if set_before else None,
    )
