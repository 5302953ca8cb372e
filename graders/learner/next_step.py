"""The one thing a learner does next: what is unsafe first, then what cost the most points."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from graders.marking.graded import Graded
from graders.marks.misconceptions import misconceptions
from graders.marks.verdict import Finding
from workbook.core.language import _

LONGEST = 90  # characters of a question that is named in a sentence


def hand_in(unit: str) -> str:
    """Return what somebody does who has not handed in."""
    return _("Open the exercise {file}, answer every question and hand in.").format(
        file=f"{unit}.ipynb"
    )


def in_words(question: str, asks: Mapping[str, str]) -> str:
    """Return a question as its page asks it; its id only where that is not known."""
    says = asks.get(question, question)
    shown = says if len(says) <= LONGEST else f"{says[: LONGEST - 1].rstrip()}…"
    return f"“{shown}”" if question in asks else shown


def next_step(
    one: Graded, asks: Mapping[str, str] | None = None, others: Collection[str] = ()
) -> str:
    """Return the one thing to do next, as a sentence.

    ``asks`` has each question in the words of its page; as the verdict keeps them by default.
    ``others`` names the questions about what somebody else did: a learner is not told that a wrong
    guess there was an unsafe act.
    """
    asks = one.asks if asks is None else asks
    if not one.digest:
        if one.problems:
            return _("Answer the questions and hand in again: the file could not be used.")
        return _("Answer the questions and hand in again: no question was answered.")
    missed = [(v.question, f) for v in one.verdicts for f in v.unsafe]
    acts = [(q in others, in_words(q, asks), f) for q, f in missed if was_shown(f)]
    if acts:
        judged, question, act = min(acts, key=lambda each: each[0])
        return _look_again(act) if judged else _mend(act, question)
    if missed:
        says = _("Answer the critical question {question} and hand in again.")
        return says.format(question=in_words(missed[0][0], asks))
    costly = [misconceptions()[id] for id in by_cost(one) if id in misconceptions()]
    return _("Read {place}.").format(place=costly[0].where) if costly else _go_over(one, asks)


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


def _mend(act: Finding, question: str) -> str:
    belief = misconceptions().get(act.misconception)
    if belief:
        return _("Unsafe act first: read {place}.").format(place=belief.where)
    says = _("Unsafe act first: go over the question {question} {why}")
    return says.format(question=_ended(question), why=act.says)


def _look_again(overlooked: Finding) -> str:
    belief = misconceptions().get(overlooked.misconception)
    return _("Read {place}.").format(place=belief.where) if belief else overlooked.says


def _go_over(one: Graded, asks: Mapping[str, str]) -> str:
    lost = max(one.verdicts, key=lambda v: v.possible - v.earned, default=None)
    if lost is None or lost.possible <= lost.earned:
        return _("Come to the lab.")
    why = next((f.says for f in lost.findings if not f.met), "")
    says = _("Go over the question {question} {why}")
    return says.format(question=_ended(in_words(lost.question, asks)), why=why).strip()


def _ended(question: str) -> str:
    """Return a question as the end of a sentence: one in quotation marks has its own."""
    return question if question.endswith("”") else f"{question}."
