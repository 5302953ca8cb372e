"""The one thing a learner does next: what is unsafe first, then what cost the most points."""

from __future__ import annotations

from graders.grade import Graded
from graders.misconceptions import misconceptions
from graders.verdict import Finding


def hand_in(unit: str) -> str:
    """Return what somebody does who has not handed in."""
    return f"Open {unit}.ipynb, answer every question and hand in."


def next_step(one: Graded) -> str:
    """Return the one thing to do next, as a sentence."""
    if not one.digest:
        why = "the file could not be used" if one.problems else "no question was answered"
        return f"Answer the questions and hand in again: {why}."
    missed = [(v.question, f) for v in one.verdicts for f in v.unsafe]
    acts = [finding for _, finding in missed if was_shown(finding)]
    if acts:
        return _mend(acts[0])
    if missed:
        return f"Answer the critical question {missed[0][0]} and hand in again."
    costly = [misconceptions()[id] for id in by_cost(one) if id in misconceptions()]
    return f"Read {costly[0].read}." if costly else _go_over(one)


def was_shown(finding: Finding) -> bool:
    """Say whether an answer showed this; a finding on an empty answer rests on no rule."""
    return bool(finding.rule)


def held(one: Graded) -> tuple[str, ...]:
    """Return the misconceptions recognised in all answers, each once."""
    return tuple(dict.fromkeys(id for v in one.verdicts for id in v.misconceptions))


def by_cost(one: Graded) -> list[str]:
    """Return the misconceptions by the points lost where they showed, dearest first."""
    costs: dict[str, float] = {}
    for verdict in one.verdicts:
        for id in verdict.misconceptions:
            lost = (verdict.possible - verdict.earned) / len(verdict.misconceptions)
            costs[id] = costs.get(id, 0.0) + lost
    return sorted(costs, key=lambda id: (-round(costs[id], 6), id))


def _mend(act: Finding) -> str:
    belief = misconceptions().get(act.misconception)
    return f"Unsafe act first: {f'read {belief.read}.' if belief else act.says}"


def _go_over(one: Graded) -> str:
    lost = max(one.verdicts, key=lambda v: v.possible - v.earned, default=None)
    if lost is None or lost.possible <= lost.earned:
        return "Come to the lab."
    why = next((f.says for f in lost.findings if not f.met), "")
    return f"Go over the question {lost.question}. {why}".strip()
