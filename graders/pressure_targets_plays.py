"""How a learner who holds a misconception of pressure targets answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from graders import heart_and_chest_plays, raise_plays
from graders.pressure_targets import (
    baby_of,
    in_unit,
    key,
    needle_slips,
    offered_pairs,
    reading_slips,
    statement,
)
from workbook.cases import Case, predictions, starting, two_editions
from workbook.cases.pressure_targets import GAUGES, TARGETS
from workbook.cases.raise_pip import QUESTION as RAISE
from workbook.rules import RuleBook, rulebook
from workbook.units import convert

Answers = dict[str, Any]
ASKED_IN, GAUGE_UNIT = GAUGES[-1], "cmH2O"
TELLS_APART = 2.0  # accepted bands that two readings must lie apart to be told from each other


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
        _needles,
        _predictions,
        heart_and_chest_plays.answers,
        _raises,
    ):
        made |= part(case, book, belief)
    return made


def _sets(case: Case, book: RuleBook, belief: str) -> Answers:
    slips = {slip for slip, said in key()["set"].items() if said["belief"] == belief}
    return {
        id: letter
        for id in (TARGETS if slips else ())
        for letter, each in case[id].facts["sets"].items()
        if starting.slip_of(each, book, baby_of(case[id])) in slips
    }


def _statements(case: Case, book: RuleBook, belief: str) -> Answers:
    id, claims = two_editions.QUESTION, key()["two"]
    claim = next((claim for claim, shown in claims.items() if shown == belief), None)
    return {} if claim is None else {id: statement(case[id], claim)}


def _needles(case: Case, book: RuleBook, belief: str) -> Answers:
    made: Answers = {}
    for id in GAUGES:
        facts = case[id].facts
        slips = needle_slips(facts["value"], book)
        # In another unit a misread number can look like the right one not converted.
        if belief in slips and facts["asked"] == GAUGE_UNIT:
            made[id] = in_unit(slips[belief])
    value, unit = case[ASKED_IN].facts["value"], case[ASKED_IN].facts["asked"]
    typed = {"units-alike": float(value), "converts-backwards": value / convert(1.0, "cmH2O", unit)}
    apart = TELLS_APART * book["gauge.accept"].value
    if belief in typed and abs(convert(typed[belief], unit, "cmH2O") - value) > apart:
        made[ASKED_IN] = {"text": f"{typed[belief]:.4g}", "unit": unit}
    return made


def _predictions(case: Case, book: RuleBook, belief: str) -> Answers:
    made: Answers = {}
    for id in predictions.NUMBERS:
        slips = reading_slips(case[id])
        if belief in slips:
            made[id] = in_unit(slips[belief])
    for id in predictions.CHOICES if belief in _PAIRS else ():
        pairs = offered_pairs(case[id], book)
        if belief in pairs:
            made[id] = predictions.pair_id(pairs[belief])
    return made


def _raises(case: Case, book: RuleBook, belief: str) -> Answers:
    asked, mistake = case[RAISE], raise_plays.BELIEFS.get(belief, "")
    if not mistake or not raise_plays.shows_at_bench(asked, mistake, book):
        return {}
    return {asked.id: raise_plays.run_with(asked, mistake, book)}


_SPOKEN: Mapping[str, Callable[[], tuple[str, ...]]] = {
    "sets": lambda: tuple(said["belief"] for said in key()["set"].values()),
    "two": lambda: tuple(key()["two"].values()),
    "chest": heart_and_chest_plays.beliefs,
    "raise": lambda: tuple(raise_plays.BELIEFS),
}
_PAIRS = (
    "leak-unseen", "leak-spares-peep", "leak-spares-pip", "flow-any-time", "peep-proportional",
    "flow-spares-pip",
)  # fmt: skip
_READ = (
    "small-mark-is-one", "nearest-number", "units-alike", "converts-backwards", "pip-plus-peep",
    "gauge-shows-relief", "falls-to-zero", "occluding-makes-pip", "open-shows-peep", *_PAIRS,
)  # fmt: skip

PLAYS = tuple(dict.fromkeys([*_READ, *(b for part in _SPOKEN.values() for b in part())]))
