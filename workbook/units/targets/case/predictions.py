"""Predict what the gauge shows: as the T-piece stands, after one control is turned, with a leak."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from workbook.bench import DIALS
from workbook.bench.story import reading
from workbook.cases.dials import set_for
from workbook.cases.draw import Draw
from workbook.cases.question import Given, Kind, Option, Question
from workbook.cases.starting import Baby, baby, highest_relief, settings_for, whole
from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.rules import RuleBook

READINGS = ("predict",)
# Held and released with a seal, held off the face, held with the relief below the PIP control.
STATES = ("held", "released", "off", "low")
TURNS = ("turn",)
TURNED = ("flow", "pip", "peep")
LEAK = "predict-leak"
SET = ("flow", "relief", "pip", "peep")
Pair = tuple[float, float]


def questions(given: Given) -> list[Question]:
    """Return the predictions: a reading, a control that is turned, a leak."""
    draw, texts = given.draw, given.texts
    leaking = _drawn(draw, given.groups, given.book, leaks=True)
    return [
        *_readings(given),
        *_turns(given),
        _leak(draw, texts["stands"].format_map(told(leaking)), leaking, texts, given.book),
    ]


def _drawn(
    draw: Draw, groups: tuple[str, ...], book: RuleBook, *, leaks: bool = False
) -> dict[str, Any]:
    """Return a baby and a T-piece set for it; with ``leaks``, one at which a leak shows."""
    met = baby(draw, draw.pick(groups), book)
    flow, apart = book["flow.start"].value, book["predict.apart"].value
    every = settings_for(book, met)
    if leaks:
        largest = DIALS["leak"].value(DIALS["leak"].clicks) or 0.0
        every = [e for e in every if largest * flow**2 <= e[0] - 2 * apart] or every
    pip, peep, relief = draw.pick(every)
    return {
        "flow": flow, "pip": pip, "peep": peep, "relief": relief, "weeks": met.weeks, "kg": met.kg,
    }  # fmt: skip


def told(facts: Mapping[str, Any]) -> dict[str, str]:
    """Return the drawn baby and settings in words."""
    said = {name: plain(facts[name], "L/min" if name == "flow" else "cmH2O") for name in SET}
    return {**said, "weeks": plain(facts["weeks"], "week")}


def positions(facts: Mapping[str, Any]) -> dict[str, int]:
    """Return where the controls stand in a prediction, before anything changes."""
    return set_for({name: facts[name] for name in SET})


# --- what the model says


def shown(facts: Mapping[str, Any]) -> Pair:
    """Return what the gauge settles at, held and released (cmH2O), by the model.

    ``leak`` is a position of the mask's seal and ``to`` the flow it was turned to, if given.
    """
    stands = tuple((name, facts[name]) for name in SET)
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


# --- as the T-piece stands


def _readings(given: Given) -> list[Question]:
    states = given.draw.some(STATES, len(READINGS))
    return given.each(READINGS, states, _reading)


def _reading(id: str, state: str, given: Given) -> Question:
    draw, book, texts = given.draw, given.book, given.texts
    facts = {**_drawn(draw, given.groups, book), "state": state}
    if state == "low":
        facts["relief"] = facts["pip"] - draw.whole(*book["predict.relief-below"].band)
    offers = draw.shuffled(values(facts).items())
    return Question(
        id,
        Kind.CHOICE,
        texts["reading"],
        context=f"{texts['stands'].format_map(told(facts))} {texts['state'][SAID[state]]}",
        options=tuple(
            Option(name, texts["about"].format(reading=plain(value, "cmH2O")))
            for name, value in offers
        ),
        facts=facts,
    )


# That a relief stands too low is not told: the numbers tell it.
SAID = {"held": "held", "released": "released", "off": "off", "low": "held"}


def values(facts: Mapping[str, Any]) -> dict[str, float]:
    """Return what may be chosen as a reading (cmH2O), by what it is."""
    return {"none": 0.0, **{name: facts[name] for name in ("peep", "pip", "relief")}}


def settles(facts: Mapping[str, Any]) -> float:
    """Return what the gauge shows (cmH2O) in the state of a question, by the model."""
    held, released = shown(facts)
    return {"off": off_the_face(facts), "released": released}.get(facts["state"], held)


def read_right(facts: Mapping[str, Any]) -> str:
    """Return which of the offered readings the gauge shows."""
    offered, at = values(facts), settles(facts)
    return min(offered, key=lambda name: abs(offered[name] - at))


# --- after one control is turned


def _turns(given: Given) -> list[Question]:
    turned = given.draw.some(TURNED, len(TURNS))
    return given.each(TURNS, turned, _turn)


def _turn(id: str, dial: str, given: Given) -> Question:
    texts = given.texts
    facts = _drawn_turn(dial, given.draw, given.groups, given.book)
    up = "up" if facts["to"] > facts[dial] else "down"
    turned = texts["turned"][dial][up].format(to=plain(facts["to"], "L/min"))
    return Question(
        id,
        Kind.CHOICE,
        texts["turn"],
        context=f"{texts['stands'].format_map(told(facts))} {turned}",
        options=_options(given.draw, turn_pairs(facts)),
        facts=facts,
    )


def _drawn_turn(dial: str, draw: Draw, groups: tuple[str, ...], book: RuleBook) -> dict[str, Any]:
    """Return a T-piece, the control that is turned, where to, and by how much another might move.

    A turn of the flow is drawn so that both pressures move enough to be seen.
    """
    made: list[dict[str, Any]] = []
    while not made:
        facts = {**_drawn(draw, groups, book), "turned": dial}
        made = [{**facts, **each} for each in _turned_to(facts, book)]
    return draw.pick(made)


def _turned_to(facts: Mapping[str, Any], book: RuleBook) -> list[dict[str, Any]]:
    apart = book["predict.apart"].value
    if facts["turned"] == "flow":
        return [{"to": to} for to in flows(book) if _shows(facts, to, apart)]
    made: list[dict[str, Any]] = []
    met, margin = Baby(facts["weeks"], facts["kg"]), book["relief.margin"].value
    for more in book["predict.turned"].band:
        for sign in (1, -1):
            pip, peep = facts["pip"] + sign * more, facts["peep"] + sign * more
            if pip + margin <= min(facts["relief"], highest_relief(book, met)) and peep > 0:
                to = pip if facts["turned"] == "pip" else peep
                made.append({"to": to, "beside": peep if facts["turned"] == "pip" else pip})
    return made


def flows(book: RuleBook) -> list[float]:
    """Return the flows (L/min) that may be turned to, up or down.

    Not far up: there the PIP control opens between inflations and PEEP rises less.
    """
    start, more = book["flow.start"].value, book["predict.flow-more"].value
    low, high = book["flow.range"].band
    return [flow for flow in whole(low, min(high, start * (1 + more / 100))) if flow != start]


def _shows(facts: Mapping[str, Any], to: float, apart: float) -> bool:
    held, released = shown({**facts, "to": to})
    return bool(abs(held - facts["pip"]) >= apart and abs(released - facts["peep"]) >= apart)


def turned(facts: Mapping[str, Any]) -> Pair:
    """Return what the gauge shows, held and released, once a control was turned, by the model."""
    dial = facts["turned"]
    if dial == "flow":
        return shown(facts)
    stands = {name: facts[name] for name in SET}
    return shown({**stands, dial: facts["to"]})


def turn_pairs(facts: Mapping[str, Any]) -> dict[str, Pair]:
    """Return the four pairs to choose from: each pressure moved or not, in every combination."""
    dial, pip, peep = facts["turned"], facts["pip"], facts["peep"]
    held, released = turned(facts)
    if dial == "pip":
        released = facts["beside"]
    elif dial == "peep":
        held = facts["beside"]
    pairs = {
        "neither": (pip, peep), "pip": (held, peep), "peep": (pip, released),
        "both": (held, released),
    }  # fmt: skip
    return {name: (float(round(p)), float(round(e))) for name, (p, e) in pairs.items()}


def turned_right(facts: Mapping[str, Any]) -> str:
    """Return which pressures a turned control moves: the pair nearest to the model's."""
    pairs, (held, released) = turn_pairs(facts), turned(facts)
    return min(pairs, key=lambda n: _apart(pairs[n], (held, released)))


# --- pairs of readings to choose from


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
    return _("Occluded {held}, released {released}.").format(held=held, released=released)


def _options(draw: Draw, pairs: Mapping[str, Pair]) -> tuple[Option, ...]:
    return tuple(Option(pair_id(p), pair_says(p)) for p in draw.shuffled(pairs.values()))


def pair_id(pair: Pair) -> str:
    """Return the id of a pair as a choice."""
    return f"{pair[0]:g}-{pair[1]:g}"


# --- a leak


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


def _leak(
    draw: Draw, stands: str, facts: dict[str, Any], texts: Mapping[str, str], book: RuleBook
) -> Question:
    places = range(1, DIALS["leak"].clicks + 1)
    seen = [n for n in places if "leak-unseen" in offered(leak_pairs({**facts, "leak": n}), book)]
    drawn = {**facts, "leak": draw.pick([n for n in seen if _is_lower(facts, n, book)] or seen)}
    pairs = offered(leak_pairs(drawn), book)
    return Question(
        "predict-leak", Kind.CHOICE, texts["predict-leak"], context=stands,
        options=_options(draw, pairs), facts=drawn,
    )  # fmt: skip


def _is_lower(facts: Mapping[str, Any], leak: int, book: RuleBook) -> bool:
    """Say whether a leak lowers PIP and PEEP enough to see both on the gauge."""
    held, released = shown({**facts, "leak": leak})
    apart = book["predict.apart"].value
    return bool(held <= facts["pip"] - apart and released <= facts["peep"] - apart)
