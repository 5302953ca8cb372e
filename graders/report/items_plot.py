"""The picture of a unit's questions: difficulty and discrimination, each with its interval."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from graders.items.intervals import Estimate
from graders.items.quality import ItemStatistics

ROW, HEAD, FOOT = 24, 30, 30  # heights of a question's row, of the head and of the scale
LABEL, WIDTH, GAP = 168, 240, 64  # widths of the names, of a panel, and between the panels

CENT = "\N{NO-BREAK SPACE}%"


@dataclass(frozen=True, slots=True)
class Dot:
    """A figure in a panel: where it lies, and where its interval begins and ends, if it has one."""

    x: float
    low: float | None
    high: float | None


@dataclass(frozen=True, slots=True)
class PlotRow:
    """One question: its name, the height of its row, and its two figures where they exist."""

    id: str
    y: float
    share: Dot | None
    rest: Dot | None
    named: bool


@dataclass(frozen=True, slots=True)
class Plot:
    """All that the picture is drawn from, in its own units; ``says`` is the same in words."""

    rows: tuple[PlotRow, ...]
    ticks: tuple[tuple[float, str], ...]
    bounds: tuple[float, float]
    acceptable: float
    width: float
    height: float
    says: str


def plot(
    items: Sequence[ItemStatistics], named: Sequence[bool], acceptable: float, lowest: float
) -> Plot:
    """Return the picture; ``named`` questions have another shape, ``lowest`` begins the scale of r.

    ``acceptable`` is the correlation from which a question is acceptable: a dashed line.
    """
    rows = tuple(
        PlotRow(
            item.id,
            HEAD + ROW * (n + 0.5),
            _dot(item.difficulty, _share),
            _dot(item.corrected, lambda r: _rest(r, lowest)),
            flag,
        )
        for n, (item, flag) in enumerate(zip(items, named, strict=True))
    )
    shares = [(_share(s), f"{100 * s:g}{CENT}") for s in (0, 0.5, 1)]
    rests = [
        (_rest(r, lowest), f"{r:g}".replace("-", "\N{MINUS SIGN}"))
        for r in sorted({lowest, 0.0, 0.5, 1.0})
    ]
    return Plot(
        rows,
        (*shares, *rests),
        (LABEL, LABEL + WIDTH + GAP),
        _rest(acceptable, lowest),
        LABEL + 2 * WIDTH + GAP + 24,
        HEAD + ROW * len(items) + FOOT,
        in_words(items),
    )


def lowest_of(items: Sequence[ItemStatistics]) -> float:
    """Return where the scale of r begins: low enough for every figure and its interval."""
    ends = [e for i in items for e in (i.corrected.value, i.corrected.low) if e is not None]
    return -1.0 if min(ends, default=0.0) < -0.5 else -0.5


def _share(share: float) -> float:
    return round(LABEL + WIDTH * share, 1)


def _rest(r: float, lowest: float) -> float:
    return round(LABEL + WIDTH + GAP + WIDTH * (r - lowest) / (1 - lowest), 1)


def _dot(found: Estimate, place: Callable[[float], float]) -> Dot | None:
    if found.value is None:
        return None
    ends = (None if e is None else place(e) for e in (found.low, found.high))
    return Dot(place(found.value), *ends)


def in_words(items: Sequence[ItemStatistics]) -> str:
    """Return what the picture shows: the hardest question, and the one that tells least apart."""
    hard = min(
        (i for i in items if i.difficulty.value is not None),
        key=lambda i: i.difficulty.value or 0.0,
        default=None,
    )
    least = min(
        (i for i in items if i.corrected.value is not None),
        key=lambda i: i.corrected.value or 0.0,
        default=None,
    )
    if hard is None:
        return "There is no figure to draw."
    share = f"{100 * (hard.difficulty.value or 0):.0f}{CENT}"
    says = f"The fewest points are earned in {hard.id}, {share}."
    if least is None:
        return f"{says} No question tells learners apart."
    r = f"{least.corrected.value or 0:.2f}".replace("-", "\N{MINUS SIGN}")
    return f"{says} {least.id} goes along least with the rest, {r}."
