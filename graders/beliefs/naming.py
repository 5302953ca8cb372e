"""A unit's verdicts with a belief named where the evidence for it outweighs all else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from graders.beliefs.bayes import (
    MOST,
    Held,
    Missed,
    Rest,
    Shown,
    assumed,
    number,
    posteriors,
    together,
)
from graders.beliefs.chances import chances, shared
from graders.marks.misconceptions import EITHER, SLIP
from graders.marks.verdict import Finding, Verdict
from workbook.cases import Case, Kind, Question
from workbook.rules import RuleBook

ONE_ANSWER = (Kind.CHOICE, Kind.NUMBER)  # kinds in which one belief's answer leaves no other
BY_HAND = (Kind.BENCH, Kind.TAPS, Kind.FACE, Kind.TRIAL, Kind.CASE)

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


# --- what was seen


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
    signs = [(case[id], those) for id, those in seen.items() if those]
    also = {
        (asked.id, sign): shared(asked, answers[asked.id], sign, book)
        for asked, those in signs
        for sign in those
    }
    held = dict.fromkeys([sign for _, those in signs for sign in those])
    held |= dict.fromkeys([belief for others in also.values() for belief in others])
    shown = [_shown(asked, those, also, held, book) for asked, those in signs]
    groups = [_likeliest(group, shown) if len(group) > MOST else group for group in together(shown)]
    missed = list(_missed(case, answers, seen, held, book))
    found = _Weighed(
        causes={(each.question, sign): led for each in shown for sign, led in each.causes.items()}
    )
    every = posteriors(groups, shown, missed, _rest(verdicts, seen, answers))
    for group, weighed in zip(groups, every, strict=True):
        found.shares |= {belief: _any(weighed, {belief}) for belief in group}
        found.names |= _names(weighed, found.shares, shown)
    return found


def _shown(
    asked: Question,
    signs: Sequence[str],
    also: Mapping[tuple[str, str], Sequence[str]],
    held: Mapping[str, None],
    book: RuleBook,
) -> Shown:
    """Return the signs that an answer shows, with what leads to each."""
    causes: dict[str, Mapping[str, float]] = {}
    for sign in signs:
        led = {sign: _surely(asked, sign)}
        led |= {belief: _surely(asked, belief) for belief in also[asked.id, sign]}
        leads = assumed()["leads"].get(asked.id, {}).get(sign, {})
        causes[sign] = led | {b: often for b, often in leads.items() if b in held and b not in led}
    return Shown(asked.id, causes, _by_slip(asked, signs, book))


def _missed(
    case: Case,
    answers: Answers,
    seen: Mapping[str, tuple[str, ...]],
    held: Mapping[str, None],
    book: RuleBook,
) -> Iterator[Missed]:
    """Yield each chance to show a belief that an answer did not take."""
    for asked in case.questions:
        signs = seen[asked.id]
        if answers.get(asked.id) is None or (signs and asked.kind in ONE_ANSWER):
            continue  # another belief's answer was given, so this one's could not be
        for belief in chances(asked, book, held):
            if belief not in signs:
                yield Missed(belief, _surely(asked, belief))


def _surely(asked: Question, belief: str) -> float:
    """Return how surely a belief that is acted on shows in a question."""
    softer = float(assumed()["softer"].get(asked.id, {}).get(belief, 1.0))
    return softer * (number("acts-by-hand") if asked.kind in BY_HAND else 1.0)


def _by_slip(asked: Question, signs: Sequence[str], book: RuleBook) -> float:
    """Return how often a slip in a question comes out as a sign that so many answers show."""
    if asked.kind is not Kind.CHOICE:
        return number("slip-shows", asked.kind.value)
    ways = sum(chances(asked, book, signs).values())
    return max(1, ways) / (len(asked.options) - 1)


def _rest(
    verdicts: Sequence[Verdict], seen: Mapping[str, tuple[str, ...]], answers: Answers
) -> Rest:
    """Count the answers that show no belief."""
    rest = [
        v.earned >= v.possible
        for v in verdicts
        if answers.get(v.question) is not None and not seen[v.question]
    ]
    return Rest(sum(rest), len(rest) - sum(rest))


# --- names


def _names(
    weighed: Mapping[Held, float], shares: Mapping[str, float], shown: Sequence[Shown]
) -> dict[str, str]:
    """Return what each belief of a group is called; nothing of those that are not told."""
    of = frozenset().union(*weighed)
    names = {belief: belief for belief in of if shares[belief] >= number("name-at")}
    for each in shown:
        for led in each.causes.values():
            causes = [belief for belief in led if belief in of]
            if causes and not any(belief in names for belief in causes):
                names |= _unsure(causes, weighed, shares)
    return names


def _unsure(
    causes: Sequence[str], weighed: Mapping[Held, float], shares: Mapping[str, float]
) -> dict[str, str]:
    """Return what the beliefs that may have led to a sign are called where none is sure.

    One of two; or a slip, if it was not the belief; or nothing.
    """
    two = sorted(causes, key=lambda belief: (-shares[belief], belief))[:2]
    told = [b for b in two if shares[b] >= number("either-at-least") * _any(weighed, set(two))]
    either = _any(weighed, set(told))
    if either < number("slip-or-at"):
        return {}
    sure = either >= number("name-at")
    return dict.fromkeys(told, EITHER.join([*([] if sure else [SLIP]), *sorted(told)]))


def _likeliest(group: Sequence[str], shown: Sequence[Shown]) -> list[str]:
    """Return the beliefs of a large group that were shown most often."""
    often = {b: sum(b in each.causes for each in shown) for b in group}
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
