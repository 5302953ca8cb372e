"""What people of a site read in the printed editions: signatures, and the rules they stand under.

A signature is bound to a rule as it was; when the rule changes it falls, and the number shows
"from memory" again. No basis of our own data is ever raised by one.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cache, wraps
from typing import ParamSpec, TypeVar, cast

from workbook.rules.rule import Basis, ReadBy, Rule

PARTS = ("low", "high", "typical")
UNREAD = (Basis.MEMORY, Basis.SECONDARY)  # what nobody here has read in the source itself
_LETTERS = 10  # of a digest: letters alone, which no spreadsheet takes for a number or a date

Asked = ParamSpec("Asked")
Told = TypeVar("Told")


@dataclass(frozen=True, slots=True)
class Numbers:
    """The number of a rule, in the rule's unit, as it was read in print."""

    low: float | None
    high: float | None
    typical: float | None = None
    below: bool = False


@dataclass(frozen=True, slots=True)
class Signature:
    """That somebody of the site read one rule in print; ``numbers`` where print says otherwise.

    ``edition`` is the edition or file the rule stands in, ``digest`` what names it as it was.
    """

    edition: str
    rule: str
    population: str
    digest: str
    read: ReadBy
    numbers: Numbers | None = None

    @property
    def key(self) -> tuple[str, str, str]:
        """Return which rule it is of."""
        return self.edition, self.rule, self.population


def key_of(rule: Rule) -> tuple[str, str, str]:
    """Return what names a rule among all editions and files."""
    return rule.edition, rule.id, rule.population.says


@cache
def digest_of(rule: Rule) -> str:
    """Return letters that name a rule with all that a reader in print confirms of it.

    Where and how surely it was found (place, basis, confidence) is no part of it.
    """
    source, whom = rule.citation.source, rule.population
    holds = [
        *key_of(rule), whom.gestation, whom.weight, rule.says, rule.unit, rule.low, rule.high,
        rule.typical, rule.below, rule.blank, source.body, source.title, source.edition,
        source.year,
    ]  # fmt: skip
    made = hashlib.sha256(json.dumps(holds).encode()).hexdigest()
    return made[:_LETTERS].translate(str.maketrans("0123456789abcdef", "abcdefghijklmnop"))


def unread(rule: Rule) -> bool:
    """Say whether a rule says something that nobody here has read in the source itself."""
    return rule.stated and rule.citation.basis in UNREAD


def under(rules: Sequence[Rule], signatures: Sequence[Signature]) -> tuple[Rule, ...]:
    """Return rules with their signatures; without one, or with one that fell, the rule itself."""
    by_key = {signature.key: signature for signature in signatures}
    return tuple(_under(rule, by_key.get(key_of(rule))) for rule in rules)


def _under(rule: Rule, signature: Signature | None) -> Rule:
    if signature is None or rule.citation.read is not None:
        return rule
    if rule.replaces is not None:  # the site sets another; what stood there may have been read
        return replace(rule, replaces=_under(rule.replaces, signature))
    if not unread(rule) or digest_of(rule) != signature.digest:
        return rule
    citation, print_says = replace(rule.citation, read=signature.read), signature.numbers
    if print_says is None:
        return replace(rule, citation=citation)
    return replace(
        rule, low=print_says.low, high=print_says.high, typical=print_says.typical,
        below=print_says.below, citation=citation, replaces=rule,
    )  # fmt: skip


# --- the signatures in force, for the rules that belong to no course: other editions, sizes, gas

_every: dict[tuple[Signature, ...], int] = {(): 0}
_in_force: list[tuple[Signature, ...]] = [()]
_number: list[int] = [0]


def in_force() -> tuple[Signature, ...]:
    """Return the signatures in force."""
    return _in_force[0]


def number_in_force() -> int:
    """Return a number that no other signatures have: what is worked out of them is kept by it."""
    return _number[0]


def follow(signatures: tuple[Signature, ...]) -> None:
    """Let a site's signatures be in force from now on, as on a learner's page."""
    if signatures is _in_force[0]:  # as within one marking; to compare many takes time
        return
    _in_force[0] = signatures
    _number[0] = _every.setdefault(signatures, len(_every))


@contextmanager
def following(signatures: tuple[Signature, ...]) -> Iterator[None]:
    """Let a site's signatures be in force for as long as the block lasts."""
    before = _in_force[0]
    follow(signatures)
    try:
        yield
    finally:
        follow(before)


def kept(asked: Callable[Asked, Told]) -> Callable[Asked, Told]:
    """Keep what a function of the rules answers, by the signatures in force as well."""

    @cache
    def answered(_number: int, *args: object) -> Told:
        return cast(Callable[..., Told], asked)(*args)

    @wraps(asked)
    def ask(*args: Asked.args, **kwargs: Asked.kwargs) -> Told:
        if kwargs:
            raise TypeError(f"{asked.__name__} takes its arguments by place.")
        return answered(_number[0], *args)

    return ask
