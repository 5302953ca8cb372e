"""Grades a whole course: streams submissions, marks them in parallel, records them in batches.

A batch is marked by a worker that touches nothing but that batch's own files, and recorded by
this process in one transaction. So the number and the order of workers change nothing, a crash
loses at most what grading again brings back, and memory stays flat.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from itertools import islice
from multiprocessing import get_context
from pathlib import Path

from graders.course.coursefolder import CourseFolder
from graders.course.stamps import Stamps, stamps
from graders.grading.cluster import Submit, cluster
from graders.grading.grade import grade
from graders.grading.marked import write_marked
from graders.grading.result import give_back
from graders.learner.history import keep
from graders.marking.graded import VERDICT_FILE, write_verdict
from graders.marking.scored import Scored, scored
from workbook.core.quantities import registry
from workbook.core.whose import learner_id
from workbook.course.settings import Course, read_course

BATCH = 50  # submissions
AHEAD = 4  # batches waiting for each worker; more would only fill memory

Job = tuple[str, str]  # unit, learner


@dataclass(frozen=True, slots=True)
class Marked:
    """What a worker returns: verdicts that count, and a sentence for each job that failed."""

    graded: tuple[Scored, ...]
    failed: tuple[str, ...] = ()
    lost: tuple[Job, ...] = ()


def jobs(folder: CourseFolder) -> Iterator[Job]:
    """Yield every submission there is, unit by unit."""
    for unit in folder.course.units:
        for learner in folder.learners_with_work(unit):
            yield unit, learner


def refusals(folder: CourseFolder) -> Callable[[str], str]:
    """Return what says why a learner's folder is not graded; nothing when it is."""
    roster = folder.roster()

    def refusal(learner: str) -> str:
        try:
            learner_id(learner)
        except ValueError as error:
            return f"submitted/{learner}: {error} Not graded; rename the folder."
        if roster and learner not in roster:
            return (
                f"submitted/{learner}: {learner!r} is not on the roster. Not graded; add the "
                f"learner to {folder.path / 'roster.csv'} and grade again, or remove the folder."
            )
        return ""

    return refusal


def mark_batch(path: str, batch: Sequence[Job]) -> Marked:
    """Mark a batch of submissions of the course at a path, and write their marked pages."""
    course = read_course(Path(path))  # each time: a cluster's worker outlives a change of settings
    known = stamps(Path(path))
    graded, failed, lost = [], [], []
    for unit, learner in batch:
        try:
            graded.append(_mark(Path(path), course, known, unit, learner))
        except Exception as error:  # noqa: BLE001  # one submission never stops the others
            lost.append((unit, learner))
            failed.append(
                f"{learner}, {unit}: not graded, because the grader itself failed "
                f"({type(error).__name__}: {str(error)[:120]}). Its score was left as it was; "
                "please report this."
            )
    return Marked(tuple(graded), tuple(failed), tuple(lost))


def _mark(path: Path, course: Course, known: Stamps, unit: str, learner: str) -> Scored:
    folder = CourseFolder(path)
    graded = grade(folder.submitted(learner, unit), course, unit, learner, known)
    done = keep(path, graded, course)
    target = folder.autograded(learner, unit)
    target.mkdir(parents=True, exist_ok=True)
    write_marked(path / "release" / unit / f"{unit}.ipynb", done, target / f"{unit}.ipynb")
    write_verdict(done, target, VERDICT_FILE)
    made = scored(done)
    try:
        give_back(folder.exchange, folder.submitted(learner, unit), done, course)
    except OSError as error:
        says = f"the result did not reach the learner: {error.filename} ({error.strerror})."
        made = replace(made, problems=(*made.problems, says))
    return made


@dataclass(frozen=True, slots=True)
class Crew:
    """Who marks: what gives a batch to others, none when this process marks, and how far ahead."""

    submit: Submit | None = None
    ahead: int = 0


@contextmanager
def crew(workers: int, scheduler: str) -> Iterator[Crew]:
    """Yield who marks: this process, processes of its own, or a Dask cluster's.

    Its own processes start at once, so that they get ready while this one does something else.
    """
    if scheduler:  # every worker of the cluster must see the course folder at the same path
        with cluster(scheduler) as (submit, there):
            yield Crew(submit, there * AHEAD)
    elif workers <= 1:
        yield Crew()
    else:
        with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
            for _ in range(workers):
                pool.submit(_get_ready)
            yield Crew(pool.submit, workers * AHEAD)


def _get_ready() -> None:
    """Load what a worker's first batch would wait for."""
    registry()


def marked_batches(path: Path, todo: Iterable[Job], by: Crew) -> Iterator[Marked]:
    """Yield batches in their order as they are marked."""
    batches = _batches(todo)
    if by.submit is None:
        for batch in batches:
            yield mark_batch(str(path), batch)
    else:
        yield from _streamed(by.submit, path, batches, by.ahead)


def _batches(todo: Iterable[Job]) -> Iterator[list[Job]]:
    waiting = iter(todo)
    while batch := list(islice(waiting, BATCH)):
        yield batch


def _streamed(
    submit: Submit, path: Path, batches: Iterable[list[Job]], most: int
) -> Iterator[Marked]:
    """Keep a few batches in the works at a time, and yield them in their order."""
    waiting: list[Future[Marked]] = []
    for batch in batches:
        waiting.append(submit(mark_batch, str(path), batch))
        if len(waiting) >= most:
            yield waiting.pop(0).result()
    for each in waiting:
        yield each.result()
