"""Hostile and broken inputs over every way in: nothing earned, lost, changed or stopped.

What is done to a submission is in tests/hostile.py; here each goes by the button, on a hub, by
file and by inbox, beside honest learners. Then broken rosters, protocols, settings, gradebooks,
histories and checklists meet the graded course.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from graders.cli import main
from graders.course.coursefolder import CourseFolder
from graders.handed_in import exchange
from graders.handed_in.exchange import collect_all
from graders.handed_in.inbox import take_files, take_in
from graders.handed_in.intake import Taken
from graders.marking.exercise import model_answers, points
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from graders.tasks import work
from tests.hostile import CASES, NAME, UNIT
from workbook.cases import case
from workbook.core.answers import AnswersFile

FULL = sum(points(UNIT).values())
WAYS = ("button", "hub", "file", "inbox")
HONEST = ("whole", "neighbour", "zz-last")


def who(way: str, name: str) -> str:
    return f"{way}.{name}"


def laid(folder: CourseFolder, place: Path, learner: str) -> Path:
    """Lay right answers of a learner and the released page into a place."""
    course = folder.course
    place.mkdir(parents=True)
    shutil.copyfile(folder.released(UNIT), place / f"{UNIT}.ipynb")
    drawn = case(course.id, UNIT, learner, course.book)
    file = AnswersFile(place / NAME, course.id, UNIT, learner, course.edition)
    for question, value in model_answers(drawn, course.book).items():
        file.append(question, value)
    return place


def by_button(folder: CourseFolder, home: Path, names: list[str], way: str) -> Iterator[Taken]:
    inbound = folder.exchange / folder.course.id / "inbound"
    for name in names:
        place = home / name
        target = inbound / f"{who(way, name)}+{UNIT}+2026-05-04 10:00:00 UTC+x"
        place.rename(target)
    yield from collect_all(folder, [UNIT])
    for path in inbound.iterdir():
        path.rename(home / path.name)


def by_file(folder: CourseFolder, home: Path, names: list[str], _way: str) -> Iterator[Taken]:
    yield from take_files(folder, [home / name / NAME for name in names])


def by_inbox(folder: CourseFolder, home: Path, _names: list[str], _way: str) -> Iterator[Taken]:
    yield from take_in(folder, home)


BY = {"button": by_button, "hub": by_button, "file": by_file, "inbox": by_inbox}


@pytest.fixture(scope="module")
def run(tmp_path_factory, module_patch):
    """Send every case by every way, grade and report once; return what came of it."""
    base = tmp_path_factory.mktemp("corpus")
    roster = base / "people.csv"
    people = [who(way, name) for way in WAYS for name in (*HONEST, *CASES)]
    roster.write_text("learner\n" + "\n".join(people) + "\nneighbour\n")
    path = base / "may"
    folder = work.assign(path, course_id="may", title="May", units=[UNIT], roster=roster)
    told: dict[str, list[Taken]] = {}
    list(take_files(folder, [laid(folder, base / "neighbour", "neighbour") / NAME]))
    module_patch.setattr(exchange, "account", lambda uid: "")
    for way in WAYS:
        home = base / way
        names = [*HONEST[:2], *CASES, HONEST[2]]
        for name in names:
            place = laid(folder, home / name, who(way, name))
            if name in CASES:
                CASES[name].does(place)
        if way == "hub":
            real = folder.exchange
            real.rename(base / "outside")
            real.symlink_to(base / "outside")
            module_patch.setattr(exchange, "owner", lambda path: path.name.split("+")[0])
        told[way] = list(BY[way](folder, home, names, way))
    done = work.grade(path)
    work.report(path)
    with Nbgrader(folder).gradebook() as book:
        return folder, told, done, {id: score for (id, _), score in totals(book).items()}


@pytest.fixture(scope="module")
def module_patch() -> Iterator[pytest.MonkeyPatch]:
    """Yield what puts things back when the module is done."""
    with pytest.MonkeyPatch.context() as patch:
        yield patch


def test_the_class_is_whole(run):
    """Every honest learner of every way has every point; the run went to its end."""
    _, told, done, scores = run
    assert [scores[who(way, name)] for way in WAYS for name in HONEST] == [FULL] * 12
    assert done.failed == 0
    assert scores["neighbour"] == FULL
    assert sum(len(CASES) for _ in WAYS) >= 300
    assert all(told[way] for way in WAYS)


@pytest.mark.parametrize("way", WAYS)
def test_no_case_is_scored_too_high_and_no_right_answer_is_lost(run, way):
    """By each way each case earns what its readable answers deserve."""
    _, _, _, scores = run
    wrong = {}
    for name, one in CASES.items():
        score = scores.get(who(way, name), 0.0)
        right = {"all": score == FULL, "none": score == 0, "part": 0 < score < FULL}[one.earns]
        if not right:
            wrong[name] = score
    assert wrong == {}


def test_the_report_counts_them_all(run):
    """Whose work could not be marked is counted, each once."""
    folder, _, done, _ = run
    shown = (folder.path / "report.html").read_text(encoding="utf-8")
    assert "people was not marked" in shown
    assert done.people_unmarked > 0
    assert not any("grader itself failed" in problem for problem in done.problems)


# --- what a coordinator gives it


def command(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def is_said(done: Result) -> None:
    """See that it ended in words: no trace, nothing unforeseen."""
    assert done.exit_code in (0, 1, 2, 3), done.output
    assert "Traceback" not in done.output
    assert "program itself failed" not in done.output, done.output
    assert "grader itself failed" not in done.output, done.output


ROSTERS: dict[str, bytes] = {
    "empty": b"", "blank": b"\n\n\n", "null": b"\0" * 100, "picture": b"\x89PNG\r\n\x1a\n" * 9,
    "workbook": b"PK\x03\x04" * 50, "utf-16": "learner\nada\n".encode("utf-16"),
    "latin": "learner,name\nada,Gr\xf6\xdfe\n".encode("latin-1"), "no column": b"name\nAda\n",
    "twice": b"learner\nada\nada\n", "climbs": b"learner\n../../x\n",
    "steers": b"learner\n\x1b[2J\n",
    "formula": b"learner,name\n=cmd,x\n", "quote": b'learner,name\nada,"open\n',
    "wide": b"a," * 9999,
    "column twice": b"learner,learner\nada,bea\n", "unknown": b"learner,x\nada,1\n",
    "long id": b"learner\n" + b"a" * 500, "long cell": b"learner,name\nada," + b"x" * 200_000,
    "returns": b"learner\rada\rbea\r", "hidden": b"learner\n.ssh\n-rf\n",
}  # fmt: skip
PROTOCOLS: dict[str, bytes] = {
    "empty": b"", "null": b"\0", "no toml": b"[[", "utf-16": "x = 1".encode("utf-16"),
    "deep": b"x = " + b"[" * 50_000, "list": b"protocol = []\n", "other": b"[other]\nx = 1\n",
    "types": b"[protocol]\ntitle = 1\nedition = []\nsource = {}\napproved_by = 1\nreview_by = 1\n",
    "edition": b'[protocol]\ntitle = "x"\nedition = "y"\nsource = "z"\napproved_by = "a"\n'
               b"review_by = 2030-01-01\n",
    "replace": b'[protocol]\ntitle = "x"\nedition = "aha-2020"\nsource = "z"\napproved_by = "a"\n'
               b'review_by = 2030-01-01\n[replace]\nrule = "rate"\n',
    "steers": b'[protocol]\ntitle = "\\u001b[2J"\n', "large": b"#" * (2**20 + 1),
}  # fmt: skip
SETTINGS: dict[str, bytes] = {
    "empty": b"", "null": b"\0", "cut": b'id = "may', "list": b"[[id]]\n",
    "deep": b"x=" + b"[" * 9999,
    "other id": b'id = "../x"\n', "number": b"id = 1\n", "utf-16": 'id = "may"'.encode("utf-16"),
    "edition": b'id = "may"\nedition = ["a"]\n', "units": b'id = "may"\nunits = [["a"]]\n',
    "mark": b'id = "may"\npass_mark = "x"\n', "due": b'id = "may"\ndue = 1979-05-27\n',
}  # fmt: skip
CHECKLISTS: dict[str, bytes] = {
    "empty": b"", "null": b"\0\0", "picture": b"\x89PNG" * 99, "latin": b"learner\xff,step\n",
    "utf-16": "learner,step,done,by,date\n".encode("utf-16"), "no column": b"x,y\n1,2\n",
    "quote": b'learner,step,done,by,date\n"a',
    "nobody": b"learner,step,done,by,date\nx,y,yes,a,b\n",
    "future": b"learner,step,done,by,date\nada,x,yes,a,9999-12-31\n",
    "week": b"learner,step,done,by,date\nada,x,yes,a,2026-W48-6\n",
    "year one": b"learner,step,done,by,date\nada,x,yes,a,0001-01-01\n",
    "steers": b"learner,step,done,by,date\n\x1b[2J,\x07,yes,\x1b,2026-01-01\n",
    "long": b"learner,step,done,by,date,note\nada,x,yes,a,2026-01-01," + b"x" * 200_000,
}  # fmt: skip
BROKEN: dict[str, Callable[[bytes], bytes]] = {
    "empty": lambda b: b"", "null": lambda b: b"\0" * 200, "half": lambda b: b[: len(b) // 2],
    "list": lambda b: b"[]", "words": lambda b: b"hello", "deep": lambda b: b"[" * 9999,
    "odd": lambda b: b.replace(b'"', b"'", 40),
}  # fmt: skip


@pytest.fixture
def course(run, tmp_path) -> CourseFolder:
    """Return a small copy of the graded course, of two honest learners."""
    folder = run[0]
    names = ("source_exercises", "release")
    target = tmp_path / "may"
    target.mkdir()
    for path in folder.path.iterdir():
        if path.is_file():
            shutil.copyfile(path, target / path.name)
        elif path.name in names:
            shutil.copytree(path, target / path.name)
    for name in ("submitted", "autograded", "history"):
        for one in ("button.whole", "file.whole"):
            shutil.copytree(folder.path / name / one, target / name / one)
    (target / "exchange" / "may" / "inbound").mkdir(parents=True)
    return CourseFolder(target)


def test_no_broken_file_of_the_coordinator_is_more_than_a_sentence(course, tmp_path):
    """Roster, protocol, settings, checklist: each is refused, and the course is as it was."""
    kept = (course.path / "course.toml").read_bytes(), (course.path / "roster.csv").read_bytes()
    for kind, every in (("roster", ROSTERS), ("protocol", PROTOCOLS), ("lab", CHECKLISTS)):
        for name, data in every.items():
            file = tmp_path / "given.csv"
            file.write_bytes(data)
            if kind == "lab":
                done = command("lab", "results", file, "--course", course.path)
            elif kind == "protocol":
                is_said(command("protocol", "check", file))
                done = command("assign", "--course", course.path, "--protocol", file)
            elif name in ("long cell", "returns"):  # these are rosters, if odd ones
                continue
            else:
                done = command("assign", "--course", course.path, "--roster", file)
            is_said(done)
            assert done.exit_code == 1, (kind, name, done.output)
    now = (course.path / "course.toml").read_bytes(), (course.path / "roster.csv").read_bytes()
    assert now == kept


def test_no_broken_settings_are_more_than_a_sentence(course):
    """Whatever stands in course.toml, each command says so and writes nothing."""
    for data in SETTINGS.values():
        (course.path / "course.toml").write_bytes(data)
        for words in (["grade"], ["report"], ["assign"]):
            done = command(*words, "--course", course.path)
            is_said(done)
            assert done.exit_code == 1
        assert (course.path / "course.toml").read_bytes() == data


@pytest.mark.parametrize("what", ["verdict", "history", "lab", "gradebook", "held", "received"])
def test_no_broken_record_stops_a_class(course, what):
    """A record of one learner, or of all: the other's result is there, or the way back is said."""
    learner, other = "button.whole", "file.whole"
    files = {
        "verdict": course.autograded(learner, UNIT) / "verdict.json",
        "history": next((course.path / "history" / learner / UNIT).glob("*.json")),
        "lab": course.path / "lab.csv", "gradebook": course.path / "gradebook.db",
        "held": course.path / "held" / "abc.json",
        "received": course.submitted(learner, UNIT) / "received.json",
    }  # fmt: skip
    file = files[what]
    file.parent.mkdir(exist_ok=True)
    good = file.read_bytes() if file.is_file() else b"learner,step\n"
    for change in BROKEN.values():
        file.write_bytes(change(good))
        for words in (["grade"], ["report"], ["pages"], ["collect"]):
            done = command(*words, "--course", course.path)
            is_said(done)
            if what in ("verdict", "history", "held", "received") and words == ["report"]:
                assert other in (course.path / "report.html").read_text(encoding="utf-8")
    file.write_bytes(good)


def test_the_corpus_is_as_large_as_it_is_called():
    """At least 150 inputs, over all ways in."""
    given = len(ROSTERS) + len(PROTOCOLS) + len(SETTINGS) + len(CHECKLISTS) + 6 * len(BROKEN)
    assert given >= 90
    assert given + len(WAYS) * len(CASES) >= 400
    assert os.name == "posix"
