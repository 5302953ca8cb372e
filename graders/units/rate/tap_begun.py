"""Marks how a counting begins, where the edition has long first inflations: number and length."""

from __future__ import annotations

from collections.abc import Iterator

from graders.marks.verdict import Finding
from graders.units.rate.tap_counted import FEWEST, Counted, finding
from workbook.core.language import _, number
from workbook.units.rate.case.rhythms import Firsts

NEARLY = 1  # long inflation too many or too few still earns half


def begun_findings(counted: Counted, begins: Firsts) -> Iterator[Finding]:
    """Yield the findings on the long inflations at the beginning."""
    yield _first_number(counted, begins)
    yield _first_time(counted, begins)


def _first_number(counted: Counted, begins: Firsts) -> Finding:
    rule, many = counted.book["inflations.first"], len(counted.long)
    said = _("You began with {count} long inflations; {wanted} are asked for.").format(
        count=number(many), wanted=number(begins.count)
    )
    if many == begins.count:
        return finding(counted, "first-number", 1, said, rule)
    if not many:
        return finding(counted, "first-number", 0, said, rule, belief="begins-at-once")
    never = len(counted.timing.intervals) < FEWEST and many > begins.count
    if never:
        says = _("{said} These are given a few times at the start only; go over to the count.")
        return finding(
            counted, "first-number", 0, says.format(said=said), rule,
            belief="long-first-for-all",
        )  # fmt: skip
    share = 0.5 if abs(many - begins.count) <= NEARLY else 0.0
    return finding(counted, "first-number", share, said, rule)


def _first_time(counted: Counted, begins: Firsts) -> Finding:
    rule, about = counted.book["inflations.first-time"], counted.book["tap.first-time.about"].value
    held = [each.release - each.press for each in counted.long if each.release is not None]
    if not held:
        says = _("No inflation was a long one: hold each for {time}.").format(time=rule.text)
        return finding(counted, "first-time", 0, says, rule)
    right = [begins.low - about <= time <= begins.high + about for time in held]
    low, high = number(min(held), ".1f"), number(max(held), ".1f")
    says = _("They lasted from {low} to {high} s; {time} is asked for.")
    if low == high:
        says = _("Each lasted {low} s; {time} is asked for.")
    says = says.format(low=low, high=high, time=rule.text)
    return finding(counted, "first-time", sum(right) / len(right), says, rule)
