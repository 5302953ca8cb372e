"""The skills checklist of the lab, made from the same procedures and rules as the workbook."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from graders.core.spreadsheet import harmless
from graders.course.roster import Person
from workbook.rules import Need, Procedure, RuleBook, Step

COLUMNS = ("learner", "step", "done", "by", "date", "note")
ASIDE = ("name", "critical", "asks")  # written beside them for the observer, never read back
DONE = ("yes", "no", "with help")

_PATH = Path(__file__).with_name("checklist.toml")
_SET_UP = "set-up"


@dataclass(frozen=True, slots=True)
class Item:
    """One step to be observed: what is seen, the reason and where that comes from.

    ``critical`` says what the harm is when it is left out; empty where none is meant.
    ``rests_on`` names the steps and rules that a belief may break here.
    """

    id: str
    says: str
    reason: str
    basis: str
    critical: str = ""
    rests_on: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the checklist."""

    id: str
    title: str
    items: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Checklist:
    """What is observed hands-on, under one edition and, if there is one, a site's protocol."""

    edition: str
    protocol: str
    sections: tuple[Section, ...]

    @property
    def items(self) -> tuple[Item, ...]:
        """Return every step in the order it is observed."""
        return tuple(item for section in self.sections for item in section.items)


def checklist(book: RuleBook) -> Checklist:
    """Return the checklist under a book of rules; a step is called section/step.

    A step whose rule the book has not, such as a rate under no edition, is left out.
    """
    sections = tuple(
        _from_procedure(book.procedure(part["procedure"]))
        if "procedure" in part
        else _from_rules(part, book)
        for part in _parts()
    )
    return Checklist(book.edition.title, book.protocol, sections)


@cache
def _parts() -> tuple[Mapping[str, Any], ...]:
    return tuple(tomllib.loads(_PATH.read_text(encoding="utf-8"))["section"])


def _from_procedure(procedure: Procedure) -> Section:
    """Return a procedure as a section; a step is critical where a critical need waits for it."""
    grave = [need for need in procedure.needs if need.critical]
    items = (
        Item(
            f"{procedure.id}/{step.id}",
            step.says,
            step.reason,
            str(step.citation.basis),
            _harm(step, grave),
            (step.id,),
        )
        for step in procedure
    )
    return Section(procedure.id, procedure.title, tuple(items))


def _harm(step: Step, grave: Iterable[Need]) -> str:
    """Return why a step is critical: what its last waiting step says, nearest to the baby."""
    waiting = [need.why for need in grave if need.before == step.id]
    if waiting:
        return f"{waiting[-1][:1].upper()}{waiting[-1][1:]}."
    return step.reason if any(need.step == step.id for need in grave) else ""


def _from_rules(part: Mapping[str, Any], book: RuleBook) -> Section:
    known = (step for step in part["steps"] if step["rule"] in book)
    items = (_from_rule(part["id"], step, book) for step in known)
    return Section(part["id"], part["title"], tuple(items))


def _from_rule(section: str, step: Mapping[str, Any], book: RuleBook) -> Item:
    rule = book[step["rule"]]
    reason = rule.says if rule.unit is None else f"{rule.says.rstrip('.')}: {rule.shown}."
    why = step.get("why", "")
    harm = book[why].says if why in book else ""
    if why and not harm:
        harm = book.procedure(_SET_UP)[why].reason
    says, rests_on = step["says"], (rule.id, *step.get("also", ()))
    id = f"{section}/{step['id']}"
    basis = "read in print" if rule.citation.read_whole else str(rule.citation.basis)
    return Item(id, says, reason, basis, harm, rests_on)


def blank_rows(people: Iterable[Person], made: Checklist) -> Iterator[str]:
    """Yield the empty sheet as lines of CSV: the head, then a line for each learner and step."""
    file = io.StringIO(newline="")
    writer = csv.writer(file)
    writer.writerow((*COLUMNS, *ASIDE))
    for person in people:
        for item in made.items:
            aside = (person.name, "critical" if item.critical else "", item.says)
            cells = (person.learner, item.id, "", "", "", "", *aside)
            writer.writerow([harmless(cell) for cell in cells])
        yield file.getvalue()
        file.seek(0)
        file.truncate()
    if file.getvalue():  # nobody is known yet: the head alone
        yield file.getvalue()
