"""Who holds a belief of unit 3: pressures, oxygen, the chest, raising PIP."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from random import Random
from typing import Any

from graders.marking.exercise import model_answers
from tests.believers.base import Answers, Play, both, has, number
from workbook.bench import DIALS, Hands, Touch
from workbook.bench.story import reading
from workbook.cases import Case, Question, starting
from workbook.rules import RuleBook, editions, rulebook
from workbook.units.targets.case import heart_first, oxygen, predictions, seal, two_editions


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


_LOW = {"leak": "raise", "blocked": "raise", "little": "raise"}
_UNSURE = ("leak", "blocked", "little", "stiff")

TARGETS: Mapping[str, Play] = {
    "oxygen-pure": both(_sets(lambda s, g: s.get("oxygen") == 100 != g.get("oxygen")),
                         _oxygen(lambda turn, f: "pure" if turn == "raise" else None)),
    "pink-at-once": _oxygen(lambda turn, f: "raise" if turn == "leave" and f["saturation"] < 80
                            else None),
    "high-saturation-safe": _oxygen(lambda turn, f: "leave" if turn == "lower" else None),
    "relief-out-of-the-way": _sets(lambda s, g: s["relief"] > g["relief"]),
    "relief-is-no-ceiling": both(_sets(lambda s, g: s["relief"] < s["pip"]),
                                  _predict("low", "pip")),
    "peep-not-needed": _sets(lambda s, g: s["peep"] == 0),
    "any-edition": both(_from_elsewhere, _statement("swapped")),
    "one-set-for-all": _one_for_all,
    "editions-averaged": _statement("averaged"),
    "one-right-number": _statement("one-right-number"),
    "free-choice": _statement("free-choice"),
    "small-mark-is-one": _gauge(lambda v, mark: v // 10 * 10 + (v % 10) / mark),
    "nearest-number": _gauge(lambda v, mark: 10 * int(v / 10 + 0.5)),
    "occluding-makes-pip": _predict("off", "pip"),
    "open-shows-peep": both(_predict("off", "peep"), _cpap(near="cpap")),
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
    "pressure-first": both(
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
    "flow-for-pressure": both(_chest(dict.fromkeys(_UNSURE, "flow")), _raises(_other("flow", 6))),
    "peep-for-chest": _raises(_other("peep", 15)),
    "relief-in-care": _raises(_other("relief", 9)),
    "more-is-better": both(_chest({"fine": "raise", "over": "raise"}), _raises(_more)),
}  # fmt: skip
