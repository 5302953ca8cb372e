"""Many verdicts to one picture of a group: who is ready, why not, and what the group believes."""

from __future__ import annotations

import sys
from array import array
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice

from graders.beliefs.bayes import number
from graders.beliefs.chances import speaks
from graders.grade import Graded
from graders.misconceptions import (
    EITHER,
    Misconception,
    allows_a_slip,
    beliefs_of,
    misconceptions,
)
from graders.next_step import hand_in
from graders.roster import Person
from graders.similar import Pair, alike
from graders.standing import Learner, Standing, Status, percent, standing
from workbook.cases import case, exercises
from workbook.course import Course

UNMARKED = "Wait: this was handed in and is not marked yet."
SMALL = 3  # fewer learners than this could be recognised, so the group's part names none of them
DRAWN = 16  # learners of a unit whose cases tell whether a question asks everyone the same

Scores = Mapping[tuple[str, str], float]


@dataclass(frozen=True, slots=True)
class Belief:
    """A misconception of the group: whose answers fit it, out of how many usable answers.

    ``slips`` are those of the learners whom a slip explains as well.
    """

    misconception: Misconception
    learners: tuple[str, ...]
    of: int
    slips: tuple[str, ...] = ()

    @property
    def count(self) -> int:
        """Return how many learners' answers fit it."""
        return len(self.learners)

    @property
    def share(self) -> float:
        """Return the share of learners whose answers fit it, 0 to 1."""
        return self.count / self.of if self.of else 0.0

    @property
    def expected(self) -> float:
        """Return how many learners hold it, as far as can be said: not all who may have slipped."""
        return self.count - (1 - number("slip-or-holds")) * len(self.slips)

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
class Turnout:
    """How many people there are, handed in all that was asked or some of it, and were marked.

    ``marked`` counts people of whose work some was, ``unmarked`` those of whose work some was not.
    """

    people: int
    every: int
    some: int
    marked: int
    unmarked: int
    several: bool = False

    @property
    def handed_in(self) -> str:
        """Return who handed in, for report and brief alike."""
        if not self.several:
            return f"{self.every} of {self.people} handed in"
        says = f"{self.every} of {self.people} handed in every unit"
        return f"{says}, {self.some} some of them" if self.some else says

    @property
    def left_out(self) -> str:
        """Return whose work nothing can be said of; empty when all of it was marked."""
        if not self.unmarked:
            return ""
        whose = "1 person" if self.unmarked == 1 else f"{self.unmarked} people"
        return (
            f"The work of {whose} was not marked, or not all of it: nothing can be said of that, "
            "neither good nor bad."
        )

    def none_of(self, says: str) -> str:
        """Return that nobody showed something, of those only of whom it can be said."""
        if not self.marked:
            return "nothing was marked, so nothing can be said of unsafe acts"
        return f"of what was marked, nobody {says}" if self.unmarked else f"nobody {says}"


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
        every = some = marked = unmarked = 0
        for one in self.learners:
            handed = [row for row in one.standings if row.handed_in]
            every += len(handed) == len(one.standings)
            some += 0 < len(handed) < len(one.standings)
            marked += any(row.usable for row in handed)
            unmarked += any(row.unmarked for row in handed)
        return Turnout(len(self.learners), every, some, marked, unmarked, len(self.units) > 1)

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
        _beliefs(usable),
        _shares(usable, course),
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


def _beliefs(usable: Sequence[Standing]) -> tuple[Belief, ...]:
    """Return each belief with whom it fits, of those who answered a unit that looks for it."""
    known = misconceptions()
    holders: dict[str, set[str]] = {}
    sure: dict[str, set[str]] = {}
    answered: dict[tuple[str, ...], set[str]] = {}
    for one in usable:
        answered.setdefault(one.points.questions, set()).add(one.learner)
        for id in one.misconceptions:
            holders.setdefault(beliefs_of(id), set()).add(one.learner)
            if not allows_a_slip(id):
                sure.setdefault(id, set()).add(one.learner)

    def asked(id: str) -> set[str]:
        could = set(id.split(EITHER))
        looks = (who for asks, who in answered.items() if could & set().union(*map(speaks, asks)))
        return set().union(*looks)

    found = [
        Belief(
            known[id],
            tuple(sorted(who)),
            len(who | asked(id)),
            tuple(sorted(who - sure.get(id, set()))),
        )
        for id, who in holders.items()
        if id in known
    ]
    return tuple(sorted(found, key=lambda b: (-b.expected, -b.count, b.misconception.id)))


def _shares(usable: Sequence[Standing], course: Course) -> tuple[QuestionShare, ...]:
    sums: dict[tuple[str, str], list[float]] = {}
    for one in usable:
        parts = zip(one.points.questions, one.points.earned, one.points.possible, strict=True)
        for question, earned, possible in parts:
            total = sums.setdefault((one.unit, question), [0.0, 0.0, 0])
            total[0] += earned
            total[1] += possible
            total[2] += 1
    asked = _asked(usable, course)
    return tuple(
        QuestionShare(*key, asked.get(key, ""), round(earned, 2), round(possible, 2), int(learners))
        for key, (earned, possible, learners) in sums.items()
    )


def _asked(usable: Sequence[Standing], course: Course) -> dict[tuple[str, str], str]:
    """Return what each question asks; nothing where it asks different learners differently.

    Drawing every case of a large group would take minutes, so the first few of a unit decide.
    """
    book = course.book
    labels: dict[tuple[str, str], set[str]] = {}
    for unit in exercises():
        of_now = (o for o in usable if o.unit == unit and o.edition == course.edition)
        some = islice(of_now, DRAWN)
        for one in some:
            for q in case(course.id, unit, one.learner, book, one.attempt).questions:
                labels.setdefault((unit, q.id), set()).add(q.label)
    return {key: next(iter(says)) for key, says in labels.items() if len(says) == 1}


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


__all__ = [
    "SMALL",
    "Belief",
    "Cohort",
    "Learner",
    "QuestionShare",
    "Scores",
    "Standing",
    "Status",
    "cohort",
]
