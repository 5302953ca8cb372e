"""Runs at the bench with one harm put in: at the start, in the middle, at the end.

Written from what each hazard means at a bedside, not from how the watch finds it. ``mended`` is a
hand that ends the harm itself at once; else it goes on for longer.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from random import Random
from typing import Any

from workbook.bench import DIALS, Hands, Touch, read_hands
from workbook.cases import Question

PLACES = ("start", "middle", "end")
REST = 0.4  # s between a harm and the care around it


def put(touches: Sequence[Touch], end: float, part: Sequence[Touch], lasts: float, place: str):
    """Return touches and end with a part put in where nobody holds the aperture."""
    releases = [0.0, *(t.time for t in touches if t.kind == "release")]
    at = {"start": 0.0, "middle": releases[len(releases) // 2], "end": releases[-1]}[place] + 0.05
    before = [t for t in touches if t.time <= at]
    after = [replace(t, time=t.time + lasts) for t in touches if t.time > at]
    inside = [replace(t, time=t.time + at) for t in part]
    return (*before, *inside, *after), end + lasts


def inflations(count: int, period: float, held: float, begin: float = REST) -> list[Touch]:
    """Return touches of some inflations."""
    made = []
    for n in range(count):
        made += [Touch(begin + n * period, "occlude"), Touch(begin + n * period + held, "release")]
    return made


def turned(stands: Mapping[str, int], **dials: int) -> tuple[list[Touch], list[Touch]]:
    """Return touches that turn controls, and those that turn them back (times still to be set)."""
    there = [Touch(0.0, dial, position) for dial, position in dials.items()]
    back = [Touch(0.0, dial, stands[dial]) for dial in dials]
    return there, back


def spoiled(stands: Mapping[str, int], period: float, count: int, **dials: int):
    """Return a part in which controls stand elsewhere for some inflations, and its length."""
    there, back = turned(stands, **dials)
    lasts = REST + count * period
    return [*there, *inflations(count, period, period / 3), *(replace(t, time=lasts) for t in back)
            ], lasts + 0.05  # fmt: skip


def stands_at(question: Question, touches: Sequence[Touch], place: str) -> dict[str, int]:
    """Return where the controls stand at a place of a run."""
    now = dict(question.facts["bench"]["positions"])
    releases = [0.0, *(t.time for t in touches if t.kind == "release")]
    at = {"start": 0.0, "middle": releases[len(releases) // 2], "end": releases[-1]}[place] + 0.05
    for touch in touches:
        if touch.position is not None and touch.time <= at:
            now[touch.kind] = touch.position
    return now


TOP = {dial: DIALS[dial].clicks for dial in DIALS}


def harms(question: Question, stands: Mapping[str, int], *, mended: bool) -> dict[str, tuple]:
    """Return harm -> (touches, length) to put into a run that ventilates."""
    period = 60 / question.facts["rate"]
    few, many = 1, max(8, int(14 / period) + 1)
    long = 3.2 if mended else 5.0
    pause = {"start": 11.0, "middle": 6.0, "end": 11.0}
    return {
        "pressure": spoiled(stands, period, few if mended else many, relief=TOP["relief"],
                            pip=TOP["pip"] - 1),
        "flow": spoiled(stands, period, few if mended else many, relief=TOP["relief"],
                        pip=TOP["pip"] - 1, flow=TOP["flow"]),
        "long": ([Touch(REST, "occlude"), Touch(REST + long, "release")], REST + long + REST),
        "gap": ([], 0.8 + (max(pause.values()) if mended else 25.0)),
        "mask off": ([Touch(0.1, "open"), Touch(14.0, "connect")], 14.2),
        "fast": (inflations(40, 0.4, 0.13), REST + 40 * 0.4),
        "slow": (inflations(6, 4.2, 1.0), REST + 6 * 4.2 - 2.5),
        "peep-high": spoiled(stands, period, 3 * many, peep=TOP["peep"]),
    }  # fmt: skip


def with_harm(
    question: Question, answer: Mapping[str, Any], harm: str, place: str, *, mended: bool
) -> dict[str, Any]:
    """Return a run with one harm put in."""
    hands = read_hands(answer)
    stands = stands_at(question, hands.touches, place)
    part, lasts = harms(question, stands, mended=mended)[harm]
    touches, end = put(hands.touches, hands.duration, part, lasts, place)
    return Hands(end, tuple(touches)).to_data()


def by_human(answer: Mapping[str, Any], chance: Random, spread: float = 0.03) -> dict[str, Any]:
    """Return a run as a hand gives it: each touch a little early or late, a thumb that bounces."""
    hands, made, last = read_hands(answer), [], 0.0
    for touch in hands.touches:
        last = max(last + 0.01, touch.time + chance.gauss(0, spread))
        made.append(replace(touch, time=last))
        if touch.kind == "occlude" and chance.random() < 0.02:  # the thumb bounces
            made += [Touch(last + 0.03, "release"), Touch(last + 0.06, "occlude")]
            last += 0.06
    return Hands(max(hands.duration, last) + abs(chance.gauss(0, 1.5)), tuple(made)).to_data()


Made = Callable[..., dict[str, Any]]
