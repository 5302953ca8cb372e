"""Which edition took the place of which: read from the files, checked, and said to a reader."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from workbook.core.language import N_, _
from workbook.rules.edition import Edition
from workbook.rules.reader.reading import Reading

_KEYS = ("id", "title", "short", "says", "builds_on", "body", "published", "superseded_by")
_LENDS = "lends"
_DATE = re.compile(r"\d{4}(-\d{2}){0,2}")
_FIRST = "-01"  # stands for a month or day that is not known, to make a whole date
_MONTHS = (
    N_("January"), N_("February"), N_("March"), N_("April"), N_("May"), N_("June"), N_("July"),
    N_("August"), N_("September"), N_("October"), N_("November"), N_("December"),
)  # fmt: skip


def build_edition(reading: Reading, table: object) -> Edition:
    """Return the edition of an [edition] table, noting every mistake in it."""
    if not isinstance(table, dict):
        reading.problem("edition", None, "the [edition] table is missing")
        return Edition("?", "?")
    reading.unknown("edition", None, table, {*_KEYS, _LENDS})
    for key in ("id", "title"):
        if not isinstance(table.get(key), str):
            reading.problem("edition", None, f"{key} is missing")
    for key in set(_KEYS[2:]) & set(table):
        if not isinstance(table[key], str):
            reading.problem("edition", None, f"{key} must be a text", key)
    if not _is_date(table.get("published", "")):
        says = f"published {table['published']!r} is no date such as 2025, 2025-10 or 2025-10-22"
        reading.problem("edition", None, says, "published")
    told = {"id": "?", "title": "?"} | {k: table[k] for k in _KEYS if k in table}
    return Edition(**told, lends=_lends(reading, table.get(_LENDS, {})))


def _lends(reading: Reading, table: Any) -> tuple[tuple[str, tuple[str, ...]], ...]:
    ids = table.values() if isinstance(table, dict) else [None]
    if not all(isinstance(each, list) and all(isinstance(i, str) for i in each) for each in ids):
        reading.problem("edition", None, "lends must give a list of rules for each edition", _LENDS)
        return ()
    return tuple((edition, tuple(each)) for edition, each in table.items())


def _is_date(text: Any) -> bool:
    if text == "":
        return True
    if not isinstance(text, str) or not _DATE.fullmatch(text):
        return False
    try:
        date.fromisoformat((text + 2 * _FIRST)[:10])
    except ValueError:
        return False
    return True


def misplaced(known: Mapping[str, Edition]) -> Iterator[tuple[str, str, str]]:
    """Yield (edition, key, what is wrong) for every edition whose successor cannot be right."""
    for id, edition in known.items():
        heir = edition.superseded_by
        if heir is None:
            yield from _forgotten(edition, known)
        elif heir not in known:
            yield id, "superseded_by", f"there is no edition {heir!r}; there are {', '.join(known)}"
        elif id in _heirs(edition, known):
            yield id, "superseded_by", f"{id} and {heir} would supersede each other in a circle"
        elif known[heir].body != edition.body:
            yield id, "superseded_by", f"{heir} is of another body: {known[heir].body!r}"
        elif not _is_older(edition, known[heir]):
            says = f"{heir} of {known[heir].published or 'no date'} is not newer than {id} of "
            yield id, "superseded_by", says + (edition.published or "no date")


def _forgotten(edition: Edition, known: Mapping[str, Edition]) -> Iterator[tuple[str, str, str]]:
    newer = [e.id for e in known.values() if e.body == edition.body and _is_older(edition, e)]
    if edition.body and newer:
        says = f"{newer[-1]} of the same body is newer, so superseded_by must name its successor"
        yield edition.id, "body", says


def _is_older(edition: Edition, other: Edition) -> bool:
    """Say whether an edition is surely older: dates known in part compare as far as both go."""
    far = min(len(edition.published), len(other.published))
    return edition.published[:far] < other.published[:far]


def _heirs(edition: Edition, known: Mapping[str, Edition]) -> list[str]:
    """Return the editions that followed, in turn; a circle ends where it closes."""
    found: list[str] = []
    heir = edition.superseded_by
    while heir is not None and heir in known and heir not in found:
        found.append(heir)
        heir = known[heir].superseded_by
    return found


def newest(body: str, known: Mapping[str, Edition]) -> Edition:
    """Return the edition of a body that no other supersedes."""
    return next(e for e in known.values() if e.body == body and e.superseded_by is None)


def successor(edition: Edition, known: Mapping[str, Edition]) -> Edition | None:
    """Return the newest edition that took the place of one; None while it is in force."""
    heirs = _heirs(edition, known)
    return known[heirs[-1]] if heirs else None


def told(edition: Edition, known: Mapping[str, Edition]) -> str:
    """Return in one sentence what superseded an edition, or the one it builds on; or nothing."""
    heir = successor(edition, known)
    if heir is not None:
        return _("This edition is superseded by {newest}.").format(newest=_named(heir))
    base = known.get(edition.builds_on or "")
    heir = None if base is None else successor(base, known)
    if base is None or heir is None:
        return ""
    says = _("This edition builds on {base}, which is superseded by {newest}.")
    return says.format(base=base.title, newest=_named(heir))


def _named(edition: Edition) -> str:
    """Return an edition by its title, with its date where that tells more than the title."""
    if when(edition) in edition.title:
        return edition.title
    return _("{edition} of {when}").format(edition=edition.title, when=when(edition))


def when(edition: Edition) -> str:
    """Return the date of an edition in words, as far as it is known."""
    year, *rest = edition.published.split("-")
    if not rest:
        return year
    month = _(_MONTHS[int(rest[0]) - 1])
    if len(rest) == 1:
        return _("{month} {year}").format(month=month, year=year)
    return _("{day} {month} {year}").format(day=int(rest[1]), month=month, year=year)
