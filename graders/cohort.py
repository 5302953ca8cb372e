"""Many verdicts to one picture of a group: who is ready, why not, and what the group believes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from graders.coursefolder import Person
from graders.grade import Graded
from graders.misconceptions import Misconception, misconceptions
from graders.next_step import hand_in, held, next_step, was_shown
from graders.similar import Pair, alike
from workbook.cases import case, exercises
from workbook.course import Course

SMALL = 3  # fewer learners than this could be recognised, so the group's part names none of them

Scores = Mapping[tuple[str, str], float]


class Status(StrEnum):
    """Where a learner stands, gravest first."""

    UNSAFE = "Unsafe act"
    NOT_YET = "Not yet"
    READY = "Ready"
    MISSING = "Not handed in"


@dataclass(frozen=True, slots=True)
class Row:
    """One learner and one unit.

    ``score`` is the one that counts: a human's score in the gradebook stands before ``marked``,
    what the marking gave. ``unsafe`` holds the sentence of each unsafe act, ``left_open`` the
    critical questions without a usable answer; both keep a learner from being ready.
    """

    person: Person
    unit: str
    next: str
    on_roster: bool = True
    handed_in: bool = False
    usable: bool = False
    when: str = ""
    edition: str = ""
    version: str = ""
    score: float = 0.0
    marked: float = 0.0
    possible: float = 0.0
    unsafe: tuple[str, ...] = ()
    left_open: tuple[str, ...] = ()
    misconceptions: tuple[str, ...] = ()
    problems: tuple[str, ...] = ()
    ready: bool = False
    late: bool = False

    @property
    def learner(self) -> str:
        """Return the learner's id."""
        return self.person.learner

    @property
    def percent(self) -> float | None:
        """Return the share of points in percent, or None where there are no points."""
        return percent(self.score, self.possible)

    @property
    def by_hand(self) -> bool:
        """Say whether a human's score stands in place of the marking's."""
        return abs(self.score - self.marked) > 0.005

    @property
    def critical(self) -> tuple[str, ...]:
        """Return a sentence for each critical finding that was missed."""
        left = (f"The critical question {name} has no usable answer." for name in self.left_open)
        return (*self.unsafe, *left)

    @property
    def status(self) -> Status:
        """Return where the learner stands in this unit."""
        if not self.handed_in:
            return Status.MISSING
        if self.unsafe:
            return Status.UNSAFE
        return Status.READY if self.ready else Status.NOT_YET


@dataclass(frozen=True, slots=True)
class Belief:
    """A misconception of the group: who holds it, out of how many usable answers."""

    misconception: Misconception
    learners: tuple[str, ...]
    of: int

    @property
    def count(self) -> int:
        """Return how many learners hold it."""
        return len(self.learners)

    @property
    def share(self) -> float:
        """Return the share of learners who hold it, 0 to 1."""
        return self.count / self.of if self.of else 0.0

    @property
    def named(self) -> tuple[str, ...]:
        """Return the learners that the group's part may name: none when they are few."""
        return self.learners if self.count >= SMALL else ()


@dataclass(frozen=True, slots=True)
class QuestionShare:
    """The group's share of the points of one question, as marked."""

    unit: str
    question: str
    asked: str
    earned: float
    possible: float
    learners: int

    @property
    def percent(self) -> float | None:
        """Return the share in percent, or None where there are no points."""
        return percent(self.earned, self.possible)


@dataclass(frozen=True, slots=True)
class Cohort:
    """A group's results, in an order that depends on the ids alone."""

    course: Course
    rows: tuple[Row, ...]
    beliefs: tuple[Belief, ...]
    questions: tuple[QuestionShare, ...]
    notes: tuple[str, ...] = ()
    alike: tuple[Pair, ...] = ()

    @property
    def units(self) -> tuple[str, ...]:
        """Return the units, in teaching order."""
        return tuple(dict.fromkeys(row.unit for row in self.rows))

    @property
    def missing(self) -> tuple[Row, ...]:
        """Return the rows of people on the roster who did not hand in."""
        return tuple(row for row in self.rows if not row.handed_in)

    @property
    def strangers(self) -> tuple[Person, ...]:
        """Return the people who handed in and are not on the roster."""
        found = {row.learner: row.person for row in self.rows if not row.on_roster}
        return tuple(found.values())

    def statuses(self) -> dict[str, Status]:
        """Return where each learner stands over all units: the worst counts, work missing too."""
        each: dict[str, set[Status]] = {}
        for row in self.rows:
            each.setdefault(row.learner, set()).add(row.status)
        order = (Status.UNSAFE, Status.NOT_YET, Status.MISSING, Status.READY)
        return {id: next(s for s in order if s in each[id]) for id in sorted(each)}


def percent(earned: float, possible: float) -> float | None:
    """Return a share in percent, never rounded up: 79.96 must not look like a reached 80."""
    if not possible:
        return None
    return math.floor(1000 * earned / possible + 1e-6) / 10


def cohort(
    graded: Sequence[Graded],
    roster: Mapping[str, Person],
    course: Course,
    *,
    scores: Scores | None = None,
) -> Cohort:
    """Return the picture of a group.

    ``scores`` are the gradebook's by (learner, unit); one that a human changed counts in place of
    the marking's, also towards being ready. No score lifts a critical finding. Without a roster
    the group is everyone who handed in. The last verdict of a learner and unit counts.
    """
    latest = {(g.learner, g.unit): g for g in graded}
    beyond = {unit for _, unit in latest} - set(course.units)
    units = (*course.units, *sorted(beyond))
    people = {**{id: Person(id) for id, _ in latest}, **roster}
    rows = []
    for unit in units:
        for id in sorted(people):
            one = latest.get((id, unit))
            if one is not None:
                on_roster = id in roster or not roster
                rows.append(_row(one, people[id], on_roster, course.needed, scores or {}))
            elif id in roster or not roster:
                rows.append(Row(people[id], unit, hand_in(unit)))
    kept = [latest[row.learner, row.unit] for row in rows if row.handed_in]
    usable = [g for g in kept if g.digest]
    prints = {(g.unit, q, g.learner): each for g in usable for q, each in g.prints.items()}
    return Cohort(
        course,
        tuple(rows),
        _beliefs(usable),
        _shares(usable, course),
        _notes(kept, course),
        tuple(alike(prints)),
    )


def _row(one: Graded, person: Person, on_roster: bool, needed: float, scores: Scores) -> Row:
    score = float(scores.get((one.learner, one.unit), one.earned))
    missed = [(v.question, f) for v in one.verdicts for f in v.unsafe]
    enough = one.possible > 0 and score >= needed * one.possible - 1e-9
    return Row(
        person,
        one.unit,
        next_step(one),
        on_roster=on_roster,
        handed_in=True,
        usable=bool(one.digest),
        when=one.handed_in,
        edition=one.edition,
        version=one.version,
        score=score,
        marked=one.earned,
        possible=one.possible,
        unsafe=tuple(f.says for _, f in missed if was_shown(f)),
        left_open=tuple(dict.fromkeys(name for name, f in missed if not was_shown(f))),
        misconceptions=held(one),
        problems=one.problems,
        ready=enough and not missed,
        late=one.late,
    )


def _beliefs(usable: Sequence[Graded]) -> tuple[Belief, ...]:
    known = misconceptions()
    holders: dict[str, set[str]] = {}
    for one in usable:
        for id in held(one):
            holders.setdefault(id, set()).add(one.learner)
    found = [
        Belief(known[id], tuple(sorted(who)), len(who | _learners(usable, known[id].unit)))
        for id, who in holders.items()
        if id in known
    ]
    return tuple(sorted(found, key=lambda b: (-b.count, b.misconception.id)))


def _learners(usable: Iterable[Graded], unit: str) -> set[str]:
    return {one.learner for one in usable if one.unit == unit}


def _shares(usable: Sequence[Graded], course: Course) -> tuple[QuestionShare, ...]:
    found: dict[tuple[str, str], list[tuple[float, float]]] = {}
    for one in usable:
        for v in one.verdicts:
            found.setdefault((one.unit, v.question), []).append((v.earned, v.possible))
    asked = _asked(usable, course)
    return tuple(
        QuestionShare(
            unit,
            question,
            asked.get((unit, question), ""),
            round(sum(earned for earned, _ in pairs), 2),
            round(sum(possible for _, possible in pairs), 2),
            len(pairs),
        )
        for (unit, question), pairs in found.items()
    )


def _asked(usable: Iterable[Graded], course: Course) -> dict[tuple[str, str], str]:
    """Return what each question asks; nothing where it asks different learners differently."""
    labels: dict[tuple[str, str], set[str]] = {}
    for one in usable:
        if one.unit in exercises():
            for q in case(course.id, one.unit, one.learner, course.book).questions:
                labels.setdefault((one.unit, q.id), set()).add(q.label)
    return {key: next(iter(says)) for key, says in labels.items() if len(says) == 1}


def _notes(graded: Iterable[Graded], course: Course) -> tuple[str, ...]:
    """Return a sentence for each thing that makes the numbers less sure."""
    notes = []
    for one in graded:
        if one.edition != course.edition:
            notes.append(
                f"{one.learner}, {one.unit}: marked under edition {one.edition}, while the course "
                f"asks about {course.edition}. Grade again."
            )
        strange = [id for id in held(one) if id not in misconceptions()]
        if strange:
            notes.append(
                f"{one.learner}, {one.unit}: marked by another version, which names "
                f"{', '.join(strange)}. Grade again."
            )
    return tuple(notes)
