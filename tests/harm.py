"""Runs with one harm put in: at the start, in the middle, at the end.

Written from what each harm means at a bedside, not from how the watch finds it. ``mended`` is a
hand that ends the harm itself at once; else it goes on for longer.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from random import Random
from typing import Any

from workbook.bench import DIALS, Hands, Touch, read_hands
from workbook.cases import Question

PLACES = ("start", "middle", "end")
REST = 0.4  # s between a harm and the care around it
LONG = 14.0  # s: a harm that goes on
SHORT = 11.0  # s: a harm just long enough to be one, then ended
TOP = {dial: DIALS[dial].clicks for dial in DIALS}

Part = tuple[list[Touch], float]


def moment(touches: Sequence[Touch], place: str) -> float:
    """Return when a harm begins: with the baby attached and nobody holding the aperture."""
    begin = next((t.time for t in touches if t.kind == "connect"), 0.0)
    free = [begin, *(t.time for t in touches if t.kind == "release" and t.time > begin)]
    return {"start": free[0], "middle": free[len(free) // 2], "end": free[-1]}[place] + 0.05


def put(hands: Hands, part: Part, place: str) -> dict[str, Any]:
    """Return a run with a part put in; what came later comes later still."""
    (touches, lasts), at = part, moment(hands.touches, place)
    before = [t for t in hands.touches if t.time <= at]
    after = [replace(t, time=t.time + lasts) for t in hands.touches if t.time > at]
    inside = [replace(t, time=t.time + at) for t in touches]
    return Hands(hands.duration + lasts, (*before, *inside, *after)).to_data()


def inflations(count: int, period: float, held: float) -> Part:
    """Return some inflations and how long they take, the last release with them."""
    made = []
    for n in range(count):
        begin = REST + n * period
        made += [Touch(begin, "occlude"), Touch(begin + held, "release")]
    return made, REST + count * period


def around(part: Part, stands: Mapping[str, int], **dials: int) -> Part:
    """Return a part in which controls stand elsewhere, and are turned back after it."""
    touches, lasts = part
    there = [Touch(0.1, dial, position) for dial, position in dials.items()]
    back = [Touch(lasts, dial, stands[dial]) for dial in dials]
    return [*there, *touches, *back], lasts + 0.05


def stands_at(question: Question, touches: Sequence[Touch], place: str) -> dict[str, int]:
    """Return where the controls stand at a place of a run."""
    now = dict(question.facts["bench"]["positions"])
    for touch in touches:
        if touch.position is not None and touch.time <= moment(touches, place):
            now[touch.kind] = touch.position
    return now


def harm(
    kind: str, stands: Mapping[str, int], rate: tuple[float, float], *,
    place: str, mended: bool, begins: bool = False,
) -> Part:  # fmt: skip
    """Return a part of a run that does one harm, ended at once or gone on with.

    ``rate`` is the band asked for (1/min); each rate of harm lies 30 % outside it. ``begins``
    says that the edition itself begins with long inflations: then one of 3 s there is no harm.
    """
    period = 120 / sum(rate)
    seconds = SHORT if mended else LONG
    care = inflations(1 if mended else 4, max(period, 1.5), 0.9)
    above = {"relief": TOP["relief"], "pip": TOP["pip"] - 1}
    fast, slow = 60 / (1.3 * rate[1]), 60 / (rate[0] / 1.3)
    pause = (10.4 if place != "middle" else 5.3) if mended else 25.0
    one = 3.2 if mended and not (begins and place == "start") else 5.0
    rest = 6.5 if mended else 12.0  # s without an inflation would be a stop: so in the count
    resting = inflations(int(rest / (period - 0.3)) + 1, period, 0.3)
    return {
        "pressure": lambda: around(care, stands, **above),
        "flow": lambda: around(care, stands, **above, flow=TOP["flow"]),
        "one long": lambda: ([Touch(REST, "occlude"), Touch(REST + one, "release")],
                             2 * REST + one),
        "all long": lambda: inflations(8, 1.9, 1.4),
        "most long": lambda: _mixed(9),
        "gap": lambda: ([], pause),
        "mask off": lambda: ([Touch(0.1, "open"), Touch(pause - 0.1, "connect")], pause),
        "fast": lambda: inflations(int(seconds / fast) + 2, fast, fast / 3),
        "slow": lambda: inflations(int(seconds / slow) + 2, slow, slow / 3),
        "peep-high": lambda: around(resting, stands, peep=TOP["peep"]),
        "peep-lost": lambda: around(resting, stands, flow=max(1, stands["flow"] // 4)),
    }[kind]()  # fmt: skip


def _mixed(pairs: int) -> Part:
    """Return two long inflations and an ordinary one, again and again."""
    made, now = [], REST
    for n in range(pairs):
        held = 0.4 if n % 3 == 2 else 1.5
        made += [Touch(now, "occlude"), Touch(now + held, "release")]
        now += held + 0.6
    return made, now + REST


def by_human(
    answer: Mapping[str, Any], chance: Random, *, spread: float = 0.03, thinks: float = 4.0
) -> dict[str, Any]:
    """Return a run as a hand gives it.

    Each touch comes a little early or late (SD in s), some come late, a thumb bounces, PIP is
    turned two clicks too far and back, and the hand stops to think (s) before the baby is
    attached and before it says that it is done.
    """
    hands, made = read_hands(answer), []
    later, last = 0.0, 0.0
    for touch in hands.touches:
        if touch.kind == "connect":
            later += chance.uniform(0, thinks)
        late = 0.2 if chance.random() < 0.02 else 0.0
        last = max(last + 0.01, touch.time + later + late + chance.gauss(0, spread))
        if touch.kind == "pip" and touch.position + 2 <= TOP["pip"] and chance.random() < 0.5:
            made.append(replace(touch, time=last, position=touch.position + 2))
            last += 0.1
        made.append(replace(touch, time=last))
        if touch.kind == "occlude" and chance.random() < 0.03:
            made += [Touch(last + 0.03, "release"), Touch(last + 0.06, "occlude")]
            last += 0.06
    end = max(hands.duration + later, last) + chance.uniform(0, thinks)
    return Hands(end, tuple(made)).to_data()
