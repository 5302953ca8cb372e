"""A learner's own page as plain data: what was right, what was missed, why, and what to do next.

Nothing here compares one learner with another.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from graders.learner.next_step import hand_in, next_step, was_shown
from graders.learner.retest import Retest
from graders.learner.standing import percent
from graders.marking.graded import Graded
from graders.marks.misconceptions import Misconception, misconceptions
from graders.marks.verdict import Finding, Verdict
from workbook.cases import Case, Kind, case, exercises
from workbook.cases import Question as Asked
from workbook.core.language import _, in_force, speaking
from workbook.course.settings import Course
from workbook.rules import Rule, RuleBook, RuleError, editions, rulebook

HANDS = (
    Kind.BENCH,
    Kind.TAPS,
    Kind.FACE,
    Kind.TRIAL,
    Kind.CASE,
)  # what is done by hand, not chosen


@dataclass(frozen=True, slots=True)
class Told:
    """One finding for its learner: what it says, the rule in words, and where that is from.

    ``whose`` act it speaks of: of the learner's own ``hands``, an ``act`` that was chosen, or what
    ``others`` did and the learner judged.
    """

    finding: Finding
    rule: str = ""
    belief: Misconception | None = None
    whose: str = "act"

    @property
    def grave(self) -> bool:
        """Say whether the finding keeps from the lab, and rests on an answer."""
        return self.finding.unsafe and was_shown(self.finding)

    @property
    def unsafe(self) -> bool:
        """Say whether an answer showed an act of the learner's own that could harm."""
        return self.grave and self.whose != "others"

    @property
    def overlooked(self) -> bool:
        """Say whether a danger in what others did was overlooked."""
        return self.grave and self.whose == "others"


@dataclass(frozen=True, slots=True)
class Question:
    """One question: what it asks, what was answered, the points, and every finding."""

    id: str
    asks: str
    said: str
    verdict: Verdict
    told: tuple[Told, ...]

    @property
    def missed(self) -> tuple[Told, ...]:
        """Return what was missed, unsafe first."""
        return tuple(
            sorted(
                (t for t in self.told if not t.finding.met),
                key=lambda t: (not t.unsafe, not t.overlooked),
            )
        )

    @property
    def met(self) -> tuple[Told, ...]:
        """Return what was right."""
        return tuple(t for t in self.told if t.finding.met)


@dataclass(frozen=True, slots=True)
class Try:
    """One hand-in: when, its share of the points in percent, and the attempt it belongs to.

    The share is None when it was unusable. Each attempt asks about another case.
    """

    when: str
    percent: float | None
    attempt: int = 1


@dataclass(frozen=True, slots=True)
class Part:
    """One unit of a learner's page; ``questions`` to look at again come first."""

    unit: str
    next: str
    work: Graded | None = None
    score: float = 0.0
    ready: bool = False
    questions: tuple[Question, ...] = ()
    tries: tuple[Try, ...] = ()

    @property
    def percent(self) -> float | None:
        """Return the share of points in percent, or None where nothing was marked."""
        return percent(self.score, self.work.possible) if self.work is not None else None

    @property
    def unsafe(self) -> tuple[Told, ...]:
        """Return every unsafe act that was shown."""
        return tuple(t for q in self.questions for t in q.missed if t.unsafe)

    @property
    def overlooked(self) -> tuple[Told, ...]:
        """Return every danger in what others did that was overlooked."""
        return tuple(t for q in self.questions for t in q.missed if t.overlooked)

    @property
    def again(self) -> tuple[Question, ...]:
        """Return the questions with something to look at again."""
        return tuple(q for q in self.questions if q.missed)

    @property
    def right(self) -> tuple[Question, ...]:
        """Return the questions in which everything was right."""
        return tuple(q for q in self.questions if not q.missed)

    @property
    def attempts(self) -> int:
        """Return the latest attempt that was handed in."""
        return max((one.attempt for one in self.tries), default=1)

    @property
    def gain(self) -> float | None:
        """Return the change from the first usable hand-in to the latest, in percent points."""
        known = [t.percent for t in self.tries if t.percent is not None]
        return round(known[-1] - known[0], 1) if len(known) > 1 else None


@dataclass(frozen=True, slots=True)
class LearnerView:
    """Everything a learner's own page shows."""

    learner: str
    name: str
    course: Course
    parts: tuple[Part, ...]
    retest: Retest
    lab: str = ""

    @property
    def unsafe(self) -> tuple[Told, ...]:
        """Return every unsafe act that was shown, unit by unit."""
        return tuple(t for part in self.parts for t in part.unsafe)

    @property
    def overlooked(self) -> tuple[Told, ...]:
        """Return every danger in what others did that was overlooked, unit by unit."""
        return tuple(t for part in self.parts for t in part.overlooked)

    @property
    def next(self) -> str:
        """Return the one thing to do next: an unsafe act first, then what is open, in order."""
        ranked = sorted(self.parts, key=lambda p: (not p.unsafe, not p.overlooked, p.ready))
        return ranked[0].next if ranked else _("Come to the lab.")

    @property
    def ready(self) -> bool:
        """Say whether every unit is ready for the lab."""
        return bool(self.parts) and all(part.ready for part in self.parts)


def learner_view(
    learner: str,
    course: Course,
    attempts: Mapping[str, Sequence[Graded]],
    latest: Mapping[str, Graded],
    *,
    retest: Retest,
    scores: Mapping[str, float] | None = None,
    name: str = "",
    lab: str = "",
) -> LearnerView:
    """Return a learner's page from the works that count and everything handed in, by unit.

    It is in the language of the course. ``scores`` are the gradebook's, where a human's stands in
    place of the marking's.
    """
    with speaking(course.language):
        parts = tuple(
            part_of(unit, course, latest.get(unit), attempts.get(unit, ()), scores or {})
            for unit in course.units
        )
    return LearnerView(learner, name, course, parts, retest, lab)


def part_of(
    unit: str,
    course: Course,
    work: Graded | None,
    tries: Sequence[Graded],
    scores: Mapping[str, float],
    drawn: Mapping[str, Asked] | None = None,
) -> Part:
    """Return one unit of a learner's page, in the language in force.

    ``drawn`` are the questions that the work answers, where they are drawn already.
    """
    if work is None:
        return Part(unit, hand_in(unit))
    drawn = asked(work, course) if drawn is None else drawn
    work = work.for_learner()
    score = scores.get(unit, work.earned)
    enough = work.possible > 0 and score >= course.needed * work.possible - 1e-9
    return Part(
        unit,
        next_step(work, _labels(drawn), {id for id, each in drawn.items() if each.of_others}),
        work,
        score,
        enough and not any(v.unsafe for v in work.verdicts),
        tuple(_questions(work, course, drawn)),
        tuple(map(_try, tries)),
    )


def _try(one: Graded) -> Try:
    share = percent(one.earned, one.possible) if one.digest else None
    return Try(one.handed_in, share, one.attempt)


def _questions(work: Graded, course: Course, drawn: Mapping[str, Asked]) -> Iterator[Question]:
    book, known, asks = course.book, misconceptions(), _labels(drawn)
    for verdict in work.verdicts:
        whose = _whose(drawn.get(verdict.question))
        told = tuple(
            Told(
                f,
                _words(f.rule, f.source, book),
                known.get(f.misconception) if f.misconception else None,
                whose,
            )
            for f in verdict.findings
        )
        said = work.said.get(verdict.question, "")
        label = asks.get(verdict.question, verdict.question)
        yield Question(verdict.question, label, said, verdict, told)


def _whose(question: Asked | None) -> str:
    """Return whose act the answers to a question show."""
    if question is None:
        return "act"
    if question.of_others:
        return "others"
    return "hands" if question.kind in HANDS else "act"


def _labels(drawn: Mapping[str, Asked]) -> dict[str, str]:
    return {id: question.label for id, question in drawn.items()}


def drawn_again(work: Graded, course: Course) -> tuple[Case, RuleBook] | None:
    """Return the case that work answers, drawn anew, and its rules; None where it is not known."""
    if work.unit not in exercises():
        return None
    try:
        book = course.book if work.edition == course.edition else rulebook(work.edition)
    except RuleError:
        return None
    learner = work.drawn_for or work.learner
    return case(course.id, work.unit, learner, book, work.attempt), book


def asked(work: Graded, course: Course) -> dict[str, Asked]:
    """Return the questions that work answers, drawn anew, by id; none where they are not known."""
    drawn = drawn_again(work, course)
    return {} if drawn is None else {question.id: question for question in drawn[0].questions}


def _words(id: str, source: str, book: RuleBook) -> str:
    """Return a rule or a step in words; nothing where this version does not know it."""
    return _words_in(id, source, book, in_force())


@lru_cache(maxsize=4096)  # a whole class is told the same rules
def _words_in(id: str, source: str, book: RuleBook, language: str) -> str:
    rules = book.all(id) if id in book else ()
    if not any(rule.stated for rule in rules):
        rules = _lent(id, source) or rules
    if rules:
        rule = next((each for each in rules if each.stated), rules[0])
        alone = rule.unit is not None and rule.stated and len(rules) == 1
        number = f" ({rule.text})" if alone else ""
        return f"{_(rule.says).rstrip('.')}{number}."
    for procedure in book.procedures.values():
        if id in procedure.ids:
            return _(procedure[id].says)
    return ""


def _lent(id: str, source: str) -> tuple[Rule, ...]:
    """Return the rules of the edition that is cited, where the course's own gives none."""
    for rules in (rulebook(name).all(id) for name in editions() if id in rulebook(name)):
        if any(rule.stated and str(rule.citation) == source for rule in rules):
            return tuple(rules)
    return ()
