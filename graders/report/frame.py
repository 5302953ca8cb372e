"""What the pages share: the frame they are drawn in, and their words."""

from __future__ import annotations

import hashlib
import re
from base64 import b64encode
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from graders.core.terminal import printable
from graders.marks.misconceptions import EITHER, beliefs_of
from workbook.core.language import _, direction, in_force, number

_WHEN = re.compile(r"(\d{4}-\d\d-\d\d)[ T](\d\d:\d\d)(?::\d\d(?:\.\d+)?)?(?: ([A-Z]{3,5}))?Z?")
_ABBREVIATIONS = {"peep": "PEEP", "pip": "PIP"}


def drawn(template: str, **values: Any) -> str:
    """Return a page; whatever steers instead of being read is shown as a replacement sign.

    HTML allows no control characters, and signs that turn the direction of text spoof it.
    """
    return printable(environment().get_template(template).render(**values))


@cache
def environment() -> Environment:
    """Return what draws the pages: everything escaped, nothing missing without an error.

    Filters: ``title_of`` and ``when_of`` as below, ``belief_of`` an id without what allows for a
    slip; a page that is given ``script`` runs that text and no other, allowed by its hash.
    ``_("A text with {name}", name=…)`` looks a text up in the language in force and fills it in.
    """
    made = Environment(
        loader=FileSystemLoader(Path(__file__).parent, encoding="utf-8"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(
        title_of=title_of,
        belief_of=beliefs_of,
        when_of=when_of,
        script_hash=script_hash,
        as_script=_as_script,
    )
    made.globals.update(
        _=told, number=number, language=in_force, direction=direction, perhaps=perhaps
    )
    return made


def told(text: str, **named: Any) -> Markup:
    """Return a text of the catalogue for a page; what it is filled with is escaped."""
    said = Markup(_(text))  # noqa: S704  the catalogue is ours
    return said.format(**named) if named else said


def title_of(id: str) -> str:
    """Return a misconception's id as a short title: peep-before-pip, PEEP before PIP.

    Two that cannot be told apart are both told.
    """
    return " or ".join(map(_titled, id.split(EITHER)))


def perhaps(slips: int) -> str:
    """Return what stands after a count of learners, some of whom a slip explains as well."""
    return f", {slips} perhaps by a slip" if slips else ""


def _titled(id: str) -> str:
    words = " ".join(_ABBREVIATIONS.get(word, word) for word in id.split("-"))
    return words[:1].upper() + words[1:]


def when_of(text: str) -> str:
    """Return a time as nbgrader wrote it, to the minute; nothing when it is no time."""
    found = _WHEN.fullmatch(text.strip())
    if found is None:
        return ""
    day, minute, zone = found.groups()
    return f"{day} {minute} {zone or ''}".strip()


def script_hash(script: str) -> str:
    """Return what the page's policy calls a script that may run."""
    return f"sha256-{b64encode(hashlib.sha256(script.encode()).digest()).decode()}"


def _as_script(script: str) -> Markup:
    if "</script" in script.lower():
        raise ValueError("A script that ends its own element cannot stand on a page.")
    return Markup(script)  # noqa: S704 our own file, never what somebody typed
