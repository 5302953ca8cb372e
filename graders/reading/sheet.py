"""The sheet of what nobody has read in print: its lines, by publication, and its empty table."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count

from graders.core.spreadsheet import harmless
from graders.reading.asked import LAB, Asked
from workbook.course.settings import Course
from workbook.rules import Basis, Rule, Source
from workbook.rules.signed import digest_of, unread
from workbook.rules.site.signedfile import fallen, shipped_rule
from workbook.rules.site.signedvalue import parts_of, why_not

GIVEN: Mapping[str, str] = {
    "line": "The number of the line on the printed sheet.",
    "asks": "The edition the course asks about, for which the sheet was printed.",
    "edition": "The edition or file the rule stands in.",
    "rule": "The rule's id.",
    "whom": "The babies it is for.",
    "publication": "Where it is to be read.",
    "says": "What the rule says.",
    "held": "The number the workbook holds.",
    "used": "What the number decides for learners.",
    "known": "memory (nobody read it) or secondary (read in a copy only).",
    "parts": "The parts of a band that may be ticked one by one; empty for one number.",
    "mark": "Letters that name the rule as it was; leave them alone.",
}
FILLED: Mapping[str, str] = {
    "read": "x when the page says the same; low, high or typical when only that part was found.",
    "page": "The page it stands on.",
    "prints": "Only where the page prints another number: that number, in the unit of held.",
    "name": "Who read it; stays in the site's own file.",
    "role": "In which role; learners see it.",
    "date": "The day it was read, as 2026-11-30; learners see it.",
}
COLUMNS: Mapping[str, str] = {**GIVEN, **FILLED}


@dataclass(frozen=True, slots=True)
class Line:
    """One rule to be read in print; ``used`` says in words what it decides for learners."""

    rule: Rule
    used: str
    fell: str = ""
    number: int = 0  # on the sheet, from 1

    @property
    def held(self) -> str:
        """Return the number the workbook holds, with its usual value; nothing for a sentence."""
        rule = self.rule
        if rule.unit is None:
            return ""
        if rule.typical is None or rule.low is None or rule.high is None or rule.low == rule.high:
            return rule.text  # of an open end, the end is what the workbook works with
        return f"{rule.text}, typical {rule.typical:g}"

    @property
    def whom(self) -> str:
        """Return the babies it is for."""
        return self.rule.population.says

    @property
    def id(self) -> str:
        """Return what the table calls it."""
        return f"{self.rule.edition}, {self.rule.id}"


@dataclass(frozen=True, slots=True)
class Publication:
    """What is to be read in one publication."""

    source: Source
    lines: tuple[Line, ...]

    @property
    def title(self) -> str:
        """Return the publication as a library would find it."""
        doi = f", doi {self.source.doi}" if self.source.doi else ""
        return f"{self.source}{doi}"


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything a course uses that nobody of the site has read in the source.

    ``memory`` was read by nobody at all; ``copies`` in a secondary copy only. ``done`` counts what
    people of the site have read already, ``asked`` all rules the course asks for.
    """

    course: Course
    memory: tuple[Publication, ...]
    copies: tuple[Publication, ...]
    asked: int
    done: int

    @property
    def lines(self) -> tuple[Line, ...]:
        """Return every line in the order of the sheet."""
        every = (*self.memory, *self.copies)
        return tuple(line for publication in every for line in publication.lines)


def sheet(course: Course, asked: Asked) -> Sheet:
    """Return what is to be read in print for a course that asks for these rules."""
    own = {signature.key: signature for signature in course.book.signed}
    lines, done = [], 0
    for key, units in asked.rules.items():
        rule = shipped_rule(*key)
        if rule is None or not unread(rule) or why_not(rule) or _replaced(rule, course):
            continue
        signature = own.get(key)
        fell = "" if signature is None else fallen(signature)
        if signature is not None and not fell and not signature.read.parts:
            done += 1
            continue
        lines.append(Line(rule, used_in(units), fell))
    by_basis = {
        basis: _by_publication([x for x in lines if x.rule.citation.basis is basis], course)
        for basis in (Basis.MEMORY, Basis.SECONDARY)
    }
    memory = _numbered(by_basis[Basis.MEMORY], 0)
    copies = _numbered(by_basis[Basis.SECONDARY], sum(len(p.lines) for p in memory))
    return Sheet(course, memory, copies, len(asked.rules), done)


def _numbered(publications: Iterable[Publication], before: int) -> tuple[Publication, ...]:
    """Return publications with their lines numbered on from those before."""
    made = []
    for publication in publications:
        numbers = count(before + 1)
        lines = tuple(replace(line, number=next(numbers)) for line in publication.lines)
        made.append(Publication(publication.source, lines))
        before += len(lines)
    return tuple(made)


def _replaced(rule: Rule, course: Course) -> bool:
    """Say whether the site sets its own number in place of this one."""
    there = course.book.all(rule.id) if rule.id in course.book else ()
    return any(r.from_site and r.population == rule.population for r in there)


def _by_publication(lines: Sequence[Line], course: Course) -> tuple[Publication, ...]:
    """Return lines by publication: the course's own edition first, then where most is to read."""
    groups: dict[str, list[Line]] = {}
    for line in lines:
        groups.setdefault(line.rule.citation.source.key, []).append(line)
    own = [key for key, group in groups.items() if _is_own(group, course)]
    order = sorted(groups, key=lambda key: (key not in own, -len(groups[key]), key))
    return tuple(
        Publication(groups[key][0].rule.citation.source, tuple(sorted(groups[key], key=_place)))
        for key in order
    )


def _is_own(group: Iterable[Line], course: Course) -> bool:
    return any(line.rule.edition == course.edition for line in group)


def _place(line: Line) -> tuple[str, str, float, float]:
    whom = line.rule.population
    return line.rule.edition, line.rule.id, whom.gestation[0] or 0, whom.weight[0] or 0


def used_in(units: Sequence[str]) -> str:
    """Return in words where learners meet a rule: ``exercise 3; lessons 3 and 5``."""
    exercises = sorted({u.partition("_")[0] for u in units if u[:1].isdigit()})
    lessons = sorted({u[7:].partition("_")[0] for u in units if u.startswith("lesson ")})
    said = [_counted("exercise", exercises), _counted("lesson", lessons)]
    return "; ".join([each for each in said if each] + ["the lab's sheet"] * (LAB in units))


def _counted(what: str, numbers: Sequence[str]) -> str:
    if not numbers:
        return ""
    most, last = ", ".join(numbers[:-1]), numbers[-1]
    return f"{what}s {most} and {last}" if most else f"{what} {last}"


def table(made: Sheet) -> str:
    """Return the empty table as CSV text: a line for each rule, in the order of the sheet."""
    file = io.StringIO(newline="")
    writer = csv.writer(file)
    writer.writerow(COLUMNS)
    for line in made.lines:
        cells = [*_given(made.course, line), *("" for _ in FILLED)]
        writer.writerow([harmless(cell) for cell in cells])
    return file.getvalue()


def _given(course: Course, line: Line) -> Iterator[str]:
    rule = line.rule
    yield from (
        str(line.number),
        course.edition,
        rule.edition,
        rule.id,
        line.whom,
        str(rule.citation.source),
    )
    yield from (rule.says, line.held, line.used, str(rule.citation.basis))
    yield from (" ".join(parts_of(rule)), digest_of(rule))
