"""One rule across editions: what each says, for whom, how sure it is, and where they part.

Two editions *conflict* where no number suits both for the same baby, and *differ* where their
bands overlap without being the same.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from html import escape

from workbook.core.language import N_, _
from workbook.core.quantities import convert
from workbook.rules.book import RuleBook
from workbook.rules.edition import PRACTICE, Edition
from workbook.rules.files import editions, published
from workbook.rules.rule import Rule, RuleError

CONFLICT, DIFFERS, AGREES, ALONE, BLANK = "conflicts", "differs", "agrees", "alone", "blank"
MARKS = {
    CONFLICT: N_("conflicts"),
    DIFFERS: N_("differs"),
    AGREES: N_("agrees"),
    ALONE: N_("alone"),
}
_CELL = "text-align: start; vertical-align: top; white-space: normal"
COLUMNS = (N_("Edition"), N_("Whom for"), N_("Says"), N_("Basis"), N_("Beside the others"))


@dataclass(frozen=True, slots=True)
class Row:
    """What one edition says for one population, in the unit of the comparison."""

    edition: str
    rule: Rule
    against: tuple[str, ...] = ()
    besides: tuple[str, ...] = ()
    shared: bool = False

    @property
    def mark(self) -> str:
        """Return one word for how it stands to the other editions."""
        if not self.rule.stated:
            return BLANK
        if self.against:
            return CONFLICT
        if self.besides:
            return DIFFERS
        return AGREES if self.shared else ALONE

    @property
    def basis(self) -> str:
        """Return the basis in a word, with how sure memory is; a blank has none."""
        cited = self.rule.citation
        if not self.rule.stated:
            return _("none")
        if not cited.confidence or cited.read_whole:
            return cited.word
        sure = _("{basis}, {much} confidence")
        return sure.format(basis=cited.word, much=_(cited.confidence))

    @property
    def remark(self) -> str:
        """Return the mark, naming the editions it concerns."""
        named = {CONFLICT: self.against, DIFFERS: self.besides}.get(self.mark, ())
        other = {AGREES: _("agrees with the others"), ALONE: _("no other gives a number")}
        if self.mark == BLANK:
            return _("not stated")
        if self.rule.unit is None:
            return _("a sentence, to be compared by reading")
        return f"{_(MARKS[self.mark])}: {', '.join(named)}" if named else other[self.mark]

    @property
    def cells(self) -> tuple[str, ...]:
        """Return the row of the table."""
        text = self.rule.text.removesuffix(".")
        if self.rule.stated and self.edition in editions() and self.rule.edition != self.edition:
            text += _(" (as in {edition})").format(edition=self.rule.edition)
        whom = _(self.rule.population.says)
        return _(self.edition), whom, text, self.basis, self.remark


@dataclass(frozen=True, slots=True)
class Comparison:
    """The rows of one rule, and the editions that have no rule of this id."""

    id: str
    unit: str | None
    rows: tuple[Row, ...]
    missing: tuple[str, ...]

    @property
    def conflicts(self) -> tuple[Row, ...]:
        """Return the rows with which no number of some other edition agrees."""
        return tuple(row for row in self.rows if row.mark == CONFLICT)

    @property
    def text(self) -> str:
        """Return the table in lines of words, for reading aloud and for a terminal."""
        lines = [f"{self.title}:"]
        lines += [f"- {'; '.join(row.cells)}." for row in self.rows]
        if self.missing:
            lines.append(self._absent)
        return "\n".join([*lines, self.summary])

    @property
    def title(self) -> str:
        """Return what is compared."""
        return _("{rule}, edition by edition").format(rule=self.id)

    @property
    def _absent(self) -> str:
        return _("No such rule in: {editions}.").format(editions=", ".join(self.missing))

    @property
    def summary(self) -> str:
        """Return in one sentence whether the same baby has different right answers."""
        if self.conflicts:
            return _("The same baby has different right answers: name the edition.")
        if any(row.mark == DIFFERS for row in self.rows):
            return _("The bands overlap without being the same: name the edition.")
        return _("No stated rule contradicts another.")

    def __str__(self) -> str:
        return self.text

    def _repr_html_(self) -> str:
        head = "".join(f'<th scope="col" style="{_CELL}">{_(column)}</th>' for column in COLUMNS)
        rows = "".join(_html(row.cells) for row in self.rows)
        below = f"{self._absent} " if self.missing else ""
        return (
            f'<table class="tpiece-table"><caption>{escape(self.title)}</caption>'
            f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
            f"<p>{escape(below + self.summary)}</p>"
        )


def _html(cells: tuple[str, ...]) -> str:
    first, *others = (escape(cell) for cell in cells)
    row = "".join(f'<td style="{_CELL}">{cell}</td>' for cell in others)
    return f'<tr><th scope="row" style="{_CELL}">{first}</th>{row}</tr>'


def compare(id: str, among: Iterable[str] = (), site: RuleBook | None = None) -> Comparison:
    """Return what the editions say of one rule; ``site`` adds a book with a local protocol."""
    wanted = tuple(among) or tuple(editions())
    books = {edition: published(edition) for edition in wanted}
    found = [(e, rule) for e, book in books.items() if id in book for rule in _own(book, id)]
    if site is not None and id in site:
        found += [(N_("your site"), rule) for rule in site.all(id) if rule.from_site]
    if not found:
        everything = tuple(rule for book in books.values() for rule in book)
        RuleBook(Edition("any edition asked", ""), everything).all(id)
        raise RuleError(f"{id} is stated by none of {', '.join(wanted)}.")
    unit = next((rule.unit for _, rule in found if rule.unit), found[0][1].unit)
    rows = [Row(edition, _in_unit(rule, unit)) for edition, rule in found]
    named = {edition for edition, _ in found}
    missing = tuple(e for e in wanted if e not in named)
    return Comparison(id, unit, tuple(_placed(row, rows) for row in rows), missing)


def _own(book: RuleBook, id: str) -> tuple[Rule, ...]:
    """Return an edition's rules, without those that practice lends it."""
    return tuple(
        rule for rule in book.all(id) if rule.edition != PRACTICE or book.edition.id == PRACTICE
    )


def _in_unit(rule: Rule, unit: str | None) -> Rule:
    """Return a rule in the unit that the comparison is drawn in."""
    if not rule.stated or not rule.unit or not unit or rule.unit == unit:
        return rule
    ends = {"low": rule.low, "high": rule.high, "typical": rule.typical}
    made = {k: None if v is None else convert(v, rule.unit, unit) for k, v in ends.items()}
    return replace(rule, unit=unit, low=made["low"], high=made["high"], typical=made["typical"])


def _placed(row: Row, rows: list[Row]) -> Row:
    """Return a row with the editions that conflict with it, differ from it, or share it."""
    if not row.rule.stated or row.rule.unit is None:
        return row
    met = [other for other in rows if _comparable(row, other)]
    against = [o.edition for o in met if not _touch(row.rule, o.rule)]
    besides = [o.edition for o in met if o.edition not in against and _ends(o) != _ends(row)]
    shared = any(_ends(other) == _ends(row) for other in met)
    return replace(
        row, against=tuple(dict.fromkeys(against)), besides=tuple(dict.fromkeys(besides)),
        shared=shared,
    )  # fmt: skip


def _comparable(row: Row, other: Row) -> bool:
    stated = other.rule.stated and other.rule.unit is not None
    whom = row.rule.population.overlaps(other.rule.population)
    return stated and other.edition != row.edition and whom


def _touch(one: Rule, other: Rule) -> bool:
    """Say whether some number lies in both bands."""
    low, high = max(one.band[0], other.band[0]), min(one.band[1], other.band[1])
    return low < high or (low == high and one.holds(low) and other.holds(low))


def _ends(row: Row) -> tuple[float, float, bool]:
    return (*row.rule.band, row.rule.below)
