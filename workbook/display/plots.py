"""Pictures for lessons, each with the same in words.

Nothing is told by colour: marks differ in shape and are named, so a picture reads in grey.
Matplotlib is imported at the first picture; where it cannot be had, as in a browser's Python,
the words stand alone.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from importlib.util import find_spec
from io import BytesIO
from typing import TYPE_CHECKING, Any

from workbook.core.language import _
from workbook.core.quantities import plain
from workbook.rules.compare import AGREES, ALONE, BLANK, CONFLICT, DIFFERS, MARKS, Comparison, Row
from workbook.rules.rule import RuleError

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

INK, FILL, FAINT = "#1a1a1a", "#9a9a9a", "#cccccc"
SIGNS = {CONFLICT: "\u25c6", DIFFERS: "\u25b3", AGREES: "\u25cb", ALONE: "\u25a1"}
SIZE = 11  # points
ROW = 0.36  # inches a row needs for text of this size
MARGIN = 0.08  # of the span of numbers, left free at both ends
THIN = 0.012  # of the axis, the width at which one number is drawn
COLUMNS = (18, 138)  # points from the axis to the number and to the mark


@dataclass(frozen=True)
class Picture:
    """A figure, and the same in words; no figure where it cannot be drawn."""

    figure: Figure | None
    text: str

    def png(self, dots_per_inch: int = 150) -> bytes:
        """Return the figure as a PNG image."""
        return self._saved("png", dpi=dots_per_inch)

    def svg(self) -> bytes:
        """Return the figure as a vector image, sharp at any zoom."""
        return self._saved("svg")

    def _saved(self, format: str, **options: Any) -> bytes:
        if self.figure is None:
            raise RuntimeError("This Python has no matplotlib, so the picture is words alone.")
        stream = BytesIO()
        self.figure.savefig(stream, format=format, **options)
        return stream.getvalue()

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, str]:
        if self.figure is None:
            return {"text/html": self._in_lines(), "text/plain": self.text}
        image = base64.b64encode(self.svg()).decode("ascii")
        html = (
            f'<figure style="margin: 8px 0"><img style="max-width: 100%; height: auto" '
            f'alt="{escape(self.text)}" src="data:image/svg+xml;base64,{image}"></figure>'
            '<details><summary data-lm-suppress-shortcuts="true" style="cursor: pointer; '
            'line-height: 28px; padding: 8px 0">' + escape(_("The picture in words")) + "</summary>"
            f"{self._in_lines()}</details>"
        )
        return {"text/html": html, "text/plain": self.text}

    def _in_lines(self) -> str:
        """Return the words as the page's own text: a host breaks a ``pre`` inside its words."""
        style = "font-family: var(--jp-content-font-family, sans-serif); margin: 0 0 4px"
        return "".join(
            f'<p style="{style}">{escape(line)}</p>' for line in self.text.splitlines() if line
        )


def can_draw() -> bool:
    """Return whether this Python can draw figures."""
    return find_spec("matplotlib") is not None


def comparison_picture(comparison: Comparison) -> Picture:
    """Return every edition's band on one axis, each marked by how it stands to the others."""
    if not comparison.unit or not any(row.rule.stated for row in comparison.rows):
        raise RuleError(f"{comparison.id} has no number to draw; read it as a table.")
    if not can_draw():
        return Picture(None, comparison.text)
    rows = comparison.rows
    figure, axes = _page(len(rows))
    left, right = _span(rows)
    axes.set_xlim(left, right)
    for n, row in enumerate(rows):
        _draw(axes, n, row, (left, right))
    _frame(axes, comparison)
    _key(figure)
    return Picture(figure, comparison.text)


def _page(rows: int) -> tuple[Figure, Axes]:
    from matplotlib.figure import Figure

    figure = Figure(figsize=(10, ROW * rows + 1.9), layout="constrained", facecolor="white")
    return figure, figure.add_subplot()


def _span(rows: Sequence[Row]) -> tuple[float, float]:
    """Return the axis that holds every end there is, with room at both sides."""
    ends = [
        end
        for row in rows
        for end in (row.rule.low, row.rule.high)
        if row.rule.stated and end is not None
    ]
    room = MARGIN * (max(ends) - min(ends) or abs(max(ends)) or 1.0)
    return min(ends) - room, max(ends) + room


def _draw(axes: Axes, n: int, row: Row, span: tuple[float, float]) -> None:
    """Draw one band; one number is a thin band, and a blank draws nothing."""
    if row.mark == BLANK:
        return
    low, high = max(row.rule.band[0], span[0]), min(row.rule.band[1], span[1])
    if low == high:
        half = THIN * (span[1] - span[0]) / 2
        low, high = low - half, high + half
    axes.barh(n, high - low, left=low, height=0.56, **_look(row.rule.citation.from_memory))
    if row.rule.low is None:
        axes.plot(low, n, marker="<", color=INK, ms=9, clip_on=False)
    if row.rule.high is None:
        axes.plot(high, n, marker=">", color=INK, ms=9, clip_on=False)


def _look(from_memory: bool) -> dict[str, Any]:
    """Return how a band is drawn: grey in a full line when read, white and dashed from memory."""
    if from_memory:
        return {"facecolor": "white", "edgecolor": INK, "lw": 1.5, "ls": (0, (2, 1))}
    return {"facecolor": FILL, "edgecolor": INK, "lw": 1.5, "ls": "-"}


def _frame(axes: Axes, comparison: Comparison) -> None:
    """Name the rows, the axis and the marks."""
    rows = comparison.rows
    axes.set_ylim(len(rows) - 0.4, -0.6)
    labels = [f"{_(row.edition)}, {_(row.rule.population.says)}" for row in rows]
    axes.set_yticks(range(len(rows)), labels, size=SIZE, color=INK)
    axes.tick_params(axis="x", labelsize=SIZE)
    unit = plain(2, comparison.unit or "").removeprefix("2").strip()
    axes.set_xlabel(f"{comparison.id} ({unit or _('number')})", size=SIZE)
    axes.set_title(f"{comparison.title}\n{comparison.summary}", size=SIZE + 2)
    axes.grid(axis="x", color=FAINT, lw=0.8)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
    for n, row in enumerate(rows):
        if n and row.edition != rows[n - 1].edition:
            axes.axhline(n - 0.5, color=FAINT, lw=0.8, zorder=0)
        _columns(axes, n, row)


def _columns(axes: Axes, n: int, row: Row) -> None:
    """Write the number and the mark at the right of a row."""
    number = _("not stated") if row.mark == BLANK else row.rule.text
    mark = f"{SIGNS[row.mark]} {_(MARKS[row.mark])}" if row.mark in SIGNS else ""
    looks: tuple[dict[str, Any], ...] = (
        {"style": "italic" if row.mark == BLANK else "normal"},
        {"weight": "bold" if row.mark == CONFLICT else "normal"},
    )
    for says, left, look in zip((number, mark), COLUMNS, looks, strict=True):
        axes.annotate(
            says, (1, n), xycoords=axes.get_yaxis_transform(), xytext=(left, 0),
            textcoords="offset points", va="center", size=SIZE, color=INK, **look,
        )  # fmt: skip


def _key(figure: Figure) -> None:
    """Say below the axis how a value that was read differs from one from memory."""
    from matplotlib.patches import Patch

    handles = [
        Patch(label=_("not from memory"), **_look(False)),
        Patch(label=_("from memory: check the printed edition"), **_look(True)),
    ]
    figure.legend(
        handles=handles, loc="outside lower center", ncols=2, frameon=False, fontsize=SIZE
    )
