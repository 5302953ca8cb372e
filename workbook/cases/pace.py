"""How fast and how long an edition inflates: what every unit with a count goes by."""

from __future__ import annotations

import math

from workbook.rules import Rule, RuleBook

PER_MINUTE = "1/min"


def rate_rule(book: RuleBook) -> Rule:
    """Return the rate asked for: the edition's, or common practice where it states none."""
    stated = [rule for rule in book.all("rate") if rule.stated] if "rate" in book else []
    return stated[0] if stated else book["count.rate"]


def rate_band(book: RuleBook) -> tuple[float, float]:
    """Return (low, high) of what counts as the rate asked for, in inflations a minute."""
    low, high = rate_rule(book).band
    usual, about = book["count.rate"].band, book["rate.about"].value
    low = low if math.isfinite(low) else min(usual[0], high)
    high = high if math.isfinite(high) else max(usual[1], low)
    return (low - about, high + about) if low == high else (low, high)


def rates(book: RuleBook) -> list[int]:
    """Return the whole rates a case may ask for: well inside the band, or its middle."""
    (low, high), inset = rate_band(book), book["rate.inset"].value
    inside = range(math.ceil(low + inset), math.floor(high - inset) + 1)
    return list(inside) or [round((low + high) / 2)]


def longest(book: RuleBook) -> Rule:
    """Return the longest ordinary inflation: the edition's, or the workbook's own."""
    every = book.all("inflation-time") if "inflation-time" in book else ()
    stated = [rule for rule in every if rule.stated and rule.high is not None]
    return stated[0] if stated else book["inflation-time.usual"]


def first_inflations(book: RuleBook) -> tuple[int, float]:
    """Return how many long inflations an edition begins with, and the longest (s); 0 for none."""
    ids = ("inflations.first", "inflations.first-time")
    count, time = ([r for r in book.all(id) if r.stated] if id in book else [] for id in ids)
    if not count or not time or not count[0].value:
        return 0, 0.0
    return int(count[0].value), time[0].band[1]
