"""Results as a OneRoster 1.2 CSV package: a folder of eleven files, and the same as a zip.

After the OneRoster CSV Binding 1.2.1 of 1EdTech (2023). Every file is sent whole ("bulk"), so
``status`` and ``dateLastModified`` stay empty. A line item is a unit, and stands in a grading
period, as the binding forbids it to stand in a school year.
"""

from __future__ import annotations

import csv
import zipfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from graders.core.spreadsheet import harmless
from graders.handover.files import not_written, replaced
from graders.handover.oneroster_tables import ABSENT, COLUMNS, MANIFEST
from graders.handover.result import Result, Standing
from workbook.course.settings import Course

FOLDER, ARCHIVE = "oneroster", "oneroster.zip"
SYSTEM = "T-piece workbook"
READY = {True: "Ready for the lab; not a statement of competence.", False: "Not ready yet."}

Row = dict[str, str | float]
Put = Callable[[str, Row], None]


def write_oneroster(
    results: Iterable[Result], course: Course, folder: Path, *, today: str
) -> list[Path]:
    """Write the package into a folder, as files and as a zip; return both paths.

    ``today`` (2026-05-01) is the date of what has none of its own. Names are written where the
    results have them.
    """
    home = folder / FOLDER
    paths = {name: home / f"{name}.csv" for name in (MANIFEST, *COLUMNS)}
    with replaced(list(paths.values())) as files:
        writers = dict(zip(paths, map(csv.writer, files), strict=True))
        for name, columns in COLUMNS.items():
            writers[name].writerow(columns)

        def put(name: str, row: Row) -> None:
            writers[name].writerow([harmless(row.get(column, "")) for column in COLUMNS[name]])

        writers[MANIFEST].writerows(_manifest(course))
        met = _write_results(results, Package(course, today), put)
        for name, row in met.rows():
            put(name, row)
    return [home, _zipped(list(paths.values()), folder / ARCHIVE)]


@dataclass
class Package:
    """The ids of one package, and what its results have in common."""

    course: Course
    today: str
    learners: set[str] = field(default_factory=set)
    most: dict[str, float] = field(default_factory=dict)
    first: str = ""
    last: str = ""

    def id(self, kind: str) -> str:
        """Return the sourcedId of one of the course's own things."""
        return f"tpiece.{self.course.id}.{kind}"

    def meet(self, one: Result) -> None:
        """Take note of a result's day, and of the most points its unit can have."""
        day = one.submitted[:10] or self.today
        self.first = min(self.first or day, day)
        self.last = max(self.last, day)
        self.most[one.unit] = max(self.most.get(one.unit, 0.0), one.max, one.raw)

    def rows(self) -> Iterator[tuple[str, Row]]:
        """Yield the rows that hold for the whole course."""
        course, start, end = self.course, self.first or self.today, self._end()
        yield "orgs", {"sourcedId": self.id("org"), "name": f"Home of {course.title}",
                       "type": "school"}  # fmt: skip
        yield from self._sessions(start, end)
        yield "courses", {"sourcedId": self.id("course"), "title": course.title,
                          "schoolYearSourcedId": self.id("year"), "courseCode": course.id,
                          "orgSourcedId": self.id("org")}  # fmt: skip
        yield "classes", {"sourcedId": self.id("class"), "title": course.title,
                          "courseSourcedId": self.id("course"), "classType": "scheduled",
                          "schoolSourcedId": self.id("org"),
                          "termSourcedIds": self.id("term")}  # fmt: skip
        yield "categories", {"sourcedId": self.id("units"), "title": "Units before the lab"}
        for unit in dict.fromkeys((*course.units, *sorted(self.most))):
            yield "lineItems", self._line_item(unit, start, end)

    def _end(self) -> str:
        return max(self.last or self.today, self.course.due[:10])

    def _sessions(self, start: str, end: str) -> Iterator[tuple[str, Row]]:
        kinds = (("year", "schoolYear", ""), ("term", "term", "year"),
                 ("period", "gradingPeriod", "term"))  # fmt: skip
        for kind, type, above in kinds:
            yield "academicSessions", {
                "sourcedId": self.id(kind), "title": self.course.title, "type": type,
                "startDate": start, "endDate": end, "schoolYear": end[:4],
                "parentSourcedId": self.id(above) if above else "",
            }  # fmt: skip

    def _line_item(self, unit: str, start: str, end: str) -> Row:
        most = self.most.get(unit, 0.0)
        return {
            "sourcedId": self.id(f"unit.{unit}"), "title": unit, "assignDate": start,
            "dueDate": self.course.due[:10] or end, "classSourcedId": self.id("class"),
            "categorySourcedId": self.id("units"), "academicSessionSourcedId": self.id("period"),
            "resultValueMin": 0.0 if most else "", "resultValueMax": most or "",
            "schoolSourcedId": self.id("org"),
        }  # fmt: skip

    def person(self, one: Result) -> Iterator[tuple[str, Row]]:
        """Yield the rows of a learner: user, role and enrolment."""
        who, learner = one.who, one.learner
        given, family = ("Learner", learner) if who is None else in_two(who.name or who.learner)
        yield "users", {"sourcedId": learner, "enabledUser": "true",
                        "username": learner if who is None else who.learner,
                        "identifier": "" if who is None else who.learner,
                        "givenName": given, "familyName": family}  # fmt: skip
        yield "roles", {"sourcedId": f"{learner}.role", "userSourcedId": learner,
                        "roleType": "primary", "role": "student",
                        "orgSourcedId": self.id("org")}  # fmt: skip
        yield "enrollments", {"sourcedId": f"{learner}.enrollment", "userSourcedId": learner,
                              "classSourcedId": self.id("class"), "role": "student",
                              "schoolSourcedId": self.id("org"), "primary": "false"}  # fmt: skip

    def result(self, one: Result) -> Row:
        """Return the row of a result; work that could not be read has no score of its own."""
        known = one.standing is Standing.MARKED or one.raw > 0  # a human may have marked by hand
        missing = one.standing is Standing.MISSING
        status = "not submitted" if missing else "fully graded" if known else "submitted"
        return {
            "sourcedId": f"{one.learner}.{one.unit}",
            "lineItemSourcedId": self.id(f"unit.{one.unit}"),
            "studentSourcedId": one.learner, "scoreStatus": status,
            "score": one.raw if known else "", "scoreDate": one.submitted[:10] or self.today,
            "comment": f"{READY[one.ready]} Attempt {one.attempt}." if known else "",
            "classSourcedId": self.id("class"), "inProgress": "false",
            "incomplete": "false" if known or missing else "true",
            "late": "true" if one.late else "false", "missing": "true" if missing else "false",
        }  # fmt: skip


def _write_results(results: Iterable[Result], met: Package, put: Put) -> Package:
    for one in results:
        met.meet(one)
        if one.learner not in met.learners:
            met.learners.add(one.learner)
            for name, row in met.person(one):
                put(name, row)
        put("results", met.result(one))
    return met


def in_two(name: str) -> tuple[str, str]:
    """Return a name as given and family name, both of which the binding asks for.

    "Family, Given" is parted at the comma, other names before the last word; a name that is one
    word stands in both places, as nothing tells which it is.
    """
    family, comma, given = (part.strip() for part in name.partition(","))
    if comma and family and given:
        return given, family
    *first, last = name.split() or [name]
    return " ".join(first) or last, last


def _manifest(course: Course) -> Iterator[tuple[str, Any]]:
    yield "propertyName", "value"
    yield "manifest.version", "1.0"
    yield "oneroster.version", "1.2"
    for name in sorted((*COLUMNS, *ABSENT), key=str.casefold):
        yield f"file.{name}", "bulk" if name in COLUMNS else "absent"
    yield "source.systemName", SYSTEM
    yield "source.systemCode", course.id


def _zipped(files: list[Path], archive: Path) -> Path:
    """Pack files into a zip, which replaces an earlier one whole."""
    draft = archive.with_name(f".{archive.name}.part")
    try:
        with zipfile.ZipFile(draft, "w", zipfile.ZIP_DEFLATED) as packed:
            for path in files:
                packed.write(path, path.name)
        draft.replace(archive)
    except OSError as error:
        raise not_written(archive, error) from error
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)
    return archive
