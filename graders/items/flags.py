"""Names the questions that mislead, and says in words what their figures mean."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from graders.cohort.beliefs import SMALL
from graders.items.intervals import Estimate
from graders.items.quality import ItemStatistics, ScoreStatistics
from workbook.rules import RuleBook


class Sign(StrEnum):
    """What is to be looked at in a question, gravest first."""

    MISLEADS = "Misleads"
    PULLS = "One belief draws many"
    MAY = "May mislead"
    WEAK = "Tells little apart"
    HARD = "Few earn its points"
    SOFT = "Nearly all earn its points"


@dataclass(frozen=True, slots=True)
class Flag:
    """One thing to look at, in a sentence; ``misconception`` is the belief that draws many."""

    sign: Sign
    says: str
    misconception: str = ""


def flags(item: ItemStatistics, pulls: Mapping[str, int], book: RuleBook) -> tuple[Flag, ...]:
    """Return what is to be looked at in a question, gravest first.

    ``pulls`` counts the learners in whose answer each misconception showed.
    """
    found = (
        *_discriminates(item.corrected, book),
        *_pulled(pulls, item.answered, book),
        *_too_much(item.difficulty.value, book),
    )
    return tuple(sorted(found, key=lambda flag: list(Sign).index(flag.sign)))


def _discriminates(found: Estimate, book: RuleBook) -> tuple[Flag, ...]:
    least = book["item.discrimination.acceptable"].value
    if found.value is None or found.value >= least:
        return ()
    if found.value < 0:
        sign = Sign.MAY if _perhaps(found.high, 0.0) else Sign.MISLEADS
        says = "Who does better elsewhere does worse here: look at its wording and its marking."
        return (Flag(sign, says + _perhaps(found.high, 0.0)),)
    says = "It hardly tells apart who knows from who does not."
    return (Flag(Sign.WEAK, says + _perhaps(found.high, least)),)


def _perhaps(high: float | None, bound: float) -> str:
    return " It may be chance." if high is None or high >= bound else ""


def _pulled(pulls: Mapping[str, int], answered: int, book: RuleBook) -> tuple[Flag, ...]:
    least = max(SMALL, book["item.pull"].value / 100 * answered)
    many = sorted((-count, belief) for belief, count in pulls.items() if count >= least)
    return tuple(
        Flag(Sign.PULLS, f"{-count} of {answered} answers here show the same belief.", belief)
        for count, belief in many
    )


def _too_much(share: float | None, book: RuleBook) -> tuple[Flag, ...]:
    low, high = (bound / 100 for bound in book["item.difficulty"].band)
    if share is None or low <= share <= high:
        return ()
    if share < low:
        return (Flag(Sign.HARD, "Is it taught, and is it clear what it asks?"),)
    return (Flag(Sign.SOFT, "It tells little; keep it if the step must never be missed."),)


def strength(found: Estimate, book: RuleBook) -> str:
    """Return a word for a discrimination; nothing when there is none."""
    if found.value is None:
        return ""
    if found.value < 0:
        return "may mislead" if _perhaps(found.high, 0.0) else "misleads"
    if found.value < book["item.discrimination.acceptable"].value:
        return "weak"
    return "good" if found.value > book["item.discrimination.good"].value else "acceptable"


def reliability(made: ScoreStatistics, book: RuleBook) -> tuple[str, ...]:
    """Return how far the scores of a unit can be relied on, in plain sentences."""
    said = []
    if made.learners < book["item.few"].value:
        said.append(
            f"These figures come from {made.learners} learners only: a first impression, no more."
        )
    alpha, sem = made.alpha.value, made.sem.value
    if alpha is None or sem is None:
        return (*said, f"How reliable the scores are cannot be said. {made.alpha.why}")
    said.append(_tells_apart(alpha, book))
    said.append(
        f"The standard error of measurement is {sem:.1f} of {made.possible:g} points: read "
        "a score as itself give or take so many."
    )
    return tuple(said)


def _tells_apart(alpha: float, book: RuleBook) -> str:
    if alpha < 0:
        return "The questions go against one another: their sum means little for one learner."
    if alpha >= book["item.reliability"].value:
        return "The questions go together: their sum tells learners apart well enough for practice."
    return (
        "The questions measure different things, or learners differ little: rank nobody by the "
        "sum, and look at single questions and beliefs."
    )
