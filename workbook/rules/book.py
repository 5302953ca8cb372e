"""The rule book: what lessons, controls and graders ask for every number."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from workbook.rules.checkinput import sane_number
from workbook.rules.edition import Edition
from workbook.rules.procedure import Procedure
from workbook.rules.rule import Rule, RuleError
from workbook.rules.signed import Signature

if TYPE_CHECKING:
    import pint


@dataclass(frozen=True, eq=False)
class RuleBook:
    """The rules of one edition, with common practice for what the edition leaves open.

    A book is equal to itself alone, so that what is worked out from it can be kept by it.
    ``signed`` holds what people of a site read in print, of this edition and of others.
    """

    edition: Edition
    rules: tuple[Rule, ...]
    procedures: Mapping[str, Procedure] = field(default_factory=dict)
    protocol: str = ""
    signed: tuple[Signature, ...] = ()

    def __post_init__(self) -> None:
        index: dict[str, list[Rule]] = {}
        for rule in self.rules:
            index.setdefault(rule.id, []).append(rule)
        object.__setattr__(self, "_index", index)
        only = {id: r[0] for id, r in index.items() if len(r) == 1 and not r[0].population.needs}
        object.__setattr__(self, "_only", only)

    def __iter__(self) -> Iterator[Rule]:
        return iter(self.rules)

    def __contains__(self, id: str) -> bool:
        return id in self._by_id

    def __getitem__(self, id: str) -> Rule:
        """Return the one rule with this id; RuleError when there is none or more than one."""
        rule = self._for_all.get(id)  # most rules by far
        return self.find(id) if rule is None else rule

    def all(self, id: str) -> tuple[Rule, ...]:
        """Return every rule with this id, one for each population."""
        if id not in self._by_id:
            raise RuleError(
                f"There is no rule {id!r} in {self.edition.id}.{_near(id, self._by_id)}"
            )
        return tuple(self._by_id[id])

    def find(
        self,
        id: str,
        *,
        gestation: pint.Quantity[Any] | float | None = None,
        weight: pint.Quantity[Any] | float | None = None,
    ) -> Rule:
        """Return the rule for one baby.

        ``gestation`` is a quantity of time or weeks as a number, ``weight`` a quantity of mass
        or grams as a number. Raises RuleError naming what is missing or what matched twice.
        """
        weeks = _number("gestation", gestation, "week")
        grams = _number("weight", weight, "g")
        candidates = self.all(id)
        found = [rule for rule in candidates if rule.population.includes(weeks, grams)]
        if len(found) == 1:
            return found[0]
        raise RuleError(_why_not_one(id, self.edition.id, candidates, found, weeks, grams))

    def procedure(self, id: str) -> Procedure:
        """Return a procedure by id."""
        if id not in self.procedures:
            known = ", ".join(self.procedures)
            raise RuleError(f"There is no procedure {id!r}; there are {known}.")
        return self.procedures[id]

    @property
    def _by_id(self) -> dict[str, list[Rule]]:
        return self._index  # type: ignore[attr-defined,no-any-return]

    @property
    def _for_all(self) -> dict[str, Rule]:
        """Return the rules whose one entry is for every newborn."""
        return self._only  # type: ignore[attr-defined,no-any-return]


def _number(what: str, value: pint.Quantity[Any] | float | None, unit: str) -> float | None:
    """Return a number in ``unit``, refused when no newborn can have it."""
    if value is None:
        return None
    number = value if isinstance(value, int | float) else value.m_as(unit)
    return sane_number(what, float(number))


def _near(id: str, known: Iterable[str]) -> str:
    import difflib

    near = difflib.get_close_matches(id, list(known), n=1)
    return f" Did you mean {near[0]!r}?" if near else ""


def _why_not_one(
    id: str,
    edition: str,
    candidates: tuple[Rule, ...],
    found: list[Rule],
    weeks: float | None,
    grams: float | None,
) -> str:
    populations = "; ".join(rule.population.says for rule in candidates)
    given = {"gestation": weeks, "weight": grams}
    missing = sorted({n for r in candidates for n in r.population.needs if given[n] is None})
    if missing and not found:
        wanted = " and ".join(missing)
        return f"{id} ({edition}) needs the baby's {wanted}: it differs by {populations}."
    baby = ", ".join(
        f"{name} {value:g} {unit}"
        for (name, value), unit in zip(given.items(), ("weeks", "g"), strict=True)
        if value is not None
    )
    if found:
        both = "; ".join(rule.population.says for rule in found)
        return (
            f"{id} ({edition}) has {len(found)} rules for a baby of {baby or 'any kind'}: {both}."
        )
    return f"{id} ({edition}) has no rule for a baby of {baby}; it has {populations}."
