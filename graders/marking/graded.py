"""One learner's marked unit: the verdict, all that it follows from, and the file it is kept in."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import msgspec

from graders.core.jsonfile import write_json
from graders.marks.verdict import Verdict, from_data
from workbook.core.language import ENGLISH

VERDICT_FILE = "verdict.json"


@dataclass(frozen=True, slots=True)
class Told:
    """The words of a verdict in a course's own language; the points are no matter of language.

    ``findings`` holds (sentence, source) of each finding of each verdict, in their order;
    ``asks`` each question in the words of the learner's page.
    """

    language: str
    findings: tuple[tuple[tuple[str, str], ...], ...]
    said: Mapping[str, str]
    problems: tuple[str, ...]
    asks: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Graded:
    """One learner's marked unit, with all that its verdict follows from.

    ``said`` is each answer in the words it was chosen from, ``rules`` names the rules and the
    site's protocol, ``prints`` holds fingerprints of timed runs by question. All of that is in
    English, so that a report reads alike for every course; ``told`` is what a learner of a course
    in another language reads.
    """

    learner: str
    unit: str
    edition: str
    verdicts: tuple[Verdict, ...]
    problems: tuple[str, ...]
    handed_in: str
    digest: str
    version: str
    said: Mapping[str, str] = field(default_factory=dict)
    course: str = ""
    rules: str = ""
    late: bool = False
    prints: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    told: Told | None = None
    asks: Mapping[str, str] = field(default_factory=dict)  # each question in words
    drawn_for: str = ""  # the id the case was drawn for, where that is not the learner's own
    attempt: int = 1  # whose case was answered and marked

    @property
    def earned(self) -> float:
        """Return the points earned."""
        return round(sum(v.earned for v in self.verdicts), 2)

    @property
    def possible(self) -> float:
        """Return the points there are."""
        return round(sum(v.possible for v in self.verdicts), 2)

    @property
    def language(self) -> str:
        """Return the language its learner reads."""
        return ENGLISH if self.told is None else self.told.language

    def for_learner(self) -> Graded:
        """Return the same in the language of the course, which its learner reads."""
        told = self.told
        if told is None:
            return self
        pairs = zip(self.verdicts, told.findings, strict=True)
        verdicts = tuple(verdict.worded(words) for verdict, words in pairs)
        asks = told.asks or self.asks
        return replace(self, verdicts=verdicts, said=told.said, problems=told.problems, asks=asks)

    def ready(self, needed: float) -> bool:
        """Say whether the learner is ready for the lab: enough points and nothing unsafe."""
        safe = not any(v.unsafe for v in self.verdicts)
        return safe and self.earned >= needed * self.possible - 1e-9


def write_verdict(graded: Graded, folder: Path, name: str = VERDICT_FILE) -> None:
    """Write a verdict into a folder, whole or not at all."""
    write_json(folder / name, graded)


_FAST = msgspec.json.Decoder(Graded)


def read_verdict(path: Path) -> Graded:
    """Read a verdict that ``write_verdict`` wrote.

    Raises ValueError, KeyError or TypeError when it is none.
    """
    return decoded(path.read_bytes())


def decoded(text: bytes) -> Graded:
    """Return the verdict that the bytes of its file hold; raises as ``read_verdict`` does."""
    try:
        return _FAST.decode(text)
    except msgspec.MsgspecError:
        return _slowly(json.loads(text))  # also reads what an older version wrote


def _slowly(data: Mapping[str, Any]) -> Graded:
    return Graded(
        data["learner"],
        data["unit"],
        data["edition"],
        from_data(data["verdicts"]),
        tuple(data["problems"]),
        data["handed_in"],
        data["digest"],
        data["version"],
        data.get("said", {}),
        data.get("course", ""),
        data.get("rules", ""),
        data.get("late", False),
        {id: tuple(hashes) for id, hashes in data.get("prints", {}).items()},
    )
