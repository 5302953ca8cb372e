"""Which beliefs a whole case shows, each recognised by what hands did.

A sign is an act that somebody who goes by the edition's steps does not do; what another edition
asks for is none.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from itertools import pairwise
from pathlib import Path

from graders.marks.misconceptions import Misconception
from graders.units.scenario.airway import Spell, asks, longest_wait, spells
from graders.units.scenario.facts import Facts
from graders.units.scenario.heart import longest_slow
from graders.units.scenario.slip import Criterion
from workbook.scenario.acts import ACTS, HAND, NEW_AIRWAYS

DEVICE = ("flow", "peep", "relief", "open", "t-piece")
MONITORS = ("oximeter", "leads")
REPEATS = 3  # "a third time", as the belief says in words
Slips = Mapping[str, str]  # the cause of each criterion's slip
Sign = Callable[[Facts, Slips], str]  # the criterion in which a belief shows, or nothing


@cache
def believed() -> Mapping[str, Misconception]:
    """Return every belief that a case can show, by id."""
    text = Path(__file__).with_name("misconceptions.toml").read_text(encoding="utf-8")
    tables = tomllib.loads(text)
    unit = tables.pop("unit")
    return {id: Misconception(id=id, unit=unit, **table) for id, table in tables.items()}


def shown(facts: Facts, criteria: Iterable[Criterion]) -> dict[str, str]:
    """Return the beliefs that a case shows, each with the criterion it shows in."""
    slips = {one.id: one.slip.cause for one in criteria if one.slip is not None}
    found = {id: sign(facts, slips) for id, sign in SIGNS.items()}
    return {id: criterion for id, criterion in found.items() if criterion}


# --- the beginning


def _start(facts: Facts) -> str:
    return "support" if facts.born_breathing else "begin"


def _touched(facts: Facts) -> float:
    """Return when the baby first had mask, inflation or bag (s); the end where never."""
    times = [facts.begun, facts.first("connect") if facts.born_breathing else None]
    return min((t for t in times if t is not None), default=facts.end)


def _late(facts: Facts) -> bool:
    return _touched(facts) > facts.limits.within


def _colour(facts: Facts, _slips: Slips) -> str:
    first, oxygen = _touched(facts), facts.dials
    up = any(b[1] > a[1] and b[0] < first for a, b in pairwise(oxygen))
    return _start(facts) if up and _late(facts) else ""


def _monitor(facts: Facts, _slips: Slips) -> str:
    """A monitor was waited for with idle hands, and nobody counted meanwhile."""
    first = _touched(facts)
    put = [one for one in facts.did(*MONITORS) if one.begins < first]
    counted = any(one.begins < first for one in facts.did("listen"))
    shows = next((time for time, _value in facts.monitored), None)
    if not put or counted or (shows is None and first < facts.end):
        return ""
    hands = [one for one in facts.acts if ACTS[one.done.act].by == HAND and one.begins < first]
    marks = [(0.0, 0.0), *((one.begins, one.ends) for one in hands), (first, first)]
    turned = any(one.done.act in (*DEVICE, "oxygen") for one in hands)
    idle = any(_waited(a[1], b[0], first if shows is None else shows, facts)
               for a, b in pairwise(marks))  # fmt: skip
    return _start(facts) if idle and not turned else ""


def _waited(start: float, end: float, shows: float, facts: Facts) -> bool:
    """Say whether hands were idle for long before a monitor showed, and went to work then."""
    pause = facts.limits.pause
    return start + pause < shows <= end + 1 and end - shows <= pause


# --- the chest


def _pressure(facts: Facts, _slips: Slips) -> str:
    taken = set[str]()
    told = [one for one in spells(facts) if one.still or asks(one, facts)]
    for step in (step for spell in told for step in spell.steps):
        if step.step == "pressure" and not taken & {"mask", "position"}:
            return "order"
        taken.add(step.step)
    return ""


def _repeats(facts: Facts, _slips: Slips) -> str:
    for spell in spells(facts):
        count, last = 0, ""
        for step in spell.steps:
            count, last = (count + 1 if step.step == last else 1), step.step
            if count >= REPEATS and last != "pressure":
                return "order"
    return ""


def _device(facts: Facts, _slips: Slips) -> str:
    fails, few = facts.case.hidden.fails, facts.limits.fewer
    if _late(facts) and _turns(facts, 0.0, _touched(facts)) > few:
        return _start(facts)
    if fails is not None and facts.needs(min(fails, facts.end)):
        bags = [one.begins for one in facts.did("bag") if one.begins >= fails]
        if _turns(facts, fails, min(bags, default=facts.end)) >= few:
            return "bag"
    for spell in spells(facts):
        first = min((step.time for step in spell.steps), default=spell.end)
        if _turns(facts, spell.start, first) >= few:
            return "acted"
    return ""


def _turns(facts: Facts, start: float, end: float) -> int:
    return sum(start <= one.begins < end for one in facts.did(*DEVICE))


# --- the heart


def _chest(facts: Facts, _slips: Slips) -> str:
    """The chest moved for long, and from then on nobody looked at the heart."""
    if not facts.runs:
        return ""
    since, until = facts.runs[0][0], max(end for _start, end in facts.runs)
    window = facts.book["scenario.time.listen"].value
    after = [time for time, _value in facts.counts if time - window > since]
    after += [time for time, _value in facts.monitored if time > since]
    return "looked" if until - since > facts.limits.again and not after else ""


def _early(_facts: Facts, slips: Slips) -> str:
    return "decided" if slips.get("decided") in ("compress-first", "compress-early") else ""


def _never(facts: Facts, slips: Slips) -> str:
    if facts.did(*NEW_AIRWAYS, "compress"):
        return ""
    if slips.get("decided") == "not-escalated":
        lasted, since = longest_slow(facts)
        slow = facts.limits.compress
        seen = [v for t, v in facts.looks if since <= t <= since + lasted and v < slow]
        return "decided" if seen else ""
    return "acted" if any(_stuck(one, facts) for one in spells(facts)) else ""


def _stuck(one: Spell, facts: Facts) -> bool:
    """Say whether several steps were tried, in vain, and none followed for long."""
    kinds = {step.step for step in one.steps}
    return len(kinds) >= REPEATS and longest_wait(one)[0] > facts.limits.still


# --- oxygen, a baby who breathes, the team


def _oxygen(facts: Facts, slips: Slips) -> str:
    rows = facts.dials
    down = any(b[1] < a[1] for a, b in pairwise(rows))
    up = any(b[1] > a[1] for a, b in pairwise(rows))
    return "down" if slips.get("down") in ("pure", "left-up") and up and not down else ""


def _inflates(_facts: Facts, slips: Slips) -> str:
    cause = slips.get("spared")
    return "spared" if cause in ("breather-inflated", "breather-some") else ""


def _no_mask(facts: Facts, slips: Slips) -> str:
    lost = slips.get("support") in ("support-never", "support-lost")
    return "support" if lost and facts.acts and not facts.given else ""


def _silent(facts: Facts, slips: Slips) -> str:
    worked = len(facts.acts) >= facts.limits.tries
    called = facts.did("call")
    return "aloud" if slips.get("aloud") == "silent" and worked and not called else ""


SIGNS: Mapping[str, Sign] = {
    "colour-or-saturation-first": _colour,
    "chest-is-enough": _chest,
    "pressure-before-position": _pressure,
    "repeats-one-step": _repeats,
    "compress-too-early": _early,
    "never-escalates": _never,
    "oxygen-up-never-down": _oxygen,
    "ventilates-a-breather": _inflates,
    "no-cpap": _no_mask,
    "waits-for-the-monitor": _monitor,
    "device-before-baby": _device,
    "silent-leader": _silent,
}
