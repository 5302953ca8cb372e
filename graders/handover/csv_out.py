"""Results as documented CSV: one table of units, one of questions, one that explains the columns.

For spreadsheets, so no cell can be taken for a formula (as in the report's own table).
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Mapping
from pathlib import Path

from graders.core.spreadsheet import BETWEEN, ENCODING, harmless
from graders.course.coursefolder import Person
from graders.handover.files import replaced
from graders.handover.result import Item, Result, Standing

RESULTS, QUESTIONS, COLUMNS_FILE = "results.csv", "questions.csv", "columns.csv"

Cell = str | float

NAMED: Mapping[str, str] = {
    "learner": "The learner's id. Only with --names.",
    "name": "The learner's name, from the coordinator's roster. Only with --names.",
    "role": "The learner's role, from the roster. Only with --names.",
    "ward": "The learner's ward, from the roster. Only with --names.",
}
COLUMNS: Mapping[str, str] = {
    "pseudonym": "Stands for the learner; the coordinator alone can tell whom.",
    "course": "The course's short name.",
    "unit": "The unit, as its folder is called.",
    "standing": "'marked'; 'unreadable' when the handed-in file could not be; 'not handed in'.",
    "attempt": "Which attempt was marked, from 1; each draws another case. Empty without one.",
    "hand_in": "Which hand-in it is, from 1 over all attempts: one may be handed in again.",
    "started": "When the first answer was saved, by the learner's computer, in UTC.",
    "submitted": "When it was handed in, in UTC; empty when not known.",
    "late": "'yes' when the work came after it was due; lateness costs no points.",
    "score": "The points that count: the gradebook's, where a human changed them.",
    "marked": "The points the marking gave, the sum of the unit's lines in questions.csv.",
    "possible": "The points there are.",
    "scaled": "score by possible, at most 1.",
    "needed": "The share of the points that passes in this course, 0 to 1.",
    "ready": "'yes' when ready for the lab: enough points and nothing unsafe. Not competence.",
    "critical_missed": "How many critical findings were missed.",
    "misconceptions": "The id of each misconception recognised, parted by ' | '.",
    "problems": "How many things were wrong with the handed-in file.",
    "edition": "The edition of the guideline the answers were marked under.",
    "rules": "Names the very rules, and the site's protocol if there is one.",
    "version": "The version of the software that marked.",
}
QUESTION_COLUMNS: Mapping[str, str] = {
    "pseudonym": "As in results.csv.",
    "course": "As in results.csv.",
    "unit": "As in results.csv.",
    "attempt": "As in results.csv.",
    "hand_in": "As in results.csv.",
    "question": "The question's id within the unit.",
    "score": "The points the marking gave.",
    "possible": "The points there are.",
    "scaled": "score by possible, at most 1.",
    "right": "'yes' when every point was earned and nothing unsafe was shown.",
    "critical_missed": "How many critical findings of the question were missed.",
    "misconceptions": "The id of each misconception recognised, parted by ' | '.",
}


def write_csv(results: Iterable[Result], folder: Path, *, names: bool = False) -> list[Path]:
    """Write the three tables into a folder and return their paths."""
    paths = [folder / name for name in (RESULTS, QUESTIONS, COLUMNS_FILE)]
    with replaced(paths, encoding=ENCODING) as files:
        units, questions, columns = map(csv.writer, files)
        units.writerow((*COLUMNS, *(NAMED if names else ())))
        questions.writerow(QUESTION_COLUMNS)
        for one in results:
            named = _named(one.who) if names else ()
            units.writerow([*map(harmless, cells(one)), *map(harmless, named)])
            for item in one.items:
                questions.writerow([*map(harmless, question_cells(one, item))])
        columns.writerow(("file", "column", "says"))
        said = {**COLUMNS, **(NAMED if names else {})}
        columns.writerows((RESULTS, column, says) for column, says in said.items())
        columns.writerows((QUESTIONS, column, says) for column, says in QUESTION_COLUMNS.items())
    return paths


def cells(one: Result) -> tuple[Cell, ...]:
    """Return one line of results.csv, in the order of COLUMNS; what does not exist is empty."""
    head = (one.learner, one.course, one.unit, str(one.standing))
    if one.standing is Standing.MISSING:
        nothing = ("",) * (len(COLUMNS) - len(head))
        return (*head, *nothing)
    return (
        *head,
        one.attempt,
        one.hand_in,
        one.started,
        one.submitted,
        _yes(one.late),
        one.raw,
        one.marked,
        one.max,
        "" if one.scaled is None else one.scaled,
        one.needed,
        _yes(one.ready),
        one.unsafe,
        BETWEEN.join(one.misconceptions),
        one.problems,
        one.edition,
        one.rules,
        one.version,
    )


def question_cells(one: Result, item: Item) -> tuple[Cell, ...]:
    """Return one line of questions.csv, in the order of QUESTION_COLUMNS."""
    return (
        one.learner,
        one.course,
        one.unit,
        one.attempt,
        one.hand_in,
        item.question,
        item.raw,
        item.max,
        "" if item.scaled is None else item.scaled,
        _yes(item.right),
        item.unsafe,
        BETWEEN.join(item.misconceptions),
    )


def _named(who: Person | None) -> tuple[str, ...]:
    return ("", "", "", "") if who is None else (who.learner, who.name, who.role, who.ward)


def _yes(value: bool) -> str:
    return "yes" if value else "no"
