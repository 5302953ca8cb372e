"""What a case is judged by: an edition's demands, and the times that rules of teaching add."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from workbook.rules import RuleBook, editions, rulebook
from workbook.rules.edition import PRACTICE
from workbook.scenario import Demands, demands
from workbook.scenario.demands import ASKED, MINUTES, highest, one

TIMES = ("late", "still", "pause", "moves", "look", "early", "escalate", "heart.near", "gas",
         "turn", "pure", "confirm", "fewer", "spared")  # fmt: skip


@dataclass(frozen=True)
class Limits:
    """The limits of one baby; times in s, rates in 1/min, pressures in cmH2O, shares in percent.

    What the edition does not state is None. ``top`` is the highest pressure at the T-piece, with
    the hand's allowance.
    """

    late: float
    still: float
    pause: float
    moves: float
    look: float
    early: float
    escalate: float
    near: float
    gas: float
    turn: float
    pure: float
    confirm: float
    fewer: float
    spared: float
    top: float
    within: float
    ventilate: float
    compress: float
    reassess: float
    tries: int
    rate: tuple[float, float] | None
    longest: float | None
    first: tuple[int, float, float] | None
    pressed: float | None

    @property
    def again(self) -> float:
        """Return how long (s) may lie between two looks at the heart rate."""
        return self.reassess + self.look


@lru_cache(maxsize=256)
def _times(book: RuleBook) -> dict[str, float]:
    found = {name: float(book[f"scenario.{name}"].value) for name in TIMES}
    return {name.rpartition(".")[2]: value for name, value in found.items()}


def limits(asked: Demands, book: RuleBook, weeks: float, kg: float) -> Limits:
    """Return what a baby of ``weeks`` and ``kg`` is judged by; times lent where one is blank."""
    rate = asked.band("rate")
    return Limits(
        **_times(book),
        top=one(highest(book, weeks, kg)) + book["pip.accept"].value,
        within=_number(asked, "within", book), ventilate=_number(asked, "ventilate", book),
        compress=_number(asked, "compress", book), reassess=_number(asked, "reassess", book),
        tries=int(_number(asked, "try", book)),
        rate=None if rate is None else widened(rate, book),
        longest=_longest(asked, book), first=first(asked, book),
        pressed=asked.number("compressions-oxygen"),
    )  # fmt: skip


def _number(asked: Demands, name: str, book: RuleBook) -> float:
    """Return a demand's number, or what common practice says where none is stated."""
    stated = asked.number(name)
    if stated is not None:
        return stated
    rule = rulebook(PRACTICE)[ASKED[name][0]]
    return float(one(rule))


def widened(rate: tuple[float, float], book: RuleBook) -> tuple[float, float]:
    """Return a band of rates with what a hand is allowed."""
    more = 1 + book["watch.rate"].value / 100
    return rate[0] / more, rate[1] * more


def _longest(asked: Demands, book: RuleBook) -> float | None:
    longest = asked.number("inflation-time")
    if longest is None:
        return None
    return max(longest + book["watch.length"].value, float(book["inflation.long"].value))


def first(asked: Demands, book: RuleBook) -> tuple[int, float, float] | None:
    """Return how many long inflations come first, and from when to when one counts (s)."""
    count, band = asked.number("first"), asked.band("first-time")
    if not count or band is None:
        return None
    spare = book["watch.first"].value
    return int(count), band[0] - spare, band[1] + spare


@lru_cache(maxsize=512)
def others(book: RuleBook, weeks: float, kg: float) -> tuple[Demands, ...]:
    """Return what other editions ask of the same baby, by which what is done may be right."""
    return tuple(
        demands(rulebook(id), weeks, kg)
        for id in editions()
        if id not in (PRACTICE, book.edition.id)
    )


@lru_cache(maxsize=4096)
def above_all(book: RuleBook, weeks: float, kg: float, minute: int) -> float:
    """Return the highest upper end (percent) that any edition states for a saturation.

    In a minute that is not in the tables, that of the last minute before it.
    """
    stated = [m for m in MINUTES if m <= max(minute, MINUTES[0])]
    mine = demands_of(book, weeks, kg)
    for at in reversed(stated):
        bands = [each.band(f"spo2-{at}") for each in (mine, *others(book, weeks, kg))]
        tops = [band[1] for band in bands if band is not None and band[1] < float("inf")]
        if tops:
            return max(tops)
    return 100.0


@lru_cache(maxsize=512)
def demands_of(book: RuleBook, weeks: float, kg: float) -> Demands:
    """Return what a book asks of a baby; kept, for marking asks often."""
    return demands(book, weeks, kg)
