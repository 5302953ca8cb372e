"""Prompts while practising: what to look at next, and what follows from it by the edition.

They know no more than a team: what is seen and what was done, never the hidden course. Guided
prompts say what follows; faded ones only ask.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from workbook.core.language import _, number
from workbook.physics.baby.constants import k
from workbook.rules import RuleBook
from workbook.scenario.acts import ACTS, CORRECTIVE, HELPER, NEW_AIRWAYS, seconds
from workbook.scenario.changes import ordered
from workbook.scenario.helper import answers
from workbook.scenario.replay import PERCENT, Replay

GUIDED, FADED = "guided", "faded"
SAID = 30.0  # s for which a heart rate that was said counts
SPOKEN = ("say", "heart-rate")
PRESSING = "hr.reassess-compressions"
BREATHES = ("breathes", "draws-in")


def prompt(made: Replay, seen: Mapping[str, Any], book: RuleBook, how: str) -> str:
    """Return the prompt for now, or nothing: ``how`` is guided, faded or nothing."""
    if not how:
        return ""
    asks, says = next(_due(_Stand(made, seen, book)), ("", ""))
    return f"{asks} {says}" if how == GUIDED else asks


class _Stand:
    """What a team knows now."""

    def __init__(self, made: Replay, seen: Mapping[str, Any], book: RuleBook) -> None:
        self.made, self.seen, self.book = made, seen, book
        self.now = made.played.duration
        self.done = [one.act for one in made.played.done]
        self.last = {one.act: one.time for one in made.played.done}
        acts = ordered(made.played, seconds(book))
        self.ends = {one.done.act: one.ends for one in acts}
        hands = [one.ends for one in acts if ACTS[one.done.act].by != HELPER]
        self.free = max(hands, default=0.0)  # when the hands have done what they do

    @property
    def breathes(self) -> bool:
        return self.seen["breathing"] in BREATHES

    @property
    def on(self) -> bool:
        """Say whether something is on the face: the T-piece's mask, a bag, a new airway."""
        put = max(self.last.get(a, -1.0) for a in ("connect", "bag", "t-piece", *NEW_AIRWAYS))
        return put > self.last.get("open", -1.0)

    @property
    def bagged(self) -> bool:
        return self.last.get("bag", -1.0) > self.last.get("t-piece", -1.0)

    @property
    def waits(self) -> bool:
        """Say whether the T-piece has given nothing for too long a pause."""
        if self.bagged or not self.made.inflations:
            return False
        last = max(self.made.inflations[-1].end, self.free)
        return self.now - last > self.book["scenario.pause"].band[1]

    @property
    def inflates(self) -> bool:
        """Say whether an inflation was given lately."""
        pause, given = self.book["scenario.pause"].band[1], self.made.inflations
        return bool(given) and self.now - given[-1].end <= pause

    @property
    def misheard(self) -> bool:
        """Say whether the last line that was said came back wrong, not long ago."""
        said = [a for a in answers(self.made.case, self.made.played.done) if a.act in SPOKEN]
        within = self.book["scenario.again"].band[1]
        return bool(said) and not said[-1].right and self.now - said[-1].time <= within

    @property
    def oxygen(self) -> float:
        """Return where the oxygen dial stands (percent)."""
        turned = [one.what for one in self.made.played.done if one.act == "oxygen"]
        return float(turned[-1] if turned else self.made.case.oxygen)

    def rate(self, since: float) -> float | None:
        """Return the heart rate said last, if its beats were counted from a time on (s)."""
        said = [one for one in self.made.played.done if one.act == "heart-rate"]
        counted = self.ends.get("listen", -1.0)
        if not said or not since <= counted <= said[-1].time or self.now - said[-1].time > SAID:
            return None
        return float(said[-1].what)

    @property
    def moving(self) -> float | None:
        """Return since when (s) the chest has moved well with each inflation."""
        since = None
        for one in self.made.inflations:
            since = (one.start if since is None else since) if one.chest == "moves" else None
        return since

    @property
    def again(self) -> float:
        """Return after how long (s) the heart is looked at again: longer during compressions."""
        rules = self.book.all(PRESSING) if self.pressing and PRESSING in self.book else ()
        stated = [rule.band[0] for rule in rules if rule.stated]
        look = self.made.demands.number("reassess") or self.book["scenario.look"].value
        return stated[0] if stated else look

    @property
    def pressing(self) -> bool:
        """Say whether somebody compresses."""
        return self.last.get("compress", -1.0) > self.last.get("compress-stop", -1.0)

    @property
    def still(self) -> int:
        """Return how many inflations running left the chest still since the last step."""
        after = max(self.last.get(act, -1.0) for act in (*CORRECTIVE, "pip", "connect"))
        count = 0
        for one in reversed(self.made.inflations):
            if one.chest != "still" or one.start < after:
                break
            count += 1
        return count


def _due(at: _Stand) -> Iterator[tuple[str, str]]:
    """Yield what is due, the first thing first: a question, and what follows."""
    yield from _gas(at)
    yield from _team(at)
    if at.now < at.book["scenario.time.dry"].value and "dry" not in at.done:
        yield _("The baby is born. What comes first?"), _("Warm and dry, and look at breathing.")
    yield from _support(at)
    yield from _chest(at)
    yield from _heart(at)
    yield from _oxygen(at)


def _gas(at: _Stand) -> Iterator[tuple[str, str]]:
    last = at.made.inflations[-1] if at.made.inflations else None
    if last and not at.bagged and at.on and at.now - last.end < SAID and last.top < at.made.rest:
        yield (
            _("The hole was covered. Where did the needle go?"),
            _("It stays near zero: the gas has failed. Take the bag, and say so."),
        )


def _team(at: _Stand) -> Iterator[tuple[str, str]]:
    placed = max(at.ends.get(act, -1.0) for act in NEW_AIRWAYS)
    if -1.0 < placed <= at.now and at.last.get("confirm", -1.0) < placed:
        yield (
            _("A new airway lies. Is it right?"),
            _("Confirm it at once: carbon dioxide, chest, heart rate."),
        )
    if at.misheard:
        yield (
            _("What did your colleague repeat?"),
            _("Something else than you had said. Say it once more."),
        )


def _support(at: _Stand) -> Iterator[tuple[str, str]]:
    if at.breathes:
        yield from _breathing(at)
        return
    if not at.on:
        yield (
            _("Does the baby breathe well by itself?"),
            _("It does not: put the mask on and inflate."),
        )
    elif not at.made.inflations and not at.bagged:
        rate = at.made.demands.band("rate") or at.book["count.rate"].band
        low, high = number(rate[0]), number(rate[1])
        says = _("Cover the hole, let go, and look at the chest: {low} to {high} a minute.")
        yield _("The mask is on. What does the baby need?"), says.format(low=low, high=high)
    elif at.waits:
        yield (
            _("Who inflates now?"),
            _("Nobody inflates, and the baby does not breathe. Go on: cover the hole, let go."),
        )


def _breathing(at: _Stand) -> Iterator[tuple[str, str]]:
    if at.seen["breathing"] == "draws-in" and not at.on:
        yield (
            _("The baby breathes, and draws in. What helps it?"),
            _("CPAP: the mask on, the hole open, no inflation."),
        )
    fast, rate = at.made.demands.number("ventilate"), at.rate(0.0)
    if at.inflates and rate is not None and fast is not None and rate >= fast:
        yield (
            _("The baby breathes, and the heart is fast. What now?"),
            _("Stop inflating; hold PEEP by the mask, and look."),
        )


def _chest(at: _Stand) -> Iterator[tuple[str, str]]:
    if at.bagged or at.breathes or not at.made.inflations:
        return
    asks = _("The chest does not move. What is the next step?")
    mask = (("mask-adjust", "two-hands"), _("Place the mask anew."))
    head = (("reposition",), _("Reposition the head."))
    suction = (("suction",), _("Suction mouth and nose."))
    mouth = (("open-mouth",), _("Open the mouth, lift the jaw."))
    steps = (
        ((mask, head), _("Place the mask anew, and reposition the head.")),
        ((suction, mouth), _("Suction mouth and nose, then open the mouth and lift the jaw.")),
        (((("pip",), ""),), _("Raise PIP by a step.")),
        (((NEW_AIRWAYS, ""),), _("Call for help, place another airway, confirm it.")),
    )
    since, due = at.last.get("connect", 0.0), at.still >= (at.made.demands.number("try") or 1)
    for acts, says in steps:
        left = [alone for act, alone in acts if not any(at.last.get(a, -1.0) > since for a in act)]
        begun = 0 < len(left) < len(acts)
        if (due or begun) and left and at.made.inflations[-1].chest == "still":
            yield asks, left[0] if begun else says
        if left:
            return


def _heart(at: _Stand) -> Iterator[tuple[str, str]]:
    slow, well = at.made.demands.number("compress"), at.moving
    since = at.last.get("compress", 0.0) if at.pressing else at.now if well is None else well
    rate = at.rate(since + at.again)
    if rate is not None and slow is not None:
        if rate < slow and not at.pressing:
            placed = any(act in at.done for act in NEW_AIRWAYS)
            yield (
                _("The chest moves and the heart is still slow. What follows?"),
                _("Call for help, turn the oxygen up, begin compressions.") if placed else
                _("Call for help; another airway, confirmed; oxygen up, then compressions."),
            )  # fmt: skip
        if rate > slow and at.pressing:
            yield _("The heart is faster. What may end?"), _("Stop compressions, go on inflating.")
    counted = at.ends.get("listen", -at.again)  # or will be, where a count is under way
    late = at.now - max(counted, since if at.pressing else counted) >= at.again
    unseen = well is not None and not at.pressing and counted < well + at.again <= at.now
    if at.on and (late or unseen):
        yield (
            _("How fast is the heart now?"),
            _("Have the beats counted; count, multiply, and say the rate."),
        )


def _oxygen(at: _Stand) -> Iterator[tuple[str, str]]:
    if "oximeter" not in at.done:
        yield (
            _("How will you know the saturation?"),
            _("Have the oximeter put on the right hand."),
        )
        return
    shown, target = at.seen["oximeter"], at.made.demands.target(at.now)
    again = at.made.demands.number("reassess") or at.book["scenario.look"].value
    if isinstance(shown, str) or target is None or at.now - at.last.get("oxygen", -again) < again:
        return
    if at.pressing or at.bagged:  # then oxygen is what the edition says, or the bag's
        return
    if shown[1] > target[1] and at.oxygen > round(PERCENT * k("air")):
        yield _("The saturation is above its band. What follows?"), _("Turn the oxygen down.")
    elif shown[1] < target[0] and at.oxygen < PERCENT:
        yield _("The saturation is below its band. What follows?"), _("Turn the oxygen up.")
