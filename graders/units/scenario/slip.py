"""A criterion of a case, and the slip that keeps it from being met."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Slip:
    """What went wrong: its cause, a time, rate or number with its limit, and where it was (s).

    ``unit`` is that of both; ``other`` names another edition by which it would be right.
    """

    cause: str
    worst: float = 0.0
    limit: float = 0.0
    unit: str = "s"
    other: str = ""
    at: float = 0.0


@dataclass(frozen=True, slots=True)
class Criterion:
    """One criterion: its id, the rule it rests on, and its slip or None.

    ``lasts`` says that it is kept up over the whole case, so that half a case earns half of it;
    ``blank`` that the edition states nothing, so that it is not judged; ``share`` of its points is
    earned in spite of a slip.
    """

    id: str
    rule: str
    slip: Slip | None = None
    lasts: bool = False
    blank: bool = False
    share: float = 0.0
