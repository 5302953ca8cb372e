"""Which beliefs a drawn question can show, and in how many of its answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import Any

from graders import (
    bench_plays,
    fault_finding_plays,
    heart_and_chest,
    interface_right,
    interface_sizing,
    pressure_targets,
    raise_pip,
    raise_plays,
    rate_counting,
    setup_bench,
    setup_gauge,
    setup_order,
    tap_counted,
)
from workbook.cases import (
    Question,
    corrective,
    fault_finding,
    oxygen,
    predictions,
    rhythms,
    starting_sets,
    two_editions,
)
from workbook.cases.pressure_targets import GAUGES, TARGETS
from workbook.cases.rate_counting import HEARD, TAPPED
from workbook.cases.setup_order import GAUGES as NEEDLES
from workbook.cases.setup_order import SETUPS
from workbook.rules import RuleBook

Beliefs = list[str]  # a belief as often as there are answers that show it
Numbers = Mapping[str, float]  # belief -> the number that is typed by it


def chances(asked: Question, book: RuleBook, of: Iterable[str]) -> dict[str, int]:
    """Return which of some beliefs a question can show, each with how many answers show it."""
    wanted = set(of) & speaks(asked.id)
    if not wanted:
        return {}
    found: dict[str, int] = {}
    for belief in _SHOWN[asked.id](asked, book):
        if belief in wanted:
            found[belief] = found.get(belief, 0) + 1
    return found


@cache
def speaks(question: str) -> frozenset[str]:
    """Return every belief that a question can show, whatever is drawn."""
    return frozenset(_SPOKEN[question]()) if question in _SPOKEN else frozenset()


def shared(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    """Return the other beliefs that lead to the very same answer as a sign that was shown."""
    if asked.id in TARGETS:
        return _also_set(asked, value, sign, book)
    if asked.id in _TYPED:
        numbers = _TYPED[asked.id](asked, book)
        at, near = numbers.get(sign), _near(asked, book)
        others = () if at is None else (b for b, n in numbers.items() if abs(n - at) <= near)
        return tuple(b for b in others if b != sign)
    if asked.id == "count-paces":
        return tuple(b for b, paces in _paces(asked, book) if b != sign and paces == value)
    if asked.id in HEARD and sign == "one-rate-everywhere":
        return ("faster-ventilates-better",)  # a rhythm too fast here is the usual one elsewhere
    return ()


# --- the set-up


def _setup(asked: Question, book: RuleBook) -> Beliefs:
    key = setup_order.key()
    belief = key["overlooked"].get(key["fault"][asked.facts["setup"]])
    return [belief] if belief else []


def _meanwhile(asked: Question, book: RuleBook) -> Beliefs:
    key = setup_order.key()
    if key["meanwhile"][asked.facts["stage"]] == "bag":
        return list(key["acts"].values())
    return [key["acts"]["finish"]]


def _reason(asked: Question, book: RuleBook) -> Beliefs:
    reasons = setup_order.key()["reasons"]
    return [reasons[option.id] for option in asked.options if option.id in reasons]


def _check(asked: Question, book: RuleBook) -> Beliefs:
    return ["bag-not-needed"] if "bag" in asked.facts["missing"] else []


def _bench(asked: Question, book: RuleBook) -> Beliefs:
    made = bench_plays.BELIEFS.items()
    return [belief for belief, play in made if bench_plays.shows_at_bench(asked, play)]


def _order(asked: Question, book: RuleBook) -> Beliefs:
    return list(dict.fromkeys(setup_order.key()["breaks"].values()))


# --- numbers that are typed


def _needle(asked: Question, book: RuleBook) -> Numbers:
    return setup_gauge.needle(asked, book).slips


def _read(asked: Question, book: RuleBook) -> Numbers:
    return pressure_targets.needle_slips(asked.facts["value"], book)


def _strip(asked: Question, book: RuleBook) -> Numbers:
    return {"stretch-is-a-minute": float(asked.facts["inflations"])}


_TYPED: Mapping[str, Callable[[Question, RuleBook], Numbers]] = {
    **dict.fromkeys(NEEDLES, _needle),
    **dict.fromkeys(GAUGES, _read),
    "strip-rate": _strip,
}


def _near(asked: Question, book: RuleBook) -> float:
    """Return how near to a belief's number a typed one shows it."""
    if asked.id in NEEDLES:
        return setup_gauge.needle(asked, book).rule.value
    return book["gauge.accept"].value if asked.id in GAUGES else 0.0


def _right(asked: Question, book: RuleBook) -> float:
    if asked.id in NEEDLES:
        return setup_gauge.needle(asked, book).right
    return float(asked.facts["value"] if asked.id in GAUGES else asked.facts["rate"])


def _numbers(asked: Question, book: RuleBook) -> Beliefs:
    """Return the beliefs whose number does not count as right."""
    right, near = _right(asked, book), _near(asked, book) + 1e-9
    return [b for b, at in _TYPED[asked.id](asked, book).items() if abs(at - right) > near]


# --- pressure targets


def _target(asked: Question, book: RuleBook) -> Beliefs:
    met, said = pressure_targets.baby_of(asked), pressure_targets.key()["set"]
    made = [starting_sets.slips(each, book, met) for each in asked.facts["sets"].values()]
    shown = [{said.get(slip, {}).get("belief", "") for slip in each.values()} for each in made]
    return [belief for each in shown for belief in each if belief]


def _also_set(asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
    met, said = pressure_targets.baby_of(asked), pressure_targets.key()["set"]
    chosen = asked.facts["sets"].get(value, {}) if isinstance(value, str) else {}
    found: dict[str, None] = {}
    for part, slip in starting_sets.slips(chosen, book, met).items() if chosen else ():
        if said.get(slip, {}).get("belief") == sign:
            also = starting_sets.explained(part, chosen, book, met)
            found |= dict.fromkeys(said[other]["belief"] for other in also)
    return tuple(belief for belief in found if belief not in ("", sign))


def _two(asked: Question, book: RuleBook) -> Beliefs:
    named = pressure_targets.key()["two"]
    return [b for b in (named.get(asked.facts["concluded"], ""), *[named["swapped"]] * 2) if b]


def _by_pairs(is_so: str, pairs: Mapping[str, str]) -> Beliefs:
    return [belief for pair, belief in pairs.items() if pair.split(">")[0] == is_so]


def _oxygen(asked: Question, book: RuleBook) -> Beliefs:
    turn, _rule = oxygen.found(asked.facts, book)
    return _by_pairs(turn, pressure_targets.key()["oxygen"]["beliefs"])


def _predict(asked: Question, book: RuleBook) -> Beliefs:
    return _by_pairs(asked.facts["state"], pressure_targets.key()["reading"]["beliefs"])


def _turn(asked: Question, book: RuleBook) -> Beliefs:
    return _by_pairs(asked.facts["turned"], pressure_targets.key()["turned"]["beliefs"])


def _leak(asked: Question, book: RuleBook) -> Beliefs:
    return [b for b in pressure_targets.offered_pairs(asked, book) if b in _PAIRS]


_PAIRS = ("leak-unseen", "leak-spares-peep", "leak-spares-pip")


def _chest(asked: Question, book: RuleBook) -> Beliefs:
    right = heart_and_chest.right(asked, book)
    wrong = (option.id for option in asked.options if option.id != right)
    return [b for id in wrong if (b := heart_and_chest.belief_of(asked, id, book))]


def _raise(asked: Question, book: RuleBook) -> Beliefs:
    made = raise_plays.BELIEFS.items()
    return [b for b, play in made if raise_plays.shows_at_bench(asked, play, book)]


# --- rate and counting


def _paces(asked: Question, book: RuleBook) -> list[tuple[str, list[str]]]:
    """Return each belief about a rate with the paces that are chosen by it, where they are wrong.

    Two beliefs may choose the same ones.
    """
    right = rate_counting.paces_within(asked, rhythms.rate_band(book))
    held = [("one-rate-everywhere", rhythms.usual_band(book))]
    held += [("slow-rate-everywhere", band) for band in rhythms.slow_bands(book)]
    made = [(belief, rate_counting.paces_within(asked, band)) for belief, band in held]
    return [(belief, paces) for belief, paces in made if paces and paces != right]


def _pace_beliefs(asked: Question, book: RuleBook) -> Beliefs:
    return list(dict.fromkeys(belief for belief, _ in _paces(asked, book)))


def _pair(asked: Question, book: RuleBook) -> Beliefs:
    return list(rate_counting.pair_beliefs(asked, book).values())


def _heard(asked: Question, book: RuleBook) -> Beliefs:
    belief = rate_counting.heard_belief(asked, book)
    return [belief, *shared(asked, "good", belief, book)] if belief else []


def _trapped(asked: Question, book: RuleBook) -> Beliefs:
    return list(rate_counting.trapped_beliefs(asked, book).values())


def _taps(asked: Question, book: RuleBook) -> Beliefs:
    found = ["equal-times", "ratio-turned-round"]
    if asked.facts["begins"]:
        found.append("begins-at-once")
    if rhythms.firsts(book):
        found.append("long-first-for-all")
    return [*found, "rushes-when-distracted"] if asked.facts["distraction"] else found


# --- mask and tube


def _sized(asked: Question, book: RuleBook) -> Beliefs:
    key = interface_sizing.key()
    right = interface_right.choices(asked, key)
    wrong = (option.id for option in asked.options if option.id not in right)
    return [b for id in wrong if (b := interface_right.slip(asked, id, key)[0])]


def _face(asked: Question, book: RuleBook) -> Beliefs:
    return list(_LAID)


def _trial(asked: Question, book: RuleBook) -> Beliefs:
    return fault_finding_plays.shown_by(asked.facts)


_LAID = ("bigger-seals-better", "mask-over-eyes", "chin-inside", "turn-is-nothing")
_SEALS = [id for id in heart_and_chest.POINTS if id != corrective.QUESTION]

_SHOWN: Mapping[str, Callable[[Question, RuleBook], Beliefs]] = {
    "order": _order,
    **dict.fromkeys(SETUPS, _setup),
    "meanwhile": _meanwhile,
    "reason": _reason,
    "shift-check": _check,
    setup_bench.QUESTION: _bench,
    **dict.fromkeys(_TYPED, _numbers),
    **dict.fromkeys(TARGETS, _target),
    two_editions.QUESTION: _two,
    **dict.fromkeys(oxygen.QUESTIONS, _oxygen),
    **dict.fromkeys(predictions.READINGS, _predict),
    **dict.fromkeys(predictions.TURNS, _turn),
    predictions.LEAK: _leak,
    **dict.fromkeys(_SEALS, _chest),
    corrective.QUESTION: lambda asked, book: ["pressure-first"],
    raise_pip.QUESTION: _raise,
    "count-paces": _pace_beliefs,
    "count-cpr": _pair,
    **dict.fromkeys(HEARD, _heard),
    **dict.fromkeys(TAPPED, _taps),
    "trapped": _trapped,
    **dict.fromkeys(interface_sizing.FACES, _face),
    **dict.fromkeys(interface_sizing.CHOICES, _sized),
    **dict.fromkeys(fault_finding.TRIALS, _trial),
}


def _needles() -> Iterable[str]:
    return [belief for stands in setup_gauge.STANDS.values() for belief in stands.slips]


def _chest_says() -> Iterable[str]:
    return [b for part in heart_and_chest.key().values() for b in part.get("beliefs", {}).values()]


def _said_in_two() -> Iterable[str]:
    return list(pressure_targets.key()["two"].values())


def _said_of_size(question: str) -> Callable[[], Iterable[str]]:
    if question == "tube-weight":
        return lambda: ["age-alone"]
    return lambda: [
        belief
        for each in interface_sizing.key()["shows"][question].values()
        for belief in each.values()
    ]


_RATES = ("one-rate-everywhere", "slow-rate-everywhere")
_TAPS = (
    "equal-times", "ratio-turned-round", "begins-at-once", "long-first-for-all",
    "rushes-when-distracted",
)  # fmt: skip
_SPOKEN: Mapping[str, Callable[[], Iterable[str]]] = {
    "order": lambda: setup_order.key()["breaks"].values(),
    **dict.fromkeys(SETUPS, lambda: setup_order.key()["overlooked"].values()),
    "meanwhile": lambda: setup_order.key()["acts"].values(),
    "reason": lambda: setup_order.key()["reasons"].values(),
    "shift-check": lambda: ("bag-not-needed",),
    setup_bench.QUESTION: lambda: bench_plays.BELIEFS,
    **dict.fromkeys(NEEDLES, _needles),
    **dict.fromkeys(GAUGES, lambda: ("small-mark-is-one", "nearest-number")),
    "strip-rate": lambda: ("stretch-is-a-minute",),
    **dict.fromkeys(
        TARGETS, lambda: [said["belief"] for said in pressure_targets.key()["set"].values()]
    ),
    two_editions.QUESTION: _said_in_two,
    **dict.fromkeys(
        oxygen.QUESTIONS, lambda: pressure_targets.key()["oxygen"]["beliefs"].values()
    ),
    **dict.fromkeys(
        predictions.READINGS, lambda: pressure_targets.key()["reading"]["beliefs"].values()
    ),
    **dict.fromkeys(
        predictions.TURNS, lambda: pressure_targets.key()["turned"]["beliefs"].values()
    ),
    predictions.LEAK: lambda: _PAIRS,
    **dict.fromkeys(_SEALS, _chest_says),
    corrective.QUESTION: lambda: ("pressure-first",),
    raise_pip.QUESTION: lambda: raise_plays.BELIEFS,
    "count-paces": lambda: _RATES,
    "count-cpr": lambda: [
        belief for each in tap_counted.key()["pair"].values() for belief in each.values()
    ],
    **dict.fromkeys(HEARD, lambda: ("ratio-turned-round", "faster-ventilates-better", *_RATES)),
    **dict.fromkeys(TAPPED, lambda: _TAPS),
    "trapped": lambda: (
        "same-pip-same-gas", "stiff-lung-traps", "only-rate-traps", "slow-rate-traps"
    ),
    **dict.fromkeys(interface_sizing.FACES, lambda: _LAID),
    **{id: _said_of_size(id) for id in interface_sizing.CHOICES},
    **dict.fromkeys(fault_finding.TRIALS, lambda: fault_finding_plays.PLAYS),
}  # fmt: skip
