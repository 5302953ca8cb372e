"""The page a learner starts at: who they are, and the lessons and exercises of the course."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from urllib.parse import quote

from graders.course.coursefolder import CourseFolder
from graders.report.frame import environment
from workbook.core.language import ENGLISH, beware, speaking
from workbook.course.pages import translated
from workbook.rules import superseded
from workbook.start import launch

HERE = Path(__file__).parent
_NUMBERED = re.compile(r"\w+ \d+: (.+)", re.DOTALL)  # "Lesson 1: set-up order"


@dataclass(frozen=True, slots=True)
class Entry:
    """One page of the site: its title, its unit, where it is, and whether it is handed in.

    ``minutes`` is what the page says it takes.
    """

    title: str
    unit: str
    link: str
    graded: bool
    minutes: int | None

    @property
    def name(self) -> str:
        """Return the title without its number: a capital letter first."""
        numbered = _NUMBERED.fullmatch(self.title)
        return numbered[1][:1].upper() + numbered[1][1:] if numbered else self.title


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the way through the course: a unit with its lesson, its exercise, or both."""

    number: str
    name: str
    entries: tuple[Entry, ...]


def start_page(folder: CourseFolder, send_to: str) -> str:
    """Return the start page of a course's site, in the language of the course."""
    env = environment().overlay()
    template = env.from_string((HERE / "start.html.jinja").read_text(encoding="utf-8"))
    course = folder.course
    first, *rest = entries(folder)
    with speaking(course.language):
        return template.render(
            title=course.title,
            edition=course.book.edition.title,
            newer=superseded(course.book.edition),
            protocol=course.book.protocol or "",
            send_to=send_to,
            beware=beware(),
            first=first,
            way=steps(rest),
            script=(HERE / "start.js").read_text(encoding="utf-8"),
        )


def lessons(language: str) -> dict[str, str]:
    """Return the lessons as files: each page's name, and its text in a language."""
    home = Path(launch.__file__).parents[1] / "lessons"
    found = {page.name: page.read_text(encoding="utf-8") for page in sorted(home.glob("*.ipynb"))}
    if language == ENGLISH:
        return found
    with speaking(language):
        return {
            name: json.dumps(translated(json.loads(text)), ensure_ascii=False, indent=1) + "\n"
            for name, text in found.items()
        }


def entries(folder: CourseFolder) -> list[Entry]:
    """Return the pages in the order they are worked through."""
    units, shown = folder.course.units, lessons(folder.course.language)
    start = shown.pop(launch.START)
    found = [_entry(launch.START, start, launch.START, graded=False)]
    for name in sorted({*shown, *(f"{unit}.ipynb" for unit in units)}):
        unit = name.removesuffix(".ipynb")
        if name in shown:
            found.append(_entry(name, shown[name], name, graded=False))
        if unit in units:
            page = (folder.path / "release" / unit / name).read_text(encoding="utf-8")
            found.append(_entry(name, page, f"{unit}/{name}", graded=True))
    return found


def steps(found: Sequence[Entry]) -> list[Step]:
    """Return pages as steps of the way, a unit's lesson and exercise together."""
    units = [(unit, tuple(of)) for unit, of in groupby(found, key=lambda entry: entry.unit)]
    return [Step(unit.partition("_")[0], of[0].name, of) for unit, of in units]


def _entry(name: str, notebook: str, path: str, *, graded: bool) -> Entry:
    minutes = json.loads(notebook)["metadata"].get("tpiece", {}).get("minutes")
    unit = name.removesuffix(".ipynb")
    return Entry(_title(notebook, name), unit, _link(path), graded, minutes)


def _link(path: str) -> str:
    return f"lab/index.html?path={quote(path)}"


def _title(notebook: str, name: str) -> str:
    """Return the first heading of a notebook, or its name where it has none."""
    cells = json.loads(notebook)["cells"]
    lines = (line for cell in cells for line in "".join(cell["source"]).splitlines())
    titles = (line[2:].strip() for line in lines if line.startswith("# "))
    return next(titles, name.removesuffix(".ipynb"))
