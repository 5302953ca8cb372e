"""Prompts while practising: what to look at next, and what follows from it by the edition.

They know no more than a team: what is seen and what was done, never the hidden course. Guided
prompts say what follows; faded ones only ask.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from workbook.core.language import _, number
from workbook.rules import RuleBook
from workbook.scenario.acts import CORRECTIVE, NEW_AIRWAYS
from workbook.scenario.replay import Replay

GUIDED, FADED = "guided", "faded"
SAID = 30.0  # s for which a heart rate that was said counts
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
    def rate(self) -> float | None:
        """Return the heart rate that was said last, not long ago."""
        said = [one for one in self.made.played.done if one.act == "heart-rate"]
        return float(said[-1].what) if said and self.now - said[-1].time <= SAID else None

    @property
    def moving(self) -> float:
        """Return since when (s) the chest has moved with each inflation, for how long."""
        since = None
        for one in self.made.inflations:
            since = None if one.chest == "still" else since or one.start
        return 0.0 if since is None else self.now - since

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


def _support(at: _Stand) -> Iterator[tuple[str, str]]:
    if at.breathes:
        if at.seen["breathing"] == "draws-in" and not at.on:
            yield (
                _("The baby breathes, and draws in. What helps it?"),
                _("CPAP: the mask on, the hole open, no inflation."),
            )
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


def _chest(at: _Stand) -> Iterator[tuple[str, str]]:
    tries = at.made.demands.number("try") or 1
    if at.still < tries or at.bagged or at.breathes:
        return
    asks = _("The chest does not move. What is the next step?")
    steps = (
        (("mask-adjust", "two-hands"), _("Place the mask anew.")),
        (("reposition",), _("Reposition the head.")),
        (("suction",), _("Suction mouth and nose.")),
        (("open-mouth",), _("Open the mouth, lift the jaw.")),
        (("pip",), _("Raise PIP by a step.")),
        (NEW_AIRWAYS, _("Call for help, place another airway, confirm it.")),
    )
    since = at.last.get("connect", 0.0)
    left = [says for acts, says in steps if not any(at.last.get(a, -1.0) > since for a in acts)]
    if left:
        yield asks, left[0]


def _heart(at: _Stand) -> Iterator[tuple[str, str]]:
    again = at.made.demands.number("reassess") or at.book["scenario.look"].value
    slow, pressed = at.made.demands.number("compress"), at.last.get("compress", -1.0)
    pressing = pressed > at.last.get("compress-stop", -1.0)
    if at.rate is not None and slow is not None:
        if at.rate < slow and at.moving >= again and not pressing:
            yield (
                _("The chest moves and the heart is still slow. What follows?"),
                _("Call for help, turn the oxygen up, begin compressions."),
            )
        if at.rate >= slow and pressing:
            yield _("The heart is faster. What may end?"), _("Stop compressions, go on inflating.")
    if at.now - at.last.get("listen", -again) >= again and at.on:
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
    if shown[1] > target[1]:
        yield _("The saturation is above its band. What follows?"), _("Turn the oxygen down.")
    elif shown[1] < target[0]:
        yield _("The saturation is below its band. What follows?"), _("Turn the oxygen up.")
