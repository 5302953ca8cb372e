"""The importable rules: sourced numbers and procedures, by guideline edition.

>>> book = rulebook("aha-2020")
>>> print(book["rate"].text)
40 to 60 a minute

For education only; local protocol, the device's own instructions and licensed practice come first.
"""

from workbook.rules.book import Edition, RuleBook
from workbook.rules.compare import compare
from workbook.rules.files import (
    DEFAULT_EDITION,
    RuleFileError,
    editions,
    read_procedures,
    read_rules,
    rulebook,
    sources,
    superseded,
)
from workbook.rules.procedure import Need, Procedure, Step, ordered
from workbook.rules.protocol import Protocol, overlay
from workbook.rules.protocolfile import check_protocol, read_protocol
from workbook.rules.rule import Basis, Citation, Population, Rule, RuleError, Source

__all__ = [
    "DEFAULT_EDITION",
    "Basis",
    "Citation",
    "Edition",
    "Need",
    "Population",
    "Procedure",
    "Protocol",
    "Rule",
    "RuleBook",
    "RuleError",
    "RuleFileError",
    "Source",
    "Step",
    "check_protocol",
    "compare",
    "editions",
    "ordered",
    "overlay",
    "read_procedures",
    "read_protocol",
    "read_rules",
    "rulebook",
    "sources",
    "superseded",
]
