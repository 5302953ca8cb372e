"""The importable rules: sourced numbers and procedures, by guideline edition.

>>> book = rulebook("aha-2020")
>>> print(book["rate"].text)
40 to 60 a minute

For education only; local protocol, the device's own instructions and licensed practice come first.
"""

from workbook.rules.book import RuleBook
from workbook.rules.compare import compare
from workbook.rules.edition import Edition
from workbook.rules.files import DEFAULT_EDITION, editions, rulebook, superseded
from workbook.rules.procedure import Need, Procedure, Step, ordered
from workbook.rules.reader.rulefile import RuleFileError, read_procedures, read_rules, sources
from workbook.rules.rule import Basis, Citation, Population, Rule, RuleError, Source
from workbook.rules.site.protocol import Protocol, overlay
from workbook.rules.site.protocolfile import check_protocol, read_protocol

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
