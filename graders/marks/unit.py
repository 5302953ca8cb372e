"""What a unit is to the graders: who marks it, who plays its beliefs, and where these show."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from typing import Any, Protocol

from graders.marks.shown import Shown, Spoken
from graders.marks.verdict import Verdict
from workbook.cases import Case, Question
from workbook.rules import RuleBook


class Marker(Protocol):
    """The module that marks a unit's exercise: ``marks.py`` in its room."""

    @property
    def EXERCISE(self) -> str:  # noqa: N802
        """The exercise's id."""

    @property
    def POINTS(self) -> Mapping[str, float]:  # noqa: N802
        """What each question is worth."""

    def check(self, case: Case, question: str, value: Any, book: RuleBook) -> Verdict:
        """Return the verdict on one answer; None means it was not answered."""

    def model_answers(self, case: Case, book: RuleBook) -> dict[str, Any]:
        """Return answers that earn every point."""


class Player(Protocol):
    """The module that answers by a belief: ``plays.py`` in its room."""

    @property
    def PLAYS(self) -> Collection[str]:  # noqa: N802
        """The beliefs that can be played."""

    def play(self, answers: Any, case: Case, book: RuleBook, misconception: str) -> None:
        """Change right answers into those of a learner who holds a belief."""

    def shows(self, case: Case, misconception: str) -> bool:
        """Say whether a case has a question in which a belief can show."""


class Signs(Protocol):
    """The module that knows where beliefs can show: ``beliefs.py`` in its room."""

    @property
    def SHOWN(self) -> Shown:  # noqa: N802
        """What a drawn question can show."""

    @property
    def SPOKEN(self) -> Spoken:  # noqa: N802
        """What a question can show, whatever is drawn."""

    def shared(self, asked: Question, value: Any, sign: str, book: RuleBook) -> tuple[str, ...]:
        """Return the other beliefs that lead to the very same answer as a sign that was shown."""


@dataclass(frozen=True, slots=True)
class Beside:
    """An answer that is marked beside another one: a note beside the case that it tells of."""

    own: Any
    other: Any


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit by its three modules; ``run`` does a question at the bench as it should be done.

    ``beside`` names, by question, the one whose answer its own is marked with (``Beside``).
    """

    marks: Marker
    plays: Player
    beliefs: Signs
    run: Callable[[Question, RuleBook], Any] | None = None
    beside: Mapping[str, str] = field(default_factory=dict)
