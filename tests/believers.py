"""Learners who hold a belief, written anew from what `misconceptions.toml` says they believe.

None of this was made from how the answers are marked: each play asks only what somebody who
believes the sentence would do with the question as it is drawn. Those in `plays.py` of each unit,
which the key was made with, are kept beside them.

What everybody shares: a person at the bench reads the needle by eye and pauses to think.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from random import Random
from typing import Any

from graders.marking.exercise import mark, model_answers
from workbook.bench import DIALS, Hands, Touch
from workbook.bench.story import reading
from workbook.cases import Case, Question, starting
from workbook.face.fit import answer as laid
from workbook.face.mask import Face, Mask, best_masks, best_place, offered
from workbook.rules import RuleBook, editions, rulebook
from workbook.units.rate.case import rhythms
from workbook.units.targets.case import heart_first, oxygen, predictions, seal, two_editions

Answers = dict[str, Any]
Play = Callable[[Case, RuleBook, Random], Answers]
EYE = 0.25  # cmH2O (SD): how nearly a needle is read
Said = Mapping[str, Callable[[Question], str | None]]


def number(value: float, unit: str = "cmH2O") -> dict[str, str]:
    """Return a number as it is typed."""
    return {"text": f"{value:g}", "unit": unit}


def has(asked: Question, id: str) -> str | None:
    """Return a choice where it is offered."""
    return id if any(option.id == id for option in asked.options) else None


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


# --- pressure targets


def _sets(
    pick: Callable[[Mapping[str, float], Mapping[str, float]], bool],
) -> Callable[[Case, RuleBook, Random], Answers]:
    """Choose a set that differs from the right one as the belief has it, else alike."""

    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        made: Answers = {}
        right = model_answers(case, book)
        for n in (1, 2, 3):
            sets = case[f"target-{n}"].facts["sets"]
            good = sets[right[f"target-{n}"]]
            fitting = [
                id for id, each in sets.items()
                if pick(each, good) and sum(each[k] != good[k] for k in good) == 1
            ]  # fmt: skip
            if fitting:
                made[f"target-{n}"] = chance.choice(fitting)
        return made

    return played


def _asked(case: Case, ids: Iterable[str], says: Callable[[Question], str | None]) -> Answers:
    found = {id: says(case[id]) for id in ids}
    return {id: said for id, said in found.items() if said is not None and has(case[id], said)}


SEALS = seal.QUESTIONS
HEARTS = heart_first.QUESTIONS


def _seal(case: Case, book: RuleBook, says: Callable[[str], str | None]) -> Answers:
    return _asked(case, SEALS, lambda q: says(seal.found(q.facts, book)))


def _heart(case: Case, says: Callable[[str], str | None]) -> Answers:
    return _asked(case, HEARTS, lambda q: says(q.facts["kind"]))


def _chest(
    in_seal: Mapping[str, str] | None = None, in_heart: Mapping[str, str] | None = None
) -> Callable[[Case, RuleBook, Random], Answers]:
    return lambda case, book, chance: {
        **_seal(case, book, lambda kind: (in_seal or {}).get(kind)),
        **_heart(case, lambda kind: (in_heart or {}).get(kind)),
    }


def _oxygen(
    says: Callable[[str, Mapping[str, Any]], str | None],
) -> Callable[[Case, RuleBook, Random], Answers]:
    return lambda case, book, chance: _asked(
        case, oxygen.QUESTIONS, lambda q: says(oxygen.found(q.facts, book)[0], q.facts)
    )


def _predict(stands: str, says: str) -> Callable[[Case, RuleBook, Random], Answers]:
    return lambda case, book, chance: _asked(
        case, predictions.READINGS, lambda q: says if q.facts["state"] == stands else None
    )


def _flow_moves(moved: str) -> Callable[[Case, RuleBook, Random], Answers]:
    def says(q: Question) -> str | None:
        pair = predictions.turn_pairs(q.facts)[moved]
        return predictions.pair_id(pair) if q.facts["turned"] == "flow" else None

    return lambda case, book, chance: _asked(case, predictions.TURNS, says)


def _leak(name: str) -> Callable[[Case, RuleBook, Random], Answers]:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        asked = case[predictions.LEAK]
        pair = predictions.pair_id(
            tuple(float(round(p)) for p in predictions.leak_pairs(asked.facts)[name])  # type: ignore[arg-type]
        )
        return {asked.id: pair} if has(asked, pair) else {}

    return played


def _statement(mark: str) -> Callable[[Case, RuleBook, Random], Answers]:
    """Choose the statement with the right numbers and the belief's conclusion."""

    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        from graders.units.targets.marks import statement

        asked = case["two-editions"]
        if mark == "swapped":
            return {asked.id: statement(asked, f"{two_editions.SWAPPED}both")}
        return {asked.id: statement(asked, mark)} if asked.facts["concluded"] == mark else {}

    return played


def _remembered(asked: Question, part: str, value: float, books: Iterable[RuleBook]) -> bool:
    """Say whether one of some editions asks for a value in a part of a baby's set."""
    met = starting.Baby(asked.facts["weeks"], asked.facts["kg"])
    asks = (starting.wanted(book, met).get(part) for book in books)
    return any(rule is not None and value in starting.ends(rule) for rule in asks)


Takes = Callable[[Question, str, float], bool]


def _one_part_wrong(case: Case, book: RuleBook, takes: Takes) -> Answers:
    """Take each set that is wrong in one part only, PIP or oxygen, and there as a belief has it."""
    made: Answers = {}
    right = model_answers(case, book)
    for id in ("target-1", "target-2", "target-3"):
        sets = case[id].facts["sets"]
        good = sets[right[id]]
        for letter, each in sets.items():
            wrong = [part for part in good if each[part] != good[part]]
            if wrong in (["pip"], ["oxygen"]) and takes(case[id], wrong[0], each[wrong[0]]):
                made[id] = letter
    return made


def _from_elsewhere(case: Case, book: RuleBook, chance: Random) -> Answers:
    """Take the PIP or the oxygen that another edition gives; exchange two editions' numbers."""
    others = [rulebook(edition) for edition in editions() if edition != case.edition]
    return _one_part_wrong(
        case, book, lambda asked, part, value: _remembered(asked, part, value, others)
    )


def _one_for_all(case: Case, book: RuleBook, chance: Random) -> Answers:
    """Take the PIP or the oxygen that the same edition gives for another gestation."""
    babies = [
        starting.Baby(weeks, kg) for weeks, kg in ((25, 0.8), (30, 1.4), (33, 2.0), (39, 3.4))
    ]

    def takes(_asked: Question, part: str, value: float) -> bool:
        rules = (starting.wanted(book, baby).get(part) for baby in babies)
        return any(rule is not None and value in starting.ends(rule) for rule in rules)

    return _one_part_wrong(case, book, takes)


def _cpap(**says: str) -> Callable[[Case, RuleBook, Random], Answers]:
    return lambda case, book, chance: _asked(case, ["cpap"], lambda q: says.get(q.facts["mask"]))


def _gauge(read: Callable[[float, float], float]) -> Callable[[Case, RuleBook, Random], Answers]:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        value = case["gauge"].facts["value"]
        return {"gauge": number(read(value, book["gauge.mark"].value))}

    return played


class Ventilates:
    """Somebody who gives inflations on the bench and turns controls between them."""

    def __init__(self, asked: Question, book: RuleBook, chance: Random) -> None:
        """Begin at the starting PIP, in the count that is asked for."""
        from graders.units.targets.raise_pip import bounds_of

        self.asked, self.chance = asked, chance
        self.bounds = bounds_of(asked, book)
        self.period = 60 / asked.facts["rate"] * chance.uniform(0.98, 1.02)
        self.at = dict(asked.facts["bench"]["positions"])
        self.reads = float(asked.facts["pip"])
        self.time, self.touches = 1.0, list[Touch]()

    def inflate(self, times: int, held: float | None = None) -> None:
        """Give inflations, one beat of three long unless told."""
        for _n in range(times):
            long = (self.period / 3 if held is None else held) + self.chance.gauss(0, 0.015)
            self.touches += [Touch(self.time, "occlude"), Touch(self.time + long, "release")]
            self.time += max(self.period, long + self.period / 2)

    def turn(self, dial: str, by: int) -> None:
        """Turn a control while the hole is open."""
        self.at[dial] = min(max(self.at[dial] + by, 0), DIALS[dial].clicks)
        self.touches.append(Touch(self.time - self.period / 4, dial, self.at[dial]))

    def position(self, wanted: float) -> int:
        """Return where PIP reads so much."""
        places = range(self.at["pip"], DIALS["pip"].clicks)

        def shows(n: int) -> float:
            at = {**self.at, "pip": n}
            return abs(reading(tuple(at[name] for name in DIALS), held=True) - wanted)

        return min(places, key=shows)

    def up(self, by: float) -> None:
        """Raise PIP by so many cmH2O, no further than the words of the question allow."""
        self.reads = min(self.reads + by, self.asked.facts["top"] - 1)
        self.turn("pip", self.position(self.reads) - self.at["pip"])

    def moves(self) -> bool:
        """Say whether the chest is seen to move."""
        return bool(self.at["pip"] >= self.bounds.moves)

    def steps(self, before: Callable[[], None] | None = None, enough: int | None = None) -> None:
        """Raise PIP step by step until the chest moves, with inflations and a look at each."""
        many = self.bounds.inflations + 1 if enough is None else enough
        self.inflate(many)
        while not self.moves() and self.reads < self.asked.facts["top"] - 1:
            if before is not None:
                before()
            self.up(self.bounds.step[0])
            self.inflate(many)

    def run(self) -> dict[str, Any]:
        """Hand in."""
        return Hands(self.time + 1, tuple(self.touches)).to_data()


def _raises(play: Callable[[Ventilates], None]) -> Callable[[Case, RuleBook, Random], Answers]:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        hand = Ventilates(case["raise"], book, chance)
        play(hand)
        return {"raise": hand.run()}

    return played


def _hold_and_turn(hand: Ventilates) -> None:
    hand.inflate(hand.bounds.inflations)
    begun = hand.time
    hand.reads = min(hand.reads + hand.bounds.step[0], hand.asked.facts["top"] - 1)
    hand.at["pip"] = hand.position(hand.reads)
    hand.touches += [
        Touch(begun, "occlude"), Touch(begun + 1.5, "pip", hand.at["pip"]),
        Touch(begun + hand.bounds.long + 2, "release"),
    ]  # fmt: skip
    hand.time = begun + hand.bounds.long + 2 + hand.period / 2
    hand.steps()


def _long(hand: Ventilates) -> None:
    held = hand.bounds.longest + 0.6
    hand.inflate(hand.bounds.inflations + 3, held)
    hand.steps()


def _pauses(hand: Ventilates) -> None:
    def stop() -> None:
        hand.time += 2.5 * max(hand.bounds.gap, hand.period)

    hand.steps(stop)


def _leaps(hand: Ventilates) -> None:
    hand.inflate(hand.bounds.inflations + 1)
    hand.up(hand.bounds.step[1] + 4)
    hand.inflate(hand.bounds.inflations + 1)
    hand.steps()


def _no_limit(hand: Ventilates) -> None:
    """Go on whatever the limit: when the needle sticks at the relief, the relief goes up too."""
    hand.steps()
    hand.turn("pip", 6)
    while hand.at["pip"] < DIALS["pip"].clicks - 12 and hand.reads < hand.bounds.ceiling + 6:
        hand.reads += hand.bounds.step[0]
        hand.turn("relief", 10)
        hand.turn("pip", hand.position(hand.reads) - hand.at["pip"])
        hand.inflate(hand.bounds.inflations)


def _other(dial: str, by: int) -> Callable[[Ventilates], None]:
    def play(hand: Ventilates) -> None:
        hand.inflate(hand.bounds.inflations + 1)
        hand.turn(dial, by if hand.at[dial] + by <= DIALS[dial].clicks else -by)
        hand.steps()

    return play


def _more(hand: Ventilates) -> None:
    hand.steps()
    hand.up(hand.bounds.step[0])
    hand.inflate(hand.bounds.inflations + 1)


def _both(*plays: Callable[[Case, RuleBook, Random], Answers]) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        made: Answers = {}
        for play in plays:
            made |= play(case, book, chance)
        return made

    return played


_LOW = {"leak": "raise", "blocked": "raise", "little": "raise"}
_UNSURE = ("leak", "blocked", "little", "stiff")

TARGETS: Mapping[str, Play] = {
    "oxygen-pure": _both(_sets(lambda s, g: s.get("oxygen") == 100 != g.get("oxygen")),
                         _oxygen(lambda turn, f: "pure" if turn == "raise" else None)),
    "pink-at-once": _oxygen(lambda turn, f: "raise" if turn == "leave" and f["saturation"] < 80
                            else None),
    "high-saturation-safe": _oxygen(lambda turn, f: "leave" if turn == "lower" else None),
    "relief-out-of-the-way": _sets(lambda s, g: s["relief"] > g["relief"]),
    "relief-is-no-ceiling": _both(_sets(lambda s, g: s["relief"] < s["pip"]),
                                  _predict("low", "pip")),
    "peep-not-needed": _sets(lambda s, g: s["peep"] == 0),
    "any-edition": _both(_from_elsewhere, _statement("swapped")),
    "one-set-for-all": _one_for_all,
    "editions-averaged": _statement("averaged"),
    "one-right-number": _statement("one-right-number"),
    "free-choice": _statement("free-choice"),
    "small-mark-is-one": _gauge(lambda v, mark: v // 10 * 10 + (v % 10) / mark),
    "nearest-number": _gauge(lambda v, mark: 10 * int(v / 10 + 0.5)),
    "occluding-makes-pip": _predict("off", "pip"),
    "open-shows-peep": _both(_predict("off", "peep"), _cpap(near="cpap")),
    "gauge-shows-relief": _predict("held", "relief"),
    "falls-to-zero": _predict("released", "none"),
    "flow-any-time": _flow_moves("neither"),
    "leak-unseen": _leak("leak-unseen"),
    "leak-spares-peep": _leak("leak-spares-peep"),
    "leak-spares-pip": _leak("leak-spares-pip"),
    "flow-spares-pip": _flow_moves("peep"),
    "pressure-is-volume": _chest(dict.fromkeys(("blocked", "little", "stiff"), "on")),
    "full-needle-seals": lambda case, book, chance: {"leak-hides": "none"},
    "press-harder": _chest(dict.fromkeys(("leak", "blocked", "little"), "press")),
    "pressure-first": _both(
        _chest(_LOW, {"still": "raise"}),
        lambda case, book, chance: {
            "corrective": ["pressure", "mask", "position", "suction", "open", "airway"]
        },
    ),
    "compress-first": _chest(in_heart={"still": "compress"}),
    "no-thumb-no-gas": _cpap(sealed="no-gas", near="no-gas"),
    "pip-without-thumb": _cpap(sealed="pip", near="pip"),
    "hold-to-turn": _raises(_hold_and_turn),
    "longer-opens-better": _raises(_long),
    "stop-to-turn": _raises(_pauses),
    "pip-is-fixed": _raises(lambda hand: hand.inflate(14)),
    "all-at-once": _raises(_leaps),
    "pressure-without-limit": _raises(_no_limit),
    "flow-for-pressure": _both(_chest(dict.fromkeys(_UNSURE, "flow")), _raises(_other("flow", 6))),
    "peep-for-chest": _raises(_other("peep", 15)),
    "relief-in-care": _raises(_other("relief", 9)),
    "more-is-better": _both(_chest({"fine": "raise", "over": "raise"}), _raises(_more)),
}  # fmt: skip


# --- rate and counting


def _tap(
    asked: Question, chance: Random, paces: Sequence[tuple[float, float, float]],
    first: Sequence[float] = (),
) -> dict[str, Any]:  # fmt: skip
    """Return taps: (until s, rate, share held), after long first ones; the answer is right."""
    from graders.units.rate.tap_marks import tapped

    lasts, time, events = float(asked.facts["duration"]), 0.7, list[list[Any]]()
    spread = chance.uniform(0.01, 0.03)
    for long in first:
        events += [[time, "press"], [time + long * chance.uniform(0.95, 1.05), "release"]]
        time += long + 1.0
    for until, rate, share in paces:
        while time < min(until, lasts) - 60 / rate:
            press = time + chance.gauss(0, spread)
            events += [[press, "press"], [press + share * 60 / rate + chance.gauss(0, spread),
                                          "release"]]  # fmt: skip
            time += 60 / rate
    last, rows = 0.0, []
    for at, what in events:
        last = max(at, last + 0.03)
        rows.append([round(last, 4), what])
    made = tapped(asked, 0.4)
    return {**made, "events": [row for row in rows if row[0] < lasts]}


def _begun(asked: Question, book: RuleBook) -> list[float]:
    found = rhythms.firsts(book) if asked.facts["begins"] else None
    return [found.held] * found.count if found else []


TAPPED = ("tap-alone", "tap-distracted")


def _held(share: float) -> Callable[[Case, RuleBook, Random], Answers]:
    return lambda case, book, chance: {
        id: _tap(case[id], chance, [(99, case[id].facts["rate"], share)], _begun(case[id], book))
        for id in TAPPED
    }


def _all_long(case: Case, book: RuleBook, chance: Random) -> Answers:
    """Hold every inflation as long as the first ones of some editions."""
    low, high = rhythms.first_time(book).band
    held = (low + min(high, 3.0)) / 2
    rate = 60 / (held + 1.0)
    return {id: _tap(case[id], chance, [(99, rate, held * rate / 60)]) for id in TAPPED}


def _straight_on(case: Case, book: RuleBook, chance: Random) -> Answers:
    return {
        id: _tap(case[id], chance, [(99, case[id].facts["rate"], 1 / 3)])
        for id in TAPPED if case[id].facts["begins"]
    }  # fmt: skip


def _hurries(case: Case, book: RuleBook, chance: Random) -> Answers:
    asked = case["tap-distracted"]
    at, rate = asked.shows["distraction"]["at"], asked.facts["rate"]
    fast = max(1.3 * asked.facts["high"], 1.3 * rate)
    return {asked.id: _tap(asked, chance, [(at, rate, 1 / 3), (99, fast, 1 / 3)],
                           _begun(asked, book))}  # fmt: skip


def _heard(case: Case, book: RuleBook, good: Callable[[float, str], bool]) -> Answers:
    """Call good what the belief finds good, by the rate that was played and what is wrong."""
    from graders.units.rate.marks import heard_as, heard_timing

    made: Answers = {}
    for id in ("hear-first", "hear-second"):
        right, rate = heard_as(case[id], book), heard_timing(case[id]).rate or 0.0
        if right != "good" and good(rate, right):
            made[id] = "good"
    return made


def _within(band: tuple[float, float], wrong: str) -> Callable[[float, str], bool]:
    return lambda rate, is_so: band[0] <= rate <= band[1] and is_so == wrong


def _rate(bands: Callable[[RuleBook], list[tuple[float, float]]], wrong: str) -> Play:
    """Hold a rate to be right everywhere."""

    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        asked, made = case["count-paces"], Answers()
        for low, high in bands(book)[:1]:
            paces = [f"{p:g}" for p in asked.facts["paces"] if low <= p <= high]
            if paces:
                made["count-paces"] = paces
            made |= _heard(case, book, _within((low, high), wrong))
        return made

    return played


def _lung(pick: Callable[[Sequence[Any], Sequence[Sequence[Any]], str], bool]) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        from graders.units.rate.marks import traps_most

        asked = case["trapped"]
        right = traps_most(asked, book)
        hands = {f"hand-{n}": each for n, each in enumerate(asked.facts["hands"], 1)}
        found = [id for id, each in hands.items() if id != right
                 and pick(each, list(hands.values()), hands[right])]  # fmt: skip
        return {"trapped": found[0]} if len(found) == 1 else {}

    return played


def _says_pair(**says: str) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        from graders.units.rate.marks import said_of_pair

        said = says.get(said_of_pair(case["count-cpr"], book))
        return {"count-cpr": said} if said else {}

    return played


def _goes_on(case: Case, book: RuleBook, chance: Random) -> Answers:
    """Ask for the ordinary rate: good where it is given, too few where there are fewer."""
    from graders.units.rate.marks import said_of_pair

    facts = case["count-cpr"].facts
    is_so = said_of_pair(case["count-cpr"], book)
    if is_so == "many" and facts["inflations"] == facts["rate"]:
        return {"count-cpr": "good"}
    return {"count-cpr": "few"} if is_so == "good" and facts["inflations"] < facts["rate"] else {}


RATE: Mapping[str, Play] = {
    "equal-times": _held(0.5),
    "ratio-turned-round": _both(_held(2 / 3),
                                lambda c, b, r: _heard(c, b, lambda rate, w: w == "long")),
    "stretch-is-a-minute": lambda c, b, r: {
        "strip-rate": number(c["strip-rate"].facts["inflations"], "1/min")},
    "long-first-for-all": _all_long,
    "begins-at-once": _straight_on,
    "one-rate-everywhere": _rate(lambda b: [rhythms.usual_band(b)], "fast"),
    "slow-rate-everywhere": _rate(rhythms.slow_bands, "slow"),
    "faster-ventilates-better": lambda c, b, r: _heard(c, b, lambda rate, w: w == "fast"),
    "same-pip-same-gas": lambda c, b, r: {"trapped": "same"},
    "only-rate-traps": _lung(lambda h, all, right: h[1] > right[1] and h[2] < right[2]
                             and h[0] == right[0]),
    "slow-rate-traps": _lung(lambda h, all, right: h[1] < right[1] and h[0] == right[0]),
    "stiff-lung-traps": _lung(lambda h, all, right: h[0] == "stiff"),
    "ordinary-rate-at-compressions": _goes_on,
    "every-event-a-compression": _says_pair(fast="good", good="slow"),
    "rushes-when-distracted": _hurries,
}  # fmt: skip


# --- mask and tube


def _mask(change: Callable[[Mask, Face, Random], Mask | None]) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        made: Answers = {}
        for id in ("mask-place", "mask-between"):
            face = Face(case[id].facts["length"])
            mask = change(best_place(face, best_masks(face)[0]), face, chance)
            if mask is not None:
                made[id] = laid(mask)
        return made

    return played


def _larger(mask: Mask, face: Face, chance: Random) -> Mask | None:
    bigger = [size for size in offered() if size > max(best_masks(face))]
    return best_place(face, bigger[0]) if bigger else None


def _situation(question: str, **says: str) -> Callable[[Case, RuleBook, Random], Answers]:
    """Answer by what was drawn."""

    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        facts = case[question].facts
        said = says.get(str(facts.get("situation") or facts.get("needle")).replace("-", "_"))
        return {question: said} if said is not None and has(case[question], said) else {}

    return played


def _depth(says: Callable[[str], str | None]) -> Play:
    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        from graders.units.sizing.marks import key
        from graders.units.sizing.right import choices

        said = says(choices(case["depth-small"], key())[0])
        return {"depth-small": said} if said else {}

    return played


def _by_weeks(case: Case, book: RuleBook, chance: Random) -> Answers:
    """Take the tube that the weeks name, with the right blade."""
    from workbook.units.sizing.case import tubes

    asked = case["tube-weight"]
    right = model_answers(case, book)[asked.id].split("/")[1]
    by_weeks = tubes.by_gestation(asked.facts["weeks"])
    said = f"{by_weeks:g}/{right}"
    return {asked.id: said} if has(asked, said) else {}


SIZES: Mapping[str, Play] = {
    "mask-over-eyes": _mask(lambda m, f, r: Mask(m.diameter, m.x, m.y - r.uniform(10, 13))),
    "bigger-seals-better": _mask(_larger),
    "chin-inside": _mask(lambda m, f, r: Mask(m.diameter, m.x, f.length - m.outer
                                              + r.uniform(5, 7))),
    "turn-is-nothing": _mask(lambda m, f, r: Mask(m.diameter, m.x, m.y, r.uniform(70, 150))),
    "full-needle-seals": _situation("seal-check", full="sealed"),
    "flow-mends-leak": _situation("seal-check", low="flow"),
    "press-to-seal": _situation("mask-hold", leak="press", pressed="press"),
    "change-what-works": _both(_situation("mask-hold", works="two"),
                               _situation("interface-next", works="laryngeal")),
    "patience-with-the-mask": _situation("interface-next", alone="mask", small_alone="mask",
                                         small_helped="mask"),
    "airway-any-baby": _situation("interface-next", small_alone="laryngeal",
                                  small_helped="laryngeal"),
    "age-alone": _by_weeks,
    "one-depth-rule": _depth(lambda right: "deep" if right == "within" else None),
    "deeper-is-safer": _depth(lambda right: "push"),
    "mist-confirms": _situation("confirm", none="hold"),
    "x-ray-first": _situation("confirm", none="wait", right="wait", good="wait"),
    "suction-every-baby": _situation("suction", cries="short"),
    "suction-harder": _situation("suction", blocked="harder", slow="harder"),
}  # fmt: skip

# --- finding what is wrong


class Finder:
    """Somebody in a trial who waits for each move to end, and thinks a little between two."""

    def __init__(self, asked: Question, chance: Random) -> None:
        """Begin with nothing done."""
        self.asked, self.chance = asked, chance
        self.takes = {move["id"]: 1000 * move["seconds"] for move in asked.shows["moves"]}
        self.now, self.rows = 1000 * chance.uniform(0.4, 1.0), list[list[Any]]()

    def do(self, move: str, *what: Any) -> None:
        """Do a move."""
        self.rows.append([round(self.now), move, *what])
        self.now += self.takes[move] + 1000 * self.chance.uniform(0.2, 0.6)

    def cover(self) -> None:
        """Cover the hole, look, let go."""
        self.do("occlude")
        self.now += 1000 * self.chance.uniform(0.4, 0.8)
        self.do("release")

    def on(self, rows: Iterable[Sequence[Any]]) -> None:
        """Go on as somebody else did."""
        for _time, move, *what in rows:
            if move == "release":
                self.now += 500
            self.do(move, *what)

    def name(self, *faults: str) -> None:
        """Name one of some faults that can be named here, and do what follows from it."""
        known = {each["id"] for each in self.asked.shows["faults"]}
        self.do("name", self.chance.choice([fault for fault in faults if fault in known]))
        self.do("sure", self.chance.choice(("sure", "fairly")))
        self.do("mend")
        bagged = any(row[1] == "bag" for row in self.rows)
        if self.baby and bagged:
            self.do("connect")
        self.do("read")

    @property
    def baby(self) -> bool:
        """Say whether a baby is there."""
        return bool(self.asked.shows["setting"] == "baby")

    @property
    def fault(self) -> str:
        """Return what is wrong; what is done by a belief looks alike, the occasion differs."""
        return str(self.asked.facts["fault"])

    def safe(self) -> None:
        """Look once; with a baby take the bag."""
        self.cover()
        if self.baby:
            self.do("bag")

    @property
    def answer(self) -> dict[str, Any]:
        """Return what was done."""
        head = {"format": "tpiece-trial", "version": 1, "duration": round(self.now + 300)}
        return {**head, "moves": self.rows}


def _found(does: Callable[[Finder, list[list[Any]]], None], when: Callable[[Finder], bool]) -> Play:
    """Try each trial by a belief where there is an occasion for it; ``does`` gets an expert's."""

    def played(case: Case, book: RuleBook, chance: Random) -> Answers:
        right, made = model_answers(case, book), Answers()
        for asked in case.questions:
            finder = Finder(asked, chance)
            if when(finder):
                does(finder, right[asked.id]["moves"])
                made[asked.id] = finder.answer
        return made

    return played


def _by_needle(finder: Finder, expert: list[list[Any]]) -> None:
    """Believe the needle: what would make it stand so?"""
    finder.safe()
    if finder.chance.random() < 0.5:
        finder.do("look-flow")
    looks = {
        "gauge-blocked": ("hose-off", "outlet-open", "hose-off"),
        "needle-sticks": ("hose-blocked", "hole-narrow"),
    }
    finder.name(*looks.get(finder.fault, ("pip-open", "flow-high")))


def _more_flow(finder: Finder, expert: list[list[Any]]) -> None:
    """Too little pressure: turn the flow up; then on as before."""
    finder.safe()
    at = finder.asked.shows["bench"]["positions"]["flow"]
    finder.do("flow", min(DIALS["flow"].clicks, at + finder.chance.randint(2, 8)))
    finder.on(row for row in _later(finder, expert) if row[1] != "flow")


def _later(finder: Finder, expert: list[list[Any]]) -> list[list[Any]]:
    """Return what an expert did after the first look and the bag."""
    begun = [n for n, row in enumerate(expert) if row[1] in ("release", "bag")]
    return expert[(begun[1] if finder.baby and "bag" in [r[1] for r in expert] else begun[0]) + 1 :]


def _looks_first(finder: Finder, expert: list[list[Any]]) -> None:
    """Look here and there for half a minute; then the bag."""
    finder.cover()
    looks = ("look-flow", "look-supply", "follow-hose", "listen-box", "listen-t", "look-blender")
    while finder.now < 1000 * finder.chance.uniform(20, 30):
        finder.do(finder.chance.choice(looks))
    finder.do("bag")
    finder.on(_later(finder, expert))


def _inflates_on(finder: Finder, expert: list[list[Any]]) -> None:
    """The needle stays up: a good PEEP. Inflate on."""
    while finder.now < 1000 * finder.chance.uniform(14, 20):
        finder.cover()
        finder.now += 600
    finder.name("lung-stiff", "airway-blocked", "oxygen-out", finder.fault)


def _by_gauge(finder: Finder, expert: list[list[Any]]) -> None:
    """Turn PIP, or PEEP, until the needle would be right."""
    finder.safe()
    at = finder.asked.shows["bench"]["positions"]
    dial = finder.chance.choice(("pip", "pip", "peep"))
    way = 1 if finder.fault == "gauge-blocked" else -1
    to = at[dial] + way * finder.chance.randint(6, 20)
    finder.do(dial, min(max(to, 0), DIALS[dial].clicks))
    finder.on(row for row in _later(finder, expert) if row[1] != dial)


def _every_part(finder: Finder, expert: list[list[Any]]) -> None:
    """New mask, new T; then a name for it."""
    finder.safe()
    parts = ["swap-mask", "swap-t"] if finder.baby else ["swap-t"]
    for part in finder.chance.sample(parts, len(parts)):
        finder.do(part)
    finder.name("cap-under-finger", "cap-beside-finger", "leak-large", "hole-narrow", finder.fault)


def _straight_back(finder: Finder, expert: list[list[Any]]) -> None:
    """Mended: on with it."""
    finder.on(row for row in expert if row[1] != "read")


_LOW = ("no-gas", "hose-off", "outlet-open", "gauge-blocked", "cap-under-finger", "gas-fading",
        "leak-large", "cap-beside-finger")  # fmt: skip
_FALSE = ("gauge-blocked", "needle-sticks", "needle-off-zero")

FAULTY: Mapping[str, Play] = {
    "needle-is-truth": _found(_by_needle, lambda f: f.fault in _FALSE),
    "flow-cures-all": _found(_more_flow, lambda f: f.fault in _LOW),
    "search-before-bag": _found(
        _looks_first,
        lambda f: f.baby and f.fault not in ("limits-fail", "flow-high", "hole-narrow")),
    "zero-means-empty": _found(
        lambda f, expert: (f.safe(), f.name("no-gas"))[0],
        lambda f: f.fault in ("hose-off", "outlet-open", "gauge-blocked")),
    "high-rest-is-good-peep": _found(
        _inflates_on, lambda f: f.baby and f.fault in ("flow-high", "hole-narrow")),
    "chest-proves-gauge": _found(_by_gauge, lambda f: f.fault in _FALSE),
    "alarm-is-fault": _found(
        lambda f, expert: (f.safe(), f.name("oxygen-out"))[0],
        lambda f: bool(f.asked.shows["alarm"]) and f.fault != "oxygen-out"),
    "swap-everything": _found(_every_part, lambda f: True),
    "new-baby-same-device": _found(_straight_back, lambda f: f.fault != "pip-open"),
}  # fmt: skip

UNITS: Mapping[str, Mapping[str, Play]] = {
    "1_setup_order": SETUP,
    "3_pressure_targets": TARGETS,
    "4_rate_counting": RATE,
    "5_interface_sizing": SIZES,
    "6_fault_finding": FAULTY,
}


def acts(case: Case, book: RuleBook, belief: str, chance: Random) -> Answers:
    """Return the answers by which a belief shows in a case: those that are not right."""
    made = UNITS[case.exercise][belief](case, book, chance)
    known = {q.id for q in case.questions}
    missed = {id: mark(case, id, value, book) for id, value in made.items() if id in known}
    return {id: made[id] for id, verdict in missed.items() if verdict.earned < verdict.possible}


def in_part(made: Answers, chance: Random) -> Answers:
    """Return two thirds of the answers of a belief, and at least one."""
    many = max(1, round(2 * len(made) / 3))
    return {id: made[id] for id in chance.sample(sorted(made), many)}
