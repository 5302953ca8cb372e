"""Feedback on a case and on its note while practising."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.scenario import Case, Replay, ScenarioError, read_scenario, replay, seconds, timed
from workbook.scenario.note import NoteError, compared, read_note

Went = {"seconds": "{seconds}"}  # words that wait until a case was played
LOOKS = ("listen", "oximeter", "leads")
Says = Mapping[str, Any]


def on_case(case: Case, value: Any, book: RuleBook, says: Says) -> dict[str, Any]:
    """Return feedback on a case: what was done in time, and the first thing that was missing."""
    try:
        made = replayed(case, value, book)
    except ScenarioError as error:
        return {"heading": str(error), "lines": []}
    lines = [
        {"met": met, "says": says[name]["met" if met else "not"].format(**told), "source": ""}
        for name, met, told in _parts(made, book)
    ]
    missed = [line for line in lines if not line["met"]]
    return {"heading": says["heading"], "lines": missed[:1] or lines}


def replayed(case: Case, value: Any, book: RuleBook) -> Replay:
    """Return a case as it went; ScenarioError when the answer is no case."""
    limit = book["scenario.limit"].value
    return replay(case, read_scenario(value, case.id, seconds(book), limit), book)


def _parts(made: Replay, book: RuleBook) -> Iterator[tuple[str, bool, dict[str, str]]]:
    when, done = timed(made, book), {one.act for one in made.played.done}
    begun = min((when[name] for name in ("inflation", "bag") if name in when), default=None)
    within = begun is not None and begun <= book["ppv.within"].band[1]
    yield "begin", within, _at(begun)
    yield "moved", "effective" in when, _at(when.get("effective"))
    yield "looked", bool(done.intersection(LOOKS)), {}
    yield "aloud", bool(done & {"say", "heart-rate"}), {}
    yield "stable", "stabilised" in when, _at(when.get("stabilised"))


def _at(time: float | None) -> dict[str, str]:
    return {"seconds": "" if time is None else plain(round(time), "s")}


def on_note(case: Case, value: Any, record: Any, book: RuleBook, says: Says) -> dict[str, Any]:
    """Return each entry of a note beside what happened in the case as it was last played."""
    try:
        note = read_note(value)
    except NoteError as error:
        return {"heading": str(error), "lines": []}
    try:
        made = replayed(case, record, book)
    except ScenarioError:
        return {"heading": says["first"], "lines": []}
    lines = compared(note, made, book)
    return {
        "heading": says["heading"],
        "lines": [{"met": one.agrees, "says": one.says, "source": ""} for one in lines],
    }
