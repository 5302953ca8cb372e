"""Paper for a PDF: fonts, margins, foot, and the few shapes a printed sheet needs."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import cast

from fpdf import FPDF
from fpdf.enums import XPos, YPos

PAPERS = ("a4", "letter")
MARGIN = 14.0  # mm, as on the printed pages
INK, SOFT, LINE, SHADE = 20, 80, 150, 228  # greys: everything reads in black and white
SANS, SERIF = "DejaVu", "DejaVuSerif"
FOOT = (
    "For education only; not a medical device. Local protocol, the device's own instructions and "
    "licensed practice come first. Ready for the lab is not competent."
)
_LONG_WORD = 24  # letters; a longer one may not fit a column
_RIGHT_TO_LEFT = {"R", "AL", "AN"}
_FONTS = {
    (SANS, ""): "DejaVuSans.ttf",
    (SANS, "B"): "DejaVuSans-Bold.ttf",
    (SERIF, "B"): "DejaVuSerif-Bold.ttf",
}


@cache
def _font_folder() -> Path:
    """Return where matplotlib keeps the fonts it carries; no system font is needed."""
    import matplotlib

    return Path(matplotlib.get_data_path()) / "fonts" / "ttf"


@cache
def _letters() -> frozenset[int]:
    """Return the letters that every one of our fonts has."""
    from fontTools.ttLib import TTFont

    found = []
    for name in _FONTS.values():
        with TTFont(_font_folder() / name, lazy=True) as font:
            found.append(frozenset(font.getBestCmap()))
    return frozenset.intersection(*found)


def drawable(text: str) -> bool:
    """Say whether a text can be set as it is: letters we have, from left to right, unjoined."""
    return all(
        ord(c) in _letters()
        and unicodedata.bidirectional(c) not in _RIGHT_TO_LEFT
        and not unicodedata.category(c).startswith(("C", "M"))
        for c in unicodedata.normalize("NFC", text)
    )


def breakable(text: str) -> str:
    """Return a text whose very long words may go on in the next line after a hyphen."""
    return " ".join(
        word.replace("-", "-\u200b") if len(word) > _LONG_WORD else word for word in text.split(" ")
    )


class Paper(FPDF):
    """A sheet with our fonts, margins and foot; positions and sizes in mm, letters in points."""

    def __init__(self, paper: str, title: str, made_at: datetime) -> None:
        super().__init__(format=paper, unit="mm")
        for (family, style), name in _FONTS.items():
            self.add_font(family, style, _font_folder() / name)
        self.set_margin(MARGIN)
        self.c_margin = 0  # text begins where lines and boxes begin
        self.set_auto_page_break(auto=True, margin=18)
        self.set_title(title)
        self.set_lang("en")
        self.set_creation_date(made_at)
        self.named = title

    def header(self) -> None:
        """Name the document on every page but the first."""
        if self.page_no() > 1:
            self.write_at(7.5, self.named, grey=SOFT)
            self.ln(1.5)

    def footer(self) -> None:
        """Say the safety words and the page on every page."""
        self.set_y(-14)
        self.rule()
        self.set_y(-12.5)
        self.write_at(6.6, FOOT, grey=SOFT, width=self.epw - 14)
        self.set_xy(self.w - MARGIN - 14, -12.5)
        self.write_at(7, f"{self.page_no()} / {{nb}}", grey=SOFT, width=14, align="R")

    def write_at(
        self,
        size: float,
        text: str,
        *,
        bold: bool = False,
        serif: bool = False,
        grey: int = INK,
        width: float | None = None,
        align: str = "L",
        lead: float = 1.32,
    ) -> None:
        """Set a paragraph from where the pen is; the pen goes under it, at the same left edge."""
        left = self.x
        self._ready(size, bold, serif, grey)
        self.multi_cell(
            width or self.w - self.r_margin - left,
            size * 0.3528 * lead,  # points to mm
            text,
            align=align,
            new_x=XPos.LEFT,
            new_y=YPos.NEXT,
        )
        self.x = left

    def height(
        self, size: float, text: str, width: float, *, bold: bool = False, lead: float = 1.32
    ) -> float:
        """Return how high a paragraph would be, in mm."""
        self._ready(size, bold, False, INK)
        step = size * 0.3528 * lead
        high = self.multi_cell(width, step, text, align="L", dry_run=True, output="HEIGHT")
        return cast(float, high)

    def rule(self, grey: int = LINE) -> None:
        """Draw a thin line from margin to margin where the pen is."""
        self.set_draw_color(grey)
        self.set_line_width(0.2)
        self.line(self.l_margin, self.y, self.w - self.r_margin, self.y)

    def heading(self, text: str, *, keep: float = 20) -> None:
        """Set a heading that stays with what follows: ``keep`` mm must be left under it."""
        if self.y + 9 + keep > self.page_break_trigger:
            self.add_page()
        self.ln(3)
        self.write_at(12, text, bold=True, serif=True)
        self.ln(1)

    def box(self, left: float, top: float, width: float, height: float, *, shade: bool) -> None:
        """Draw a box, shaded or not."""
        self.set_draw_color(INK)
        self.set_fill_color(SHADE)
        self.set_line_width(0.25)
        self.rect(left, top, width, height, style="DF" if shade else "D")

    def _ready(self, size: float, bold: bool, serif: bool, grey: int) -> None:
        self.set_font(SERIF if serif else SANS, "B" if bold or serif else "", size)
        self.set_text_color(grey)

    def data(self) -> bytes:
        """Return the document."""
        return bytes(self.output())


def undrawable(texts: Iterable[str]) -> int:
    """Return how many texts cannot be set as they are."""
    return sum(not drawable(text) for text in texts)
