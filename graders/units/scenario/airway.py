"""A chest that does not move: steps in time, in order, a few at once, a look between; confirmed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from graders.units.scenario.facts import MOVES, STILL, Facts, Given
from graders.units.scenario.slip import Criterion, Slip
from workbook.cases.steps import STAGES
from workbook.scenario.acts import NEW_AIRWAYS

STEP_OF = {
    "mask-adjust": "mask", "two-hands": "mask", "reposition": "position", "suction": "suction",
    "open-mouth": "open", **dict.fromkeys(NEW_AIRWAYS, "airway"),
}  # fmt: skip
STAGE_OF = {step: n for n, stage in enumerate(STAGES) for step in stage}
AT_ONCE = 2  # "one or two steps at a time", as the rule of looks between them says in words


@dataclass(frozen=True, slots=True)
class Step:
    """One corrective step at a time (s), and how many inflations lay between it and the last."""

    time: float
    end: float
    step: str
    after: int


@dataclass(frozen=True)
class Spell:
    """A time (s) in which a baby who needed it was inflated and the chest did not move well."""

    start: float
    end: float
    given: tuple[Given, ...]
    steps: tuple[Step, ...]

    @property
    def still(self) -> bool:
        """Say whether the chest was still, and did not only move a little."""
        return any(one.chest == STILL for one in self.given)


def spells(facts: Facts) -> tuple[Spell, ...]:
    """Return the spells of a case, in order."""
    found, inside = list[Spell](), list[Given]()
    for one in facts.given:
        if one.chest == MOVES:
            if inside:
                found.append(_spell(facts, inside, one.start))
            inside = []
        elif _counts(facts, one):
            inside.append(one)
    if inside:
        found.append(_spell(facts, inside, facts.end))
    return tuple(found)


def _counts(facts: Facts, one: Given) -> bool:
    fails = facts.case.hidden.fails
    return facts.needs(one.start) and (fails is None or one.start < fails or one.bag)


def _spell(facts: Facts, inside: Sequence[Given], end: float) -> Spell:
    start, fails = inside[0].start, facts.case.hidden.fails
    if fails is not None and start < fails:
        end = min(end, fails)  # from then on the bag is asked for, not a step
    well = (float(t) for t in facts.seconds if t >= inside[-1].start and not facts.needs(t))
    end = min(end, next(well, end))  # a baby who does well by itself asks for no step
    steps = list[Step]()
    for time, until, step in _taken(facts):
        if start <= time <= end:
            since = steps[-1].time if steps else start
            between = sum(since <= one.start < time for one in inside)
            if steps and steps[-1].step == step and not between:
                continue  # several clicks, or two grips, of one step
            steps.append(Step(time, until, step, between))
    return Spell(start, end, tuple(inside), tuple(steps))


def _taken(facts: Facts) -> Iterator[tuple[float, float, str]]:
    """Yield each corrective step: when it began and ended (s), and which."""
    at = facts.case.positions["pip"]
    for one in facts.acts:
        act, what = one.done.act, one.done.what
        if act == "pip":
            if what > at:
                yield one.begins, one.ends, "pressure"
            at = what
        elif act in STEP_OF:
            yield one.begins, one.ends, STEP_OF[act]


def judged(facts: Facts) -> Iterator[Criterion]:
    """Yield the criteria of corrective steps, where the chest did not move for some tries."""
    met = [one for one in spells(facts) if asks(one, facts)]
    if met:
        yield Criterion("acted", "scenario.still", _acted(facts, met))
        wrong, taken = _out_of_order(met), sum(len(one.steps) for one in met)
        slip = Slip("no-steps") if not taken else None
        if wrong:
            slip = Slip("out-of-order", len(wrong), taken, "", at=wrong[0].time)
        share = 1 - len(wrong) / taken if wrong else 0.0
        yield Criterion("order", "corrective.order", slip, share=round(share, 2))
        yield Criterion("look", "corrective.try", _look(facts, met))
    if facts.airways:
        yield Criterion("confirmed", "tube.confirm", _confirmed(facts))


def asks(one: Spell, facts: Facts) -> bool:
    """Say whether a spell asks for steps: some tries, or a wait, without a chest that moves."""
    long = one.end - one.start > facts.limits.still
    return len(one.given) >= facts.limits.tries or long


def longest_wait(one: Spell) -> tuple[float, float]:
    """Return the longest time (s) without a corrective step in a spell, and when it began."""
    marks = [(one.start, one.start), *((s.time, s.end) for s in one.steps), (one.end, one.end)]
    waits = [(b[0] - a[1], a[1]) for a, b in pairwise(marks)]
    return max(waits)


def _acted(facts: Facts, met: Sequence[Spell]) -> Slip | None:
    wait, at, still = max((*longest_wait(one), one.still) for one in met)
    limit = facts.limits.still
    if wait <= limit:
        return None
    return Slip("still-too-long" if still else "little-too-long", wait, limit, at=at)


def _out_of_order(met: Sequence[Spell]) -> list[Step]:
    """Return the steps that came before one of an earlier stage had been taken."""
    taken, wrong = set[str](), list[Step]()
    for one in (step for spell in met for step in spell.steps):
        stage = STAGE_OF[one.step]
        if any(step not in taken for earlier in STAGES[:stage] for step in earlier):
            wrong.append(one)
        taken.add(one.step)
    return wrong


def _look(facts: Facts, met: Sequence[Spell]) -> Slip | None:
    least = facts.limits.tries - facts.limits.fewer
    for one in met:
        together = 0
        for step in one.steps:
            together = together + 1 if together and not step.after else 1
            if together > AT_ONCE:
                return Slip("many-at-once", together, AT_ONCE, "", at=step.time)
            if together == 1 and step is not one.steps[0] and step.after < least:
                return Slip("no-look", step.after, facts.limits.tries, "", at=step.time)
    if not any(one.steps for one in met):
        return Slip("no-steps")
    return None


def _confirmed(facts: Facts) -> Slip | None:
    limit = facts.limits.confirm
    for one in facts.airways:
        done = [c.begins for c in facts.did("confirm") if c.begins >= one.ends]
        waited = (done[0] if done else facts.end) - one.ends
        if waited > limit:
            return Slip("unconfirmed", waited, limit, at=one.ends)
    return None
