"""Scores into nbgrader's own tables, many submissions in one transaction.

nbgrader writes one submission in many small transactions. Here a whole batch is one: after a
crash at any moment a submission's scores are all there or none is, and grading again mends it.
What a human wrote, scores and comments alike, is never touched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from random import SystemRandom
from time import sleep, time_ns
from typing import Any

import sqlalchemy as sql
from sqlalchemy.exc import IntegrityError, OperationalError

from graders.course.roster import Person
from graders.marking.scored import Scored
from graders.nbgrader.gradebook import GradebookError, unreachable
from graders.nbgrader.quick import api
from workbook.core.moments import moment

STUDENT, ASSIGNMENT, NOTEBOOK = (
    each.__table__ for each in (api.Student, api.Assignment, api.Notebook)
)
SUBMITTED, PAGE = api.SubmittedAssignment.__table__, api.SubmittedNotebook.__table__
CELL, GRADE, COMMENT = (each.__table__ for each in (api.BaseCell, api.Grade, api.Comment))
getrandbits = SystemRandom().getrandbits
TRIES, WAIT = 8, 0.25  # another grader at work: together about a minute of waiting


@dataclass(frozen=True, slots=True)
class Sheet:
    """What the gradebook knows of one unit: its ids, and its cells by name."""

    assignment: str
    notebook: str
    graded: Mapping[str, str]
    solutions: tuple[str, ...]


def in_one_transaction(db: Any, work: Callable[[], None]) -> None:
    """Do all of some work on a database or none of it, once whoever else works on it lets go."""
    for attempt in range(TRIES):
        try:
            work()
            db.commit()
        except (IntegrityError, OperationalError) as error:
            # Another grader wrote the same rows first, or has the file locked: try again.
            db.rollback()
            if attempt == TRIES - 1:
                raise GradebookError(unreachable(error)) from error
            sleep(WAIT * 2**attempt / 2)
        else:
            return


class Scores:
    """Writes verdicts into the tables of one gradebook."""

    def __init__(self, book: Any) -> None:
        self._db = book.db
        self._sheets: dict[str, Sheet | None] = {}

    def knows(self, unit: str) -> bool:
        """Say whether the gradebook has the unit and its cells."""
        return self._sheet(unit) is not None

    def write(self, batch: Sequence[Scored]) -> None:
        """Write the scores of a batch, all or none of them.

        Raises GradebookError when the gradebook stays locked or cannot be reached.
        """
        by_unit = sorted(batch, key=lambda one: one.unit)
        groups = [(unit, list(group)) for unit, group in groupby(by_unit, key=lambda o: o.unit)]

        def transact() -> None:
            self._students(batch)
            for unit, group in groups:
                self._unit(unit, group)

        in_one_transaction(self._db, transact)

    def _students(self, batch: Sequence[Scored]) -> None:
        ids = {one.learner for one in batch}
        there = set(self._scalars(sql.select(STUDENT.c.id).where(STUDENT.c.id.in_(ids))))
        self._insert(STUDENT, [{"id": id} for id in sorted(ids - there)])

    def _unit(self, unit: str, group: list[Scored]) -> None:
        sheet = self._sheet(unit)
        if sheet is None:
            raise KeyError(f"The gradebook has no unit {unit!r}.")
        pages = self._pages(sheet, group)
        have = self._grades(sheet, pages.values())
        new, old = [], []
        for one in group:
            page = pages[one.learner]
            for question, earned in one.points:
                cell = sheet.graded.get(question)
                if cell is None:
                    continue
                known = have.get((page, cell))
                by_hand = known is not None and known[1] is not None
                row = {"auto_score": earned, "needs_manual_grade": by_hand}
                if known is None:
                    new.append({"id": _id(), "notebook_id": page, "cell_id": cell, **row})
                elif known[2:] != (earned, by_hand):
                    old.append({"b_id": known[0], **row})
        self._insert(GRADE, new)
        if old:
            self._db.execute(
                sql.update(GRADE)
                .where(GRADE.c.id == sql.bindparam("b_id"))
                .values(
                    auto_score=sql.bindparam("auto_score"),
                    needs_manual_grade=sql.bindparam("needs_manual_grade"),
                ),
                old,
                execution_options={"synchronize_session": False},
            )

    def _pages(self, sheet: Sheet, group: list[Scored]) -> dict[str, str]:
        """Return the submitted page of each learner, made where there is none."""
        learners = {one.learner: one for one in group}
        query = (
            sql.select(SUBMITTED.c.student_id, SUBMITTED.c.id, SUBMITTED.c.timestamp, PAGE.c.id)
            .outerjoin_from(
                SUBMITTED,
                PAGE,
                (PAGE.c.assignment_id == SUBMITTED.c.id) & (PAGE.c.notebook_id == sheet.notebook),
            )
            .where(SUBMITTED.c.assignment_id == sheet.assignment)
            .where(SUBMITTED.c.student_id.in_(learners))
        )
        found = {row[0]: row for row in self._db.execute(query)}
        pages = {learner: row[3] for learner, row in found.items()}
        made = {learner: (_id(), _id()) for learner in learners if learner not in found}
        self._insert(
            SUBMITTED,
            [
                {"id": submission, "assignment_id": sheet.assignment, "student_id": learner,
                 "timestamp": _when(learners[learner])}
                for learner, (submission, _) in made.items()
            ],
        )  # fmt: skip
        self._insert(
            PAGE,
            [
                {"id": page, "assignment_id": submission, "notebook_id": sheet.notebook,
                 "flagged": False}
                for submission, page in made.values()
            ],
        )  # fmt: skip
        comments = [
            {"id": _id(), "notebook_id": page, "cell_id": cell}
            for _, page in made.values()
            for cell in sheet.solutions
        ]
        self._insert(COMMENT, comments)
        for learner, row in found.items():
            if row[2] != (when := _when(learners[learner])) and when is not None:
                self._db.execute(
                    sql.update(SUBMITTED).where(SUBMITTED.c.id == row[1]).values(timestamp=when)
                )
        return pages | {learner: page for learner, (_, page) in made.items()}

    def _grades(self, sheet: Sheet, pages: Iterable[str]) -> dict[tuple[str, str], tuple[Any, ...]]:
        """Return the grades of pages; their cells are named for nbgrader's only index of them."""
        columns = (
            GRADE.c.notebook_id, GRADE.c.cell_id, GRADE.c.id, GRADE.c.manual_score,
            GRADE.c.auto_score, GRADE.c.needs_manual_grade,
        )  # fmt: skip
        rows = self._db.execute(
            sql.select(*columns)
            .where(GRADE.c.cell_id.in_(sheet.graded.values()))
            .where(GRADE.c.notebook_id.in_(pages))
        )
        return {(row[0], row[1]): tuple(row[2:]) for row in rows}

    def _sheet(self, unit: str) -> Sheet | None:
        if unit not in self._sheets:
            self._sheets[unit] = self._read_sheet(unit)
        return self._sheets[unit]

    def _read_sheet(self, unit: str) -> Sheet | None:
        query = (
            sql.select(ASSIGNMENT.c.id, NOTEBOOK.c.id)
            .join_from(ASSIGNMENT, NOTEBOOK, NOTEBOOK.c.assignment_id == ASSIGNMENT.c.id)
            .where(ASSIGNMENT.c.name == unit, NOTEBOOK.c.name == unit)
        )
        found = self._db.execute(query).first()
        if found is None:
            return None
        cells = list(
            self._db.execute(
                sql.select(CELL.c.name, CELL.c.id, CELL.c.type).where(
                    CELL.c.notebook_id == found[1]
                )
            )
        )
        graded = {name: id for name, id, kind in cells if kind == "GradeCell"}
        solutions = tuple(id for _, id, kind in cells if kind == "SolutionCell")
        return Sheet(found[0], found[1], graded, solutions) if graded else None

    def _scalars(self, query: Any) -> Iterable[Any]:
        return self._db.execute(query).scalars()  # type: ignore[no-any-return]

    def _insert(self, table: Any, rows: list[dict[str, Any]]) -> None:
        if rows:
            self._db.execute(sql.insert(table), rows)


def enrol(book: Any, people: Iterable[Person]) -> None:
    """Put the people of a roster into the gradebook, all in one transaction.

    Raises GradebookError when it stays locked or cannot be reached.
    """
    wanted = {one.learner: _names(one) for one in people}

    def transact() -> None:
        rows = book.db.execute(sql.select(STUDENT.c.id, STUDENT.c.first_name, STUDENT.c.last_name))
        there = {row[0]: (row[1], row[2]) for row in rows}
        new = [
            {"id": id, "first_name": first, "last_name": last}
            for id, (first, last) in sorted(wanted.items())
            if id not in there
        ]
        if new:
            book.db.execute(sql.insert(STUDENT), new)
        changed = [
            {"b_id": id, "b_first": names[0], "b_last": names[1]}
            for id, names in sorted(wanted.items())
            if id in there and there[id] != names
        ]
        if changed:
            book.db.execute(
                sql.update(STUDENT)
                .where(STUDENT.c.id == sql.bindparam("b_id"))
                .values(first_name=sql.bindparam("b_first"), last_name=sql.bindparam("b_last")),
                changed,
                execution_options={"synchronize_session": False},
            )

    in_one_transaction(book.db, transact)


def _names(person: Person) -> tuple[str | None, str | None]:
    first, _, last = person.name.rpartition(" ")
    return first or None, last or None


def totals(book: Any) -> dict[tuple[str, str], float]:
    """Return the score of every (learner, unit) as the gradebook holds it, a human's included."""
    grade = api.Grade
    query = (
        sql.select(SUBMITTED.c.student_id, ASSIGNMENT.c.name, sql.func.sum(grade.score))
        .join_from(SUBMITTED, ASSIGNMENT, SUBMITTED.c.assignment_id == ASSIGNMENT.c.id)
        .join(PAGE, PAGE.c.assignment_id == SUBMITTED.c.id)
        .join(grade, grade.notebook_id == PAGE.c.id)
        .group_by(SUBMITTED.c.student_id, ASSIGNMENT.c.name)
    )
    return {(learner, unit): float(score) for learner, unit, score in book.db.execute(query)}


def _id() -> str:
    """Return a UUID of version 7 (RFC 9562, section 5.7), as nbgrader writes its own: in hex.

    It begins with the time, so that rows made together lie together in every index: with random
    ones each row of a large gradebook is a page of its own to write.
    """
    milliseconds, random = time_ns() // 1_000_000, getrandbits(74)
    later = random & (1 << 62) - 1 | 2 << 62  # the two bits that say how it is laid out
    return f"{milliseconds:012x}7{random >> 62:03x}{later:016x}"


def _when(graded: Scored) -> Any:
    """Return when work was handed in as nbgrader keeps it: in UTC, without saying so."""
    when = moment(graded.handed_in)
    return None if when is None else when.replace(tzinfo=None)
