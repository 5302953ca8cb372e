"""Numbers typed a second time, and how the rules' data differ from them.

The tables of ``tests/second`` were typed from notes on the publications and not from the rule
files: a slip in either is found by the other. Where no publication has a number, its block says
that it is typed as it stood. A block begins with its rule file, its basis (of a memory, how sure)
and the publication; a row is ``rule | for whom | number | figures of its sentence``. A number is
``30``, ``20 to 25``, ``from 34``, ``up to 1``, ``below 120`` or ``-`` where there is none;
``28 to 29, 28`` names the usual number of a band, and an end that stands alone is the usual one.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path
from typing import Any

from workbook.rules.reader.rulefile import DATA

FOLDER = Path(__file__).parent / "second"
TABLES = (
    "editions_america", "editions_elsewhere", "practice_bedside", "practice_published",
    "practice_critical", "sizes", "sizes_drawn", "gas", "limits", "baby", "protocol",
)  # fmt: skip
NUMBERS = ("value", "low", "high", "typical", "below")
CELLS = (
    (re.compile(r"from (\S+)"), ("low", "typical")),
    (re.compile(r"up to (\S+)"), ("high", "typical")),
    (re.compile(r"below (\S+)"), ("below",)),
    (re.compile(r"(\S+) to (\S+)"), ("low", "high")),
    (re.compile(r"(\S+)"), ("value",)),
)
# A digit of a unit, as in cmH2O, follows a letter.
FIGURE = re.compile(r"(?<![A-Za-z\d.])\d+(?:\.\d+)?")

Key = tuple[str, str, str]  # rule file, rule, for whom
Tables = Mapping[str, Any]  # a file of rules as it was read


@dataclass(frozen=True)
class Held:
    """What one rule says in numbers: basis, numbers by key, figures of its sentence, babies."""

    basis: str  # and how sure a memory is: "memory high"
    numbers: Mapping[str, float]
    figures: tuple[str, ...]
    unit: str | None  # "" for a plain number, None where there is no number
    bounds: Mapping[str, float] = field(default_factory=dict)  # weeks or grams, from and below


def lines(name: str) -> Iterator[str]:
    """Yield the lines of a table that say something."""
    for line in (FOLDER / f"{name}.txt").read_text(encoding="utf-8").splitlines():
        if line and not line.startswith("#"):
            yield line


def cells(line: str) -> list[str]:
    """Return the cells of a row."""
    return [cell.strip() for cell in line.split("|")]


def number(cell: str) -> dict[str, float]:
    """Return the numbers of a cell by the key a rule keeps each under."""
    if cell == "-":
        return {}
    band, _, usual = cell.partition(", ")
    for form, keys in CELLS:
        if found := form.fullmatch(band):
            ends = [float(one) for one in found.groups()]
            made = dict(zip(keys, ends if len(ends) == len(keys) else ends * 2, strict=True))
            return {**made, "typical": float(usual)} if usual else made
    raise ValueError(f"{cell!r} is no number of a second table")


@cache
def groups() -> Mapping[str, Mapping[str, float]]:
    """Return the weeks or grams of each group of babies, by its words."""
    made: dict[str, Mapping[str, float]] = {"all": {}}
    for line in lines("groups"):
        words, unit, low, high = cells(line)
        kind = {"week": "gestation", "g": "weight"}[unit]
        ends = {f"{kind}_from": low, f"{kind}_below": high}
        assert words not in made, words
        made[words] = {key: float(end) for key, end in ends.items() if end != "-"}
    return made


@cache
def units() -> tuple[tuple[str, str], ...]:
    """Return patterns of rules, each with its unit; the first that fits holds."""
    rows = [cells(line) for line in lines("units")]
    return tuple((rule, unit.strip("-")) for unit, rules in rows for rule in rules.split())


def unit_of(file: str, rule: str) -> str:
    """Return in what a rule's numbers are counted. Raises KeyError where nobody typed it."""
    for pattern, unit in units():
        if fnmatchcase(f"{file}:{rule}" if ":" in pattern else rule, pattern):
            return unit
    raise KeyError(f"{file}: the unit of {rule} stands in no second table")


@cache
def second() -> Mapping[Key, Held]:
    """Return every row of the second tables."""
    made: dict[Key, Held] = {}
    for name in TABLES:
        file = basis = ""
        for line in lines(name):
            if line.startswith("["):
                file, _, basis = line[1 : line.index("]")].partition(" ")
                continue
            rule, whom, cell, *figures = cells(line)
            assert (file, rule, whom) not in made, line
            said = tuple(figures[0].split()) if figures else ()
            unit = None if cell == "-" else unit_of(file, rule)
            made[file, rule, whom] = Held(basis, number(cell), said, unit, groups()[whom])
    return made


def rule_files() -> dict[str, Tables]:
    """Return every file of the rules' data as it stands, by name."""
    return {path.stem: tomllib.loads(path.read_text("utf-8")) for path in DATA.glob("*.toml")}


def stated(file: str, tables: Tables) -> dict[Key, Held]:
    """Return each rule of a file that says something in numbers."""
    made = {}
    example = "replace" in tables  # a protocol names the rules of its edition, and has no basis
    for rule in tables["replace" if example else "rule"]:
        people = rule.get("population", "all")
        babies = groups().get(people, {}) if isinstance(people, str) else people
        bounds = {key: end for key, end in babies.items() if key != "says"}
        numbers = {key: float(rule[key]) for key in NUMBERS if key in rule}
        figures = tuple(FIGURE.findall(rule.get("says", "")))
        if numbers or bounds or figures:
            whom = people if isinstance(people, str) else people["says"]
            sure = (rule.get("basis", "-"), rule.get("confidence", ""))
            key = (file, rule["rule" if example else "id"], whom)
            made[key] = Held(
                " ".join(filter(None, sure)),
                numbers,
                figures,
                rule["unit"] if numbers else None,
                bounds,
            )
    return made


def blanks(tables: Tables) -> list[str]:
    """Return the rules that state neither a number nor that there is none, or both."""
    wrong = []
    for rule in tables.get("rule", []):
        empty = "unit" in rule and not any(key in rule for key in NUMBERS)
        if rule.get("blank", empty) is not empty or (empty and "blank" not in rule):
            wrong.append(f"{rule['id']}: blank")
    return wrong


def differences(file: str, tables: Tables) -> list[str]:
    """Return in words where a file of rules and its second table differ; nothing if they agree."""
    ours = {key: row for key, row in second().items() if key[0] == file}
    theirs = stated(file, tables)
    found = [f"{' '.join(key)}: in the data alone" for key in theirs.keys() - ours.keys()]
    found += [f"{' '.join(key)}: in the second table alone" for key in ours.keys() - theirs.keys()]
    found += [
        f"{' '.join(key)}: {theirs[key]} and, a second time, {ours[key]}"
        for key in ours.keys() & theirs.keys()
        if ours[key] != theirs[key]
    ]
    return sorted(found + blanks(tables))
