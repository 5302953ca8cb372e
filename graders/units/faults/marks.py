"""Marks fault finding: a finding for each part of a trial, by what was done and what it shows."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache, lru_cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from graders import watch
from graders.marks import checks
from graders.marks.verdict import Finding, Verdict
from graders.units.faults.slips import PARTS, Judged, Slip
from workbook.cases import Case, Question
from workbook.cases.pace import first_inflations, longest, rate_band
from workbook.core.language import _, in_force
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.trial import NAMED, UNKNOWN, Scene, Trial, TrialError, read_trial
from workbook.trial.moves import BABY
from workbook.trial.named import I_DO_NOT_KNOW
from workbook.trial.replay import Limits, Replay
from workbook.units.faults.case.questions import EXERCISE, TRIALS, seconds

HALF = 0.5  # of the points for the safe act, where it came late, or harm was ended at once
HARM = ("long", "fast")  # of the watch's hazards; how long a baby waits is a rule of trials


@cache
def key() -> Mapping[str, Any]:
    """Return what is said of each part, slip and fault, and what the parts are worth."""
    text = Path(__file__).with_name("key.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _points() -> float:
    return float(sum(part["points"] for part in key()["part"].values()))


POINTS: dict[str, float] = dict.fromkeys(TRIALS, _points())


def check(case: Case, question: str, value: Any, book: RuleBook) -> Verdict:
    """Return the verdict on one trial; None means it was not answered."""
    asked = case[question]
    if value is None:
        return Verdict(question, checks.unanswered(question, POINTS[question]))
    try:
        judged = judge(asked, value, book)
    except TrialError as error:
        return Verdict(question, checks.unreadable(question, POINTS[question], str(error)))
    return Verdict(question, _findings(asked, judged, book))


def judge(asked: Question, value: Any, book: RuleBook) -> Judged:
    """Return a trial replayed and judged; TrialError when the answer is no trial."""
    facts, (takes, most) = asked.facts, _times(book)
    trial = read_trial(value, facts["setting"], takes, most)
    replay = Replay(Scene.of(facts), trial, takes, limits_of(facts, book))
    return Judged(replay, facts["apart"], facts["alarm"], _harm(replay, book))


@lru_cache(maxsize=64)
def _times(book: RuleBook) -> tuple[Mapping[str, float], float]:
    """Return how long each move takes, and how long a trial may last (s)."""
    return MappingProxyType(seconds(book)), book["trial.limit"].band[1]


def _harm(replay: Replay, book: RuleBook) -> tuple[watch.Hazard, ...]:
    """Return what the watch finds in the inflations of a trial: too long, or too fast."""
    if replay.scene.setting != BABY or not replay.inflations:
        return ()
    found = watch.hazards(watch.of_trial(replay), _bounds(book))
    return tuple(each for each in found if each.kind in HARM)


@lru_cache(maxsize=64)
def _bounds(book: RuleBook) -> watch.Bounds:
    return watch.bounds(
        book,
        rate=rate_band(book),
        longest=longest(book).band[1],
        first=first_inflations(book),
    )


@lru_cache(maxsize=1024)
def _limits(relief: float, peep: float, book: RuleBook) -> Limits:
    return Limits(
        **{name: book[f"trial.{name}"].band[1] for name in ("act", "unventilated", "high",
                                                            "stuck")},
        share=book["trial.share"].band[0] / 100,
        read=book["trial.look-held"].value,
        ceiling=relief + book["relief.accept"].value,
        rest=peep + book["watch.peep.high"].band[1],
    )  # fmt: skip


def limits_of(facts: Mapping[str, Any], book: RuleBook) -> Limits:
    """Return what the rules say of a trial of some facts."""
    return _limits(facts["relief"], facts["peep"], book)


# --- findings


def _findings(asked: Question, judged: Judged, book: RuleBook) -> tuple[Finding, ...]:
    same = _same(judged)
    parts = [_finding(asked, part, judged, book, same) for part in PARTS]
    sure = _sure(asked, judged)
    return (*parts, *([sure] if sure else []))


def _finding(
    asked: Question, part: str, judged: Judged, book: RuleBook, same: Mapping[str, str]
) -> Finding:
    slip, table = judged.slips[part], key()["part"][part]
    name, full = f"{asked.id}-{part}", table["points"]
    rule = book[_rule(part, slip, judged)]
    about = judged.tried.stored if part == "name" else ""
    if slip is None:
        right = table[_right(part, judged)]
        return Finding(
            name, True, _(right).format_map(same), full, full, False, rule.id, about=about
        )
    said, told = key()["slip"][slip.cause], {**same, **_told(slip)}
    earned = full * HALF if said.get("half") else 0.0
    return Finding(
        name, False, _(said["says"]).format_map(told), earned, full,
        said.get("critical", False), rule.id, checks.source_of(rule), slip.belief,
        about=about,
    )  # fmt: skip


def _right(part: str, judged: Judged) -> str:
    """Return which words say that a part was right."""
    past = judged.replay.past is not None
    if part == "safe":
        if past:
            return "right-past-told" if judged.named == UNKNOWN else "right-past"
        return f"right-{judged.replay.scene.setting}"
    if part == "name" and judged.named == UNKNOWN:
        return "right-unknown-past" if past else "right-unknown"
    return "right"


def _rule(part: str, slip: Slip | None, judged: Judged) -> str:
    """Return the id of the rule a part rests on."""
    if part != "safe":
        return "trial.again" if part in ("read", "mend") else "trial.test"
    cause = "" if slip is None else slip.cause.removesuffix("-once")
    return _OF_HARM.get(cause, "trial.unventilated" if judged.on_baby else "trial.first")


_OF_HARM = {
    "high": "trial.high", "stuck": "trial.stuck", "late": "trial.act", "past-late": "trial.act",
    "long": "inflation.long", "fast": "watch.rate",
}  # fmt: skip


def _same(judged: Judged) -> dict[str, str]:
    """Return what fills in the words of every finding on a trial."""
    limits = judged.replay.limits
    return _fills(judged.fault, judged.named, judged.on_baby, limits, in_force())


@lru_cache(maxsize=4096)
def _fills(fault: str, named: str, on_baby: bool, limits: Limits, language: str) -> dict[str, str]:
    """Return the same, in the language in force, which ``language`` names."""
    return {
        "fault": _text(fault), "named": _text(named),
        "parts": _(_decides(fault, on_baby=on_baby)),
        "mends": _(NAMED[fault].mend).rstrip("."),
        "act": plain(limits.act, "s"), "unventilated": plain(limits.unventilated, "s"),
        "high": plain(limits.high, "s"), "stuck": plain(limits.stuck, "s"),
        "ceiling": plain(limits.ceiling, "cmH2O"),
    }  # fmt: skip


def _decides(fault: str, *, on_baby: bool) -> str:
    """Return what tells the fault from those like it, by what is seen in the setting."""
    before = {} if on_baby else key()["parts-before"]
    return str(before.get(fault, key()["parts"][fault]))


def _told(slip: Slip) -> dict[str, str]:
    """Return what is told of a slip itself."""
    unit = "1/min" if slip.cause.startswith("fast") else "s"
    digits = 0 if unit == "1/min" else 1
    return {
        "other": _text(slip.other), "seconds": plain(round(slip.seconds, digits), unit),
        "limit": plain(round(slip.limit, digits), unit),
    }  # fmt: skip


def _text(fault: str) -> str:
    if fault in NAMED:
        return _(NAMED[fault].text)
    return _(I_DO_NOT_KNOW.text) if fault == UNKNOWN else ""


def _sure(asked: Question, judged: Judged) -> Finding | None:
    """Return what is said of somebody who was sure and wrong: it is not marked."""
    wrong = judged.named not in ("", UNKNOWN, judged.fault)
    if judged.replay.sure != "sure" or not wrong:
        return None
    says = _(key()["sure"]["says"]).format_map(
        {"fault": _text(judged.fault), "named": _text(judged.named)}
    )
    return Finding(f"{asked.id}-sure", False, says)


# --- answers that earn every point


def model_answers(case: Case, book: RuleBook) -> dict[str, Any]:
    """Return trials of somebody who knows: safe, one test, the name, mended, read again."""
    from graders.units.faults.expert import expert

    return {id: expert(case[id], book).to_data() for id in TRIALS}


__all__ = ["BABY", "EXERCISE", "POINTS", "Trial", "check", "judge", "limits_of", "model_answers"]
