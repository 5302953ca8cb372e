"""A unit's verdicts with a belief named where the evidence for it outweighs all else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from graders.beliefs.bayes import (
    MOST,
    Event,
    Held,
    Rest,
    assumed,
    number,
    posterior,
    together,
)
from graders.beliefs.chances import chances, shared, speaks
from graders.misconceptions import EITHER
from graders.verdict import Finding, Verdict
from workbook.cases import Case, Kind, Question
from workbook.rules import RuleBook

ONE_ANSWER = (Kind.CHOICE, Kind.NUMBER)  # kinds in which one belief's answer leaves no other
BY_HAND = (Kind.BENCH, Kind.TAPS, Kind.FACE)

Answers = Mapping[str, Any]


def named(
    case: Case, answers: Answers, verdicts: Sequence[Verdict], book: RuleBook
) -> tuple[Verdict, ...]:
    """Return the verdicts of a unit with only those beliefs named that are probable enough.

    The markers leave in each finding the belief that it is a sign of.
    """
    if not any(f.misconception for v in verdicts for f in v.findings):
        return tuple(verdicts)  # most learners show no sign of any
    seen = _signs(verdicts)
    if not any(seen.values()):
        return tuple(map(_bare, verdicts))
    weighed = _weighed(case, answers, verdicts, seen, book)
    return tuple(_labelled(verdict, seen[verdict.question], weighed) for verdict in verdicts)


def likely(
    case: Case, answers: Answers, verdicts: Sequence[Verdict], book: RuleBook
) -> dict[str, float]:
    """Return how probable each belief is of which there is a sign at all."""
    return _weighed(case, answers, verdicts, _signs(verdicts), book).shares


def _signs(verdicts: Sequence[Verdict]) -> dict[str, tuple[str, ...]]:
    """Return question -> the signs in what was not met; full marks are a sign of nothing."""
    return {v.question: _of(v) if v.earned < v.possible else () for v in verdicts}


def _of(verdict: Verdict) -> tuple[str, ...]:
    missed = (f.misconception for f in verdict.findings if not f.met)
    return tuple(dict.fromkeys(filter(None, missed)))


# --- what was seen, as events


@dataclass
class _Weighed:
    """What the signs come to: the names, and which beliefs lead to each sign that was shown."""

    names: dict[str, str] = field(default_factory=dict)  # belief -> what it is called
    shares: dict[str, float] = field(default_factory=dict)  # belief -> how probable it is
    causes: dict[tuple[str, str], Mapping[str, float]] = field(default_factory=dict)


def _weighed(
    case: Case,
    answers: Answers,
    verdicts: Sequence[Verdict],
    seen: Mapping[str, tuple[str, ...]],
    book: RuleBook,
) -> _Weighed:
    also = {
        (id, sign): shared(case[id], answers[id], sign, book)
        for id, signs in seen.items()
        for sign in signs
    }
    held = dict.fromkeys([sign for signs in seen.values() for sign in signs])
    held |= dict.fromkeys([belief for others in also.values() for belief in others])
    events = [
        event
        for id, signs in seen.items()
        if answers.get(id) is not None
        for event in _events(case[id], signs, also, held, book)
    ]
    found = _Weighed(causes={(e.question, e.sign): e.causes for e in events if e.shown})
    for group in together(held, events):
        of_group = [event for event in events if event.causes.keys() & set(group)]
        of = _likeliest(group, of_group) if len(group) > MOST else group
        weighed = posterior(of, of_group, _rest(verdicts, seen, answers, group))
        found.shares |= {belief: _any(weighed, {belief}) for belief in of}
        found.names |= _names(weighed, found.shares, of_group)
    return found


def _events(
    asked: Question,
    signs: Sequence[str],
    also: Mapping[tuple[str, str], Sequence[str]],
    held: Mapping[str, None],
    book: RuleBook,
) -> Iterator[Event]:
    """Yield an event for each sign shown in a question, and for each it could have shown."""
    ways = chances(asked, book, held)
    for sign in dict.fromkeys([*signs, *ways]):
        shown = sign in signs
        if not shown and signs and asked.kind in ONE_ANSWER:
            continue  # another belief's answer was given, so this one's could not be
        causes = {sign: _surely(asked, sign)}
        causes |= {belief: _surely(asked, belief) for belief in also.get((asked.id, sign), ())}
        leads = assumed()["leads"].get(asked.id, {}).get(sign, {})
        causes |= {b: share for b, share in leads.items() if b in held and b not in causes}
        yield Event(asked.id, sign, shown, causes, *_by_chance(asked, ways.get(sign, 1)))


def _surely(asked: Question, belief: str) -> float:
    """Return how surely a belief that is acted on shows in a question."""
    softer = float(assumed()["softer"].get(asked.id, {}).get(belief, 1.0))
    return softer * (number("acts-by-hand") if asked.kind in BY_HAND else 1.0)


def _by_chance(asked: Question, ways: int) -> tuple[float, float]:
    """Return how often a slip and a guess show a sign that so many answers show."""
    slip = number("slip", asked.kind.value)
    if asked.kind is Kind.CHOICE:
        return slip * ways / (len(asked.options) - 1), ways / len(asked.options)
    return slip, number("guess", asked.kind.value)


def _rest(
    verdicts: Sequence[Verdict],
    seen: Mapping[str, tuple[str, ...]],
    answers: Answers,
    group: Sequence[str],
) -> Rest:
    """Count the answered questions that say nothing of these beliefs and show no other."""
    rest = [
        v.earned >= v.possible
        for v in verdicts
        if answers.get(v.question) is not None
        and not seen[v.question]
        and not speaks(v.question) & set(group)
    ]
    return Rest(sum(rest), len(rest) - sum(rest))


# --- names


def _names(
    weighed: Mapping[Held, float], shares: Mapping[str, float], events: Sequence[Event]
) -> dict[str, str]:
    """Return what each belief of a group is called; nothing of those that are not named."""
    of = frozenset().union(*weighed)
    names = {belief: belief for belief in of if shares[belief] >= number("name-at")}
    for event in events:
        causes = [belief for belief in event.causes if belief in of]
        if not event.shown or any(belief in names for belief in causes):
            continue
        two = sorted(causes, key=lambda belief: (-shares[belief], belief))[:2]
        told = len(two) > 1 and shares[two[1]] >= number("either-at-least")
        if told and _any(weighed, set(two)) >= number("name-at"):
            names |= dict.fromkeys(two, EITHER.join(sorted(two)))
    return names


def _likeliest(group: Sequence[str], events: Sequence[Event]) -> list[str]:
    """Return the beliefs of a large group that were shown most often."""
    often = {b: sum(e.shown and e.sign == b for e in events) for b in group}
    return sorted(group, key=lambda belief: (-often[belief], belief))[:MOST]


def _any(found: Mapping[Held, float], of: set[str]) -> float:
    return sum(share for held, share in found.items() if held & of)


# --- what is left in the findings


def _bare(verdict: Verdict) -> Verdict:
    """Return a verdict in which no belief is named."""
    if not any(f.misconception for f in verdict.findings):
        return verdict
    return replace(verdict, findings=tuple(replace(f, misconception="") for f in verdict.findings))


def _labelled(verdict: Verdict, signs: Sequence[str], weighed: _Weighed) -> Verdict:
    if not signs:
        return _bare(verdict)
    calls = {sign: _called(verdict.question, sign, weighed) for sign in signs}
    findings = tuple(_with(finding, calls) for finding in verdict.findings)
    return replace(verdict, findings=findings)


def _with(finding: Finding, calls: Mapping[str, str]) -> Finding:
    name = "" if finding.met else calls.get(finding.misconception, "")
    return finding if name == finding.misconception else replace(finding, misconception=name)


def _called(question: str, sign: str, weighed: _Weighed) -> str:
    """Return what a sign is called: its own belief's name, else that of what led to it."""
    if sign in weighed.names:
        return weighed.names[sign]
    causes = weighed.causes.get((question, sign), {})
    led = [belief for belief in causes if belief in weighed.names]
    return weighed.names[max(led, key=lambda belief: causes[belief])] if led else ""
