"""Names what a site holds that others made, each with its licence, as the packages say it."""

from __future__ import annotations

from collections.abc import Iterable
from email.message import Message
from email.parser import BytesParser
from importlib.metadata import distribution
from pathlib import Path
from zipfile import ZipFile

from graders.site import own
from graders.site.fetched import versions

FILE = "licences.txt"
_WORDS = """\
This site holds the T-piece workbook, whose licence stands at the end, and work by others.

Pyodide {pyodide}: MPL-2.0; its source is at github.com/pyodide/pyodide under that version.
Python {python} and its standard library, within Pyodide: PSF-2.0.
JupyterLab, JupyterLite and what they are made of: named with their texts in each file called
third-party-licenses.json, in build/ and extensions/.

The packages for Python lie in static/pyodide. Each is a zip archive with its licence's text.

{packages}

The T-piece workbook:

{text}"""


def licences(wheels: Iterable[Path]) -> str:
    """Return the text that names every part and its licence, for these wheels."""
    pyodide, python = versions()
    told = [_told(path) for path in wheels if not path.name.startswith(own.NAME)]
    text = distribution("tpiece-workbook").read_text("licenses/LICENSE") or ""
    return _WORDS.format(pyodide=pyodide, python=python, packages="\n".join(told), text=text)


def _told(wheel: Path) -> str:
    about = metadata(wheel)
    return f"{about['Name']} {about['Version']}: {licence(about)}"


def metadata(wheel: Path) -> Message:
    """Return what a wheel says of itself."""
    with ZipFile(wheel) as held:
        (name,) = (one for one in held.namelist() if one.endswith(".dist-info/METADATA"))
        return BytesParser().parsebytes(held.read(name))


def licence(about: Message) -> str:
    """Return the licence in a package's own words, the most exact first."""
    classes = [str(one) for one in about.get_all("Classifier", []) if "License ::" in str(one)]
    words = str(about["License"] or "").strip().splitlines()
    given = [str(about["License-Expression"] or ""), *(one.split(" :: ")[-1] for one in classes)]
    return next(filter(None, [*given, *words]), "see the text in its archive")
