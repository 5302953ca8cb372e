"""The language a learner reads. English stands in code and data; catalogues hold the others.

``_("Text {number}")`` looks a text up in the language in force; ``N_`` marks one that is looked up
later. Catalogues are gettext's compiled files in ``locale/``. The two pseudo-languages, made by
code, are for tests: a text outside their brackets was never looked up.
"""

from __future__ import annotations

import gettext
import os
import re
import tomllib
import unicodedata
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

from workbook.core.errors import PlainError

LOCALES = Path(__file__).parents[1] / "locale"
DOMAIN = "tpiece"
VARIABLE = "TPIECE_LANGUAGE"
ENGLISH = "en"
BRACKETS = ("⟦", "⟧")
NO_TEXT = frozenset({"id", "kind", "source", "basis", "rule"})  # keys of our data
SHORTEST = 3  # letters of a text that is one word: shorter ones are units


class LanguageError(PlainError, ValueError):
    """A language the workbook does not speak."""


@dataclass(frozen=True, slots=True)
class Language:
    """A language: its name in itself, its decimal sign, its direction, who has read its texts.

    ``tag`` is what a page calls it, where that is not its code.
    """

    name: str
    decimal: str = "."
    direction: str = "ltr"
    reviewed: bool = True
    pseudo: bool = False
    tag: str = ""


_ALL: Mapping[str, Language] = MappingProxyType(
    {
        "en": Language("English"),
        "es": Language("Español", decimal=",", reviewed=False),
        "qps": Language("Pseudo", decimal=",", pseudo=True),
        "qps-rtl": Language(
            "Pseudo, right to left", ",", direction="rtl", pseudo=True, tag="qps-x-rtl"
        ),
    }
)
_chosen: list[str] = []  # the last one is in force; empty means: not settled yet


def languages() -> Mapping[str, str]:
    """Return the languages on offer, each with its name in itself."""
    return {code: each.name for code, each in _ALL.items() if not each.pseudo}


def use(code: str) -> None:
    """Speak a language from now on.

    Raises LanguageError when there is no such language.
    """
    _chosen[:] = [_known(code)]


def follow(code: str) -> None:
    """Speak a course's language, unless the environment names another.

    Raises LanguageError when there is no such language.
    """
    use(os.environ.get(VARIABLE) or code)


@contextmanager
def speaking(code: str) -> Iterator[None]:
    """Speak a language for as long as the block lasts.

    Raises LanguageError when there is no such language.
    """
    before = list(_chosen)
    use(code)
    try:
        yield
    finally:
        _chosen[:] = before


def in_force() -> str:
    """Return the code of the language in force: the one in use, the environment's, or English.

    Raises LanguageError when the environment names one that does not exist.
    """
    return _chosen[-1] if _chosen else _known(os.environ.get(VARIABLE) or ENGLISH)


def tag() -> str:
    """Return what a page calls the language in force (BCP 47)."""
    return _ALL[in_force()].tag or in_force()


def direction() -> str:
    """Return how the language in force runs: ``ltr`` or ``rtl``."""
    return _ALL[in_force()].direction


def decimal() -> str:
    """Return the decimal sign of the language in force."""
    return _ALL[in_force()].decimal


def number(value: float, spec: str = "g") -> str:
    """Return a number as the language in force writes it; ``spec`` as for ``format``."""
    return format(value, spec).replace(".", decimal())


def N_(text: str) -> str:  # noqa: N802  (gettext's own name for it)
    """Mark a text that is looked up where it is shown."""
    return text


def _(text: str) -> str:
    """Return a text in the language in force; English where the catalogue has none."""
    code = in_force()
    if code == ENGLISH or not text:
        return text
    return pseudo(text) if _ALL[code].pseudo else _catalogue(code).gettext(text)


def told(tree: Any) -> Any:
    """Return data with every text in it looked up, but for strings under ``NO_TEXT`` keys."""
    if in_force() == ENGLISH:
        return tree
    if isinstance(tree, str):
        return _(tree) if is_text(tree) else tree
    if isinstance(tree, Mapping):
        return {told(key): _told(key, value) for key, value in tree.items()}
    return [told(each) for each in tree] if isinstance(tree, list | tuple) else tree


def _told(key: str, value: Any) -> Any:
    return value if key in NO_TEXT and isinstance(value, str) else told(value)


def data(path: Path) -> Mapping[str, Any]:
    """Return what a TOML file of ours holds, its texts in the language in force."""
    return _data(path, in_force())


@cache
def _data(path: Path, _language: str) -> Mapping[str, Any]:
    tree: Mapping[str, Any] = told(tomllib.loads(path.read_text(encoding="utf-8")))
    return tree


def is_text(value: str) -> bool:
    """Return whether a string of our data is read by people: ids are one word in small letters."""
    bare = _KEPT.sub("", value).strip()
    one_word = bare[:1].isupper() and sum(map(str.isalpha, bare)) >= SHORTEST and "/" not in bare
    return has_words(value) and (" " in value.strip() or one_word)


def has_words(value: str) -> bool:
    """Return whether a text holds more than placeholders, figures and signs."""
    return any(letter.isalpha() for letter in _KEPT.sub("", value))


def fixed(words: Mapping[str, str]) -> dict[str, str]:
    """Return a page's fixed words looked up, with what it must know of the language itself."""
    itself = {"lang": tag(), "dir": direction(), "decimal": decimal()}
    said = {key: _(text) if has_words(text) else text for key, text in words.items()}
    return {**said, **{key: itself[key] for key in itself if key in words}}


def beware() -> str:
    """Return a line for learners when nobody has reviewed the translation, or nothing."""
    return "" if _ALL[in_force()].reviewed else _(UNREVIEWED)


UNREVIEWED = N_(
    "Machine-made translation, not reviewed by anybody. Where a sentence seems odd, the English "
    "text counts."
)


def _known(code: str) -> str:
    if code not in _ALL:
        known = ", ".join(f"{each} ({name})" for each, name in languages().items())
        raise LanguageError(f"There is no language {code!r}; choose one of: {known}.")
    return code


@cache
def _catalogue(code: str) -> gettext.NullTranslations:
    return gettext.translation(DOMAIN, LOCALES, [code], fallback=True)


# What must stay as it is in a text: placeholders, links' addresses, code, tags.
_KEPT = re.compile(r"(\{[^{}]*\}|\]\([^)]*\)|`[^`]*`|<[^<>]*>|&\w+;)")
_ACCENT = {"a": "\u0301", "e": "\u0308", "i": "\u0302", "o": "\u0303", "u": "\u030a", "n": "\u0303"}


def pseudo(text: str) -> str:
    """Return a text in brackets and with accents, its placeholders and links kept."""
    parts = _KEPT.split(text)
    accented = (p if n % 2 else "".join(map(_accented, p)) for n, p in enumerate(parts))
    return "".join(accented).join(BRACKETS)


def _accented(letter: str) -> str:
    return unicodedata.normalize("NFC", letter + _ACCENT.get(letter, ""))
