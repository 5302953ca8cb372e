"""Who holds a belief of unit 6: somebody in a trial."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from random import Random
from typing import Any

from graders.marking.exercise import model_answers
from tests.believers.base import Answers, Play
from workbook.bench import DIALS
from workbook.cases import Case, Question
from workbook.rules import RuleBook


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
