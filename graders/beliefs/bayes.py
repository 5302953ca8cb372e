"""How probable each belief is, by Bayes' rule over nobody, one belief, or several at once.

Everybody slips: how often, nobody knows beforehand, so every learner is weighed as each of some
hands, from a careful one to one that guesses. All answers of the unit tell which hand it is; a
wrong answer that shows a belief is a slip of such a hand, or the belief.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product
from math import prod
from pathlib import Path
from typing import Any

Held = frozenset[str]
MOST = 4  # beliefs weighed together; each more makes three times the work


@cache
def assumed() -> Mapping[str, Any]:
    """Return the file of what is assumed, each number with what it says."""
    text = Path(__file__).with_name("beliefs.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def number(*path: str) -> float:
    """Return one of the assumed numbers."""
    table = assumed()
    for name in path:
        table = table[name]
    return float(table["value"])


@dataclass(frozen=True, slots=True)
class Shown:
    """The signs that one answer shows.

    ``causes`` says, sign by sign, how surely each belief leads to it when it is acted on;
    ``slip`` how often a slip in this question comes out as one of them.
    """

    question: str
    causes: Mapping[str, Mapping[str, float]]
    slip: float


@dataclass(frozen=True, slots=True)
class Missed:
    """A chance that was not taken: an answer that does not show what a belief surely leads to."""

    belief: str
    surely: float


@dataclass(frozen=True, slots=True)
class Rest:
    """How many answers that show no belief were right, and how many not."""

    right: int = 0
    wrong: int = 0


@dataclass(frozen=True, slots=True)
class _Group:
    """Beliefs weighed together: how probable what was seen is, by set held and by hand."""

    seen: Mapping[Held, Sequence[float]]
    by_hand: Sequence[float]


@cache
def _hands() -> tuple[tuple[float, float], ...]:
    """Return (share of learners, share of questions in which they slip) of each hand."""
    return tuple((number("hands", name), number("slips", name)) for name in assumed()["hands"])


@cache
def _states() -> tuple[tuple[float, float], ...]:
    """Return (share of learners, how often they act on it): not held, in part, whole."""
    whole, part = number("held-whole"), number("held-in-part")
    return (1 - whole - part, 0.0), (part, number("acts-in-part")), (whole, number("acts-whole"))


def posteriors(
    groups: Iterable[Sequence[str]],
    shown: Sequence[Shown],
    missed: Sequence[Missed],
    rest: Rest,
) -> list[dict[Held, float]]:
    """Return, group by group, how probable it is that exactly these of its beliefs are held."""
    weighed = [_weighed(group, shown, missed) for group in groups]
    hands = [
        share * (1 - slips) ** rest.right * slips**rest.wrong * prod(g.by_hand[n] for g in weighed)
        for n, (share, slips) in enumerate(_hands())
    ]
    total = sum(hands)
    if not total:
        return [{frozenset(): 1.0} for _ in weighed]
    return [
        {
            held: sum(
                hand * each / all
                for hand, each, all in zip(hands, seen, group.by_hand, strict=True)
                if all
            )
            / total
            for held, seen in group.seen.items()
        }
        for group in weighed
    ]


def _weighed(group: Sequence[str], shown: Sequence[Shown], missed: Sequence[Missed]) -> _Group:
    of_group = [
        each for each in shown if any(not c.keys().isdisjoint(group) for c in each.causes.values())
    ]
    chances = [each for each in missed if each.belief in group]
    found: dict[Held, list[float]] = {}
    for states in product(_states(), repeat=len(group)):
        acts = {b: how for b, (_, how) in zip(group, states, strict=True) if how}
        before = prod(share for share, _ in states)
        before *= prod(1 - acts.get(each.belief, 0.0) * each.surely for each in chances)
        seen = [before] * len(_hands())
        for each in of_group:
            for n, likely in enumerate(_by_hand(each, acts)):
                seen[n] *= likely
        held = frozenset(acts)
        if held in found:
            seen = [a + b for a, b in zip(found[held], seen, strict=True)]
        found[held] = seen
    return _Group(found, [sum(each) for each in zip(*found.values(), strict=True)])


def _by_hand(shown: Shown, acts: Mapping[str, float]) -> Iterable[float]:
    """Yield how probable the signs of an answer are, for each hand that acts so on beliefs.

    Who does not slip shows them by beliefs only. Who slips shows them by that, with what beliefs
    do. Of several signs in one answer each further one comes of itself so often.
    """
    led = [_led(causes, acts) for causes in shown.causes.values()]
    believed = slipped = 1.0
    for n, each in enumerate(led):
        others = max((other for m, other in enumerate(led) if m != n), default=0.0)
        hidden = (1 - each) * (1 - number("belief-shows-more") * others)
        believed *= 1 - hidden
        slipped *= 1 - hidden * (1 - number("slip-shows-more")) if n else 1.0
    slipped = shown.slip * slipped + (1 - shown.slip) * believed
    for _share, slips in _hands():
        yield believed + slips * (slipped - believed)


def _led(causes: Mapping[str, float], acts: Mapping[str, float]) -> float:
    """Return how probable it is that one of the beliefs acted on leads to a sign."""
    hidden = 1.0
    for belief, surely in causes.items():
        hidden *= 1 - acts.get(belief, 0.0) * surely
    return 1 - hidden


def together(shown: Iterable[Shown]) -> list[list[str]]:
    """Return the beliefs in groups that no answer joins; each can be weighed alone."""
    groups: list[set[str]] = []
    for each in shown:
        joined = set().union(*each.causes.values())
        apart = [group for group in groups if group.isdisjoint(joined)]
        groups = [*apart, joined.union(*(g for g in groups if not g.isdisjoint(joined)))]
    return [sorted(group) for group in groups]
