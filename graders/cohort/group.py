"""Many verdicts to one picture of a group: who is ready, why not, and what the group believes."""

from __future__ import annotations

import sys
from array import array
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from graders.cohort.beliefs import Belief, beliefs_of_group
from graders.cohort.question_shares import QuestionShare, question_shares
from graders.cohort.turnout import Turnout, turnout
from graders.course.roster import Person
from graders.grading.similar import Pair, alike
from graders.learner.next_step import hand_in
from graders.learner.standing import Learner, Standing, Status, standing
from graders.marking.graded import Graded
from graders.marks.misconceptions import misconceptions
from workbook.course.settings import Course

UNMARKED = "Wait: this was handed in and is not marked yet."

Scores = Mapping[tuple[str, str], float]


@dataclass(frozen=True, slots=True)
class Cohort:
    """A group's results, in an order that depends on the ids alone; units in teaching order."""

    course: Course
    rows: tuple[Standing, ...]
    learners: tuple[Learner, ...]
    beliefs: tuple[Belief, ...]
    questions: tuple[QuestionShare, ...]
    notes: tuple[str, ...] = ()
    alike: tuple[Pair, ...] = ()
    units: tuple[str, ...] = ()
    waiting: tuple[str, ...] = ()

    @property
    def turnout(self) -> Turnout:
        """Return how many people handed in, and of how many the work was marked."""
        return turnout(self.learners, self.units)

    @property
    def missing(self) -> tuple[Standing, ...]:
        """Return the rows of people on the roster who did not hand in."""
        return tuple(row for row in self.rows if not row.handed_in)

    @property
    def strangers(self) -> tuple[Person, ...]:
        """Return the people who handed in and are not on the roster."""
        found = {row.learner: row.person for row in self.rows if not row.on_roster}
        return tuple(found.values())

    def statuses(self) -> dict[str, Status]:
        """Return where each learner stands over all units: the worst counts, work missing too."""
        return {one.person.learner: one.status for one in self.learners}


def cohort(
    graded: Iterable[Graded],
    roster: Mapping[str, Person],
    course: Course,
    *,
    scores: Scores | None = None,
    unmarked: Callable[[], Mapping[tuple[str, str], str]] | None = None,
    waiting: Iterable[str] = (),
    others: Callable[[Graded], tuple[str, ...]] = lambda one: (),
) -> Cohort:
    """Return the picture of a group; each verdict is reduced to what counts as it is read.

    ``scores`` are the gradebook's by (learner, unit); one that a human changed counts in place of
    the marking's, also towards being ready. No score lifts a critical finding. Without a roster
    the group is everyone who handed in. The last verdict of a learner and unit counts.
    ``unmarked``, asked once the verdicts were read, says why work has none; ``waiting`` holds a
    sentence for each piece of work that waits for the coordinator; ``others`` says how other
    attempts than the one that counts ended.
    """
    found = _read(graded, roster, course, scores or {}, others)
    for key, why in (unmarked() if unmarked is not None else {}).items():
        found.standings.setdefault(key, _unmarked(key, why, roster))
    people = {**{id: Person(id) for id, _ in found.standings}, **roster}
    rows = tuple(_rows(found.standings, people, roster, course))
    usable = [row for row in rows if row.usable]
    return Cohort(
        course,
        rows,
        _learners(rows),
        beliefs_of_group(usable),
        question_shares(usable, course),
        _notes(rows, course),
        tuple(alike(found.by_question())),
        tuple(dict.fromkeys(row.unit for row in rows)),
        tuple(waiting),
    )


def _unmarked(key: tuple[str, str], why: str, roster: Mapping[str, Person]) -> Standing:
    learner, unit = key
    return Standing(
        roster.get(learner) or Person(learner),
        unit,
        UNMARKED,
        on_roster=not roster or learner in roster,
        handed_in=True,
        problems=(why,),
    )


@dataclass(frozen=True, slots=True)
class _Read:
    """By (learner, unit): what counts of each verdict, and the prints of its timed runs."""

    standings: dict[tuple[str, str], Standing]
    prints: dict[tuple[str, str], dict[str, Sequence[int]]]

    def by_question(self) -> dict[tuple[str, str, str], Sequence[int]]:
        """Return the prints as they are compared."""
        return {
            (unit, question, learner): hashes
            for (learner, unit), each in self.prints.items()
            for question, hashes in each.items()
        }


def _read(
    graded: Iterable[Graded],
    roster: Mapping[str, Person],
    course: Course,
    scores: Scores,
    others: Callable[[Graded], tuple[str, ...]],
) -> _Read:
    found, needed = _Read({}, {}), course.needed
    strangers: dict[str, Person] = {}
    for one in graded:
        person = roster.get(one.learner) or strangers.setdefault(one.learner, Person(one.learner))
        key = (person.learner, sys.intern(one.unit))
        on_roster = not roster or one.learner in roster
        found.standings[key] = standing(
            one, person, on_roster, needed, scores.get(key), others(one)
        )
        found.prints[key] = {
            sys.intern(question): array("Q", hashes)
            for question, hashes in one.prints.items()
            if one.digest
        }
    return found


def _rows(
    standings: Mapping[tuple[str, str], Standing],
    people: Mapping[str, Person],
    roster: Mapping[str, Person],
    course: Course,
) -> Iterator[Standing]:
    beyond = {unit for _, unit in standings} - set(course.units)
    order = sorted(people)
    for unit in (*course.units, *sorted(beyond)):
        todo = hand_in(unit)
        for id in order:
            one = standings.get((id, unit))
            if one is not None:
                yield one
            elif id in roster or not roster:
                yield Standing(people[id], unit, todo)


def _learners(rows: Sequence[Standing]) -> tuple[Learner, ...]:
    found: dict[str, list[Standing]] = {}
    for row in rows:
        found.setdefault(row.learner, []).append(row)
    return tuple(Learner(found[id][0].person, tuple(found[id])) for id in sorted(found))


def _notes(rows: Iterable[Standing], course: Course) -> tuple[str, ...]:
    """Return a sentence for each thing that makes the numbers less sure."""
    notes, known = [], misconceptions()
    for one in rows:
        if not one.usable:
            continue
        if one.edition != course.edition:
            notes.append(
                f"{one.learner}, {one.unit}: handed in and marked under edition {one.edition}, "
                f"while the course now asks about {course.edition}. To be asked about that, the "
                "learner fetches the exercise again and hands in."
            )
        strange = [id for id in one.misconceptions if id not in known]
        if strange:
            notes.append(
                f"{one.learner}, {one.unit}: marked by another version, which names "
                f"{', '.join(strange)}. Grade again."
            )
    return tuple(notes)
