"""A site's own protocol: an overlay on one edition that replaces rules that exist.

It never edits the edition: the replaced rule stays with the new one, so both can be shown.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from workbook.rules.book import RuleBook
from workbook.rules.files import rulebook
from workbook.rules.reader.rulefile import DATA
from workbook.rules.rule import Rule, RuleError, Source
from workbook.rules.signed import Signature, under
from workbook.rules.site.replaceable import locked
from workbook.rules.site.signedfile import signature_lines, toml_lines, toml_text

EXAMPLE = DATA / "example-protocol.toml"
_SAFETY = (
    "For education only; not a medical device. Your hospital's approved protocol, the device's\n"
    "# own instructions and licensed practice come first."
)


@dataclass(frozen=True, slots=True)
class Protocol:
    """A site's protocol: who answers for it, until when, and which rules it replaces.

    ``signed`` is what people of the site read in print; it may be of any edition.
    """

    title: str
    edition: str
    source: Source
    review_by: date
    rules: tuple[Rule, ...]
    signed: tuple[Signature, ...] = ()

    @property
    def approved_by(self) -> str:
        """Return who approved it."""
        return self.source.approved_by

    def expired(self, today: date) -> bool:
        """Say whether the review date has passed."""
        return today > self.review_by

    def text(self) -> str:
        """Return the protocol as the file it can be read back from."""
        head = {
            "title": self.title,
            "edition": self.edition,
            "source": self.source.title,
            "approved_by": self.approved_by,
            "review_by": self.review_by,
        }
        signed = [line for each in self.signed for line in signature_lines(each)]
        replaced = map(_replacement, self.rules)
        return "\n".join(["[protocol]", *toml_lines(head), *replaced, *signed])


def site_source(title: str, source: str, approved_by: str, review_by: date | None) -> Source:
    """Return the source that every rule of a site's protocol cites."""
    until = f"review by {review_by}" if review_by else ""
    return Source("site", title, source, until, None, approved_by=approved_by)


def overlay(book: RuleBook, protocol: Protocol) -> RuleBook:
    """Return the book with the protocol's rules in place of the edition's.

    Rules that people of the site read in print say so. Laid on twice it changes nothing more; no
    other rule is touched. RuleError when the protocol
    is written for another edition.
    """
    if protocol.edition != book.edition.id:
        raise RuleError(
            f"{protocol.title} is written for {protocol.edition}, not for {book.edition.id}."
        )
    ours = {(rule.id, rule.population): rule for rule in protocol.rules}
    rules = tuple(ours.get((rule.id, rule.population), rule) for rule in book.rules)
    signed = under(rules, protocol.signed)
    title = protocol.title if protocol.rules else ""  # who only read in print says nothing else
    return replace(book, rules=signed, protocol=title, signed=protocol.signed)


def template(edition: str) -> str:
    """Return a commented protocol file for an edition, with every number a site may replace."""
    book = rulebook(edition)
    rules = [r for r in book.rules if r.unit is not None and not locked(r)]
    blocks = ["\n".join(f"# {line}" for line in _block(book, rule)) for rule in rules]
    return "\n\n".join([_HEAD.format(safety=_SAFETY, edition=edition), *blocks]) + "\n"


_HEAD = """\
# A local protocol for the T-piece workbook. Every line that starts with # is a comment.
# {safety}
#
# 1. Fill in [protocol]; nothing in it may stay empty.
# 2. Take away the # before the lines of each rule your site sets differently; change its number.
#    A sentence of the edition is replaced by the id of its rule and your own says = "...".
# 3. Check the file: tpiece protocol check FILE

[protocol]
title = ""        # the name learners see, with your hospital
edition = "{edition}"
source = ""       # your document, with its number or version
approved_by = ""  # the office that approved it
# review_by = 2000-12-31  # the date of its next review, without quotation marks"""


def _block(book: RuleBook, rule: Rule) -> Iterable[str]:
    """Yield the lines that would replace a rule by itself."""
    yield f"{rule.says} The {rule.speaker}: {rule.text}."
    if rule.stated:
        yield from _replacement(rule, len(book.all(rule.id)) > 1).strip().split("\n")
        return
    yield from ("[[replace]]", *toml_lines(_named(rule, len(book.all(rule.id)) > 1)))
    yield from ('says = ""', f"unit = {toml_text(rule.unit)}", 'value = "?"')


def _replacement(rule: Rule, several: bool = True) -> str:
    given = _named(rule, several)
    if rule.replaces is not None:
        given["says"] = rule.says
    if rule.unit is not None:
        given |= {"unit": rule.unit, **_numbers(rule)}
    if rule.replaces is not None and rule.citation.locator:
        given["locator"] = rule.citation.locator
    return "\n".join(["", "[[replace]]", *toml_lines(given)])


def _named(rule: Rule, several: bool) -> dict[str, object]:
    population = {"population": rule.population.says} if several else {}
    return {"rule": rule.id, **population}


def _numbers(rule: Rule) -> dict[str, float]:
    if rule.low is not None and rule.low == rule.high and rule.typical in (None, rule.low):
        return {"value": rule.low}
    high = "below" if rule.below else "high"
    ends = {"low": rule.low, high: rule.high, "typical": rule.typical}
    return {key: value for key, value in ends.items() if value is not None}
