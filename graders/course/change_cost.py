"""What a change of a course's settings costs the people who have handed in already."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from graders.course.coursefolder import CourseFolder
from graders.course.stamps import Used
from workbook.core.answer_sheet import AnswerFileError, answer_bytes, answer_sheet, answers_path
from workbook.course.settings import Course


def cost(folder: CourseFolder, old: Course, new: Course, stamp: str) -> Iterator[str]:
    """Yield a sentence for each thing that would be lost; ``stamp`` is the new rules' of the site.

    Nothing is written.
    """
    yield from _of_rules(folder, old, new, stamp)
    yield from _of_units(folder, old, new)
    yield from _of_limit(folder, old, new)


def people_with_work(folder: CourseFolder, units: Iterable[str] | None = None) -> set[str]:
    """Return who handed in, collected or still in the letter box; of some units if named."""
    course = folder.course
    wanted = set(course.units if units is None else units)
    found = {id for unit in wanted for id in folder.learners_with_work(unit)}
    inbound = folder.exchange / course.id / "inbound"
    for path in inbound.iterdir() if inbound.is_dir() else ():
        learner, *rest = path.name.split("+")
        if rest and rest[0] in wanted:
            found.add(learner)
    return found


def _of_rules(folder: CourseFolder, old: Course, new: Course, stamp: str) -> Iterator[str]:
    before, after = Used(old.edition, old.stamp), Used(new.edition, stamp)
    people = people_with_work(folder)
    if before.key == after.key or not people:
        return
    rules = (
        f"edition {old.edition} would become {new.edition}"
        if before.edition != after.edition
        else "the local protocol would change"
    )
    yield (
        f"{_count(len(people), 'person has', 'people have')} handed in already, and {rules}: their "
        "cases are drawn anew and their work stays marked by the earlier rules, so that two "
        "kinds of marks stand side by side until each fetches the exercises again and hands in."
    )


def _of_units(folder: CourseFolder, old: Course, new: Course) -> Iterator[str]:
    for unit in sorted(set(old.units) - set(new.units)):
        people = people_with_work(folder, [unit])
        if people:
            yield (
                f"{_count(len(people), 'person has', 'people have')} handed in {unit}: it would "
                "no longer be collected, graded or asked for."
            )


def _of_limit(folder: CourseFolder, old: Course, new: Course) -> Iterator[str]:
    """Yield of how many people another attempt would be marked than is now."""
    if new.attempts is None or (old.attempts is not None and old.attempts <= new.attempts):
        return
    people = set()
    for unit in old.units:
        for learner in folder.learners_with_work(unit):
            if _attempt_marked(folder, learner, unit, old.attempts) > new.attempts:
                people.add(learner)
    if people:
        yield (
            f"{_count(len(people), 'person has', 'people have')} handed in an attempt above "
            f"{new.attempts}: it would no longer be marked, and attempt {new.attempts} would count."
        )


def _attempt_marked(folder: CourseFolder, learner: str, unit: str, most: int | None) -> int:
    """Return which attempt of collected work is marked; the first where it cannot be read."""
    path = answers_path(folder.submitted(learner, unit) / f"{unit}.ipynb")
    try:
        data = answer_bytes(path)
        return answer_sheet(data, path.name).counted(most) if b'"attempt"' in data else 1
    except AnswerFileError:
        return 1


def _count(n: int, one: str, many: str) -> str:
    return f"{n} {one if n == 1 else many}"
