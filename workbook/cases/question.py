"""A question as data: what is asked and with what a learner answers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property
from typing import Any

from workbook.bench.sketch import said as sketched
from workbook.cases.draw import Draw
from workbook.core.language import _
from workbook.core.quantities import in_words
from workbook.face.fit import FaceError, read_fit
from workbook.rules import RuleBook
from workbook.scenario.told import case_in_words
from workbook.scenario.told_note import note_in_words
from workbook.taps import TapsError, read_taps
from workbook.trial.told import moves_in_words

PRESSURE_UNITS = ("cmH2O", "hPa", "kPa", "mmHg")  # in which a reading may be typed


class Kind(StrEnum):
    """The control a question is answered with."""

    SEQUENCE = "sequence"
    CHOICE = "choice"
    CHOICES = "choices"
    NUMBER = "number"
    BENCH = "bench"
    TAPS = "taps"
    FACE = "face"
    SKETCH = "sketch"
    TRIAL = "trial"
    CASE = "case"
    NOTE = "note"


class Later(Mapping[str, Any]):
    """What a page is shown, worked out when the page asks: marking never does."""

    def __init__(self, make: Callable[[], Mapping[str, Any]]) -> None:
        self._make = make

    @cached_property
    def _made(self) -> Mapping[str, Any]:
        return self._make()

    def __getitem__(self, name: str) -> Any:
        return self._made[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._made)

    def __len__(self) -> int:
        return len(self._made)


@dataclass(frozen=True, slots=True)
class Option:
    """One thing to choose or to arrange."""

    id: str
    text: str


@dataclass(frozen=True, slots=True)
class Question:
    """One question of a case.

    ``facts`` is what was drawn for it, for the marking to start from: never the right answer.
    ``shows`` is what its control shows besides, as plain data for the page. ``of_others`` says that
    it asks a learner to judge what somebody else did.
    """

    id: str
    kind: Kind
    label: str
    context: str = ""
    help: str = ""
    options: tuple[Option, ...] = ()
    units: tuple[str, ...] = ()
    facts: Mapping[str, Any] = field(default_factory=dict)
    shows: Mapping[str, Any] = field(default_factory=dict)
    of_others: bool = False


@dataclass(frozen=True, slots=True)
class Given:
    """What questions of one kind are drawn from: chance, groups of babies, the rules, the words."""

    draw: Draw
    groups: tuple[str, ...]
    book: RuleBook
    texts: Mapping[str, Any]

    def each(
        self, ids: Iterable[str], kinds: Iterable[str], ask: Callable[[str, str, Given], Question]
    ) -> list[Question]:
        """Return a question for each id, each of its own drawn kind."""
        return [ask(id, kind, self) for id, kind in zip(ids, kinds, strict=True)]


@dataclass(frozen=True, slots=True)
class Case:
    """One learner's drawn exercise."""

    course: str
    exercise: str
    learner: str
    edition: str
    questions: tuple[Question, ...]
    attempt: int = 1

    def __getitem__(self, id: str) -> Question:
        for question in self.questions:
            if question.id == id:
                return question
        known = ", ".join(q.id for q in self.questions)
        raise KeyError(f"{id!r} is not a question of {self.exercise}; there are {known}.")


def spoken(question: Question, value: Any) -> str:
    """Return an answer in the words the learner chose from, a line for each of several parts."""
    words = {option.id: option.text for option in question.options}
    if isinstance(value, list):
        said = [words.get(str(v), str(v)) for v in value]
        if question.kind is Kind.SEQUENCE:
            said = [f"({n}) {text}" for n, text in enumerate(said, start=1)]
        return "\n".join(said) or _("nothing chosen")
    if isinstance(value, Mapping) and question.kind is Kind.BENCH:
        actions, seconds = value.get("actions"), value.get("duration")
        count = len(actions) if isinstance(actions, list) else _("unreadable")
        says = _("a run at the bench: {count} actions in {seconds} s")
        lasted = f"{seconds:.0f}" if isinstance(seconds, float) else str(seconds)
        return says.format(count=count, seconds=lasted[:8])
    if question.kind is Kind.TAPS:
        return _tapped(value)
    if question.kind is Kind.FACE:
        return _placed(value)
    if question.kind is Kind.SKETCH:
        return sketched(value)
    if question.kind is Kind.TRIAL:
        return moves_in_words(value)
    if question.kind is Kind.CASE:
        return case_in_words(value)
    if question.kind is Kind.NOTE:
        return note_in_words(value)
    if isinstance(value, Mapping):
        return f"{value.get('text', '')} {in_words(str(value.get('unit', '')))}".strip()
    return words.get(str(value), str(value))


def _tapped(value: Any) -> str:
    try:
        return read_taps(value).says
    except TapsError:
        return _("a record of taps that cannot be read")


def _placed(value: Any) -> str:
    try:
        return read_fit(value).says
    except FaceError:
        return _("a mask whose place cannot be read")
