"""Who holds a belief of unit 1: the order, the set-ups, the needle, the set-up bench."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from random import Random
from typing import Any

from tests.believers.base import EYE, Answers, Play, has, number
from workbook.bench import DIALS, Hands, Touch
from workbook.bench.story import reading
from workbook.cases import Case, Question
from workbook.rules import RuleBook

# --- somebody at the set-up bench


class Person:
    """Somebody who turns a control until the needle shows what they want, by eye."""

    def __init__(self, asked: Question, chance: Random) -> None:
        """Begin where the last user left everything."""
        self.facts, self.chance = asked.facts, chance
        self.at = dict(asked.facts["bench"]["positions"])
        self.held, self.outlet, self.time = False, asked.facts["bench"]["outlet"], 1.0
        self.touches: list[Touch] = []

    def touch(self, kind: str, position: int | None = None) -> None:
        """Touch something and look for a second or two."""
        self.touches.append(Touch(round(self.time, 3), kind, position))
        self.time += self.chance.uniform(0.8, 1.8)
        if kind in ("occlude", "release"):
            self.held = kind == "occlude"
        elif kind in ("cap", "connect", "open"):
            self.outlet = kind
        elif position is not None:
            self.at[kind] = position

    def needle(self, **turned: int) -> float:
        """Return what the gauge would show with controls turned."""
        at = {**self.at, **turned}
        return reading(
            tuple(at[name] for name in DIALS), held=self.held, open_end=self.outlet == "open"
        )

    def set(self, dial: str, wanted: float) -> None:
        """Turn a control to where the needle comes nearest to what is wanted."""
        seen = wanted + self.chance.gauss(0, EYE)
        places = range(DIALS[dial].clicks)
        self.touch(dial, min(places, key=lambda n: (abs(self.needle(**{dial: n}) - seen), n)))

    def flow(self) -> None:
        """Set the flow by its own scale."""
        self.touch("flow", DIALS["flow"].nearest(self.facts["flow"]))

    def relief(self) -> None:
        """Open PIP, occlude, and set the limit."""
        self.touch("pip", DIALS["pip"].clicks)
        self.touch("occlude")
        self.set("relief", self.facts["relief"])

    def pip(self, wanted: float | None = None) -> None:
        """Occlude and set PIP."""
        if not self.held:
            self.touch("occlude")
        self.set("pip", self.facts["pip"] if wanted is None else wanted)

    def peep(self) -> None:
        """Let go and set PEEP."""
        if self.held:
            self.touch("release")
        self.set("peep", self.facts["peep"])

    def look(self) -> None:
        """Read both once more."""
        for kind in ("release", "occlude", "release"):
            self.touch(kind)

    def run(self, *steps: str) -> dict[str, Any]:
        """Do steps by their names, and hand in."""
        for step in steps:
            if step in ("cap", "connect", "occlude", "release"):
                self.touch(step)
            else:
                getattr(self, step)()
        return Hands(self.time + 1, tuple(self.touches)).to_data()


SAFE = ("cap", "flow", "relief", "pip", "peep", "look", "connect")


def _bench(*steps: str) -> Callable[[Case, Random], Answers]:
    return lambda case, chance: {"bench": Person(case["bench"], chance).run(*steps)}


def _held_open(case: Case, chance: Random) -> Answers:
    """Set the relief and PIP without a thumb: by where the control stands, then a try at PEEP."""
    hand = Person(case["bench"], chance)
    hand.run("cap", "flow")
    hand.touch("pip", DIALS["pip"].clicks)
    hand.touch("relief", DIALS["relief"].clicks // 2)
    hand.touch("pip", DIALS["pip"].clicks // 4)
    return {"bench": hand.run("peep", "look", "connect")}


def _peep_held(case: Case, chance: Random) -> Answers:
    hand = Person(case["bench"], chance)
    hand.run("cap", "flow", "relief", "pip")
    hand.touch("peep", max(0, hand.at["peep"] - 25 if hand.at["peep"] > 60 else 110))
    return {"bench": hand.run("look", "connect")}


def _low_pip(case: Case, chance: Random) -> Answers:
    """Turn the relief while the PIP control stays down where it was found."""
    hand = Person(case["bench"], chance)
    hand.run("cap", "flow", "occlude")
    hand.touch(
        "relief", min(DIALS["relief"].clicks - 1, hand.at["relief"] + chance.choice((-9, 7)))
    )
    return {"bench": hand.run("pip", "peep", "look", "connect")}


def _added(case: Case, chance: Random) -> Answers:
    facts = case["bench"].facts
    if facts["pip"] + facts["peep"] >= facts["relief"]:
        return {}
    hand = Person(case["bench"], chance)
    hand.run("cap", "flow", "relief")
    hand.pip(facts["pip"] + facts["peep"])
    return {"bench": hand.run("peep", "look", "connect")}


def _peep_early(case: Case, chance: Random) -> Answers:
    """Turn the PIP control well down, set PEEP by the gauge, and only then PIP."""
    hand = Person(case["bench"], chance)
    hand.run("cap", "flow", "relief")
    hand.touch("pip", hand.at["pip"] // 6)
    return {"bench": hand.run("peep", "pip", "look", "connect")}


def _flow_late(case: Case, chance: Random) -> Answers:
    hand = Person(case["bench"], chance)
    hand.run("cap")
    hand.touch("flow", DIALS["flow"].nearest(hand.facts["flow"] - 2))
    return {"bench": hand.run("relief", "pip", "peep", "flow", "look", "connect")}


# --- the order, the set-ups, the needle


def _moved(case: Case, book: RuleBook, chance: Random, card: str, *places: str) -> Answers:
    """Put a card right before one of some others, or at the end for ``end``."""
    order = [step for step in book.procedure("set-up").ids if step != card]
    place = chance.choice(places)
    at = len(order) if place == "end" else order.index(place)
    return {"order": [*order[:at], card, *order[at:]]}


_FAULTS = {  # what a story of a set-up is about
    "peep-before-pip": ("peep-then-pip",),
    "flow-any-time": ("flow-turned-up", "flow-knocked"),
    "relief-after-pip": ("pip-then-relief",),
    "outlet-open": ("uncapped",),
    "baby-before-pressures": ("mask-first",),
    "bag-not-needed": ("second-device",),
    "no-second-look": ("straight-on",),
    "needle-trusted": ("needle-up",),
}
_REASONS = {
    "flow-any-time": "flow-is-speed", "order-is-habit": "order-is-habit",
    "relief-after-pip": "relief-sets-pip", "outlet-open": "gauge-knows",
    "no-second-look": "needle-stays", "bag-not-needed": "bag-is-old",
}  # fmt: skip


def _told(case: Case, belief: str) -> Answers:
    """See nothing wrong where the belief is; give the reason that it gives."""
    made: Answers = {}
    for id in ("setup-1", "setup-2"):
        if case[id].facts["setup"] in _FAULTS.get(belief, ()):
            made[id] = "nothing"
    if (reason := has(case["reason"], _REASONS.get(belief, ""))) is not None:
        made["reason"] = reason
    return made


def _setup(belief: str, *plays: Callable[[Case, RuleBook, Random], Answers]) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        made = _told(case, belief)
        for play in plays:
            made |= play(case, book, chance)
        return made

    return played


def _card(card: str, *places: str) -> Callable[[Case, RuleBook, Random], Answers]:
    return lambda case, book, chance: _moved(case, book, chance, card, *places)


def _hand(play: Callable[[Case, Random], Answers]) -> Callable[[Case, RuleBook, Random], Answers]:
    return lambda case, book, chance: play(case, chance)


def _needle(
    **reads: Callable[[Mapping[str, Any]], float | None],
) -> Callable[[Case, RuleBook, Random], Answers]:
    """Type what the belief reads: by part of the needle's questions (held, released, open)."""

    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        found = {part: read(case[f"gauge-{part}"].facts) for part, read in reads.items()}
        return {f"gauge-{part}": number(v) for part, v in found.items() if v is not None}

    return played


def _sum(f: Mapping[str, Any]) -> float | None:
    raised = f["step"] if f["stands"] == "peep-raised" else 0
    return float(f["pip"] + f["peep"] + raised)


def _at_face(case: Case, book: RuleBook, chance: Random) -> Answers:
    """The mask may go on while pressures are being set: on the face at once, set it there."""
    made = _moved(case, book, chance, "attach-baby", "set-pip", "set-peep", "set-relief")
    unset = case["meanwhile"].facts["stage"] in (
        "nothing-set",
        "limit-only",
        "no-gas",
        "flow-moved",
    )
    return made | ({"meanwhile": "on-baby"} if unset else {})


def _no_bag(case: Case, book: RuleBook, chance: Random) -> Answers:
    made = _moved(case, book, chance, "ready-bag", "end")
    missing = case["shift-check"].facts["missing"]
    if "bag" in missing:
        made["shift-check"] = [item for item in missing if item != "bag"]
    return made


SETUP: Mapping[str, Play] = {
    "peep-before-pip": _setup("peep-before-pip", _card("set-peep", "set-pip", "set-relief"),
                              _hand(_peep_early)),
    "flow-any-time": _setup("flow-any-time", _card("set-flow", "recheck", "set-peep", "fit-mask"),
                            _hand(_flow_late)),
    "relief-after-pip": _setup("relief-after-pip", _card("set-relief", "set-peep", "recheck"),
                               _hand(_bench("cap", "flow", "pip", "relief_late", "peep", "look",
                                            "connect"))),
    "outlet-open": _setup("outlet-open", _card("close-outlet", "recheck", "set-peep"),
                          _hand(_bench("flow", "relief", "pip", "peep", "cap", "look", "connect"))),
    "baby-before-pressures": _setup("baby-before-pressures", _at_face,
                                    _hand(_bench("flow", "connect", "relief", "pip", "peep",
                                                 "look"))),
    "baby-waits": lambda case, book, chance: {"meanwhile": "finish"},
    "needle-trusted": _setup(
        "needle-trusted", _card("read-zero", "set-flow", "close-outlet"),
        _needle(held=lambda f: f["pip"] if f["stands"] == "off-zero" else None,
                released=lambda f: f["peep"] if f["stands"] == "off-zero" else None,
                open=lambda f: 0.0 if f["stands"] == "off-zero" else None)),
    "no-second-look": _setup("no-second-look", _card("recheck", "end"),
                             _hand(_bench("cap", "flow", "relief", "pip", "peep", "connect"))),
    "bag-not-needed": _setup("bag-not-needed", _no_bag),
    "falls-to-zero": _needle(released=lambda f: 0.0),
    "pip-plus-peep": _setup("pip-plus-peep", _needle(held=_sum), _hand(_added)),
    "open-shows-peep": _needle(open=lambda f: f["peep"]),
    "gauge-shows-relief": _setup(
        "gauge-shows-relief",
        _needle(held=lambda f: f["relief"] if f["stands"] == "peep-raised" else None),
        _hand(_bench("cap", "flow", "relief", "peep", "look", "connect"))),
    "order-is-habit": _setup("order-is-habit"),
    "relief-behind-pip": _hand(_low_pip),
    "set-without-occluding": _hand(_held_open),
    "peep-while-occluded": _hand(_peep_held),
}  # fmt: skip


def _relief_late(self: Person) -> None:
    """Turn the relief with the PIP control where it stands, to about its number."""
    self.set("relief", self.facts["relief"])


Person.relief_late = _relief_late  # type: ignore[attr-defined]
