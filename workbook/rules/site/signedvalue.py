"""A number as a person writes down what is printed: read into a rule's own shape, or refused.

``20 to 25``, ``up to 30``, ``30 or more``, ``below 750``, one number; then ``, typical 22`` where
the workbook works with one value of a band. Always in the rule's own unit.
"""

from __future__ import annotations

import re
from dataclasses import replace

from workbook.core.quantities import MEASURES, convert, plain
from workbook.rules.rule import Basis, Rule
from workbook.rules.signed import PARTS, Numbers
from workbook.rules.site.replaceable import locked, sane_limit

_FIGURE = r"\d{1,6}(?:[.,]\d{1,4})?"
_TO = r"\s*(?:to|-|\u2013|\u2014)\s*"
_SHAPES = {
    "under": re.compile(rf"({_FIGURE}){_TO}below\s+({_FIGURE})\s*(.*)"),
    "band": re.compile(rf"({_FIGURE}){_TO}({_FIGURE})\s*(.*)"),
    "high": re.compile(rf"(?:up to|at most|<=|\u2264)\s*({_FIGURE})\s*(.*)"),
    "below": re.compile(rf"(?:below|under|<)\s*({_FIGURE})\s*(.*)"),
    "low": re.compile(rf"(?:at least|>=|\u2265)\s*({_FIGURE})\s*(.*)"),
    "value": re.compile(rf"({_FIGURE})\s*(.*)"),
}
_TYPICAL = re.compile(rf"(.*?)\s*,?\s*typical(?:ly)?\s+({_FIGURE})\s*", re.IGNORECASE)
_OR_MORE = re.compile(r"(?:or more|and above|or above)\b\s*(.*)|(.*?)\s*(?:or more|or above)")
_WORDS = {
    "%": "percent", "per cent": "percent", "a minute": "1/min", "/min": "1/min",
    "per minute": "1/min", "weeks": "week", "days": "day", "seconds": "s", "sec": "s",
    "cmh2o": "cmH2O", "cm h2o": "cmH2O", "fr": "Fr", "grams": "g", "minutes": "min",
    "months": "month", "mmhg": "mmHg", "ml/kg": "mL/kg", "l/min": "L/min", "ml": "mL",
}  # fmt: skip


class WrittenError(ValueError):
    """A number as written that cannot be taken; the message is one sentence."""


def why_not(rule: Rule) -> str:
    """Return why a rule cannot be signed as read in print, empty when it can."""
    whys = {
        Basis.PRIMARY: "was read in the source already",
        Basis.PRACTICE: "is common practice: no publication states it",
        Basis.COMPUTED: "is computed from other values: no page states it",
        Basis.ASSUMPTION: "is an assumption made for teaching: no publication states it",
    }
    if not rule.stated:
        return "is blank: nothing is held that a reader could confirm"
    if rule.citation.basis in whys:
        return whys[rule.citation.basis]
    return f"is not signed, for {why}" if (why := locked(rule)) else ""


def parts_of(rule: Rule) -> tuple[str, ...]:
    """Return the parts of a band that can be read one by one; none where there is one number."""
    if rule.low is None or rule.high is None or rule.low == rule.high:
        return ()
    return PARTS if rule.typical is not None else PARTS[:2]


def read_written(rule: Rule, text: str) -> Numbers:
    """Return what a person wrote for a rule, in the rule's unit.

    Raises WrittenError with one sentence.
    """
    if rule.unit is None:
        raise WrittenError(
            "it is a sentence: tick it when the page says so, or write your own with says in the "
            "protocol"
        )
    shape, figures, typical = _taken_apart(rule, text)
    made = _shaped(rule, shape, figures, typical)
    if made.typical is None and same(rule, made):
        made = replace(made, typical=rule.typical)  # it is left out where it is not printed
    if says := insane(rule, made):
        raise WrittenError(says)
    return made


def same(rule: Rule, made: Numbers) -> bool:
    """Say whether the page prints what the rule holds."""
    typical = rule.typical if made.typical is None else made.typical
    pairs = (made.low, rule.low), (made.high, rule.high), (typical, rule.typical)
    return made.below == rule.below and all(_shown(one) == _shown(two) for one, two in pairs)


def _shown(value: float | None) -> str:
    """Return a number to the digits the sheet shows."""
    return "" if value is None else f"{value:.4g}"


def insane(rule: Rule, made: Numbers) -> str:
    """Return in a sentence which number cannot be meant, or does not fit; empty when all do."""
    unit, limit = rule.unit or "", sane_limit(rule)
    for value in (made.low, made.high, made.typical):
        if value is not None and not limit.holds(convert(value, unit, limit.unit or "")):
            return f"{plain(value, unit)} is outside what can be meant, {limit.text}"
    ends = [end for end in (made.low, made.high) if end is not None]
    if not ends:
        return "it has no number"
    if ends[0] > ends[-1]:
        return f"its lower end {ends[0]:g} is above its upper end {ends[-1]:g}"
    if made.typical is not None and not ends[0] <= made.typical <= ends[-1] and len(ends) > 1:
        return f"typical {made.typical:g} lies outside it"
    one = rule.typical is not None or rule.low == rule.high
    if one and made.typical is None and made.low != made.high:
        return (
            "the workbook works with one value of it: write that too, for example "
            f"'{ends[0]:g} to {ends[-1]:g}, typical {ends[0]:g}'"
        )
    return ""


def _taken_apart(rule: Rule, text: str) -> tuple[str, list[float], float | None]:
    """Return shape, numbers and typical value of what was written; its unit must be the rule's."""
    said, typical = text.strip(), None
    if found := _TYPICAL.fullmatch(said):
        said, typical = found[1], _figure(found[2])
    for shape, pattern in _SHAPES.items():
        match = pattern.fullmatch(said) or pattern.fullmatch(said.lower())
        if match is None:
            continue
        *figures, unit = match.groups()
        if shape == "value" and (more := _OR_MORE.fullmatch(unit.lower())):
            shape, unit = "low", (more[1] or more[2] or "")
        _check_unit(rule, unit.strip(), said)
        return shape, [_figure(each) for each in figures], typical
    raise WrittenError(f"{_short(text)} is no number as the sheet asks for it; {_how(rule)}")


def _shaped(rule: Rule, shape: str, figures: list[float], typical: float | None) -> Numbers:
    one = figures[0]
    if shape in ("band", "under"):
        return Numbers(one, figures[1], typical, shape == "under")
    if shape == "value" and rule.low is None:
        shape = "below" if rule.below else "high"
    elif shape == "value" and rule.high is None:
        shape = "low"
    if shape == "value":
        return Numbers(one, one, typical)
    if (shape == "low") != (rule.high is None and rule.low is not None):
        raise WrittenError(f"the rule is of another kind, {rule.text}; {_how(rule)}")
    named = one if typical is None and rule.typical is not None else typical
    return Numbers(one, None, named) if shape == "low" else Numbers(
        None, one, named, shape == "below"
    )  # fmt: skip


def _check_unit(rule: Rule, written: str, said: str) -> None:
    unit = written.rstrip(".")
    meant = _WORDS.get(unit.lower(), unit)
    if not unit or meant == rule.unit or meant.lower() == (rule.unit or "").lower():
        return
    if meant not in MEASURES:
        raise WrittenError(f"{_short(said)} is no number as the sheet asks for it; {_how(rule)}")
    wanted = _word(rule.unit or "") or "a plain number"
    if MEASURES[meant] != MEASURES[rule.unit or ""]:
        measures = f"{_word(meant)} measures {MEASURES[meant]}, not {MEASURES[rule.unit or '']}"
        raise WrittenError(f"{measures}; write it in {wanted}" if rule.unit else measures)
    raise WrittenError(f"{_short(said)} is in another unit than the rule; write it in {wanted}")


def _how(rule: Rule) -> str:
    return f"write it as the sheet shows it, {rule.text!r} for example"


def _word(unit: str) -> str:
    return plain(2, unit).removeprefix("2").strip()


def _figure(text: str) -> float:
    return float(text.replace(",", "."))


def _short(text: str) -> str:
    shown = "".join(c if c.isprintable() else "\ufffd" for c in text)
    return repr(shown[:40] + ("..." if len(shown) > 40 else ""))
