"""How probable each belief is, by Bayes' rule over nobody, one belief, or several at once."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator, Mapping, Sequence
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


def number(*path: str) -> float:
    """Return one of the assumed numbers."""
    table = assumed()
    for name in path:
        table = table[name]
    return float(table["value"])


@dataclass(frozen=True, slots=True)
class Event:
    """One sign in one question: whether it was shown, and how often each cause shows it.

    ``causes`` says how surely each belief leads to it when it is acted on; ``slip`` and ``guess``
    how often it comes without any.
    """

    question: str
    sign: str
    shown: bool
    causes: Mapping[str, float]
    slip: float
    guess: float


@dataclass(frozen=True, slots=True)
class Rest:
    """How many questions that say nothing of these beliefs were right, and how many not."""

    right: int = 0
    wrong: int = 0


@dataclass(frozen=True, slots=True)
class _Hand:
    """A learner as an explanation: sure of the rest, or guessing through it."""

    weight: float
    guesses: bool


def posterior(beliefs: Sequence[str], events: Sequence[Event], rest: Rest) -> dict[Held, float]:
    """Return how probable it is that exactly these of the beliefs are held, for each set."""
    whole, part = number("held-whole"), number("held-in-part")
    states = (
        (1 - whole - part, 0.0),
        (part, number("acts-in-part")),
        (whole, number("acts-whole")),
    )
    found: dict[Held, float] = {}
    for each in product(states, repeat=len(beliefs)):
        held = frozenset(b for b, (_, acts) in zip(beliefs, each, strict=True) if acts)
        acts = {b: how for b, (_, how) in zip(beliefs, each, strict=True)}
        before = prod(share for share, _ in each)
        seen = sum(hand.weight * _seen(events, acts, hand) for hand in _hands(rest))
        found[held] = found.get(held, 0.0) + before * seen
    total = sum(found.values())
    return {held: weight / total for held, weight in found.items()}


def _hands(rest: Rest) -> Iterator[_Hand]:
    guesses = number("guesses")
    for weight, kind, is_guess in ((1 - guesses, "sure", False), (guesses, "guessed", True)):
        right = number("right", kind)
        yield _Hand(weight * right**rest.right * (1 - right) ** rest.wrong, is_guess)


def _seen(events: Iterable[Event], acts: Mapping[str, float], hand: _Hand) -> float:
    """Return how probable what was seen is, for one who acts on each belief so often."""
    seen = 1.0
    for event in events:
        hidden = 1 - (event.guess if hand.guesses else event.slip)
        for belief, surely in event.causes.items():
            hidden *= 1 - acts.get(belief, 0.0) * surely
        seen *= 1 - hidden if event.shown else hidden
    return seen


def together(beliefs: Iterable[str], events: Iterable[Event]) -> list[list[str]]:
    """Return the beliefs in groups that no event joins; each can be weighed alone."""
    groups = [{belief} for belief in beliefs]
    for event in events:
        joined = [group for group in groups if group & event.causes.keys()]
        if len(joined) > 1:
            groups = [group for group in groups if group not in joined]
            groups.append(set().union(*joined))
    return [sorted(group) for group in groups]
