"""A learner's result of one unit: what marking found, as a file that the learner's room shows.

Marking writes it (``graders.grading.result``), where the course takes work in or on the learner's
own machine; here it is read, whole or not at all. It is in the words of the course's language and
holds one learner's work only.
"""

from __future__ import annotations

import json
import math
import types
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields, is_dataclass
from pathlib import Path
from typing import Any, Union, get_args, get_origin, get_type_hints

from workbook.core.answer_sheet import answers_path
from workbook.core.errors import PlainError
from workbook.core.plainfile import read_plain
from workbook.course.handed import FEEDBACK, Way, digest, sent
from workbook.course.settings import Course

FORMAT = "tpiece-result/1"
OWN = Path(".tpiece", "results")  # in a learner's folder: what was marked there
LARGEST = 4 * 2**20  # bytes
STANDINGS = ("ready", "not-yet", "unsafe", "unmarked")
LATER = {"later": True}  # of a field that results of before do not have
GRAVE = ("", "hands", "act", "others")  # whose act could harm: done, chosen, or a colleague's


class ResultError(PlainError, ValueError):
    """A result that cannot be shown; the message says which, and what to do."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where to read on: a lesson's page and a heading on it."""

    page: str
    heading: str


@dataclass(frozen=True, slots=True)
class Belief:
    """A belief that an answer fits, what is true, and where to read of it."""

    believes: str
    true: str
    read: tuple[Place, ...] = ()


@dataclass(frozen=True, slots=True)
class Found:
    """One finding: what was looked for and met or not, by which rule, at which second of a run.

    ``grave`` says whose act could have harmed a baby, if any; ``trace`` is the needle around the
    moment (s, cmH2O).
    """

    met: bool
    says: str
    grave: str = ""
    rule: str = ""
    source: str = ""
    belief: Belief | None = None
    at: float | None = None
    trace: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, slots=True)
class Run:
    """A run at the bench: how long it took (s), and each touch: when (s), what, to which click."""

    seconds: float
    touches: tuple[tuple[float, str, int | None], ...]


@dataclass(frozen=True, slots=True)
class Question:
    """One question: what it asks, what was answered, its points, what was found.

    ``expert`` is how an expert does the same case, where it is done at the bench; results of
    before do not have it.
    """

    id: str
    asks: str
    said: str
    earned: float
    possible: float
    found: tuple[Found, ...]
    expert: Run | None = field(default=None, metadata=LATER)


@dataclass(frozen=True, slots=True)
class Result:
    """A unit as it was marked; ``answers`` is the digest of the file that was.

    ``standing`` is one of ``STANDINGS``; ``says`` and ``next`` are sentences. The time is in UTC
    (ISO 8601). The same work marked again gives the same result.
    """

    learner: str
    course: str
    unit: str
    title: str
    language: str
    answers: str
    attempt: int
    handed_in: str
    standing: str
    earned: float
    possible: float
    says: str
    next: str
    read: tuple[Place, ...]
    notes: tuple[str, ...]
    questions: tuple[Question, ...]
    format: str = FORMAT

    def told(self) -> dict[str, Any]:
        """Return the same as plain data."""
        return asdict(self)


def read_result(path: Path, learner: str, unit: str) -> Result:
    """Return the result in a file. Raises ResultError when it is none, or another's."""
    try:
        data = json.loads(read_plain(path, LARGEST))
        found = result_of(data)
    except (OSError, ValueError, RecursionError) as error:
        raise ResultError(_damaged(unit, str(error))) from None
    if (found.learner, found.unit) != (learner, unit):
        raise ResultError(_damaged(unit, "it is another's"))
    return found


def _damaged(unit: str, why: str) -> str:
    return (
        f"The result of {unit} cannot be shown ({why[:120]}). Your answers are safe. Ask your "
        "educator to have it marked again."
    )


def result_of(data: Any) -> Result:
    """Return the result that plain data holds; ValueError with the place of the first mistake."""
    found: Result = _made(Result, data, "result")
    if found.format != FORMAT:
        raise ValueError(f"format {found.format[:40]!r} is unknown")
    if found.standing not in STANDINGS:
        raise ValueError(f"standing {found.standing[:40]!r} is unknown")
    for question in found.questions:
        if strange := [f.grave for f in question.found if f.grave not in GRAVE]:
            raise ValueError(f"{question.id[:40]}: {strange[0][:40]!r} is unknown")
    return found


def _made(kind: Any, value: Any, where: str) -> Any:
    """Return a value as its type says, dataclasses and tuples of any depth; ValueError if not."""
    if is_dataclass(kind) and isinstance(kind, type):
        return _dataclass(kind, value, where)
    if get_origin(kind) in (Union, types.UnionType):
        inner = next(each for each in get_args(kind) if each is not type(None))
        return None if value is None else _made(inner, value, where)
    if get_origin(kind) is tuple:
        return _tuple(get_args(kind), value, where)
    if kind is float and type(value) in (int, float) and math.isfinite(value):
        return float(value)
    if kind is not float and type(value) is kind:
        return value
    raise ValueError(f"{where} is no {kind.__name__}")


def _dataclass(kind: type, value: Any, where: str) -> Any:
    if not isinstance(value, Mapping):
        raise ValueError(f"{where} is no object")
    hints, names = get_type_hints(kind), {each.name for each in fields(kind)}
    later = {each.name for each in fields(kind) if each.metadata == LATER}
    if strange := sorted((set(value) ^ names) - (later - set(value))):
        raise ValueError(f"{where}.{strange[0][:40]} is missing or unknown")
    there = names & set(value)
    return kind(**{name: _made(hints[name], value[name], f"{where}.{name}") for name in there})


def _tuple(inner: tuple[Any, ...], value: Any, where: str) -> tuple[Any, ...]:
    if not isinstance(value, list | tuple):
        raise ValueError(f"{where} is no list")
    if inner[-1] is Ellipsis:
        return tuple(_made(inner[0], each, f"{where}[{n}]") for n, each in enumerate(value))
    if len(value) != len(inner):
        raise ValueError(f"{where} has {len(value)} parts, not {len(inner)}")
    return tuple(_made(kind, each, where) for kind, each in zip(inner, value, strict=True))


def came_back(course: Path, answers: str) -> Path:
    """Return where a course gives back the result of the work whose answers file has a digest.

    Only who has that file knows its digest, so nobody finds another's result.
    """
    return course / FEEDBACK / f"{answers}.json"


def own(folder: Path, unit: str) -> Path:
    """Return where a learner's folder keeps what was marked there."""
    return folder / OWN / f"{unit}.json"


@dataclass(frozen=True, slots=True)
class Came:
    """A result that is there; ``latest`` says that it was given for the latest hand-in.

    ``better`` says that it is that of an earlier one all the same, which counts; ``given`` that it
    was given for a hand-in that is known here.
    """

    result: Result
    latest: bool = False
    better: bool = False
    given: bool = False


def find(folder: Path, course: str, learner: str, unit: str) -> Came | None:
    """Return the result of the latest hand-in of a unit that has one; None where none has.

    What the coordinator's marking gave stands before what was marked here. Raises ResultError.
    """
    here, way = own(folder, unit), Way.of(folder)
    local = read_result(here, learner, unit) if here.is_file() else None
    for n, each in enumerate(sent(folder, course, learner, unit)):
        name = digest(answers_path(each / f"{unit}.ipynb"))
        back = came_back(way.course, name) if way and name else None
        if back is not None and back.is_file():
            found = read_result(back, learner, unit)
            return Came(found, n == 0, n == 0 and found.answers not in ("", name), given=True)
        if local is not None and local.answers == name:
            return Came(local, n == 0, given=True)
    return None if local is None else Came(local)


def marked(folder: Path, course: Course, learner: str, unit: str) -> bool:
    """Say whether the latest hand-in of a unit has its result, whoever marked it."""
    try:
        came = find(folder, course.id, learner, unit)
    except ResultError:
        return True  # there it is, and the room says what is wrong with it
    return came is not None and came.latest


def waits(folder: Path, course: Course, learner: str, unit: str) -> bool:
    """Say whether the latest hand-in of a unit is still to be marked, by who marks at hand-in."""
    way = Way.of(folder)
    by_file = way is None or way.by_file
    if not course.at_hand_in or by_file or not any(sent(folder, course.id, learner, unit)):
        return False
    return not marked(folder, course, learner, unit)
