"""Curves of the model for lessons: lines told apart by style and mark, named above with a piece."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from workbook.core.language import _, decimal, number
from workbook.display.plots import FAINT, INK, Picture, can_draw

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SIZE = 12  # points
ROW = 19  # points that a row of names takes
STYLES = (("-", "o"), ("--", "s"), (":", "^"), ("-.", "D"))
MARKS = 6  # on each line
POINTS = 7  # told of each line in words
MOST = 3  # names beside each other
FEW = 2  # turns of a curve that its points tell well enough
WIGGLE = 0.2  # of its height; a turn by less is none
WIDE, HIGH = 5.0, 2.2  # inches: on a telephone its words are as large as the page's small ones


@dataclass(frozen=True, slots=True)
class Line:
    """One curve with its name."""

    label: str
    xs: Sequence[float]
    ys: Sequence[float]

    @property
    def says(self) -> str:
        """Return the curve in words: where it is at a few places, and its extremes."""
        last = len(self.xs) - 1
        places = sorted({round(last * n / (POINTS - 1)) for n in range(POINTS)})
        at = _("{y} at {x}")
        xs = _apart([self.xs[i] for i in places])
        told = ", ".join(
            at.format(y=_tenths(self.ys[i]), x=x) for i, x in zip(places, xs, strict=True)
        )
        if len(turns := self.turns) > FEW:
            wavy = _("it rises and falls, turning at {heights}")
            told = wavy.format(heights=", ".join(map(_tenths, turns)))
        return _("{name}: {told}. Lowest {low}, highest {high}.").format(
            name=self.label, told=told, low=_tenths(min(self.ys)), high=_tenths(max(self.ys))
        )

    @property
    def turns(self) -> list[float]:
        """Return the heights at which the curve turns, small wiggles left out."""
        made, last, rises = [], self.ys[0], 0
        least = WIGGLE * (max(self.ys) - min(self.ys))
        for y in self.ys:
            if rises and (y - last) * rises > 0:
                last = y
            elif abs(y - last) > least:
                made += [last] if rises else []
                last, rises = y, 1 if y > last else -1
        return made


@dataclass(frozen=True, slots=True)
class Point:
    """A published number with its range, to stand beside the curves."""

    label: str
    x: float
    y: float
    low: float
    high: float

    @property
    def says(self) -> str:
        """Return the number in words."""
        return _("{name}: {y} at {x}, range {low} to {high}.").format(
            name=self.label,
            y=number(self.y),
            x=number(self.x),
            low=number(self.low),
            high=number(self.high),
        )


def _tenths(value: float) -> str:
    return number(value, ".1f")


def _apart(values: Sequence[float]) -> list[str]:
    """Return numbers with as many digits, one to three, as it takes to tell them apart."""
    for digits in (1, 2, 3):
        told = [number(value, f".{digits}f") for value in values]
        if len(set(told)) == len(set(values)):
            break
    return told


@dataclass(frozen=True, slots=True)
class Panel:
    """What is drawn against one upright axis."""

    axis: str
    lines: Sequence[Line]
    points: Sequence[Point] = ()
    top: float | None = None  # where panels are to be compared by height


def curves_picture(title: str, along: str, panels: Sequence[Panel]) -> Picture:
    """Return panels one above the other, over the same level axis, and the same in words."""
    words = in_words(title, along, panels)
    if not can_draw():
        return Picture(None, words)
    from matplotlib.figure import Figure

    size = (WIDE, HIGH * len(panels) + 0.7)
    figure = Figure(figsize=size, layout="constrained", facecolor="white")
    figure.suptitle(title, size=SIZE + 1)
    drawn = figure.subplots(len(panels), sharex=True, squeeze=False)[:, 0]
    for axes, panel in zip(drawn, panels, strict=True):
        _draw(axes, panel)
    drawn[-1].set_xlabel(along, size=SIZE)
    return Picture(figure, words)


def in_words(title: str, along: str, panels: Sequence[Panel]) -> str:
    """Return what the picture shows in words and numbers."""
    told = [title + "."]
    for panel in panels:
        told.append(_("{what}, by {along}.").format(what=panel.axis, along=along))
        told += [line.says for line in panel.lines] + [point.says for point in panel.points]
    return "\n".join(told)


def _draw(axes: Axes, panel: Panel) -> None:
    for line, (style, mark) in zip(panel.lines, STYLES, strict=False):
        every = max(1, len(line.xs) // MARKS)
        axes.plot(
            line.xs,
            line.ys,
            ls=style,
            marker=mark,
            markevery=every,
            color=INK,
            lw=1.8,
            ms=6,
            label=line.label,
        )
    for point, mark in zip(panel.points, "Pv", strict=False):
        reach = [[point.y - point.low], [point.high - point.y]]
        axes.errorbar(point.x, point.y, reach, fmt=mark, color=INK, ms=8, capsize=6,
                      mfc="white", mew=2, label=point.label)  # fmt: skip
    _frame(axes, panel)
    rows = _names(axes, panel)
    # Level, not along the axis: it is read without turning the head, however low the panel is.
    axes.set_title(panel.axis, size=SIZE, loc="left", pad=6 + ROW * rows)


def _frame(axes: Axes, panel: Panel) -> None:
    axes.set_ylim(0, panel.top)
    axes.margins(x=0.01)
    axes.locator_params(axis="x", nbins=7, steps=[1, 2, 5, 10])
    axes.tick_params(labelsize=SIZE)
    if decimal() != ".":
        axes.xaxis.set_major_formatter(_at_tick)
        axes.yaxis.set_major_formatter(_at_tick)
    axes.grid(color=FAINT, lw=0.8)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)


def _at_tick(value: float, _place: object) -> str:
    return number(round(value, 6))


def _names(axes: Axes, panel: Panel) -> int:
    """Name each line above the panel with a piece of it; return in how many rows.

    There is none where the axis names the line already.
    """
    handles, names = axes.get_legend_handles_labels()
    if len(names) == 1 and names[0].lower() in panel.axis.lower():
        return 0
    rows = math.ceil(len(names) / MOST)
    columns = math.ceil(len(names) / rows)  # rows as even as can be
    axes.legend(
        handles=handles, loc="lower left", bbox_to_anchor=(0, 1), ncols=columns,
        frameon=False, fontsize=SIZE, handlelength=2.6, columnspacing=1.2, borderaxespad=0.2,
    )  # fmt: skip
    return rows
