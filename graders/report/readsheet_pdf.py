"""The sheet of what is to be read in print, as a PDF for a printer and a pen."""

from __future__ import annotations

from datetime import datetime

from graders.lab.plan import LabError
from graders.reading.sheet import Line, Publication, Sheet
from graders.report.paper import INK, PAPERS, SOFT, Paper, drawable
from graders.report.readsheet_page import COMMAND, HOW, READ_TABLE, derived, parts, summary

_TICK, _PAGE, _PRINTS, _HELD = 10.0, 19.0, 33.0, 29.0  # mm, the columns at the right
_GAP = 3.0  # mm between columns
_ROOM = 8.5  # mm, the least height of a line: a pen needs it
_BOX = 4.6  # mm
_NUMBER = 7.0  # mm, where a line's number stands
_SAFE = (
    "A signature says what is printed. It does not say that a number suits your unit. Once filled "
    "in, this sheet names people: keep it where only the course's staff can read it."
)


def sheet_pdf(
    made: Sheet, learners: int, *, made_at: datetime, version: str, paper: str = "a4"
) -> bytes:
    """Return the sheet as a PDF on A4 or Letter; raises LabError when the paper is another."""
    if paper not in PAPERS:
        raise LabError(f"There is no paper {paper!r}; choose {' or '.join(PAPERS)}.")
    page = Paper(paper, f"To be read in print: {_title(made)}", made_at)
    page.add_page()
    _head(page, made, made_at)
    for title, says, publications in parts(made):
        if publications:
            page.heading(title, keep=60)
            page.write_at(8.2, says, grey=SOFT)
        for publication in publications:
            _publication(page, publication)
    _back(page, made, learners, version)
    return page.data()


def _title(made: Sheet) -> str:
    return made.course.title if drawable(made.course.title) else made.course.id


def _head(page: Paper, made: Sheet, made_at: datetime) -> None:
    book = made.course.book
    page.write_at(7.5, f"To be read in print. Made {made_at:%Y-%m-%d %H:%M}", grey=SOFT)
    page.ln(0.8)
    page.write_at(19, _title(made), serif=True, lead=1.15)
    page.ln(1.2)
    page.write_at(9.5, summary(made))
    site = book.protocol if drawable(book.protocol) else "the site's own"
    local = f" Local protocol: {site}." if book.protocol else ""
    page.ln(0.6)
    page.write_at(8, f"Edition asked about: {book.edition.title}.{local} {_SAFE}", grey=SOFT)
    page.heading("How to read", keep=30)
    for n, says in enumerate(HOW, start=1):
        top = page.y
        page.write_at(8.6, f"{n}", bold=True, width=5)
        page.set_xy(page.l_margin + 5, top)
        page.write_at(8.6, says)
        page.set_x(page.l_margin)
        page.ln(0.7)
        page.set_x(page.l_margin)


def _publication(page: Paper, publication: Publication) -> None:
    """Set a publication: its title, who reads it, and a line for each number."""
    title = publication.title
    first = _height(page, publication.lines[0])
    need = page.height(9.6, title, page.epw, bold=True) + 25 + first
    if page.y + need > page.page_break_trigger:
        page.add_page()
    page.ln(3.5)
    page.write_at(9.6, title, bold=True)
    _who(page)
    _columns(page)
    for line in publication.lines:
        if page.y + _height(page, line) > page.page_break_trigger:
            page.add_page()
            page.write_at(8, f"{_short(title)} (goes on)", bold=True)
            page.ln(1)
            _columns(page)
        _line(page, line)
    page.rule()


def _who(page: Paper) -> None:
    """Draw where name, role and date are written."""
    wide = [page.epw * share for share in (0.42, 0.33, 0.25)]
    left, top = page.l_margin, page.y + 7.5
    for what, width in zip(("Read by (name)", "Role", "Date"), wide, strict=True):
        page.set_draw_color(INK)
        page.set_line_width(0.25)
        page.line(left, top, left + width - _GAP, top)
        page.set_xy(left, top + 0.4)
        page.write_at(6.8, what, grey=SOFT, width=width)
        left += width
    page.set_xy(page.l_margin, top + 5.2)


def _lefts(page: Paper) -> dict[str, tuple[float, float]]:
    """Return where each column begins and how wide it is."""
    wide = {"held": _HELD, "tick": _TICK, "page": _PAGE, "prints": _PRINTS}
    says = page.epw - sum(wide.values()) - _GAP * len(wide)
    left, found = page.l_margin, {}
    for name, width in {"says": says, **wide}.items():
        found[name] = (left, width)
        left += width + _GAP
    return found


def _columns(page: Paper) -> None:
    top = page.y
    named = {
        "says": "What it says, and for whom", "held": "Held here", "tick": "Same", "page": "Page",
        "prints": "Prints instead",
    }  # fmt: skip
    for name, (left, width) in _lefts(page).items():
        page.set_xy(left, top)
        page.write_at(7, named[name], grey=SOFT, width=width + _GAP - 0.5)
    page.set_xy(page.l_margin, top + 4)


def _line(page: Paper, line: Line) -> None:
    page.rule()
    top, high, at = page.y, _height(page, line), _lefts(page)
    left, width = at["says"]
    page.set_xy(left, top + 1.1)
    page.write_at(8.2, str(line.number), bold=True, width=_NUMBER)
    page.set_xy(left + _NUMBER, top + 1.1)
    page.write_at(8.2, line.rule.says, width=width - _NUMBER)
    page.write_at(6.8, _small(line), grey=SOFT, width=width - _NUMBER)
    left, width = at["held"]
    page.set_xy(left, top + 1.1)
    page.write_at(8.8, line.held or "a sentence", bold=bool(line.held), width=width)
    left, _ = at["tick"]
    page.box(left, top + (high - _BOX) / 2, _BOX, _BOX, shade=False)
    page.set_draw_color(SOFT)
    page.set_line_width(0.2)
    for name in ("page", "prints"):
        left, width = at[name]
        page.line(left, top + high - 1.9, left + width, top + high - 1.9)
    page.set_xy(page.l_margin, top + high)


def _small(line: Line) -> str:
    whom = f"{line.whom[:1].upper()}{line.whom[1:]}"
    fell = " Was signed before; the rule has changed since." if line.fell else ""
    return f"{whom}. Decides in: {line.used}. {line.id}.{fell}"


def _height(page: Paper, line: Line) -> float:
    """Return how high a line is, in mm."""
    at = _lefts(page)
    wide = at["says"][1] - _NUMBER
    says = page.height(8.2, line.rule.says, wide) + page.height(6.8, _small(line), wide)
    held = page.height(8.8, line.held or "a sentence", at["held"][1], bold=True)
    return max(says, held, _ROOM - 2.4) + 2.4


def _short(title: str) -> str:
    return title if len(title) <= 90 else f"{title[:88]}…"


def _back(page: Paper, made: Sheet, learners: int, version: str) -> None:
    page.heading("Bring it back", keep=24)
    page.write_at(
        8.2,
        f"Copy what you wrote into {READ_TABLE}: one line for each number, in the order of this "
        f"sheet, with name, role and date in each. Then run: {COMMAND}. Lines left empty stay as "
        "they are. Learners see the role and the date, never a name.",
    )
    page.ln(1)
    page.write_at(7.2, f"{derived(made, learners)} Rules and marking {version}.", grey=SOFT)
