"""Groups and readers that the tests of the coordinator's page and files share."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime
from html import unescape
from html.parser import HTMLParser

from graders.cohort.group import Cohort, cohort
from graders.course.coursefolder import Person
from graders.marking.graded import Graded
from graders.marks.verdict import Finding, Verdict
from graders.report import page
from workbook.course.settings import Course

UNIT = "1_setup_order"
COURSE = Course("test", "Invented course", units=(UNIT,))
MADE_AT = datetime(2026, 5, 5, 9, tzinfo=UTC)
RIGHT = Finding("q", True, "Right.", 10, 10)
UNSAFE = Finding(
    "q", False, "The bag was overlooked.", 0, 0, True, "ready-bag", "", "bag-not-needed"
)
SLIP = Finding("q", False, "Not zero.", 0, 1, rule="set-peep", misconception="falls-to-zero")


def work(
    learner: str, *findings: Finding, problems: tuple[str, ...] = (), when: str = ""
) -> Graded:
    verdicts = (Verdict("q", findings),)
    digest = "abc" if findings else ""
    return Graded(learner, UNIT, COURSE.edition, verdicts, problems, when, digest, "1.0")


def group(*graded: Graded, roster: dict[str, str] | None = None, course: Course = COURSE) -> Cohort:
    people = {id: Person(id, name) for id, name in (roster or {}).items()}
    return cohort(graded, people, course)


def two_units() -> Cohort:
    """Return a group of four at two sites who did both units, one or none of them."""
    other = "3_pressure_targets"
    course = replace(COURSE, units=(UNIT, other))
    done = [
        work("a", RIGHT), replace(work("a", SLIP, UNSAFE), unit=other),
        work("b", RIGHT), replace(work("b", RIGHT), unit=other),
        work("c", SLIP),
    ]  # fmt: skip
    places = {"a": "Hill", "b": "Hill", "c": "Shore", "d": ""}
    people = {
        id: Person(id, f"Name of {id}", "nurse", "North", site) for id, site in places.items()
    }
    return cohort(done, people, course)


def line_of(html: str, learner: str) -> str:
    """Return a learner's row of the first table."""
    rows = re.findall(r"<tr class=.*?</tr>", section(html, "readiness"), re.DOTALL)
    (row,) = (row for row in rows if f'"id">{learner}<' in row)
    return str(row)


def html_of(made: Cohort) -> str:
    return page(made, made_at=MADE_AT, version="1.0")


def text_of(html: str) -> str:
    body = re.sub(r"<(style|script)>.*?</\1>", "", html, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", body)).split())


def section(html: str, id: str) -> str:
    """Return one section of a page."""
    found = re.search(rf'<section id="{id}".*?</section>', html, re.DOTALL)
    assert found is not None
    return found[0]


class Outline(HTMLParser):
    """Collects the tags of a page in order."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Remember a tag and its attributes."""
        self.tags.append((tag, dict(attrs)))


def tags(html: str) -> list[tuple[str, dict[str, str | None]]]:
    outline = Outline()
    outline.feed(html)
    return outline.tags


GROUPS = {
    "nobody at all": group(),
    "nobody handed in": group(roster={"a": "Aster Demo", "b": ""}),
    "one learner": group(work("a", RIGHT)),
    "all right": group(work("a", RIGHT), work("b", RIGHT), roster={"a": "A", "b": "B"}),
    "all wrong": group(work("a", SLIP, UNSAFE), work("b", SLIP, UNSAFE)),
    "broken file": group(work("a", problems=("The file is cut off.",)), roster={"a": ""}),
    "names": group(work("a", RIGHT), roster={"a": "ハシバミ 見本", "b": "خزامى"}),
}
