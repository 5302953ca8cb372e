"""The importable rules: sourced numbers and procedures, by guideline edition.

>>> book = rulebook("aha-2020")
>>> print(book["rate"].text)
40 to 60 a minute

For education only; local protocol, the device's own instructions and licensed practice come first.
"""

from workbook.rules.book import Edition, RuleBook
from workbook.rules.files import (
    DEFAULT_EDITION,
    RuleFileError,
    editions,
    read_procedures,
    read_rules,
    rulebook,
    sources,
)
from workbook.rules.procedure import Need, Procedure, Step, ordered
from workbook.rules.rule import Basis, Citation, Population, Rule, RuleError, Source

__all__ = [
    "DEFAULT_EDITION",
    "Basis",
    "Citation",
    "Edition",
    "Need",
    "Population",
    "Procedure",
    "Rule",
    "RuleBook",
    "RuleError",
    "RuleFileError",
    "Source",
    "Step",
    "editions",
    "ordered",
    "read_procedures",
    "read_rules",
    "rulebook",
    "sources",
]
