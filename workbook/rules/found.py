"""What several rules say of one thing, side by side; a difference is shown, never averaged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from workbook.rules.rule import EVERYONE, Citation, Rule, RuleError


@dataclass(frozen=True, slots=True)
class Found:
    """The answers of several rules to one question, and what else to know."""

    what: str
    rules: tuple[Rule, ...]
    also: tuple[Rule, ...] = ()
    note: str = ""

    def __iter__(self) -> Iterator[Rule]:
        return iter(self.rules)

    def __len__(self) -> int:
        return len(self.rules)

    def __getitem__(self, id: str) -> Rule:
        for rule in (*self.rules, *self.also):
            if rule.id == id:
                return rule
        known = ", ".join(rule.id for rule in (*self.rules, *self.also))
        raise RuleError(f"{self.what} was not found by {id!r}; it was found by {known}.")

    @property
    def agree(self) -> bool:
        """Say whether one number suits every rule."""
        bands = [rule.band for rule in self.rules]
        return max(low for low, _ in bands) <= min(high for _, high in bands)

    @property
    def text(self) -> str:
        """Return each rule's answer on a line of its own, and whether they agree."""
        lines = [f"{self.what}:", *(f"- {_line(rule)}" for rule in self.rules)]
        if len(self.rules) > 1:
            lines.append("The rules agree." if self.agree else "The rules do not agree.")
        return "\n".join([*lines, *(_line(rule) for rule in self.also), self.note]).strip()

    def __str__(self) -> str:
        cited = dict.fromkeys(rule.citation for rule in (*self.rules, *self.also))
        return "\n".join([self.text, *(f"Source: {each}" for each in cited)])


def _line(rule: Rule) -> str:
    whom = "" if rule.population == EVERYONE else f" ({rule.population.says})"
    if rule.unit is None:
        return f"{rule.says[:-1]}{whom}."
    return f"{rule.says[:-1]}{whom}: {rule.text}."


def answered(rule: Rule, value: float, unit: str, citation: Citation | None = None) -> Rule:
    """Return a rule of calculation with its result for one baby; its source stays with it."""
    return replace(rule, unit=unit, low=value, high=value, citation=citation or rule.citation)
