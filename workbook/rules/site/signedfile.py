"""Signatures in a site's protocol file: read with suspicion, written, and told when they fall."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from workbook.rules.files import editions, shipped
from workbook.rules.reader.reading import Reading
from workbook.rules.rule import ReadBy, Rule, RuleError
from workbook.rules.signed import PARTS, Numbers, Signature, digest_of, unread
from workbook.rules.site.signedvalue import insane

LONGEST = 80  # characters of a role or a page: they stand on learners' pages
_NUMBERS = ("value", "low", "high", "below", "typical")
_KEYS = {"edition", "rule", "population", "digest", "role", "date", "page", "parts", *_NUMBERS}
_DIGEST = re.compile(r"[a-p]{10}")
Table = Mapping[str, Any]


def build_signature(reading: Reading, n: int, got: Table) -> Signature | None:
    """Return one signature, or None after noting everything that is wrong with it.

    One whose rule has changed since is whole and fallen, not wrong: ``fallen`` says so.
    """
    before = len(reading.problems)
    reading.unknown("signed", n, got, _KEYS)
    named = ("edition", "rule", "population", "digest", "role", "page")
    edition, rule, population, digest, role, page = (
        reading.text("signed", n, got, key) for key in named
    )
    _check_short(reading, n, {"role": role, "page": page})
    if digest and not _DIGEST.fullmatch(digest):
        reading.problem("signed", n, f"digest {digest[:20]!r} is none: leave it alone", "digest")
    day = got.get("date")
    if not isinstance(day, date) or hasattr(day, "hour"):
        says = "date must be a date like 2026-11-30, without quotation marks"
        reading.problem("signed", n, says, "date")
    parts = got.get("parts", [])
    if not isinstance(parts, list) or not all(part in PARTS for part in parts):
        reading.problem("signed", n, f"parts is a list of {', '.join(PARTS)}", "parts")
    given = {key: reading.number("signed", n, got, key) for key in _NUMBERS if key in got}
    if len(reading.problems) > before:
        return None
    read = ReadBy(role, str(day), page, tuple(part for part in PARTS if part in parts))
    made = Signature(edition, rule, population, digest, read, _numbers(given))
    if made.numbers is not None and not fallen(made):
        _check_sane(reading, n, made)
    return made if len(reading.problems) == before else None


def _check_short(reading: Reading, n: int, texts: Mapping[str, str]) -> None:
    for key, text in texts.items():
        if len(text) > LONGEST or not text.isprintable():
            says = f"{key} must be one line of at most {LONGEST} plain characters"
            reading.problem("signed", n, says, key)


def _numbers(given: Mapping[str, float | None]) -> Numbers | None:
    if not given:
        return None
    value = given.get("value")
    high = given.get("below", given.get("high", value))
    return Numbers(given.get("low", value), high, given.get("typical"), "below" in given)


def _check_sane(reading: Reading, n: int, signature: Signature) -> None:
    """Note a corrected number that no newborn's device or body can have."""
    rule, made = rule_of(signature), signature.numbers
    if rule is not None and made is not None and (says := insane(rule, made)):
        reading.problem("signed", n, says)


def rule_of(signature: Signature) -> Rule | None:
    """Return the rule a signature is of, as our data has it now; None where it is gone."""
    return shipped_rule(*signature.key)


def shipped_rule(edition: str, id: str, population: str) -> Rule | None:
    """Return the rule of an edition or file for a population; None when there is none."""
    try:
        rules = shipped(edition).all(id)
    except RuleError:
        return None
    found = [r for r in rules if r.population.says == population and r.edition == edition]
    return found[0] if found else None


def fallen(signature: Signature) -> str:
    """Return why a signature holds no more, empty while it holds."""
    rule = rule_of(signature)
    whose = f"the signature of {signature.read.role}, {signature.read.date}, has fallen"
    what = f"{signature.rule} ({signature.edition}, {signature.population})"
    if rule is None:
        return f"{what} is no longer there, so {whose}"
    if digest_of(rule) != signature.digest:
        again = "the number shows 'from memory' again; print the sheet anew and read it again"
        return f"{what} has changed since it was signed, so {whose}: {again}"
    if not unread(rule):
        return f"{what} is now cited as read by the workbook itself, so no signature is needed"
    return ""


def all_fallen(signatures: Iterable[Signature]) -> tuple[str, ...]:
    """Return a sentence for each signature that holds no more."""
    return tuple(f"{says}." for signature in signatures if (says := fallen(signature)))


def known_books() -> tuple[str, ...]:
    """Return every edition and file whose rules may be signed."""
    return (*editions(), "sizes", "gas")


def signature_lines(signature: Signature) -> list[str]:
    """Return the lines of a protocol file that a signature is read back from."""
    read, numbers = signature.read, signature.numbers
    given: dict[str, object] = {
        "edition": signature.edition,
        "rule": signature.rule,
        "population": signature.population,
        "digest": signature.digest,
        "role": read.role,
        "date": date.fromisoformat(read.date),
        "page": read.page,
    }
    if read.parts:
        given["parts"] = list(read.parts)
    if numbers is not None:
        given |= _ends(numbers)
    return ["", "[[signed]]", *toml_lines(given)]


def _ends(numbers: Numbers) -> dict[str, object]:
    if numbers.low is not None and numbers.low == numbers.high and not numbers.below:
        ends = {"value": numbers.low, "typical": numbers.typical}
    else:
        high = "below" if numbers.below else "high"
        ends = {"low": numbers.low, high: numbers.high, "typical": numbers.typical}
    return {key: value for key, value in ends.items() if value is not None}


def toml_lines(given: Mapping[str, object]) -> list[str]:
    """Return keys and values as lines of TOML."""
    return [f"{key} = {toml_text(value)}" for key, value in given.items()]


def toml_text(value: object) -> str:
    """Return a value as TOML writes it."""
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, list):
        return "[" + ", ".join(toml_text(each) for each in value) + "]"
    return str(value)
