"""The table of learners as the page draws it: one line each, and what it can be filtered by."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from graders.cohort.group import Cohort
from graders.cohort.parts import NOT_GIVEN, Part, parts
from graders.course.roster import Person
from graders.learner.standing import Learner, Standing, Status
from workbook.cases import title

# Gravest first, then what is still to come; ready last, as nothing is left to do there.
ORDER = (Status.UNSAFE, Status.NOT_YET, Status.UNMARKED, Status.MISSING, Status.READY)
_BY: Mapping[str, Callable[[Person], str]] = {
    "ward": lambda person: person.ward,
    "role": lambda person: person.role,
    "site": lambda person: person.site,
}


@dataclass(frozen=True, slots=True)
class Filter:
    """One thing the table is filtered by; a choice is known by its place in ``choices``."""

    id: str
    title: str
    choices: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """A learner's standing in one unit; ``rank`` is its status by place in ORDER."""

    rank: int
    standing: Standing | None


@dataclass(frozen=True, slots=True)
class Line:
    """One learner's line. ``classes`` is what the filters know it by."""

    person: Person
    rank: int
    classes: str
    cells: tuple[Cell, ...]
    percent: float | None
    next: str
    details: tuple[Standing, ...]
    on_roster: bool

    @property
    def place(self) -> str:
        """Return where the learner works and as what."""
        one = self.person
        return ", ".join(text for text in (one.role, one.ward, one.site) if text)


def filters(cohort: Cohort) -> tuple[Filter, ...]:
    """Return what the table can be filtered by beside status and unit."""
    found = []
    for id, of in _BY.items():
        choices = {of(one.person) or NOT_GIVEN for one in cohort.learners}
        if len(choices) > 1:
            found.append(Filter(id, id.capitalize(), tuple(sorted(choices))))
    return tuple(found)


def lines(cohort: Cohort, by: Sequence[Filter]) -> Iterator[Line]:
    """Yield each learner's line, the gravest first, then in order of id."""
    places = [
        (id, _BY[id], {choice: n for n, choice in enumerate(choices)})
        for id, choices in ((each.id, each.choices) for each in by)
    ]
    for one in sorted(cohort.learners, key=lambda one: ORDER.index(one.status)):
        cells = tuple(_cells(one, cohort.units))
        rank = ORDER.index(one.status)
        marks = [f"u0{rank}", *(f"u{n}{cell.rank}" for n, cell in enumerate(cells, start=1))]
        marks += [f"{id[0]}{at[of(one.person) or NOT_GIVEN]}" for id, of, at in places]
        yield Line(
            one.person,
            rank,
            " ".join(marks),
            cells,
            one.percent,
            next_of(one),
            tuple(each for each in one.standings if worth_telling(each)),
            one.on_roster,
        )


def _cells(one: Learner, units: Sequence[str]) -> Iterator[Cell]:
    at = {each.unit: each for each in one.standings}
    for unit in units:
        found = at.get(unit)
        yield Cell(len(ORDER) if found is None else ORDER.index(found.status), found)


def next_of(one: Learner) -> str:
    """Return the one thing the learner does next, with its unit where more than one was asked."""
    first = one.next
    named = ".ipynb" in first.next or first.status is Status.READY
    if len(one.standings) == 1 or named:
        return first.next
    return f"{title(first.unit)}: {first.next}"


def worth_telling(one: Standing) -> bool:
    """Say whether there is more to a standing than its mark and its percentage."""
    return one.handed_in and bool(
        one.misconceptions or one.critical or one.problems or one.late or one.by_hand or one.others
    )


def breakdown(cohort: Cohort) -> tuple[tuple[str, tuple[Part, ...]], ...]:
    """Return how each ward, role and site stands, where there are two or more of them."""
    found = ((id.capitalize(), parts(cohort.learners, of)) for id, of in _BY.items())
    return tuple((title, each) for title, each in found if each)
