"""Practice feedback on counting: a time worked out, a strip read, a rhythm judged, a hand timed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from workbook.cases.pace import PER_MINUTE, longest, rate_band, rate_rule
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.lesson.answered import Feedback, Line, Says, line
from workbook.rules import Rule, RuleBook
from workbook.rules.timing import Count
from workbook.taps import Inflation, Taps, TapsError, Timing, parted, read_taps, timing
from workbook.units.rate.case.rhythms import Firsts

FEWEST = 2  # intervals: with fewer there is no rate at all


def count_words(made: Count) -> dict[str, str]:
    """Return the times of a count as a person says them."""
    return {
        "rate": plain(made.rate, PER_MINUTE),
        "cycle": seconds(made.inflation + made.release),
        "beat": seconds(made.beat),
        "inflation": seconds(made.inflation),
        "release": seconds(made.release),
        "equal": seconds((made.inflation + made.release) / 2),
        "ratio": f"{number(made.occlude_beats)}:{number(made.release_beats)}",
    }


def seconds(time: float, digits: int = 2) -> str:
    """Return a time in seconds as a person reads it from a clock."""
    return f"{number(time, f'.{digits}f')} s"


# --- inflations given by hand


@dataclass(frozen=True, slots=True)
class Asked:
    """What a counting by hand is measured against, and the words it is told in."""

    book: RuleBook
    says: Says
    right: str = ""  # the answer to the question asked meanwhile, if one was
    answer: str = ""  # the same in words
    begins: Firsts | None = None  # the long inflations it is to begin with


@dataclass(frozen=True, slots=True)
class Hand:
    """What a hand gave, timed: the ordinary count, and the long inflations before it."""

    asked: Asked
    taps: Taps
    timing: Timing
    long: tuple[Inflation, ...] = ()

    @property
    def book(self) -> RuleBook:
        """Return the rules it is measured against."""
        return self.asked.book

    @property
    def long_held(self) -> list[float]:
        """Return how long (s) each long inflation lasted."""
        return [each.release - each.press for each in self.long if each.release is not None]

    @property
    def words(self) -> dict[str, str]:
        """Return what was given as a person says it."""
        made, (low, high) = self.timing, rate_band(self.book)
        return {
            "count": str(made.counted),
            "given": plain(round(made.rate or 0.0), PER_MINUTE),
            "band": _("{low} to {high}").format(low=number(low), high=plain(high, PER_MINUTE)),
            "held": seconds(made.inflation_time or 0.0),
            "shared": f"1:{number(made.ratio or 0.0, '.1f')}",
            "spread": plain(round(100 * (made.variation or 0.0)), "percent"),
            "even": self.book["tap.variation"].text,
            "longest": longest(self.book).text,
            "answer": self.asked.answer,
            **self._first_words(),
        }

    def _first_words(self) -> dict[str, str]:
        held, begins = self.long_held, self.asked.begins
        if begins is None:
            return {}
        span = {
            "low": seconds(min(held, default=0.0), 1),
            "high": seconds(max(held, default=0.0), 1),
        }
        return {
            "long_count": number(len(self.long)),
            "long_held": _("{low} to {high}").format(**span),
            "first_count": number(begins.count),
            "first_time": self.book["inflations.first-time"].text,
        }

    def line(self, met: bool, name: str, rule: Rule) -> Line:
        """Return a line of feedback with the hand's numbers filled in."""
        return line(met, self.asked.says[name].format_map(self.words), rule)


def on_taps(value: Any, asked: Asked) -> Feedback:
    """Return feedback on a counting by hand: pace, inflation time, evenness, and its picture."""
    try:
        taps = read_taps(value)
    except TapsError as error:
        return {"heading": str(error), "lines": []}
    long, rest = parted(taps, asked.begins.least) if asked.begins else ((), taps)
    hand = Hand(asked, rest, timing(rest), long)
    notes, first = " ".join(hand.timing.notes), _begun(hand) if taps.inflations else []
    if len(hand.timing.intervals) < FEWEST:
        return {"heading": f"{asked.says['few']} {notes}".strip(), "lines": first}
    heading = f"{asked.says['given'].format_map(hand.words)} {notes}".strip()
    lines = [*first, _pace(hand), _held(hand), _even(hand), *_answered(hand)]
    return {"heading": heading, "lines": lines, "picture": picture(hand)}


def _begun(hand: Hand) -> list[Line]:
    begins = hand.asked.begins
    if begins is None:
        return []
    many, about = len(hand.long) == begins.count, hand.book["tap.first-time.about"].value
    held = hand.long_held
    right = all(begins.low - about <= time <= begins.high + about for time in held)
    number_rule, time_rule = hand.book["inflations.first"], hand.book["inflations.first-time"]
    told = [hand.line(many, "begun" if many else "misbegun", number_rule)]
    if held:
        told.append(hand.line(right, "first-held" if right else "first-missed", time_rule))
    return told


def _pace(hand: Hand) -> Line:
    (low, high), made = rate_band(hand.book), hand.timing
    judged, rate = made.verdict(low, high), made.rate or 0.0
    few = len(made.intervals) < hand.book["tap.intervals"].band[0]
    if few and judged == "inside":  # a slow hand gives few, and may surely be too slow
        judged = "not yet sure"
    name = {"inside": "pace", "not yet sure": "unsure"}.get(
        judged, "fast" if rate > high else "slow"
    )
    return hand.line(judged == "inside", name, rate_rule(hand.book))


def _held(hand: Hand) -> Line:
    share, time = hand.timing.held_share, hand.timing.inflation_time
    usual, limit = hand.book["tap.held-share"], longest(hand.book)
    if share is None or time is None:
        return hand.line(False, "unheld", usual)
    if not limit.holds(time):
        return hand.line(False, "over", limit)
    if usual.holds(100 * share):
        return hand.line(True, "held", usual)
    name = "long" if 100 * share > usual.band[1] else "short"
    return hand.line(False, name, hand.book["count.ratio"])


def _even(hand: Hand) -> Line:
    rule, spread = hand.book["tap.variation"], 100 * (hand.timing.variation or 0.0)
    drift = hand.timing.drift_says
    name = {"slowing": "slowing", "quickening": "quickening"}.get(drift, "even")
    return hand.line(rule.holds(spread), name if rule.holds(spread) else "uneven", rule)


def _answered(hand: Hand) -> Sequence[Line]:
    if not hand.asked.right:
        return []
    said = hand.taps.answered
    name = "answered" if said == hand.asked.right else "misanswered" if said else "unanswered"
    return [hand.line(said == hand.asked.right, name, hand.book["count.beats"])]


def picture(hand: Hand) -> dict[str, Any]:
    """Return each interval against the band of the rate, with the same in words."""
    low, high = (round(60 / rate, 2) for rate in reversed(rate_band(hand.book)))
    made = [round(each, 3) for each in hand.timing.intervals]
    over, under = sum(each > high for each in made), sum(each < low for each in made)
    told = {
        "of": len(made), "inside": len(made) - over - under, "over": over, "under": under,
        "low": seconds(low), "high": seconds(high),
    }  # fmt: skip
    says = hand.asked.says["intervals"].format_map(told)
    return {
        "title": hand.asked.says["picture"], "says": says, "low": low, "high": high,
        "intervals": made, "unit": "s",
    }  # fmt: skip
