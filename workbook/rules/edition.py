"""What an edition is: a published guideline of a year, and which one took its place."""

from __future__ import annotations

from dataclasses import dataclass

PRACTICE = "practice"


@dataclass(frozen=True, slots=True)
class Edition:
    """A named published guideline of a year, and the earlier one it builds on, if any.

    ``published`` is a date as far as it is known: 2021, 2021-03 or 2021-03-25. ``superseded_by``
    names the edition of the same ``body`` that took its place. ``lends`` names, by the edition that
    states them, the rules that stand in wherever an edition gives none.
    """

    id: str
    title: str
    says: str = ""
    builds_on: str | None = None
    body: str = ""
    published: str = ""
    superseded_by: str | None = None
    lends: tuple[tuple[str, tuple[str, ...]], ...] = ()
    short: str = ""

    @property
    def named(self) -> str:
        """Return the name a question uses: the short one, where there is one."""
        return self.short or self.title
