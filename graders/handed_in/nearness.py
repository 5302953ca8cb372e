"""Ids that are nearly somebody's: another case, a sign more or less, one letter wrong."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass, field

MOST = 3  # people named for one id
SHORTEST = 4  # letters; of a shorter id every other is nearly one
_NO_LETTER = re.compile(r"[\W_]+")


def folded(id: str) -> str:
    """Return an id without what people write now so, now so: case, accents, signs."""
    plain = unicodedata.normalize("NFKD", id.casefold())
    kept = "".join(letter for letter in plain if not unicodedata.combining(letter))
    return _NO_LETTER.sub("", kept)


def _shorter(word: str) -> set[str]:
    """Return a word, and it with any one letter left out: two words that share one are near."""
    return {word, *(word[:n] + word[n + 1 :] for n in range(len(word)))}


@dataclass
class Near:
    """Finds who of many people an id nearly names; what it looks in is made at the first use."""

    people: Iterable[str]
    _same: dict[str, list[str]] = field(default_factory=dict, init=False)
    _near: dict[str, list[str]] = field(default_factory=dict, init=False)

    def to(self, id: str) -> tuple[str, ...]:
        """Return the people whose id is nearly this one, the nearest first."""
        self._make_ready()
        word = folded(id)
        found = dict.fromkeys(self._same.get(word, ()))
        if len(word) >= SHORTEST:
            for part in sorted(_shorter(word)):
                found |= dict.fromkeys(self._near.get(part, ()))
        if "@" in id:  # an address, where the roster has its first part, or the other way round
            found |= dict.fromkeys(self._same.get(folded(id.partition("@")[0]), ()))
        return tuple(found)[:MOST]

    def _make_ready(self) -> None:
        if self._same:
            return
        for id in self.people:
            word = folded(id)
            self._same.setdefault(word, []).append(id)
            if "@" in id:
                self._same.setdefault(folded(id.partition("@")[0]), []).append(id)
            if len(word) >= SHORTEST:
                for part in _shorter(word):
                    self._near.setdefault(part, []).append(id)
