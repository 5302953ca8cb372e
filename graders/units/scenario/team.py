"""What is said: the chest and the heart rate aloud, and help called where it is needed."""

from __future__ import annotations

from collections.abc import Iterator

from graders.units.scenario.airway import longest_wait, spells
from graders.units.scenario.facts import MOVES, STILL, Facts
from graders.units.scenario.heart import longest_slow
from graders.units.scenario.slip import Criterion, Slip
from workbook.scenario.acts import NEW_AIRWAYS
from workbook.scenario.changes import Ordered
from workbook.scenario.helper import left_misheard

CHEST = ("chest-still", "chest-moves")
HEART = "heart-please"
GAS = "gas-fails"
_HALVED = ("chest-unsaid", "heart-unsaid", "misheard")


def judged(facts: Facts) -> Iterator[Criterion]:
    """Yield the criteria of the team."""
    slip = _aloud(facts)
    share = 1 / 2 if slip is not None and slip.cause in _HALVED else 0.0
    yield Criterion("aloud", "scenario.aloud", slip, share=share)
    if _help_due(facts):
        yield Criterion("help", "scenario.aloud", None if _called(facts) else Slip("no-help"))


def lines(facts: Facts) -> set[str]:
    """Return which lines were said."""
    return {str(one.done.what) for one in facts.did("say")}


def _aloud(facts: Facts) -> Slip | None:
    said, rates = lines(facts), bool(facts.did("heart-rate"))
    if not said and not rates:
        return Slip("silent")
    wrong = [one.begins for one in facts.did("say") if _untrue(facts, one)]
    if wrong:
        return Slip("untrue", at=wrong[0])
    if HEART not in said and not rates:
        return Slip("heart-unsaid")
    chest = bool(said.intersection(CHEST)) or (facts.born_breathing and not facts.given)
    return _misheard(facts) if chest else Slip("chest-unsaid")


def _misheard(facts: Facts) -> Slip | None:
    """Return the slip of a line that the helper heard wrong, and that nobody put right in time."""
    within = facts.book["scenario.again"].band[1]
    left = left_misheard(facts.case, facts.made.played.done, within)
    over = left is not None and facts.end - left.time > within  # a case may end before
    return Slip("misheard", at=left.time) if left is not None and over else None


def _untrue(facts: Facts, one: Ordered) -> bool:
    """Say whether a line was not so: the chest did the contrary, or the gas had not failed."""
    line, time = one.done.what, one.begins
    if line == GAS:
        fails = facts.case.hidden.fails
        return fails is None or time < fails
    opposite = {"chest-still": MOVES, "chest-moves": STILL}.get(line)
    last = [each for each in facts.given if each.start <= time]
    seen = facts.book["scenario.chest.seen"].value
    fresh = bool(last) and time - last[-1].end <= seen
    return fresh and last[-1].chest == opposite


def _help_due(facts: Facts) -> bool:
    waits = [longest_wait(one)[0] for one in spells(facts) if one.still]
    slow = longest_slow(facts)[0] > facts.limits.escalate
    return bool(
        facts.did("compress", *NEW_AIRWAYS) or slow or _gas(facts)
        or max(waits, default=0.0) > facts.limits.still
    )  # fmt: skip


def _gas(facts: Facts) -> bool:
    fails = facts.case.hidden.fails
    return fails is not None and fails <= facts.end and facts.needs(fails)


def _called(facts: Facts) -> bool:
    return bool(facts.did("call")) or (_gas(facts) and GAS in lines(facts))
