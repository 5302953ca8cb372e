"""What a rule is: a sentence, a band or value, whom it is for, and where it comes from."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from enum import StrEnum
from typing import TYPE_CHECKING, Any

from workbook.core import quantities as units
from workbook.core.errors import PlainError
from workbook.core.language import N_, _, number

if TYPE_CHECKING:
    import pint

NOT_STATED = N_("not stated here; see the printed edition")
STANDS_IN = N_("It is used here: we have read none in the edition asked about.")


class Basis(StrEnum):
    """How a value came into the rules; never raised without reading the source."""

    PRIMARY = "primary"
    SECONDARY = "secondary"
    MEMORY = "memory"
    PRACTICE = "practice"
    COMPUTED = "computed"
    ASSUMPTION = "assumption"

    @property
    def says(self) -> str:
        """Return the basis as one sentence for a reader."""
        return _(_BASIS_SAYS[self])

    @property
    def word(self) -> str:
        """Return the basis in a word for a reader."""
        return _(_BASIS_WORDS[self])


_BASIS_WORDS = {
    Basis.PRIMARY: N_("read in the source"),
    Basis.SECONDARY: N_("read in a copy"),
    Basis.MEMORY: N_("from memory"),
    Basis.PRACTICE: N_("common practice"),
    Basis.COMPUTED: N_("computed"),
    Basis.ASSUMPTION: N_("assumption"),
}
_BASIS_SAYS = {
    Basis.PRIMARY: N_("Read in the source itself."),
    Basis.SECONDARY: N_("Read in a secondary copy, not in the source itself."),
    Basis.MEMORY: N_("From memory: check it against the printed edition before use."),
    Basis.PRACTICE: N_("Common practice; no published source."),
    Basis.COMPUTED: N_("Computed from a definition or from another value."),
    Basis.ASSUMPTION: N_("An assumption made for teaching; no source."),
}

_OWN_NAME = {Basis.PRACTICE: "practice", Basis.ASSUMPTION: "assumption"}  # sources named so


class RuleError(PlainError, LookupError):
    """A rule that cannot be had: unknown, not stated, or for nobody or two of the babies asked."""


@dataclass(frozen=True, slots=True)
class Source:
    """A publication, a standard, or the common practice of the field."""

    key: str
    body: str
    title: str
    edition: str
    year: int | None
    doi: str = ""
    note: str = ""
    approved_by: str = ""

    def __str__(self) -> str:
        year = str(self.year or "")
        when = self.edition if year in self.edition else f"{self.edition} {year}".strip()
        named = (self.body, self.title) if when else (_(self.body), _(self.title))  # or a custom
        return ", ".join(part for part in (*named, when) if part)


@dataclass(frozen=True, slots=True)
class ReadBy:
    """That somebody of a site read a rule in print: in which role, when, on which page.

    ``parts`` names what alone was read of a band: ``low``, ``high`` or ``typical``; empty: all.
    A person's name has no place here, for learners see this.
    """

    role: str
    date: str
    page: str
    parts: tuple[str, ...] = ()

    def says(self, basis: Basis) -> str:
        """Return who read it and when; of a rule read in part, how sure the rest is."""
        named = {"role": self.role, "date": self.date}
        if not self.parts:
            return _("Read in the printed edition by {role}, {date}.").format(**named)
        what = _(" and ").join(_(_PARTS[part]) for part in self.parts)
        says = _("Read in the printed edition by {role}, {date}: {what}. The rest: {basis}")
        rest = basis.says
        return says.format(what=what, basis=rest[:1].lower() + rest[1:], **named)


_PARTS = {
    "low": N_("the lower end"),
    "high": N_("the upper end"),
    "typical": N_("the usual value"),
}


@dataclass(frozen=True, slots=True)
class Citation:
    """Where one value or sentence comes from, and how sure that is.

    ``read`` says who of the site read it in print; the basis stays what it is in our data.
    """

    source: Source
    basis: Basis
    locator: str = ""
    confidence: str = ""
    blank: bool = False
    read: ReadBy | None = None

    @property
    def read_whole(self) -> bool:
        """Say whether somebody of the site read all of it in print."""
        return self.read is not None and not self.read.parts

    @property
    def from_memory(self) -> bool:
        """Say whether a reader must be warned that it was never checked in print."""
        unread = self.basis is Basis.MEMORY and not self.read_whole
        return unread and not self.blank and not self.source.approved_by

    @property
    def word(self) -> str:
        """Return how sure it is in a word or two."""
        return _("read in print here") if self.read_whole else self.basis.word

    @property
    def says(self) -> str:
        """Return how sure it is, in a sentence; a site's rule names who approved it."""
        if self.blank:
            return _("We have not read it there.")
        if self.source.approved_by:
            return _("The site's own rule, approved by {who}.").format(who=self.source.approved_by)
        return self.basis.says if self.read is None else self.read.says(self.basis)

    def __str__(self) -> str:
        locator = _(self.locator)
        if self.read is not None:
            locator = _("page {page}").format(page=self.read.page)
        if not locator and self.read is None and _OWN_NAME.get(self.basis) == self.source.key:
            return self.says  # the source's name would say the same once more
        where = f", {locator}" if locator and not self.blank else ""
        unsure = self.confidence and not self.read_whole
        sure = _(" Confidence: {much}.").format(much=_(self.confidence)) if unsure else ""
        return f"{self.source}{where}. {self.says}{sure}"


@dataclass(frozen=True, slots=True)
class Population:
    """Whom a rule is for: gestation in weeks and weight in grams, each ``low <= x < high``."""

    says: str = N_("every newborn")
    gestation: tuple[float | None, float | None] = (None, None)
    weight: tuple[float | None, float | None] = (None, None)

    def includes(self, gestation: float | None, weight: float | None) -> bool:
        """Say whether a baby of this gestation (weeks) and weight (grams) belongs."""
        return _within(gestation, self.gestation) and _within(weight, self.weight)

    def overlaps(self, other: Population) -> bool:
        """Say whether one baby can belong to both."""
        pairs = ((self.gestation, other.gestation), (self.weight, other.weight))
        return all(_meet(*mine, *theirs) for mine, theirs in pairs)

    @property
    def needs(self) -> tuple[str, ...]:
        """Return what must be known of a baby to tell whether it belongs."""
        pairs = (("gestation", self.gestation), ("weight", self.weight))
        return tuple(name for name, bounds in pairs if bounds != (None, None))


def _within(value: float | None, bounds: tuple[float | None, float | None]) -> bool:
    low, high = bounds
    if low is None and high is None:
        return True
    if value is None:
        return False
    return (low is None or value >= low) and (high is None or value < high)


def _meet(
    low: float | None, high: float | None, other_low: float | None, other_high: float | None
) -> bool:
    starts = [x for x in (low, other_low) if x is not None]
    ends = [x for x in (high, other_high) if x is not None]
    return not starts or not ends or max(starts) < min(ends)


EVERYONE = Population()


@dataclass(frozen=True, slots=True)
class Rule:
    """A sourced number, band or plain sentence of one edition.

    ``low`` and ``high`` are floats in ``unit``; ``below`` says that ``high`` itself lies outside.
    A ``blank`` rule, or one with a unit and no number, is not known here: asking raises RuleError.
    A rule that ``stands_in`` is another edition's, lent to one that gives none.
    """

    id: str
    says: str
    unit: str | None
    low: float | None
    high: float | None
    citation: Citation
    edition: str
    population: Population = EVERYONE
    typical: float | None = None
    replaces: Rule | None = field(default=None, repr=False)
    below: bool = False
    blank: bool = False
    stands_in: bool = False

    @property
    def stated(self) -> bool:
        """Say whether the rule has what it promises: a number where it has a unit."""
        if self.blank:
            return False
        return self.unit is None or self.low is not None or self.high is not None

    @property
    def band(self) -> tuple[float, float]:
        """Return (low, high) in ``unit``; an open end is infinite."""
        self._demand_number()
        low = float("-inf") if self.low is None else self.low
        high = float("inf") if self.high is None else self.high
        return low, high

    @property
    def value(self) -> float:
        """Return the one number of the rule: its value, or the typical one of its band."""
        self._demand_number()
        if self.typical is not None:
            return self.typical
        if self.low is not None and self.low == self.high:
            return self.low
        raise RuleError(f"{self.id} ({self.edition}) is a band, {self.text}, not one value.")

    def quantity(self) -> pint.Quantity[Any]:
        """Return the one number of the rule with its unit."""
        return units.quantity(self.value, self.unit)

    def quantities(self) -> tuple[pint.Quantity[Any], pint.Quantity[Any]]:
        """Return (low, high) with their unit."""
        low, high = self.band
        return units.quantity(low, self.unit), units.quantity(high, self.unit)

    def holds(self, value: float) -> bool:
        """Say whether a value in ``unit`` lies in the band, both ends included unless ``below``."""
        low, high = self.band
        return low <= value < high if self.below else low <= value <= high

    @property
    def text(self) -> str:
        """Return the number as a person would say it."""
        if not self.stated:
            return _(NOT_STATED)
        if self.unit is None:
            return _(self.says)
        if self.low == self.high and self.low is not None:
            return units.plain(self.low, self.unit)
        if self.low is None and self.high is not None:
            says = _("below {high}") if self.below else _("up to {high}")
            return says.format(high=units.plain(self.high, self.unit))
        if self.high is None and self.low is not None:
            return _("{low} or more").format(low=units.plain(self.low, self.unit))
        says = _("{low} to below {high}") if self.below else _("{low} to {high}")
        low, high = number(self.low or 0.0, ".4g"), units.plain(self.high or 0.0, self.unit)
        return says.format(low=low, high=high)

    @property
    def shown(self) -> str:
        """Return the number as a lesson shows it: a site's own beside the edition's."""
        if self.replaces is None:
            return self.text
        if self.corrected:
            says = _("{own} (as read in print; before, here: {other})")
            return says.format(own=self.text, other=self.replaces.text)
        return _("your site: {own} ({speaker}: {other})").format(
            own=self.text, speaker=self.replaces.speaker, other=self.replaces.text
        )

    @property
    def corrected(self) -> bool:
        """Say whether somebody of the site read another number in print, which is used."""
        return self.replaces is not None and self.citation.read is not None

    @property
    def from_site(self) -> bool:
        """Say whether the site's own rule stands in place of the edition's."""
        return self.replaces is not None and not self.corrected

    @property
    def speaker(self) -> str:
        """Return who says the rule: an edition, or common practice where no edition does."""
        return _("common practice") if self.edition == "practice" else _("edition")

    def _demand_number(self) -> None:
        if not self.stated:
            raise RuleError(f"{self.id} ({self.edition}): {_(NOT_STATED)}.")
        if self.unit is None:
            raise RuleError(f"{self.id} ({self.edition}) is a sentence without a number.")

    def __str__(self) -> str:
        band = "" if self.unit is None and self.stated else f" [{self.text}]"
        site = ""
        if self.corrected and self.replaces is not None:
            site = _(" Corrected from print; before, here: {other}.")
            site = site.format(other=self.replaces.text.rstrip("."))
        elif self.replaces is not None:
            old = self.replaces
            site = _(" Your site's rule; the {speaker} says: {other}.").format(
                speaker=old.speaker, other=old.text.rstrip(".")
            )
        source = _("Source: {source}").format(source=self.citation)
        lent = f" {_(STANDS_IN)}" if self.stands_in else ""
        return f"{_(self.says)}{band} {source}{lent}{site}"

    def under(self, edition: str) -> Rule:
        """Return the same rule filed under another edition."""
        return replace(self, edition=edition)
