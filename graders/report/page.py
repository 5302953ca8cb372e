"""The coordinator's page: one HTML file that needs no network and no other file."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import cache
from pathlib import Path

from graders.cohort.beliefs import SMALL
from graders.cohort.group import Cohort
from graders.course.roster import Person
from graders.lab.record import LabResult
from graders.learner.standing import Standing, Status
from graders.report.frame import drawn, perhaps, title_of
from graders.report.readiness import ORDER, breakdown, filters, lines
from workbook.course.settings import Course
from workbook.rules import superseded

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
MOST = 30  # names in one sentence
LONG = 300  # lines from which a table is drawn row by row, only those in sight
MANY = 200  # lines of a list that report.csv has in full


def page(
    cohort: Cohort,
    *,
    made_at: datetime,
    version: str,
    lab: Mapping[str, LabResult] | None = None,
    beside: Sequence[str] = (),
) -> str:
    """Return the whole page as HTML.

    ``lab`` is what was observed hands-on by learner id, ``beside`` names the pages in its folder.
    """
    course = cohort.course
    rows = [row for row in cohort.rows if row.handed_in]
    by = filters(cohort)
    people = {one.person.learner: one.person for one in cohort.learners}
    return drawn(
        "page.html.jinja",
        cohort=cohort,
        course=course,
        several=len(cohort.units) > 1,
        edition=course.book.edition,
        newer=superseded(course.book.edition),
        protocol=course.book.protocol,
        made_at=made_at,
        version=version,
        lab=lab or {},
        beside=beside,
        script=script(),
        says=summary(cohort),
        also=_also(cohort),
        counts=_counts(cohort),
        everyone=len(cohort.learners),
        came=bool(rows),
        lines=list(lines(cohort, by)),
        order=ORDER,
        by=by,
        breakdown=breakdown(cohort),
        turnout=cohort.turnout,
        acts=_acts(rows),
        open=[row for row in rows if row.usable and row.left_open],
        files=[row for row in rows if row.problems],
        by_hand=[row for row in rows if row.by_hand],
        missing=_missing(cohort),
        told={b.misconception.id for b in cohort.beliefs},
        holders={b.misconception.id: [people[id] for id in b.named] for b in cohort.beliefs},
        small=SMALL,
        most=MOST,
        many=MANY,
        long=LONG,
        usable=sum(row.usable for row in rows),
        pass_mark=f"{100 * course.needed:g} %",
        pass_source=_pass_source(course),
        others=_other_versions(rows, version),
    )


@cache
def script() -> str:
    """Return the one script of the page: it sorts the table of learners and counts its lines."""
    return Path(__file__).with_name("sort.js").read_text(encoding="utf-8")


@dataclass(frozen=True, slots=True)
class Act:
    """One unsafe act and who showed it."""

    unit: str
    says: str
    people: tuple[Person, ...]


def summary(cohort: Cohort) -> str:
    """Return the group in one sentence."""
    everyone = cohort.statuses()
    turnout = cohort.turnout
    every = " in every unit" if turnout.several else ""
    if not everyone:
        return "Nothing was handed in, and there is no roster to say who should."
    if all(not row.handed_in for row in cohort.rows):
        return f"0 of {len(everyone)} handed in; nothing can be said of the group yet."
    if not turnout.marked:
        return (
            f"{turnout.handed_in}; nothing of it could be marked, so nothing can be said of the "
            "group yet."
        )
    ready = sum(status is Status.READY for status in everyone.values())
    unsafe = sum(status is Status.UNSAFE for status in everyone.values())
    return (
        f"{turnout.handed_in}; {_are(ready)} ready for the lab{every}; "
        + (f"{unsafe} showed an unsafe act." if unsafe else "")
        + ("" if unsafe else f"{turnout.none_of('showed an unsafe act')}.")
    )


def _are(count: int) -> str:
    if count == 0:
        return "nobody is"
    return "1 is" if count == 1 else f"{count} are"


def _also(cohort: Cohort) -> list[str]:
    """Return what else a coordinator should know at once."""
    also = [cohort.turnout.left_out] if cohort.turnout.unmarked else []
    if cohort.waiting:
        count = len(cohort.waiting)
        what = "1 piece of work waits" if count == 1 else f"{count} pieces of work wait"
        also.append(f"{what} for you to say whose it is: see Files.")
    if cohort.beliefs:
        top = cohort.beliefs[0]
        title = title_of(top.misconception.id)
        shows = f"shows in {top.count} of {top.of}{perhaps(len(top.slips))}"
        also.append(f"The commonest misconception, {title}, {shows}.")
    files = sum(bool(row.problems) for row in cohort.rows)
    if files:
        which = "The files of 1 learner" if files == 1 else f"The files of {files} learners"
        also.append(f"{which} could not be used, or not in full.")
    if cohort.strangers:
        ids = ", ".join(person.learner for person in cohort.strangers)
        also.append(f"Counted here but not on the roster: {ids}.")
    return also


def _acts(rows: Sequence[Standing]) -> list[Act]:
    """Return each unsafe act once, whatever its numbers; the commonest first."""
    found: dict[tuple[str, str], dict[str, Person]] = {}
    said: dict[tuple[str, str], set[str]] = {}
    for row in rows:
        for says in row.unsafe:
            key = row.unit, _NUMBER.sub("…", says)
            found.setdefault(key, {})[row.learner] = row.person
            said.setdefault(key, set()).add(says)
    acts = [
        Act(key[0], said[key].pop() if len(said[key]) == 1 else key[1], tuple(people.values()))
        for key, people in found.items()
    ]
    return sorted(acts, key=lambda act: (-len(act.people), act.unit, act.says))


def _missing(cohort: Cohort) -> list[tuple[Person, list[str]]]:
    """Return who has not handed in, and which units."""
    found = (
        (one.person, [each.unit for each in one.standings if not each.handed_in])
        for one in cohort.learners
    )
    return [(person, units) for person, units in found if units]


def _counts(cohort: Cohort) -> list[tuple[Status, int]]:
    found = Counter(cohort.statuses().values())
    return [(status, found[status]) for status in ORDER if found[status]]


def _pass_source(course: Course) -> str:
    if course.pass_mark is not None:
        return "Set for this course, in course.toml."
    return f"Source: {course.book['pass-mark'].citation}"


def _other_versions(rows: Sequence[Standing], version: str) -> str:
    others = sorted({row.version for row in rows if row.version and row.version != version})
    return ", ".join(others)
