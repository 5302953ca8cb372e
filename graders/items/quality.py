"""How good the questions are: difficulty, discrimination, reliability and their intervals.

The trap of the divisor: KR-20 takes p·q, which is the variance of a 0/1 question with divisor n,
so the variance of the totals must have divisor n as well; with n - 1 it comes out too high. Alpha
needs the same divisor above and below the line, whichever it is. Here both have n. The standard
deviation and the standard error of measurement are of a sample, with divisor n - 1.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from graders.items.intervals import Column, Estimate, correlation, feldt, mean, none, share, wilson

Matrix = NDArray[np.float64]

NO_SPREAD = "Every total is the same, so nothing tells learners apart."


@dataclass(frozen=True, slots=True)
class ItemStatistics:
    """One question. ``difficulty`` is the share of its points earned: the higher, the easier.

    ``uncorrected`` goes along with the total, ``corrected`` with the rest of the total: a question
    is part of the total, which flatters it, most of all in a short test.
    """

    id: str
    maximum: float
    answered: int
    missing: int
    right_or_wrong: bool
    difficulty: Estimate
    uncorrected: Estimate
    corrected: Estimate
    alpha_without: Estimate


@dataclass(frozen=True, slots=True)
class ScoreStatistics:
    """A whole test: its questions and its totals.

    ``learners`` have a score in every question; ``left_out`` lack one, and count for the
    difficulty of the others only. ``totals`` is how many learners have each total.
    """

    items: tuple[ItemStatistics, ...]
    learners: int
    left_out: int
    possible: float
    mean: Estimate
    sd: Estimate
    alpha: Estimate
    kr20: Estimate
    kr21: Estimate
    sem: Estimate
    totals: Mapping[float, int]


def statistics(
    scores: Matrix,
    ids: Sequence[str],
    confidence: float,
    maxima: Sequence[float] | None = None,
) -> ScoreStatistics:
    """Return the statistics of scores (learners down, questions across; NaN where one is missing).

    ``maxima`` are the points of each question, 1 unless given; ``confidence`` is a share.
    ValueError when the shapes do not fit or a score lies outside 0 and its maximum.
    """
    most = [1.0] * len(ids) if maxima is None else [float(m) for m in maxima]
    _demand(scores, ids, most)
    whole = scores[~np.isnan(scores).any(axis=1)] if len(ids) else scores[:0]
    totals = _sum(whole)
    ones = all(_right_or_wrong(scores[:, k], most[k]) and most[k] == 1 for k in range(len(ids)))
    reliability = _alpha(whole, confidence)
    return ScoreStatistics(
        tuple(_item(scores, whole, k, ids[k], most[k], confidence) for k in range(len(ids))),
        len(whole),
        len(scores) - len(whole),
        math.fsum(most),
        mean(totals, confidence),
        _sd(totals),
        reliability,
        _kr20(whole, ones, confidence),
        _kr21(totals, len(ids), ones),
        _sem(totals, reliability),
        dict(sorted(Counter(round(float(t), 6) for t in totals).items())),
    )


def _demand(scores: Matrix, ids: Sequence[str], most: Sequence[float]) -> None:
    if scores.ndim != 2 or scores.shape[1] != len(ids) or len(most) != len(ids):
        raise ValueError("The scores need one column and one maximum for each question.")
    if any(not m > 0 or not math.isfinite(m) for m in most):
        raise ValueError("The points of a question must be above 0.")
    if np.isinf(scores).any() or (scores < 0).any() or (scores > np.array(most) + 1e-9).any():
        raise ValueError("A score must lie between 0 and the points of its question.")


def _right_or_wrong(column: Column, most: float) -> bool:
    return bool(np.isin(column[~np.isnan(column)], (0.0, most)).all())


def _item(
    scores: Matrix, whole: Matrix, k: int, id: str, most: float, confidence: float
) -> ItemStatistics:
    there = scores[~np.isnan(scores[:, k]), k]
    ones, rest = _right_or_wrong(there, most), np.delete(whole, k, axis=1)
    alone = none("One question has no others to compare it with.")
    return ItemStatistics(
        id,
        most,
        len(there),
        len(scores) - len(there),
        ones,
        wilson(int((there == most).sum()), len(there), confidence)
        if ones
        else share(there / most, confidence),
        correlation(whole[:, k], _sum(whole), confidence),
        correlation(whole[:, k], _sum(rest), confidence) if rest.shape[1] else alone,
        _alpha(rest, confidence),
    )


def _sum(columns: Matrix) -> Column:
    """Return row sums without the noise that would make equal totals look different."""
    made: Column = np.round(columns.sum(axis=1), 9)
    return made


def _sd(totals: Column) -> Estimate:
    if len(totals) < 2:
        return none("A spread takes at least two learners.")
    return Estimate(float(totals.std(ddof=1)))


def _alpha(whole: Matrix, confidence: float) -> Estimate:
    """Return Cronbach's alpha, k/(k-1)·(1 - Σs²i/s²T), both variances with divisor n."""
    n, k = whole.shape
    why = _no_reliability(n, k)
    if why:
        return none(why)
    if np.ptp(_sum(whole)) == 0:
        return none(NO_SPREAD)
    return alpha_of(
        k, float(whole.var(axis=0).sum()), float(whole.sum(axis=1).var()), n, confidence
    )


def alpha_of(
    items: int, variances: float, total: float, learners: int, confidence: float
) -> Estimate:
    """Return alpha with its interval from a published summary: Σs²i and s²T of ``items`` questions.

    Both variances must have the same divisor.
    """
    why = _no_reliability(learners, items)
    if why or total <= 0:
        return none(why or NO_SPREAD)
    return feldt(items / (items - 1) * (1 - variances / total), learners, items, confidence)


def _no_reliability(learners: int, items: int) -> str:
    if items < 2:
        return "Reliability takes at least two questions."
    return "" if learners >= 2 else "Reliability takes at least two learners with every score."


def _kr20(whole: Matrix, ones: bool, confidence: float) -> Estimate:
    """Return KR-20, k/(k-1)·(1 - Σpq/σ²T): alpha, where every question is right or wrong."""
    if not ones:
        return none("KR-20 is for questions of one point, right or wrong; see alpha.")
    return _alpha(whole, confidence)


def _kr21(totals: Column, items: int, ones: bool) -> Estimate:
    """Return KR-21, k/(k-1)·(1 - M(k-M)/(kσ²)): as if all questions were equally hard."""
    if not ones:
        return none("KR-21 is for questions of one point, right or wrong; see alpha.")
    why = _no_reliability(len(totals), items)
    if why:
        return none(why)
    if np.ptp(totals) == 0:
        return none(NO_SPREAD)
    middle, spread = float(totals.mean()), float(totals.var())
    return Estimate(items / (items - 1) * (1 - middle * (items - middle) / (items * spread)))


def _sem(totals: Column, reliability: Estimate) -> Estimate:
    """Return the standard error of measurement, s·√(1 - alpha), in points."""
    if reliability.value is None:
        return none(reliability.why)
    return Estimate(float(totals.std(ddof=1)) * math.sqrt(max(0.0, 1 - reliability.value)))
