"""The page a learner starts at: who they are, and the lessons and exercises of the course."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from graders.coursefolder import CourseFolder
from graders.report.frame import environment
from workbook import launch

HERE = Path(__file__).parent


@dataclass(frozen=True, slots=True)
class Entry:
    """One page of the site: its title, where it is, and whether it is handed in."""

    title: str
    link: str
    graded: bool


def start_page(folder: CourseFolder, send_to: str) -> str:
    """Return the start page of a course's site."""
    env = environment().overlay()
    template = env.from_string((HERE / "start.html.jinja").read_text(encoding="utf-8"))
    course = folder.course
    return template.render(
        title=course.title,
        edition=course.book.edition.title,
        protocol=course.book.protocol or "",
        send_to=send_to,
        entries=entries(folder),
        script=(HERE / "start.js").read_text(encoding="utf-8"),
    )


def entries(folder: CourseFolder) -> list[Entry]:
    """Return the pages in the order they are worked through."""
    lessons = Path(launch.__file__).parent / "lessons"
    found = [Entry(_title(lessons / launch.START), _link(launch.START), False)]
    units = folder.course.units
    pages = [path for path in lessons.glob("*.ipynb") if path.name != launch.START]
    for path in sorted({path.stem for path in pages} | set(units)):
        lesson = lessons / f"{path}.ipynb"
        if lesson.is_file():
            found.append(Entry(_title(lesson), _link(lesson.name), False))
        if path in units:
            page = folder.path / "release" / path / f"{path}.ipynb"
            found.append(Entry(_title(page), _link(f"{path}/{path}.ipynb"), True))
    return found


def _link(path: str) -> str:
    return f"lab/index.html?path={quote(path)}"


def _title(notebook: Path) -> str:
    """Return the first heading of a notebook."""
    cells = json.loads(notebook.read_text(encoding="utf-8"))["cells"]
    lines = (line for cell in cells for line in "".join(cell["source"]).splitlines())
    return next((line[2:].strip() for line in lines if line.startswith("# ")), notebook.stem)
