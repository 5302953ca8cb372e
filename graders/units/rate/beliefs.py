"""Which beliefs the drawn questions on counting show."""

from __future__ import annotations

from typing import Any

from graders.marks.shown import Beliefs, Shown, Spoken, Typed
from graders.units.rate import marks as rate_counting
from graders.units.rate import tap_counted
from workbook.cases import Question, pace
from workbook.rules import RuleBook
from workbook.units.rate.case import rhythms
from workbook.units.rate.case.questions import HEARD, TAPPED

_RATES = ("one-rate-everywhere", "slow-rate-everywhere")
_TAPS = (
    "equal-times", "ratio-turned-round", "begins-at-once", "long-first-for-all",
    "rushes-when-distracted",
)  # fmt: skip


def _paces(asked: Question, book: RuleBook) -> list[tuple[str, list[str]]]:
    """Return each belief about a rate with the paces that are chosen by it, where they are wrong.

    Two beliefs may choose the same ones.
    """
    right = rate_counting.paces_within(asked, pace.rate_band(book))
    held = [("one-rate-everywhere", rhythms.usual_band(book))]
    held += [("slow-rate-everywhere", band) for band in rhythms.slow_bands(book)]
    made = [(belief, rate_counting.paces_within(asked, band)) for belief, band in held]
    return [(belief, paces) for belief, paces in made if paces and paces != right]


def _pace_beliefs(asked: Question, book: RuleBook) -> Beliefs:
    return list(dict.fromkeys(belief for belief, _ in _paces(asked, book)))


def _pair(asked: Question, book: RuleBook) -> Beliefs:
    return list(rate_counting.pair_beliefs(asked, book).values())


def _heard(asked: Question, book: RuleBook) -> Beliefs:
    belief = rate_counting.heard_belief(asked, book)
    return [belief, *_also_heard(belief)] if belief else []


def _also_heard(belief: str) -> tuple[str, ...]:
    """Return what else a rhythm that is heard as good may show.

    One too fast here is the usual one elsewhere.
    """
    return ("faster-ventilates-better",) if belief == "one-rate-everywhere" else ()


def _typed(asked: Question, book: RuleBook) -> Typed:
    counted = {"stretch-is-a-minute": float(asked.facts["inflations"])}
    return Typed(float(asked.facts["rate"]), 0.0, counted)


def _strip(asked: Question, book: RuleBook) -> Beliefs:
    return _typed(asked, book).shown()


def shared(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs that lead to the very same answer as a sign that was shown."""
    if asked.id == "strip-rate":
        return _typed(asked, book).shared(sign)
    if asked.id == "count-paces":
        made = _paces(asked, book)
        return tuple(belief for belief, paces in made if belief != sign and paces == value)
    return _also_heard(sign) if asked.id in HEARD else ()


def _trapped(asked: Question, book: RuleBook) -> Beliefs:
    return list(rate_counting.trapped_beliefs(asked, book).values())


def _taps(asked: Question, book: RuleBook) -> Beliefs:
    found = ["equal-times", "ratio-turned-round"]
    if asked.facts["begins"]:
        found.append("begins-at-once")
    if rhythms.firsts(book):
        found.append("long-first-for-all")
    return [*found, "rushes-when-distracted"] if asked.facts["distraction"] else found


SHOWN: Shown = {
    "strip-rate": _strip,
    "count-paces": _pace_beliefs,
    "count-cpr": _pair,
    **dict.fromkeys(HEARD, _heard),
    **dict.fromkeys(TAPPED, _taps),
    "trapped": _trapped,
}
SPOKEN: Spoken = {
    "strip-rate": lambda: ("stretch-is-a-minute",),
    "count-paces": lambda: _RATES,
    "count-cpr": lambda: [
        belief for each in tap_counted.key()["pair"].values() for belief in each.values()
    ],
    **dict.fromkeys(HEARD, lambda: ("ratio-turned-round", "faster-ventilates-better", *_RATES)),
    **dict.fromkeys(TAPPED, lambda: _TAPS),
    "trapped": lambda: (
        "same-pip-same-gas", "stiff-lung-traps", "only-rate-traps", "slow-rate-traps"
    ),
}  # fmt: skip
