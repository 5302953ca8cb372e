"""Feedback on a number or a choice in a lesson: right, or which slip it shows and what to do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from workbook.core.quantities import convert, plain, typed_number
from workbook.rules import Rule

TENFOLD = 10  # a slip of the decimal point

Says = Mapping[str, str]
Words = Mapping[str, str]
Line = dict[str, Any]
Feedback = dict[str, Any]


def typed(value: Any, unit: str) -> float | None:
    """Return a typed number in ``unit``; None when it cannot be read as one."""
    try:
        return convert(typed_number(value["text"]), value["unit"], unit)
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


@dataclass(frozen=True, slots=True)
class Wanted:
    """The number wanted, how near counts as right, and the number that each slip gives."""

    unit: str
    right: float
    accept: Rule
    slips: Mapping[str, float]

    def meets(self, got: float, wanted: float) -> bool:
        """Say whether a number is as near to another as counts as the same."""
        return abs(got - wanted) <= self.accept.value + 1e-9

    def name(self, got: float) -> str:
        """Return ``right``, the name of a slip, ``tenfold`` or ``other``."""
        named = {"right": self.right, **self.slips}
        near = [name for name, number in named.items() if self.meets(got, number)]
        if near:
            return near[0]
        factor = got / self.right
        far = any(abs(each / TENFOLD - 1) < 1 / TENFOLD for each in (factor, 1 / (factor or 1)))
        return "tenfold" if far else "other"


@dataclass(frozen=True, slots=True)
class Counted:
    """A rate counted on a strip, how near counts as right, and the number that each slip gives."""

    unit: str
    right: float
    near: float
    slips: Mapping[str, float]

    def name(self, got: float) -> str:
        """Return ``right``, the name of a slip, or ``other``."""
        if abs(got - self.right) <= self.near + 1e-9:
            return "right"
        return next((name for name, number in self.slips.items() if got == number), "other")


def on_number(
    value: Any, wanted: Wanted | Counted, says: Says, words: Words, rule: Rule | None = None
) -> Feedback:
    """Return feedback on a typed number: right, or which slip it shows and what to do."""
    got = typed(value, wanted.unit)
    if got is None:
        return {"heading": says["unread"], "lines": []}
    name = wanted.name(got)
    told = {**words, "got": plain(got, wanted.unit)}
    return _one(name == "right", says["heading"], says[name].format_map(told), rule)


def on_choice(
    value: Any, right: str, says: Says, words: Words, rule: Rule | None = None
) -> Feedback:
    """Return feedback on a choice: what was written for it, or what is said of all others."""
    told = says.get("right" if value == right else str(value), says["other"])
    return _one(value == right, says["heading"], told.format_map(words), rule)


def _one(met: bool, heading: str, says: str, rule: Rule | None) -> Feedback:
    return {"heading": heading, "lines": [line(met, says, rule)]}


def line(met: bool, says: str, rule: Rule | None) -> Line:
    """Return one line of feedback; what is not met names the rule's source, if it has one."""
    source = "" if met or rule is None else str(rule.citation)
    return {"met": met, "says": says, "source": source}
