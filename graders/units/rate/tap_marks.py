"""Marks inflations counted by hand: the pace, the inflation time, how regular they are."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Any

from graders import watch
from graders.marks import checks
from graders.marks.verdict import Finding
from graders.units.rate.tap_begun import begun_findings
from graders.units.rate.tap_counted import FEWEST, Counted, finding, key, points
from workbook.cases import Question
from workbook.cases.pace import PER_MINUTE, longest, rate_rule
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.taps import (
    Taps,
    TapsError,
    parted,
    read_taps,
    steady,
    timing,
)
from workbook.taps.rhythm import PAUSE
from workbook.units.rate.case.rhythms import count_at, first_time, firsts, left_in_lung

HELD = 1 / 3  # of a cycle that a counting hand occludes, in a model answer of two paces
LEAD = 0.5  # s before the first inflation of a model answer
APART = 1.0  # s between two long inflations of a model answer
MOST_HELD = 0.9  # of a cycle, and
# A hazard, and the parts that it is seen in.
_SHOWN_BY = {"long": ("held", "first-number"), "fast": ("pace",), "slow": ("pace",)}
LEAST_HELD = 0.02  # s: what the model can still tell from always or never occluded


def model_taps(asked: Question, book: RuleBook) -> dict[str, Any]:
    """Return the record of a steady hand that does what is asked."""
    held = count_at(asked.facts["rate"], book).inflation
    return tapped(asked, held, long=begun(asked, book))


def tapped(
    asked: Question, held: float, faster: float = 1.0, long: Sequence[float] = ()
) -> dict[str, Any]:
    """Return the record of a steady hand that holds each inflation for ``held`` seconds.

    It begins with ``long`` inflations of these times (s), and lets go for ``APART`` after each.
    """
    drawn, pace = asked.facts["distraction"], asked.facts["rate"] * faster
    answered = key()["distraction"][drawn]["right"] if drawn else ""
    events: list[list[Any]] = []
    start = LEAD
    for time in long:
        events += [[round(start, 4), "press"], [round(start + time, 4), "release"]]
        start += time + APART
    made = steady(pace, held, float(asked.facts["duration"]), start=start, answered=answered)
    return made | {"events": [*events, *made["events"]]}


def tapped_then(asked: Question, faster: float, since: float) -> dict[str, Any]:
    """Return the record of a hand that keeps the pace until ``since`` (s), then is so much faster.

    In both it occludes for ``HELD`` of a cycle.
    """
    calm, hurried = (tapped(asked, HELD * 60 / asked.facts["rate"] / by, by) for by in (1, faster))
    first = [row for row in calm["events"] if row[0] < since]
    if first and first[-1][1] == "press":
        first.pop()
    begin = first[-1][0] + (1 - HELD) * 60 / asked.facts["rate"] - LEAD if first else 0.0
    moved = [[round(row[0] + begin, 4), row[1]] for row in hurried["events"]]
    later = [row for row in moved if row[0] <= asked.facts["duration"]]
    return calm | {"events": [*first, *later]}


def begun(asked: Question, book: RuleBook) -> list[float]:
    """Return the times (s) of the long inflations that this counting is to begin with."""
    begins = firsts(book) if asked.facts["begins"] else None
    return [begins.held] * begins.count if begins else []


def marks(asked: Question, value: Any, book: RuleBook) -> tuple[Finding, ...]:
    """Return a finding for each criterion of a counting by hand."""
    try:
        taps = read_taps(value)
    except TapsError as error:
        return checks.unreadable(asked.id, points(asked.id), str(error), critical=True)
    if taps.duration != asked.facts["duration"]:
        says = _("it lasts another time than was asked for. Tap again.")
        return checks.unreadable(asked.id, points(asked.id), says, critical=True)
    begins = firsts(book) if asked.facts["begins"] else None
    long, rest = parted(taps, begins.least) if begins else ((), taps)
    counted = Counted(asked, rest, timing(rest), book, long, begins)
    first = tuple(begun_findings(counted, begins)) if begins and taps.inflations else ()
    if len(counted.timing.intervals) < FEWEST:
        found = (*first, _too_few(counted, sum(each.possible for each in first)))
    else:
        found = (*first, *_findings(counted))
    shown = {each.criterion.removeprefix(f"{asked.id}-"): each.misconception for each in found}
    beliefs = {
        kind: next((shown[part] for part in parts if shown.get(part)), "")
        for kind, parts in _SHOWN_BY.items()
    }
    care, within = watch.of_taps(taps), watched(asked, book)
    return (*found, *watch.findings("tap", asked.id, care, within, book, beliefs))


def watched(asked: Question, book: RuleBook) -> watch.Bounds:
    """Return what a baby may meet in a counting by hand."""
    begins = firsts(book) if asked.facts["begins"] else None
    return watch.bounds(
        book,
        rate=(asked.facts["low"], asked.facts["high"]),
        longest=longest(book).band[1],
        first=(begins.count, begins.high) if begins else (0, 0.0),
    )


def _too_few(counted: Counted, before: float) -> Finding:
    notes = " ".join(counted.timing.notes)
    says = _("Too few inflations in a row to tell a rate. {notes} Tap again for the whole time.")
    if counted.long:
        says = _(
            "Too few ordinary inflations to tell a rate. {notes} Tap again for the whole time."
        )
    if counted.long and not counted.taps.inflations:  # long ones were tapped
        notes = _("After the long ones none was tapped.")
    left = points(counted.asked.id) - before - watch.worth("tap")
    says = says.format(notes=notes)
    return Finding(counted.asked.id, False, says, 0.0, left, True)


# --- all that is marked of an ordinary count


def _findings(counted: Counted) -> Iterator[Finding]:
    yield _pace(counted)
    yield _held(counted)
    yield _regular(counted)
    if "answered" in counted.worth:
        yield _answered(counted)


# --- the pace


def _pace(counted: Counted) -> Finding:
    rule, judged = rate_rule(counted.book), counted.judged
    low, high = counted.timing.rate_interval or (0.0, math.inf)
    between = number(low, ".1f"), number(high, ".1f")
    said = _("You gave {rate}, surely between {low} and {high}; {wanted} is asked for.")
    if between[0] == between[1]:
        said = _("You gave {rate}; {wanted} is asked for.")
    said = said.format(
        rate=_a_minute(counted.timing.rate),
        low=between[0],
        high=between[1],
        wanted=_wanted(counted),
    )
    if judged == "inside":
        return finding(counted, "pace", 1, said, rule)
    if judged == "not yet sure":
        unsure = _("That is not yet sure: tap longer, and as evenly as you can.")
        says = f"{said} {unsure}"
        return finding(counted, "pace", 0.5, says, rule, belief=_rushes(counted))
    fast = low > counted.asked.facts["high"]
    says = f"{said} {_why(counted, fast)}"
    return finding(counted, "pace", 0, says, rule, belief=_rushes(counted))


def _a_minute(rate: float | None) -> str:
    return plain(round(rate or 0.0, 1), PER_MINUTE)


def _wanted(counted: Counted) -> str:
    low, high = counted.asked.facts["low"], counted.asked.facts["high"]
    return checks.span(low, high, PER_MINUTE)


def _rushes(counted: Counted) -> str:
    """Name the belief where the hand was not too fast until it was asked something, then surely so.

    A hand too fast from its first beats is fast whatever it is asked.
    """
    if not counted.asked.facts["distraction"]:
        return ""
    high, at = counted.asked.facts["high"], counted.asked.shows["distraction"]["at"]
    before, after = (timing(part) for part in _split(counted.taps, at))
    calm = len(before.intervals) >= FEWEST and (before.rate or 0.0) <= high
    sure = after.rate_interval
    hurried = len(after.intervals) >= FEWEST and sure is not None and sure[0] > high
    return "rushes-when-distracted" if calm and hurried else ""


def _split(taps: Taps, at: float) -> tuple[Taps, Taps]:
    """Return the taps before and from a moment (s) on."""
    before = tuple(each for each in taps.inflations if each.press < at)
    return (
        replace(taps, inflations=before),
        replace(taps, inflations=taps.inflations[len(before) :]),
    )


def _why(counted: Counted, fast: bool) -> str:
    if not fast:
        return _("That is too slow: shorten every beat alike, and count aloud.")
    if not _traps_more(counted):
        return _("That is too fast: lengthen every beat alike, and count aloud.")
    says = _(
        "That is too fast: in a soft lung this rhythm leaves {left} above PEEP after a release."
    )
    return says.format(left=plain(round(_left(counted), 1), "cmH2O"))


def _left(counted: Counted) -> float:
    """Return the pressure that the learner's rhythm leaves in a soft lung."""
    rate, held = counted.timing.rate or 0.0, counted.timing.inflation_time or 0.0
    return _stays(counted, rate, min(held, MOST_HELD * 60 / rate))


def _stays(counted: Counted, rate: float, held: float) -> float:
    pip, peep = (counted.book[id].value for id in ("pip.example", "peep.example"))
    return left_in_lung(pip, peep, rate, max(held, LEAST_HELD), counted.book)


def _traps_more(counted: Counted) -> bool:
    """Say whether more gas stays behind than at the fastest rate that is asked for."""
    fastest = counted.asked.facts["high"]
    usual = count_at(fastest, counted.book).inflation
    return _left(counted) > _stays(counted, fastest, usual)


# --- the inflation time


def _held(counted: Counted) -> Finding:
    book, share, time = counted.book, counted.timing.held_share, counted.timing.inflation_time
    if share is None or time is None:
        says = _("No inflation has an end: let go for each release.")
        return finding(counted, "held", 0, says, book["count.occlude-beats"])
    limit, usual = longest(book), book["tap.held-share"]
    said = _("An inflation lasts {time} s, inflation to release 1:{release}.").format(
        time=number(time, ".2f"), release=number(counted.timing.ratio or 0.0, ".1f")
    )
    if time > (limit.high or time) + 1e-6:
        grave = _("That is far too long: {limit} for an ordinary inflation.")
        says = f"{said} {grave.format(limit=limit.text)}"
        belief = _long_belief(share, time, book)
        return finding(counted, "held", 0, says, limit, belief=belief)
    if usual.holds(100 * share):
        return finding(counted, "held", 1, said, usual)
    long = share > usual.band[0] / 100
    advice = (
        _("That is too long: let go for two beats of three.") if long
        else _("That is too short: hold for the whole beat.")
    )  # fmt: skip
    belief = _long_belief(share, time, book) if long else ""
    rule = book["count.release-beats"]
    return finding(counted, "held", 0, f"{said} {advice}", rule, belief=belief)


def _long_belief(share: float, time: float, book: RuleBook) -> str:
    """Name what a long inflation shows: a long first one, a turned ratio, or two equal parts."""
    if first_time(book).holds(time):
        return "long-first-for-all"
    on, off = (book[f"count.{part}-beats"].value for part in ("occlude", "release"))
    turned, equal = off / (on + off), 1 / 2
    if share >= (turned + equal) / 2:
        return "ratio-turned-round"
    return "" if book["tap.held-share"].holds(100 * share) else "equal-times"


# --- how regular


def _regular(counted: Counted) -> Finding:
    rule, timing = counted.book["tap.variation"], counted.timing
    spread = 100 * (timing.variation or 0.0)
    said = _("The intervals vary by {spread}; {rule} is regular.").format(
        spread=plain(round(spread, 1), "percent"), rule=rule.text
    )
    drift = {"slowing": _("The count is slowing."), "quickening": _("The count is quickening.")}
    said = f"{said} {drift.get(timing.drift_says, '')}".strip()
    stopped = _stopped(counted)
    notes = [*timing.notes, *stopped]
    even, whole = rule.holds(spread), not (timing.missed or timing.pauses or stopped)
    share = (0.5 if not whole else 1.0) if even else 0.0
    return finding(counted, "regular", share, " ".join([said, *notes]), rule)


def _stopped(counted: Counted) -> list[str]:
    """Say where no inflation was given for long: before the count, or before its end."""
    taps, long = counted.taps, counted.long
    last = taps.inflations[-1].release or taps.duration
    since = (long[-1].release or 0.0) if long else 0.0
    late, early = taps.inflations[0].press - since > PAUSE, taps.duration - last > PAUSE
    at_start = _("At the start no inflation was given for more than {seconds} seconds.")
    if long:
        at_start = _("After the long inflations none was given for more than {seconds} seconds.")
    at_end = _("At the end no inflation was given for more than {seconds} seconds.")
    told = [says for says, is_so in ((at_start, late), (at_end, early)) if is_so]
    return [says.format(seconds=number(PAUSE)) for says in told]


def _answered(counted: Counted) -> Finding:
    drawn = key()["distraction"][counted.asked.facts["distraction"]]
    options = {o["id"]: o["text"] for o in counted.asked.shows["distraction"]["options"]}
    said, right = options.get(counted.taps.answered, ""), options[drawn["right"]]
    rule = counted.book[drawn["rule"]]
    if said == right:
        says = _("Answered while counting: {answer}").format(answer=said)
        return finding(counted, "answered", 1, says, rule)
    chose = _("You chose: {answer} Right is: {right}").format(answer=said, right=right)
    open_ = _("The question asked meanwhile is open: {right}").format(right=right)
    return finding(counted, "answered", 0, chose if said else open_, rule)
