"""What marking an answer returns: findings, each one criterion with its sentence."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from functools import cached_property, lru_cache
from textwrap import fill
from typing import Any

from workbook.core.language import _, number

LATER = {"about": "", "at": None}  # what files of before do not have, and what it is then
WIDTH = 92  # characters of a line in a marked page


@dataclass(frozen=True, slots=True)
class Finding:
    """One criterion: met or not, its points, and why in a sentence.

    ``rule`` is the id of the rule or step the criterion rests on, ``source`` that rule's source
    in words, ``misconception`` the id of a known one that the answer matches. ``trace`` is the
    needle (s, cmH2O) around the moment that matters, where hands were at the bench. ``about`` is
    what is kept of a trial (`graders.units.faults.tried`) or of a case from birth
    (`graders.units.scenario.went`), as stored: nothing that a learner reads.
    """

    criterion: str
    met: bool
    says: str
    earned: float = 0.0
    possible: float = 0.0
    critical: bool = False
    rule: str = ""
    source: str = ""
    misconception: str = ""
    trace: tuple[tuple[float, float], ...] = ()
    about: str = ""
    at: float | None = None

    @property
    def unsafe(self) -> bool:
        """Say whether this finding keeps a learner from being ready, whatever the points."""
        return self.critical and not self.met


@dataclass(frozen=True)
class Verdict:
    """The findings of one question; what follows from them is worked out once."""

    question: str
    findings: tuple[Finding, ...]

    @cached_property
    def earned(self) -> float:
        """Return the points earned, rounded to hundredths so that both ways to grade agree."""
        return round(sum([f.earned for f in self.findings]), 2)

    @cached_property
    def possible(self) -> float:
        """Return the points there are."""
        return round(sum([f.possible for f in self.findings]), 2)

    @cached_property
    def unsafe(self) -> tuple[Finding, ...]:
        """Return the critical findings that were not met."""
        return tuple(f for f in self.findings if f.unsafe)

    @cached_property
    def misconceptions(self) -> tuple[str, ...]:
        """Return the misconceptions recognised, each once."""
        return tuple(dict.fromkeys(f.misconception for f in self.findings if f.misconception))

    def worded(self, words: Iterable[tuple[str, str]]) -> Verdict:
        """Return the same verdict with another (sentence, source) for each finding."""
        pairs = zip(self.findings, words, strict=True)
        found = tuple(replace(f, says=says, source=source) for f, (says, source) in pairs)
        return replace(self, findings=found)

    @property
    def told(self) -> str:
        """Return the same for its learner, below the question itself: without the question's id."""
        head = _("{earned} of {possible} points").format(
            earned=number(self.earned), possible=number(self.possible)
        )
        return "\n".join([head, *map(_as_text, self.findings)])

    def __str__(self) -> str:
        head = _("{question}: {earned} of {possible} points").format(
            question=self.question, earned=number(self.earned), possible=number(self.possible)
        )
        return "\n".join([head, *map(_as_text, self.findings)])


def _as_text(finding: Finding) -> str:
    missed = _("CRITICAL") if finding.critical else _("not met")
    mark = _("met") if finding.met else missed
    source = _("Source: {source}").format(source=finding.source)
    text = f"[{mark}] {finding.says}"
    return _wrapped(f"{text} {source}" if finding.source and not finding.met else text)


@lru_cache(maxsize=4096)  # a class earns the same sentences over and over
def _wrapped(text: str) -> str:
    return fill(text, WIDTH, initial_indent="  ", subsequent_indent="    ")


def as_data(verdicts: Iterable[Verdict]) -> list[dict[str, Any]]:
    """Return verdicts as plain data for a file."""
    return [
        {"question": v.question, "findings": [_as_data(f) for f in v.findings]} for v in verdicts
    ]


def _as_data(finding: Finding) -> dict[str, Any]:
    data = asdict(finding)
    left_out = {name for name, empty in LATER.items() if data[name] == empty}
    return {name: data[name] for name in data if name not in left_out}


def from_data(data: Iterable[dict[str, Any]]) -> tuple[Verdict, ...]:
    """Return the verdicts that ``as_data`` wrote."""
    return tuple(Verdict(v["question"], tuple(map(_finding, v["findings"]))) for v in data)


def _finding(data: dict[str, Any]) -> Finding:
    return Finding(**{**data, "trace": tuple(map(tuple, data.get("trace", ())))})
