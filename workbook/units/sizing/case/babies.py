"""Babies that the sizing cases draw from: gestation and weight that go together, and a face.

Gestation and weight go together where one published table gives the same depth for both.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from workbook.cases.draw import Draw
from workbook.core.quantities import plain
from workbook.face.mask import Face, best_masks, best_place, covers, fits, lengths, nearest_offered
from workbook.rules import RuleError
from workbook.rules.files import file
from workbook.rules.signed import kept
from workbook.rules.sizes import mask

FIRST, LAST = 23, 42  # completed weeks of the babies that are drawn
STEP = 50  # g between two drawn weights
ROOM = 0.5  # mm that a mask has to spare all round on a drawn face


@dataclass(frozen=True, slots=True)
class Baby:
    """A baby by completed weeks and grams, with the length of its face (mm) where it matters."""

    weeks: int
    grams: int
    length: float = 0.0

    @property
    def facts(self) -> dict[str, float]:
        """Return what a question was drawn from."""
        drawn: dict[str, float] = {"weeks": self.weeks, "grams": self.grams}
        return {**drawn, "length": self.length} if self.length else drawn

    @property
    def said(self) -> dict[str, str]:
        """Return it in words."""
        return {
            "weeks": plain(self.weeks, "week"),
            "weight": plain(self.grams / 1000, "kg"),
            "length": plain(self.length, "mm"),
        }


@kept
def babies() -> tuple[Baby, ...]:
    """Return every baby a case may have."""
    return tuple(Baby(w, g) for w in range(FIRST, LAST + 1) for g in grams_at(w))


def grams_at(week: int, less: float = 0.0) -> tuple[int, ...]:
    """Return weights that go with a gestation, or with a depth that much (cm) less."""
    depth = file("sizes").find("depth.table-gestation", gestation=week).value - less
    rows = [r for r in file("sizes").all("depth.table-weight") if abs(r.value - depth) < STEP / 1e3]
    bands = (row.population.weight for row in rows)
    return tuple(g for low, high in bands for g in _steps(low or 0.0, high or 0.0))


def _steps(low: float, high: float) -> Iterable[int]:
    return range(-(-int(low) // STEP) * STEP, int(high), STEP)


@kept
def published_masks(baby: Baby) -> tuple[float, ...]:
    """Return the masks published as fitting by gestation or by weight."""
    found = mask(f"{baby.grams} g", f"{baby.weeks} week")
    return tuple(sorted({rule.value for rule in found}))


def trolley_masks(baby: Baby) -> tuple[float, ...]:
    """Return the masks on the trolley that are nearest to those published for a baby."""
    return tuple(sorted({nearest_offered(size) for size in published_masks(baby)}))


@kept
def faces(week: int) -> tuple[float, ...]:
    """Return the lengths a face may have at a gestation; none where none is published."""
    try:
        return tuple(lengths(f"{week} week"))
    except RuleError:
        return ()


def with_face(draw: Draw, suits: Callable[[Baby], bool], fits: Callable[[Baby], bool]) -> Baby:
    """Return a drawn baby that suits, its face drawn until it fits.

    ``suits`` looks at weeks and weight, ``fits`` at the length of the face too.
    """
    for baby in draw.shuffled(b for b in babies() if faces(b.weeks)):
        if suits(baby):
            made = Baby(baby.weeks, baby.grams, draw.pick(faces(baby.weeks)))
            if fits(made):
                return made
    raise RuleError("No baby of the published tables suits this question.")


def has_room(length: float, diameter: float) -> bool:
    """Say whether a mask fits a face with room to spare on every side."""
    laid = best_place(Face(length), diameter)
    if not fits(Face(length), laid):
        return False
    fit = covers(Face(length), laid)
    return min(fit.nose, fit.mouth, fit.eyes, fit.chin) >= ROOM and fit.leak == 0


def one_mask(baby: Baby) -> float | None:
    """Return the one mask that fits a baby's face, or None when there are two or none."""
    best = best_masks(Face(baby.length))
    return best[0] if len(best) == 1 and has_room(baby.length, best[0]) else None
