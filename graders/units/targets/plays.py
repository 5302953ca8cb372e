"""How a learner who holds a misconception of pressure targets answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from graders.units.targets import heart_and_chest_plays, raise_plays
from graders.units.targets.marks import (
    baby_of,
    in_unit,
    key,
    needle_slips,
    offered_pairs,
    statement,
    turned_id,
)
from workbook.cases import Case
from workbook.rules import RuleBook, rulebook
from workbook.units.targets.case import oxygen, predictions, starting_sets, two_editions
from workbook.units.targets.case.questions import GAUGES, TARGETS
from workbook.units.targets.case.raise_pip import QUESTION as RAISE

Answers = dict[str, Any]


def play(answers: Answers, case: Case, book: RuleBook, misconception: str) -> None:
    """Change right answers into those of a learner who holds the misconception."""
    answers |= _answers(case, book, misconception)


def shows(case: Case, misconception: str, book: RuleBook | None = None) -> bool:
    """Say whether a case has a question in which this misconception can show."""
    return bool(_answers(case, book or rulebook(case.edition), misconception))


def _answers(case: Case, book: RuleBook, belief: str) -> Answers:
    """Return the answers that somebody who holds a belief gives differently."""
    made: Answers = {}
    for part in (
        _sets,
        _statements,
        _oxygen,
        _needles,
        _predictions,
        heart_and_chest_plays.answers,
        _raises,
    ):
        made |= part(case, book, belief)
    return made


def _sets(case: Case, book: RuleBook, belief: str) -> Answers:
    """Return the sets that are wrong in one part only, and by this belief."""
    named = {slip for slip, said in key()["set"].items() if said["belief"] == belief}
    return {
        id: letter
        for id in (TARGETS if named else ())
        for letter, each in case[id].facts["sets"].items()
        if (shown := list(starting_sets.slips(each, book, baby_of(case[id])).values()))
        and len(shown) == 1
        and shown[0] in named
    }


def _statements(case: Case, book: RuleBook, belief: str) -> Answers:
    """Return the statement with the right numbers and the belief's conclusion, or the reverse."""
    asked, claims = case[two_editions.QUESTION], key()["two"]
    if belief == claims["swapped"]:
        return {asked.id: statement(asked, f"{two_editions.SWAPPED}both")}
    claim = next((claim for claim, shown in claims.items() if shown == belief), None)
    return {asked.id: statement(asked, claim)} if claim == asked.facts["concluded"] else {}


def _oxygen(case: Case, book: RuleBook, belief: str) -> Answers:
    facts = {id: case[id].facts for id in oxygen.QUESTIONS}
    return _by_pairs(
        {id: oxygen.found(each, book)[0] for id, each in facts.items()},
        key()["oxygen"]["beliefs"], belief,
    )  # fmt: skip


def _by_pairs(stands: Mapping[str, str], beliefs: Mapping[str, str], belief: str) -> Answers:
    """Return what a belief answers, where it is kept by what is so and what is chosen."""
    pairs = [pair.split(">") for pair, shown in beliefs.items() if shown == belief]
    return {id: chosen for id, is_so in stands.items() for so, chosen in pairs if so == is_so}


def _needles(case: Case, book: RuleBook, belief: str) -> Answers:
    slips = {id: needle_slips(case[id].facts["value"], book) for id in GAUGES}
    return {id: in_unit(each[belief]) for id, each in slips.items() if belief in each}


def _predictions(case: Case, book: RuleBook, belief: str) -> Answers:
    reading, turned = key()["reading"]["beliefs"], key()["turned"]["beliefs"]
    states = {id: case[id].facts["state"] for id in predictions.READINGS}
    made = _by_pairs(states, reading, belief)
    dials = {id: case[id].facts["turned"] for id in predictions.TURNS}
    moved = _by_pairs(dials, turned, belief)
    made |= {id: turned_id(case[id], pair) for id, pair in moved.items()}
    leaking = case[predictions.LEAK]
    pairs = offered_pairs(leaking, book)
    if belief in _PAIRS and belief in pairs:
        made[leaking.id] = predictions.pair_id(pairs[belief])
    return made


def _raises(case: Case, book: RuleBook, belief: str) -> Answers:
    asked, mistake = case[RAISE], raise_plays.BELIEFS.get(belief, "")
    if not mistake or not raise_plays.shows_at_bench(asked, mistake, book):
        return {}
    return {asked.id: raise_plays.run_with(asked, mistake, book)}


_SPOKEN: Mapping[str, Callable[[], tuple[str, ...]]] = {
    "sets": lambda: tuple(said["belief"] for said in key()["set"].values()),
    "two": lambda: tuple(key()["two"].values()),
    "oxygen": lambda: tuple(key()["oxygen"]["beliefs"].values()),
    "reading": lambda: tuple(key()["reading"]["beliefs"].values()),
    "turned": lambda: tuple(key()["turned"]["beliefs"].values()),
    "chest": heart_and_chest_plays.beliefs,
    "raise": lambda: tuple(raise_plays.BELIEFS),
}
_PAIRS = ("leak-unseen", "leak-spares-peep", "leak-spares-pip")
_READ = ("small-mark-is-one", "nearest-number", *_PAIRS)

PLAYS = tuple(dict.fromkeys([*_READ, *(b for part in _SPOKEN.values() for b in part() if b)]))
