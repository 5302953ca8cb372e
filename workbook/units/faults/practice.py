"""Feedback on a trial in a lesson: what was kept safe, tested, named, mended and read again."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from workbook.cases import Question
from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.trial import NAMED, Scene, TrialError, read_trial
from workbook.trial.apart import differ, look_alikes, states, values
from workbook.trial.moves import BABY
from workbook.trial.replay import Limits, Replay
from workbook.units.faults.case.questions import seconds

Says = Mapping[str, Any]


def limits_of(facts: Mapping[str, Any], book: RuleBook) -> Limits:
    """Return what the rules say of a trial of some facts."""
    highest = {
        name: book[f"trial.{name}"].band[1] for name in ("act", "unventilated", "high", "stuck")
    }
    return Limits(
        **highest,
        share=book["trial.share"].band[0] / 100,
        read=book["trial.look-held"].value,
        ceiling=facts["relief"] + book["relief.accept"].value,
        rest=facts["peep"] + book["watch.peep.high"].band[1],
    )


def on_trial(asked: Question, value: Any, book: RuleBook, says: Says) -> dict[str, Any]:
    """Return feedback on a trial: what was wrong, and the first part that is missing, or all."""
    try:
        replay = replayed(asked, value, book)
    except TrialError as error:
        return {"heading": str(error), "lines": []}
    fault = _(NAMED[replay.scene.fault].text)
    parts = [_high(replay), _safe(replay), _tested(replay, asked.facts["apart"])]
    parts += [_named(replay), _mended(replay), _read(replay)]
    lines = [
        {"met": met, "says": _worded(says, name, met, told), "source": ""}
        for name, met, told in filter(None, parts)
    ]
    missed = [line for line in lines if not line["met"]]
    return {"heading": str(says["was"]).format(fault=fault), "lines": missed[:1] or lines}


def replayed(asked: Question, value: Any, book: RuleBook) -> Replay:
    """Return a trial as it went; TrialError when the answer is no trial."""
    facts, takes = asked.facts, seconds(book)
    trial = read_trial(value, facts["setting"], takes, book["trial.limit"].band[1])
    return Replay(Scene.of(facts), trial, takes, limits_of(facts, book))


Part = tuple[str, bool, dict[str, str]] | None


def _worded(says: Says, part: str, met: bool, told: Mapping[str, str]) -> str:
    """Return a part's sentence; where a fault could be named and was not, one of its own."""
    how = "met" if met else "not" if told.get("named", "said") else "nothing"
    read = says["section"].get(told.get("family", ""), "")
    return str(says[part][how]).format(**{**told, "family": read})


def _family(replay: Replay) -> dict[str, str]:
    """Return the family of the fault; the lesson says in which of its sections that stands."""
    return {"family": NAMED[replay.scene.fault].family}


def _safe(replay: Replay) -> Part:
    if replay.scene.setting != BABY:
        return None
    begin, end = replay.gap
    within = end - begin <= replay.limits.act
    return "safe", within, {"seconds": plain(round(end - begin), "s")}


def _high(replay: Replay) -> Part:
    """Return a pressure that stayed up at the baby, or stood above its ceiling, for too long."""
    limits = replay.limits
    too_long = replay.stuck > limits.stuck or replay.high > limits.high
    seconds = max(replay.stuck, replay.high)
    return ("high", False, {"seconds": plain(round(seconds), "s")}) if too_long else None


def _tested(replay: Replay, apart: float) -> Part:
    left = not_told_apart(replay, apart)
    return "test", not left, {"other": _(NAMED[left[0]].text) if left else "", **_family(replay)}


def not_told_apart(replay: Replay, apart: float) -> list[str]:
    """Return the look-alikes that would have shown the same in all that was seen."""
    scene, seen = replay.scene, replay.seen
    own = values(scene, states(scene, replay.alters), seen)
    left = []
    for id in look_alikes(scene):
        other = scene.with_fault(id)
        there = values(other, states(other, replay.alters), seen)
        rows = zip(own, there, seen, strict=True)
        if not any(differ(a, b, one.by, apart) for a, b, one in rows):
            left.append(id)
    return left


def _named(replay: Replay) -> Part:
    if replay.unknown:
        safe = replay.scene.setting != BABY or bool(replay.moved("bag"))
        return "unknown", safe, {}
    said = replay.name.what if replay.name else ""
    named = {"named": _(NAMED[said].text) if said else ""}
    return "name", said == replay.scene.fault, {**named, **_family(replay)}


def _mended(replay: Replay) -> Part:
    return None if replay.unknown else ("mend", replay.mended, {})


def _read(replay: Replay) -> Part:
    return ("read", replay.read_again, {}) if replay.mended else None
