"""Predict what the gauge shows: held, released, off the face, with a leak, at another flow."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from workbook.bench import DIALS, Bench
from workbook.bench.baby import healthy
from workbook.bench.story import reading
from workbook.cases.draw import Draw
from workbook.cases.question import Kind, Option, Question
from workbook.cases.setup_bench import set_for
from workbook.cases.setup_order import PRESSURE_UNITS, settings
from workbook.language import _
from workbook.rules import RuleBook
from workbook.units import plain

NUMBERS = ("predict-held", "predict-released", "predict-mask-off", "predict-relief")
CHOICES = ("predict-leak", "predict-flow")
OUTLETS = ("capped", "open", "lung")
Pair = tuple[float, float]


def questions(draw: Draw, book: RuleBook, texts: Mapping[str, str]) -> list[Question]:
    """Return the six predictions, about one T-piece."""
    numbers = _numbers(draw, book)
    facts: dict[str, Any] = {**numbers, "weight": _weight(draw, book)}
    said = {k: plain(v, "L/min" if k == "flow" else "cmH2O") for k, v in numbers.items()}
    stands = _("Flow {flow}, relief {relief}, PIP {pip}, PEEP {peep}.").format_map(said)
    return [
        *(_number(id, stands, facts, texts) for id in NUMBERS[:3]),
        _leak(draw, stands, facts, texts, book),
        _flow(draw, stands, facts, texts, book),
        _relief(draw, said, facts, texts, book),
    ]


def _numbers(draw: Draw, book: RuleBook) -> dict[str, float]:
    """Return settings at which a leak shows on the gauge, drawn."""
    flow, apart = book["flow.start"].value, book["predict.apart"].value
    largest = DIALS["leak"].value(DIALS["leak"].clicks) or 0.0
    every = settings(book)
    shown = [each for each in every if largest * flow**2 <= each[0] - 2 * apart]
    pip, peep, relief = draw.pick(shown or every)
    return {"flow": flow, "pip": pip, "peep": peep, "relief": relief}


def _weight(draw: Draw, book: RuleBook) -> float:
    low, high = book["weight.drawn"].band
    return draw.whole(round(10 * low), round(10 * high)) / 10


def positions(facts: Mapping[str, Any]) -> dict[str, int]:
    """Return where the controls stand in a prediction, before anything changes."""
    return set_for({name: facts[name] for name in ("flow", "relief", "pip", "peep")})


def _shows(facts: Mapping[str, Any]) -> dict[str, Any]:
    weight = facts["weight"]
    bench = Bench(positions(facts), healthy(weight), weight)
    return {"bench": bench.to_data(), "outlets": list(OUTLETS)}


def _number(id: str, stands: str, facts: dict[str, Any], texts: Mapping[str, str]) -> Question:
    return Question(
        id, Kind.NUMBER, texts[id], context=stands, units=PRESSURE_UNITS, facts=facts,
        shows=_shows(facts),
    )  # fmt: skip


def _relief(
    draw: Draw,
    said: Mapping[str, str],
    facts: dict[str, Any],
    texts: Mapping[str, str],
    book: RuleBook,
) -> Question:
    low, high = book["predict.relief-below"].band
    drawn = {**facts, "relief": facts["pip"] - draw.whole(low, high)}
    told = {**said, "relief": plain(drawn["relief"], "cmH2O")}
    stands = texts["relief-stands"].format_map(told)
    return _number("predict-relief", stands, drawn, texts)


# --- what the model says


def shown(facts: Mapping[str, Any]) -> Pair:
    """Return what the gauge settles at, held and released (cmH2O), by the model.

    ``leak`` is a position of the mask's seal and ``to`` the flow it was turned to, if given.
    """
    stands = tuple((name, facts[name]) for name in ("flow", "relief", "pip", "peep"))
    return _shown(stands, facts.get("leak", 0), facts.get("to"))


@lru_cache(maxsize=32768)
def _shown(stands: tuple[tuple[str, float], ...], leak: int, to: float | None) -> Pair:
    at = {**positions(dict(stands)), "leak": leak}
    if to is not None:
        at["flow"] = DIALS["flow"].nearest(to)
    held, released = (reading(tuple(at.values()), held=h, leaky=True) for h in (True, False))
    return held, released


def off_the_face(facts: Mapping[str, Any]) -> float:
    """Return what the gauge shows (cmH2O) off the face, occluded: almost nothing."""
    return reading(tuple(positions(facts).values()), held=True, open_end=True)


# --- choices


def leak_pairs(facts: Mapping[str, Any]) -> dict[str, Pair]:
    """Return what each belief about a leak makes the gauge show, held and released."""
    held, released = shown(facts)
    return {
        "right": (held, released),
        "leak-unseen": (facts["pip"], facts["peep"]),
        "leak-spares-peep": (held, facts["peep"]),
        "leak-spares-pip": (facts["pip"], released),
        "nothing-left": (0.0, 0.0),
    }


def flow_pairs(facts: Mapping[str, Any]) -> dict[str, Pair]:
    """Return what each belief about the flow makes the gauge show, held and released."""
    held, released = shown(facts)
    pip, peep, share = facts["pip"], facts["peep"], facts["to"] / facts["flow"]
    return {
        "right": (held, released),
        "flow-any-time": (pip, peep),
        "peep-proportional": (held, peep * share),
        "flow-spares-pip": (pip, released),
        "flow-spares-peep": (held, peep),
        "more-flow-less-pressure": (2 * pip - held, max(2 * peep - released, 0.0)),
    }


def offered(pairs: Mapping[str, Pair], book: RuleBook) -> dict[str, Pair]:
    """Return the pairs, rounded, that can be told from those before them."""
    apart, kept = book["predict.apart"].value, dict[str, Pair]()
    for belief, (held, released) in pairs.items():
        pair = (float(round(held)), float(round(released)))
        if all(_apart(pair, other) >= apart for other in kept.values()):
            kept[belief] = pair
    return kept


def _apart(one: Pair, two: Pair) -> float:
    return max(abs(one[0] - two[0]), abs(one[1] - two[1]))


def pair_says(pair: Pair) -> str:
    """Return a pair of readings as a choice says it."""
    held, released = (plain(p, "cmH2O") for p in pair)
    return _("Occluded about {held}, released about {released}.").format(
        held=held, released=released
    )


def _options(draw: Draw, pairs: Mapping[str, Pair]) -> tuple[Option, ...]:
    return tuple(Option(pair_id(p), pair_says(p)) for p in draw.shuffled(pairs.values()))


def pair_id(pair: Pair) -> str:
    """Return the id of a pair as a choice."""
    return f"{pair[0]:g}-{pair[1]:g}"


def _leak(
    draw: Draw, stands: str, facts: dict[str, Any], texts: Mapping[str, str], book: RuleBook
) -> Question:
    places = range(1, DIALS["leak"].clicks + 1)
    seen = [n for n in places if "leak-unseen" in offered(leak_pairs({**facts, "leak": n}), book)]
    drawn = {**facts, "leak": draw.pick([n for n in seen if _is_lower(facts, n, book)] or seen)}
    pairs = offered(leak_pairs(drawn), book)
    return Question(
        "predict-leak", Kind.CHOICE, texts["predict-leak"], context=stands,
        options=_options(draw, pairs), facts=drawn, shows=_shows(facts),
    )  # fmt: skip


def _is_lower(facts: Mapping[str, Any], leak: int, book: RuleBook) -> bool:
    """Say whether a leak lowers PIP and PEEP enough to see both on the gauge."""
    held, released = shown({**facts, "leak": leak})
    apart = book["predict.apart"].value
    return bool(held <= facts["pip"] - apart and released <= facts["peep"] - apart)


def _flow(
    draw: Draw, stands: str, facts: dict[str, Any], texts: Mapping[str, str], book: RuleBook
) -> Question:
    low, high = book["flow.range"].band
    flows = [f for f in range(math.ceil(low), math.floor(high) + 1) if f != facts["flow"]]
    tried = (f for f in draw.shuffled(flows) if _teaches({**facts, "to": f}, book))
    drawn = {**facts, "to": next(tried, flows[-1])}
    pairs = offered(flow_pairs(drawn), book)
    says = texts["flow-turned"].format(to=plain(drawn["to"], "L/min"))
    return Question(
        "predict-flow", Kind.CHOICE, texts["predict-flow"], context=f"{stands} {says}",
        options=_options(draw, pairs), facts=drawn, shows=_shows(facts),
    )  # fmt: skip


def _teaches(facts: Mapping[str, Any], book: RuleBook) -> bool:
    """Say whether a change of flow tells the beliefs apart, and PEEP stays below PIP."""
    held, released = shown(facts)
    kept = offered(flow_pairs(facts), book)
    beliefs = {"flow-any-time", "peep-proportional", "flow-spares-pip"}
    return beliefs <= set(kept) and released < held - book["predict.apart"].value
