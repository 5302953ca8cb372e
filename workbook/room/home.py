"""What a learner's home page says: the way through the course, and how far it has come.

Read from the learner's own folder each time it is asked for: the pages laid there, the answers
files beside them, what was handed in, what came back. Nothing is kept, so nothing can be out of
date. The words stand in ``labextension/page/words.js``; here are names, counts and times.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from workbook.core.answer_sheet import AnswerFileError, answers_path, read_answers
from workbook.core.moments import moment
from workbook.core.whose import whoami
from workbook.course.handed import TIMESTAMP, TO_SEND, Way, digest, sent
from workbook.course.result import ResultError, find, waits
from workbook.course.settings import FILE, Course, read_course

START = "start_here"
RESULT = "result"  # ends the address of what came back: UNIT/result
ENOUGH = 0.5  # share of a lesson's questions after which its exercise comes next
_NUMBERED = re.compile(r"\w+ \d+: (.+)", re.DOTALL)  # "Lesson 1: set-up order"


@dataclass(frozen=True, slots=True)
class Back:
    """What came back of an exercise, in short; ``earlier`` says that a later hand-in waits.

    ``better`` says that a later one is marked, and this one counts.
    """

    path: str
    standing: str = ""
    says: str = ""
    next: str = ""
    earned: float = 0.0
    possible: float = 0.0
    earlier: bool = False
    trouble: str = ""
    better: bool = False


@dataclass(frozen=True, slots=True)
class Page:
    """One page of the course as a learner knows it, and how far it has come.

    ``minutes`` is what the page says it takes; ``handed_in`` a time in UTC (ISO 8601), and
    ``changed`` says that an answer was changed since; ``result`` is what came back, ``waits`` that
    it is on its way.
    """

    path: str
    title: str
    name: str
    minutes: int | None = None
    answered: int = 0
    asked: int = 0
    trouble: str = ""
    handed_in: str = ""
    changed: bool = False
    result: Back | None = None
    waits: bool = False


@dataclass(frozen=True, slots=True)
class Unit:
    """One step of the way: its lesson, its exercise, or both."""

    number: str
    name: str
    lesson: Page | None
    exercise: Page | None


@dataclass(frozen=True, slots=True)
class Home:
    """A learner's course; ``next`` is the path of the page to go on with, if one is left.

    ``to_send`` is where work handed in lies as files to send, where there is no other way.
    """

    course: str
    learner: str
    language: str
    due: str
    start: Page | None
    units: tuple[Unit, ...]
    more: tuple[Page, ...]
    next: str
    to_send: str = ""

    def told(self) -> dict[str, Any]:
        """Return the same as plain data."""
        return asdict(self)


def home(folder: Path, *, marks_here: bool = False) -> Home:
    """Return what is to be shown of a learner's folder.

    Where this server marks (``marks_here``) no result is on its way from elsewhere.

    Raises CourseError when its settings cannot be used.
    """
    course = read_course(folder) if (folder / FILE).is_file() else None
    learner = whoami()
    lessons = {path.stem: path for path in folder.glob("*.ipynb") if _about(path).get("unit")}
    exercises = {path.stem: path for path in folder.glob("*/*.ipynb") if _is_unit(path, course)}
    first = lessons.pop(START, None)
    start = _page(first, folder) if first else None
    units, more = [], []
    for name in sorted({*lessons, *exercises}, key=_in_order):
        lesson = _page(lessons[name], folder) if name in lessons else None
        exercise = (
            _exercise(exercises[name], folder, course, learner, marks_here=marks_here)
            if name in exercises
            else None
        )
        if exercise is None and lesson is not None and _has_exercise(name):
            more.append(lesson)  # the course does not ask for this unit
        else:
            of = lesson or exercise
            units.append(Unit(name.partition("_")[0], of.name if of else name, lesson, exercise))
    return Home(
        course.title if course else "",
        learner,
        str(_about(first).get("language", "en")) if first else "en",
        course.due if course else "",
        start,
        tuple(units),
        tuple(more),
        _next(start, units),
        str(folder / TO_SEND) if (way := Way.of(folder)) and way.by_file else "",
    )


def _has_exercise(name: str) -> bool:
    from workbook.cases import exercises

    return name in exercises()


def _in_order(name: str) -> tuple[int, str]:
    number = name.partition("_")[0]
    return (int(number) if number.isdecimal() else 1000, name)


def _is_unit(path: Path, course: Course | None) -> bool:
    """Say whether a page is an exercise of the course: named as its folder, and still asked for."""
    name = path.stem
    return name == path.parent.name and (course is None or name in course.units)


def _capital(name: str) -> str:
    """Return a name with its first letter large; a mark such as an opening "¿" may stand before."""
    return re.sub(r"\w", lambda first: first[0].upper(), name, count=1)


def _page(path: Path, folder: Path) -> Page:
    about, title = _about(path), _title(path)
    numbered = _NUMBERED.fullmatch(title)
    name = _capital(numbered[1]) if numbered else title
    minutes = about.get("minutes")
    answered, asked, trouble = _counted(answers_path(path))
    return Page(
        path.relative_to(folder).as_posix(),
        title,
        name,
        minutes if isinstance(minutes, int) else None,
        answered,
        asked,
        trouble,
    )


def _exercise(
    path: Path, folder: Path, course: Course | None, learner: str, *, marks_here: bool
) -> Page:
    from dataclasses import replace

    page, when, changed, last = _page(path, folder), "", False, ""
    if copy := next(sent(folder, course.id if course else "*", learner, path.stem), None):
        told = moment((copy / TIMESTAMP).read_text(encoding="utf-8"))
        when = told.isoformat() if told else ""
        last = digest(copy / answers_path(path).name)
        changed = digest(answers_path(path)) != last
    back = _back(folder, course, learner, path.stem, last) if course else None
    on_its_way = course is not None and not marks_here and waits(folder, course, learner, path.stem)
    return replace(page, handed_in=when, changed=changed, result=back, waits=on_its_way)


def _back(folder: Path, course: Course, learner: str, unit: str, last: str) -> Back | None:
    """Return what came back of a unit whose work handed in ``last`` has this digest."""
    path = f"{unit}/{RESULT}"
    try:
        came = find(folder, course.id, learner, unit)
    except ResultError as error:
        return Back(path, trouble=str(error))
    if came is None:
        return None
    found = came.result
    # A result that names no answers may be of any hand-in, but for one that it was given for.
    known = came.given or found.answers not in ("", last)
    earlier = bool(last) and not came.latest and known
    return Back(
        path, found.standing, found.says, found.next, found.earned, found.possible, earlier,
        better=came.better,
    )  # fmt: skip


def _counted(path: Path) -> tuple[int, int, str]:
    """Return how many questions are answered of how many, and what is wrong with the file."""
    if not path.is_file():
        return 0, 0, ""
    try:
        sheet = read_answers(path)
    except AnswerFileError as error:
        return 0, 0, str(error)
    given = {id for id, answer in sheet.latest().items() if answer.value is not None}
    answered = given & set(sheet.asked) if sheet.asked else given
    return len(answered), max(len(sheet.asked), len(answered)), ""


def _next(start: Page | None, units: Sequence[Unit]) -> str:
    """Return the page to go on with: an exercise that is begun, what could harm, what is left."""
    pages = list(_order(units))
    if start and not start.answered and not any(page.answered for page in pages):
        return start.path
    exercises = {unit.exercise.path: unit for unit in units if unit.exercise}
    begun = (page for page in pages if page.path in exercises and page.answered)
    if resumed := next((page for page in begun if not page.handed_in), None):
        return resumed.path
    if unsafe := _came_back(units, "unsafe"):
        return unsafe
    for page in pages:
        if page.path in exercises:
            left = not page.handed_in
        else:
            mine = next(unit for unit in units if unit.lesson is page)
            through = page.answered > 0 and page.answered >= ENOUGH * page.asked
            left = not through and not (mine.exercise and mine.exercise.answered)
        if left:
            return page.path
    return _came_back(units, "not-yet") or _came_back(units, "unmarked")


def _came_back(units: Sequence[Unit], standing: str) -> str:
    """Return the first result that stands so, unless a later hand-in waits; else nothing."""
    back = (unit.exercise.result for unit in units if unit.exercise and unit.exercise.result)
    found = (each.path for each in back if each.standing == standing and not each.earlier)
    return next(found, "")


def _order(units: Sequence[Unit]) -> Iterator[Page]:
    """Yield the pages in the order they are best worked through.

    A lesson without an exercise of its own comes before the exercise of the unit before it: the
    bench is shown before an exercise ends on it.
    """
    told: set[str] = set()
    for unit, after in zip(units, [*units[1:], None], strict=False):  # a course may be empty
        early = after.lesson if after and not after.exercise else None
        for page in (unit.lesson, early, unit.exercise):
            if page is not None and page.path not in told:
                told.add(page.path)
                yield page


def _about(path: Path) -> dict[str, Any]:
    return _read(path, path.stat().st_mtime_ns)[0]


def _title(path: Path) -> str:
    return _read(path, path.stat().st_mtime_ns)[1]


@lru_cache(maxsize=64)
def _read(path: Path, changed: int) -> tuple[dict[str, Any], str]:
    """Return what a page says of itself, and its first heading; its own name where it has none."""
    try:
        page = json.loads(path.read_text(encoding="utf-8"))
        cells = ["".join(cell["source"]) for cell in page["cells"]]
        about = page["metadata"].get("tpiece", {})
    except (ValueError, KeyError, TypeError):
        return {}, path.stem
    lines = (line for text in cells for line in text.splitlines())
    titles = (line[2:].strip() for line in lines if line.startswith("# "))
    return dict(about), next(titles, path.stem)
