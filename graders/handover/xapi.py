"""Results as xAPI statements (IEEE 9274.1.1, in the form of version 1.0.3): JSON, one a line.

For each unit: completed, then passed or failed; for each question: answered. Verbs and activity
types are of the ADL vocabulary. An attempt is an activity of its own among those that a statement
is grouped with, as the ADL's xAPI profile for SCORM (draft) has it. A learner is an account (home
page and pseudonym), never a mail address. A statement's id follows from all it says and from the
marked file, so the same result sent twice is one statement, and a result that was marked otherwise
is another.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, TextIO
from urllib.parse import quote, urlsplit
from uuid import NAMESPACE_URL, uuid5

from graders.handover.files import HandoverError, replaced
from graders.handover.result import Item, Result, Standing
from workbook.course.settings import Course

LINES, ARRAY = "statements.jsonl", "statements.json"
VERSION = "1.0.3"
VERBS = "http://adlnet.gov/expapi/verbs/"
ACTIVITIES = "http://adlnet.gov/expapi/activities/"
LANGUAGE = "en"
READY = (
    "Passed means ready for the skills lab: enough points and no unsafe act. It is no statement "
    "of competence. For education only."
)

_ADDRESS = re.compile(r"[!-~]+")

Statement = dict[str, Any]


def write_xapi(
    results: Iterable[Result], course: Course, folder: Path, *, home: str = "", array: bool = False
) -> list[Path]:
    """Write the statements into a folder, one a line or as one JSON array; return the path.

    ``home`` is the address that learners and units are named under.
    """
    place = home_page(home, course)
    path = folder / (ARRAY if array else LINES)
    with replaced([path]) as (file,):
        lines = (line for one in results for line in as_lines(one, place))
        _write_array(file, lines) if array else file.writelines(f"{line}\n" for line in lines)
    return [path]


def _write_array(file: TextIO, lines: Iterable[str]) -> None:
    between = "[\n"
    for line in lines:
        file.write(f"{between}{line}")
        between = ",\n"
    file.write("[]\n" if between == "[\n" else "\n]\n")


def home_page(given: str, course: Course) -> str:
    """Return the address that everything is named under, without a slash at its end.

    By default one that is plainly invented and belongs to nobody, another for each course.
    Raises HandoverError when the given one is no web address.
    """
    if not given:
        return f"https://tpiece-workbook.invalid/{course.id}"
    try:
        parts = urlsplit(given)
        usable = parts.scheme in ("http", "https") and parts.hostname
    except ValueError:
        usable = None
    if not usable or not _ADDRESS.fullmatch(given) or parts.query or parts.fragment:
        raise HandoverError(
            f"{given[:80]!r} cannot be a home page: write a web address of your own without a "
            "question mark or #, for example https://learning.example.org/t-piece"
        )
    return given.rstrip("/")


def as_lines(one: Result, home: str) -> Iterator[str]:
    """Yield the statements of a result as JSON, each on one line."""
    for body in bodies(one, home):
        text = json.dumps(body, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
        yield f'{{"id":"{uuid5(NAMESPACE_URL, one.digest + text)}",{text[1:]}'


def statements(one: Result, home: str) -> Iterator[Statement]:
    """Yield the statements of a result as data."""
    return map(json.loads, as_lines(one, home))


def bodies(one: Result, home: str) -> Iterator[Statement]:
    """Yield what the statements of a result say, without their ids.

    Nothing can be said of work that is missing or could not be read.
    """
    if one.standing is not Standing.MARKED:
        return
    unit, course = _unit(one, home), _course(one, home)
    shared: Statement = {"actor": _actor(one, home)}
    if one.submitted:
        shared["timestamp"] = one.submitted
    attempt = _attempt(one, home)
    about = _context(one, home, [], [course, attempt])
    outcome = "passed" if one.ready else "failed"
    score = _score(one.raw, one.max, one.scaled)
    for verb, said in (
        ("completed", {"completion": True}),
        (outcome, {**score, "success": one.ready, "completion": True}),
    ):
        yield {**shared, "verb": _verb(verb), "object": unit, "result": said, "context": about,
               "version": VERSION}  # fmt: skip
    within = _context(one, home, [unit], [course, attempt])
    for item in one.items:
        said = {**_score(item.raw, item.max, item.scaled), "success": item.right,
                **_extensions(home, item)}  # fmt: skip
        yield {**shared, "verb": _verb("answered"), "object": _question(one, item, home),
               "result": said, "context": within, "version": VERSION}  # fmt: skip


def _actor(one: Result, home: str) -> Statement:
    actor: Statement = {"objectType": "Agent"}
    if one.who is not None and one.who.name:
        actor["name"] = one.who.name
    return {**actor, "account": {"homePage": home, "name": one.learner}}


def _verb(name: str) -> Statement:
    return {"id": f"{VERBS}{name}", "display": {LANGUAGE: name}}


def _score(raw: float, most: float, scaled: float | None) -> Statement:
    """Return a score; bounds that a human's points lie outside of are left out."""
    if scaled is None:
        return {}
    bounds = {"min": 0, "max": most} if 0 <= raw <= most else {}
    return {"score": {"scaled": scaled, "raw": raw, **bounds}}


def _course(one: Result, home: str) -> Statement:
    return _activity(f"{home}/course/{quote(one.course)}", "course", f"Course {one.course}")


def _unit(one: Result, home: str) -> Statement:
    return _activity(_unit_id(one, home), "assessment", f"Unit {one.unit}", READY)


def _attempt(one: Result, home: str) -> Statement:
    """Return one learner's attempt at a unit; its address ends with the number of the attempt."""
    id = f"{_unit_id(one, home)}/attempt/{quote(one.learner, safe='')}/{one.attempt}"
    return _activity(id, "attempt", f"Attempt {one.attempt} of unit {one.unit}")


def _question(one: Result, item: Item, home: str) -> Statement:
    id = f"{_unit_id(one, home)}/{quote(item.question, safe='')}"
    return _activity(id, "question", f"Question {item.question} of unit {one.unit}")


def _unit_id(one: Result, home: str) -> str:
    return f"{home}/course/{quote(one.course)}/{quote(one.unit, safe='')}"


def _activity(id: str, kind: str, name: str, says: str = "") -> Statement:
    about: Statement = {"type": f"{ACTIVITIES}{kind}", "name": {LANGUAGE: name}}
    if says:
        about["description"] = {LANGUAGE: says}
    return {"objectType": "Activity", "id": id, "definition": about}


def _context(
    one: Result, home: str, parent: list[Statement], grouping: list[Statement]
) -> Statement:
    """Return what a result was marked under; ``registration`` joins an attempt's statements."""
    attempt = f"{home}/{one.course}/{one.learner}/{one.unit}/{one.attempt}"
    around = {"parent": _bare(parent), "grouping": [_typed(each) for each in grouping]}
    return {
        "registration": str(uuid5(NAMESPACE_URL, attempt)),
        "contextActivities": {name: each for name, each in around.items() if each},
        "platform": "T-piece workbook",
        "extensions": {
            f"{home}/extension/marking": {
                "edition": one.edition,
                "rules": one.rules,
                "version": one.version,
                "attempt": one.attempt,
                "hand_in": one.hand_in,
                "needed": one.needed,
            }
        },
    }


def _typed(activity: Statement) -> Statement:
    """Return an activity with its type, by which an attempt is told from a course."""
    definition = {name: activity["definition"][name] for name in ("type", "name")}
    return {**activity, "definition": definition}


def _bare(activities: Iterable[Statement]) -> list[Statement]:
    return [{"objectType": "Activity", "id": each["id"]} for each in activities]


def _extensions(home: str, item: Item) -> Statement:
    return {
        "extensions": {
            f"{home}/extension/shown": {
                "critical_missed": item.unsafe,
                "misconceptions": list(item.misconceptions),
            }
        }
    }
