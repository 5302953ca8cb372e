"""A graded course as a stream of results: ten thousand learners never stand in memory at once."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from graders.cohort.unmarked import nothing_yet
from graders.cohort.verdicts import Broken, verdicts
from graders.course.coursefolder import ROSTER, CourseFolder, Person
from graders.handover.files import HandoverError
from graders.handover.pseudonym import course_key, pseudonym
from graders.handover.result import Result, missing, result
from graders.learner.history import FOLDER, attempts
from graders.marking.graded import Graded
from workbook.core.answer_sheet import LONGEST_LINE, answers_path
from workbook.course.settings import Course


@dataclass
class Source:
    """The results of a course folder, and what was met on the way.

    ``people`` is the roster, ``pseudonyms`` grows by learner id as results are read.
    """

    folder: CourseFolder
    course: Course
    people: Mapping[str, Person]
    key: bytes
    names: bool = False
    scores: Mapping[tuple[str, str], float] = field(default_factory=dict)
    pseudonyms: dict[str, str] = field(default_factory=dict)
    strangers: set[str] = field(default_factory=set)
    broken: list[str] = field(default_factory=list)
    unreadable: int = 0

    def results(self) -> Iterator[Result]:
        """Yield the result of everyone who handed in, then of everyone who has not.

        A verdict that cannot be read, or lies in another's folder, is left out and told.
        """
        seen: set[tuple[str, str]] = set()

        def told(lost: Broken) -> None:
            self.broken.append(lost.says)
            seen.add((lost.learner, lost.unit))

        for graded in verdicts(self.folder, told):
            seen.add((graded.learner, graded.unit))
            if self.people and graded.learner not in self.people:
                self.strangers.add(graded.learner)
            self.unreadable += not graded.digest
            yield self._result(graded)
        for learner in sorted(self.people):
            for unit in self.course.units:
                if (learner, unit) not in seen:
                    name, who = self._pseudonym(learner), self._who(learner)
                    yield missing(self.course.id, unit, name, who)

    def notes(self) -> Iterator[str]:
        """Yield a sentence for each thing a coordinator should know of what was written."""
        if self.strangers:
            yield (
                f"Not on the roster: {len(self.strangers)} who handed in. They are written under "
                "their pseudonyms, without a name."
            )
        if self.unreadable:
            yield (
                f"Could not be read: the work of {self.unreadable}; the report names each. It is "
                "written without an outcome."
            )
        yield from self.broken

    def _result(self, graded: Graded) -> Result:
        return result(
            graded,
            self._pseudonym(graded.learner),
            course=self.course.id,
            needed=self.course.needed,
            score=self.scores.get((graded.learner, graded.unit)),
            hand_in=hand_in(self.folder, graded),
            started=started(self.folder, graded),
            who=self._who(graded.learner),
        )

    def _pseudonym(self, learner: str) -> str:
        if learner not in self.pseudonyms:
            self.pseudonyms[learner] = pseudonym(learner, self.key)
        return self.pseudonyms[learner]

    def _who(self, learner: str) -> Person | None:
        return self.people.get(learner) if self.names else None


def source(path: Path, *, names: bool = False) -> Source:
    """Return the results of the course at a path, scores as the gradebook holds them.

    ``names`` also takes who each learner is from the roster. Raises HandoverError or CourseError
    when there is nothing to hand over, or no roster to take names from.
    """
    folder = CourseFolder(path)
    course, people = folder.course, folder.roster()
    if names and not people:
        raise HandoverError(
            f"There are no names to write: {path / ROSTER} is missing or empty. Give a roster with "
            "tpiece assign --roster people.csv, or leave out --names."
        )
    if next(verdicts(folder), None) is None:
        raise nothing_yet(folder)
    return Source(folder, course, people, course_key(path), names, scores(folder))


def scores(folder: CourseFolder) -> dict[tuple[str, str], float]:
    """Return the score of every (learner, unit) as the gradebook holds it."""
    from graders.nbgrader.gradebook import Nbgrader
    from graders.nbgrader.scores import totals

    with Nbgrader(folder).gradebook() as book:
        return totals(book)


def hand_in(folder: CourseFolder, graded: Graded) -> int:
    """Return which of the learner's hand-ins this is, counted from 1 by when it was handed in."""
    kept = folder.path / FOLDER / graded.learner / graded.unit
    if not kept.is_dir() or len(list(kept.glob("*.json"))) < 2:
        return 1
    digests = [each.digest for each in attempts(folder.path, graded.learner, graded.unit)]
    return digests.index(graded.digest) + 1 if graded.digest in digests else len(digests)


def started(folder: CourseFolder, graded: Graded) -> str:
    """Return when the learner's answers file was begun, as its head says; nothing if not known."""
    path = answers_path(folder.submitted(graded.learner, graded.unit) / f"{graded.unit}.ipynb")
    if not graded.digest or path.is_symlink() or not path.is_file():
        return ""
    with path.open("rb") as file:
        head = file.readline(LONGEST_LINE)
    try:
        when = json.loads(head.decode("utf-8-sig"))["at"]
    except (ValueError, KeyError, TypeError, RecursionError):
        return ""
    return when if isinstance(when, str) else ""
