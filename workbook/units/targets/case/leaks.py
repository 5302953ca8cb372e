"""How much gas can leak at the mask while the needle still looks full, by the model.

A low needle tells of a leak; a full one does not exclude it, because the flow makes up for a part.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from workbook.bench import circuit_at
from workbook.cases.dials import set_for
from workbook.cases.draw import Draw
from workbook.cases.inflation import leaking
from workbook.cases.question import Kind, Option, Question
from workbook.core.quantities import plain
from workbook.physics import Circuit, Lung, leak_of
from workbook.physics import coefficients as c
from workbook.rules import RuleBook

QUESTION = "leak-hides"
CHOICES = ("none", "little", "much", "most")
NEAREST = 5  # percent, to which a share is told
TIGHT, WIDE = 1000.0, 0.1  # cmH2O/(L/min)^2 of the leaks that are tried: nearly sealed, wide open
TRIES = 14  # halvings between them
PART = 6  # the offered small share is this part of the right one


@dataclass(frozen=True, slots=True)
class Stood:
    """How a needle stood: set to PIP and PEEP at a flow, its top and rest as read (cmH2O)."""

    share: float
    top: float
    rest: float


Setting = tuple[tuple[str, float], ...]


@lru_cache(maxsize=256)
def hidden(setting: Setting, compliance: float, rate: float, near: float) -> Stood:
    """Return the largest leak that leaves the needle near where it stands with a good seal.

    ``setting`` holds flow, relief, PIP and PEEP; ``near`` is how well a gauge is read (cmH2O).
    """
    circuit, lung = _stands(setting), Lung(compliance, c.AIRWAY.value)
    best = full = sealed(setting, compliance, rate)
    tight, wide = TIGHT, WIDE
    for _ in range(TRIES):
        middle = (tight * wide) ** 0.5
        stood = Stood(*leaking(replace(circuit, leak=leak_of(middle)), lung, rate))
        if full.top - stood.top <= near and full.rest - stood.rest <= near:
            tight, best = middle, stood
        else:
            wide = middle
    return best


def sealed(setting: Setting, compliance: float, rate: float) -> Stood:
    """Return how the needle stands with a good seal."""
    return Stood(*leaking(_stands(setting), Lung(compliance, c.AIRWAY.value), rate))


def _stands(setting: Setting) -> Circuit:
    return circuit_at({**set_for(dict(setting)), "leak": 0})


def to_nearest(share: float) -> float:
    """Return a share as it is told: to the nearest five percent."""
    return float(NEAREST * round(share / NEAREST))


def question(draw: Draw, book: RuleBook, texts: Mapping[str, Any]) -> Question:
    """Return the question how much may leak behind a full needle."""
    facts = {
        **{name: book[f"{name}.example"].value for name in ("pip", "peep", "relief")},
        "flow": draw.pick(book["flow.usual"].band),
        "compliance": c.LUNG_MIDDLE.value,  # the lesson's small baby, so that what it showed holds
        "rate": sum(book["count.rate"].band) / 2,
    }
    said = {name: plain(facts[name], "cmH2O") for name in ("pip", "peep")}
    said |= {
        "flow": plain(facts["flow"], "L/min"),
        "near": plain(book["gauge.accept"].value, "cmH2O"),
    }
    shares = {id: plain(each, "percent") for id, each in offered(facts, book).items()}
    options = [Option(id, texts["option"][id].format(share=shares[id])) for id in CHOICES]
    return Question(
        QUESTION,
        Kind.CHOICE,
        texts["asks"],
        context=texts["stands"].format_map(said),
        options=tuple(draw.shuffled(options)),
        facts=facts,
    )


def share(facts: Mapping[str, Any], book: RuleBook) -> float:
    """Return the share (percent) that leaks at most behind a full needle, as it is told."""
    setting = tuple((name, float(facts[name])) for name in ("flow", "relief", "pip", "peep"))
    near = book["gauge.accept"].value
    return to_nearest(hidden(setting, facts["compliance"], facts["rate"], near).share)


def offered(facts: Mapping[str, Any], book: RuleBook) -> dict[str, float]:
    """Return the shares (percent) that are offered, by choice."""
    much = share(facts, book)
    return {
        "none": 0.0,
        "little": round(much / PART),
        "much": much,
        "most": 100 - round(much / PART),
    }
