"""What is handed in is marked as it arrives: by one command, whoever else does what."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from click.testing import CliRunner

from graders.cli import main
from graders.commands.lab import NOT_FOR_ALL
from graders.core.alone import GRADING, WATCHING, alone
from graders.course.coursefolder import CourseFolder, lay_out
from graders.marking.personas import answers_of
from graders.nbgrader.gradebook import GradebookError, Nbgrader
from graders.nbgrader.scores import totals
from graders.tasks import watching, work
from graders.tasks.watching import UNDER_WAY, Watch
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.course.handed import TIMESTAMP, digest
from workbook.course.result import Result, came_back, read_result
from workbook.course.settings import FILE, Course, CourseError

pytestmark = pytest.mark.slow

UNIT = "1_setup_order"
PATIENCE = 120.0  # s; a busy machine may take long, and that is no fault
WHEN = "2026-05-04 10:00:00 UTC"


@pytest.fixture(scope="module")
def given_out(tmp_path_factory: pytest.TempPathFactory) -> CourseFolder:
    """Return a course of one unit that is marked at hand-in, as it is given out."""
    path = tmp_path_factory.mktemp("course") / "may"
    return work.assign(path, course_id="may", units=[UNIT], feedback="at hand-in")


@pytest.fixture
def course(given_out: CourseFolder, tmp_path: Path) -> CourseFolder:
    """Return a copy of it, to hand in to."""
    shutil.copytree(given_out.path, tmp_path / "may")
    return CourseFolder(tmp_path / "may")


def answered(course: CourseFolder, learner: str, holds: str = "") -> bytes:
    """Return an answers file of the unit as somebody with a belief fills it in."""
    settings = course.course
    drawn = case(settings.id, UNIT, learner, settings.book)
    path = course.path.parent / "own" / f"{learner}{holds}" / f"{UNIT}.answers.jsonl"
    path.parent.mkdir(parents=True)
    file = AnswersFile(path, settings.id, UNIT, learner, settings.edition)
    for question, value in answers_of(drawn, settings.book, holds).items():
        file.append(question, value)
    return path.read_bytes()


def begin(course: CourseFolder, learner: str, when: str = WHEN) -> Path:
    """Make the folder of a hand-in, of which nothing is written yet."""
    place = course.exchange / "may" / "inbound" / f"{learner}+{UNIT}+{when}+x"
    place.mkdir()
    return place


def hand_in(course: CourseFolder, learner: str, data: bytes, when: str = WHEN) -> Path:
    """Lay work where nbgrader lays it, in its order; return where its result will lie."""
    place = begin(course, learner, when)
    answers = answers_path(place / f"{UNIT}.ipynb")
    answers.write_bytes(data)
    (place / TIMESTAMP).write_text(when, encoding="utf-8")
    return came_back(course.exchange / "may", digest(answers))


def until(true: Callable[[], object]) -> None:
    end = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < end, "it did not come true"
        time.sleep(0.05)


class Running:
    """A watch that runs in a thread, and what it says."""

    def __init__(self, course: CourseFolder) -> None:
        self.said: list[str] = []
        self.watch = Watch(course.path, lambda says, _wrong: self.said.append(says))
        self.stop = threading.Event()
        self.thread = threading.Thread(target=self.watch.run, args=(self.stop,), daemon=True)

    def saw(self, text: str) -> bool:
        """Say whether it said this."""
        return any(text in says for says in self.said)


@contextmanager
def watched(course: CourseFolder) -> Iterator[Running]:
    running = Running(course)
    running.thread.start()
    try:
        yield running
        assert running.thread.is_alive(), running.said
    finally:
        running.stop.set()
        running.thread.join(PATIENCE)
    assert not running.thread.is_alive()


def looked(course: CourseFolder) -> tuple[Watch, list[str]]:
    """Return a watch that looked until nothing was left, and what it said."""
    said: list[str] = []
    watch = Watch(course.path, lambda says, _wrong: said.append(says))
    while watch.look():
        pass
    return watch, said


def result(path: Path, learner: str) -> Result:
    return read_result(path, learner, UNIT)


def scores(course: CourseFolder) -> dict[str, float]:
    with Nbgrader(course).gradebook() as book:
        return {who: score for (who, _), score in totals(book).items()}


def test_what_is_handed_in_is_marked_while_it_runs(course: CourseFolder) -> None:
    """One after the other; scores are those that collecting and grading by hand give."""
    with watched(course) as running:
        first = hand_in(course, "ada", answered(course, "ada"))
        until(first.is_file)
        later = hand_in(course, "bea", answered(course, "bea", "peep-before-pip"))
        until(later.is_file)
        until(lambda: running.saw("1 taken in, 1 marked"))
    assert result(first, "ada").standing == "ready"
    assert result(later, "bea").standing == "unsafe"
    found = scores(course)
    assert set(found) == {"ada", "bea"}
    work.grade(course.path)
    assert scores(course) == found
    assert not (course.path / UNDER_WAY).exists()


def test_nobody_elses_broken_work_stops_it(
    course: CourseFolder, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Nonsense, links, files of strange names, and work on which the intake itself fails."""
    inbound = course.exchange / "may" / "inbound"
    hand_in(course, "zoe", b"nonsense")
    (inbound / "stray").write_text("x", encoding="utf-8")
    (inbound / f"eve+{UNIT}+{WHEN}").symlink_to(tmp_path)
    linked = begin(course, "kim")
    (linked / f"{UNIT}.answers.jsonl").symlink_to("/etc/passwd")
    (linked / TIMESTAMP).write_text(WHEN, encoding="utf-8")
    hand_in(course, "bad", answered(course, "bad"))
    good = hand_in(course, "ada", answered(course, "ada"))
    from graders.handed_in.intake import Intake, Piece, Taken

    real = Intake.take

    def take(self: Intake, piece: Piece, *, for_: str = "") -> Taken:
        if piece.learner == "bad":
            raise KeyError("a mistake of ours")
        return real(self, piece, for_=for_)

    monkeypatch.setattr(Intake, "take", take)
    watch, said = looked(course)
    assert result(good, "ada").standing == "ready"
    told = "\n".join(said)
    assert "taking it in itself failed (KeyError" in told
    assert {who for who, unit in watch.unmarked if unit} == {"zoe", "kim", "bad"}
    before = len(said)
    watch.look()
    assert len(said) == before  # each is told once
    monkeypatch.setattr(Intake, "take", real)
    again, _ = looked(course)
    assert "bad" not in {who for who, _ in again.unmarked}


def test_a_folder_is_taken_once_it_is_written_to_its_end(
    course: CourseFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half of a file is nobody's answers; what is never ended is told and left."""
    watch, said = looked(course)
    data, place = answered(course, "ada"), begin(course, "ada")
    answers = answers_path(place / f"{UNIT}.ipynb")
    half = data.splitlines(keepends=True)
    answers.write_bytes(b"".join(half[: len(half) // 2]))
    watch.look()
    assert said == []
    answers.write_bytes(data)
    (place / TIMESTAMP).write_text(WHEN, encoding="utf-8")
    watch.look()
    assert scores(course) == {"ada": pytest.approx(scores(course)["ada"])}
    name = digest(answers)
    assert result(came_back(course.exchange / "may", name), "ada").standing == "ready"
    begin(course, "bea")
    watch.look()
    assert not [says for says in said if "bea" in says]
    monkeypatch.setattr(watching, "WHOLE", -1.0)
    watch.look()
    assert [says for says in said if "bea" in says]


def test_what_was_left_over_is_marked_at_the_start(course: CourseFolder) -> None:
    """Collected and not graded, as after a kill; and all of it when a batch was cut short."""
    back = hand_in(course, "ada", answered(course, "ada"))
    list(work.collect(course.path))
    assert not back.exists()
    with watched(course):
        until(back.is_file)
    told = back.stat().st_mtime_ns
    with watched(course) as running:
        other = hand_in(course, "bea", answered(course, "bea"))
        until(other.is_file)
    assert back.stat().st_mtime_ns == told, running.said  # marked once is enough
    (course.path / UNDER_WAY).touch()
    with watched(course) as running:
        until(lambda: running.saw("2 marked"))
    assert not (course.path / UNDER_WAY).exists()


def test_it_waits_while_the_coordinator_grades(course: CourseFolder) -> None:
    """Neither disturbs the other, and nothing is lost."""
    watch, said = looked(course)
    back = hand_in(course, "ada", answered(course, "ada"))
    with alone(course.path, GRADING):
        assert watch._kept_up() == watching.EVERY
        assert watch._kept_up() == watching.EVERY
        assert not back.exists()
    assert not (course.path / UNDER_WAY).exists()
    watch._kept_up()
    assert back.is_file()
    assert len(said) == 1


def test_a_command_that_waits_for_another_says_so(tmp_path: Path, capsys, monkeypatch) -> None:
    """Nobody looks at a silent line for minutes."""
    monkeypatch.setattr("graders.core.alone.SILENT", 0.1)
    ended = threading.Event()

    def other() -> None:
        with alone(tmp_path, GRADING):
            held.set()
            ended.wait(PATIENCE)

    held, waits = threading.Event(), threading.Thread(target=other)
    waits.start()
    assert held.wait(PATIENCE)
    threading.Timer(1.0, ended.set).start()
    with alone(tmp_path, GRADING):
        assert ended.is_set()
    waits.join()
    told = f"Another command is at work on {tmp_path}; this one waits for it.\n"
    assert capsys.readouterr().err == told


def test_grading_by_hand_beside_it_gives_the_same(course: CourseFolder) -> None:
    """Again and again while work arrives: every score is there, and every result."""
    learners = [f"n{k}" for k in range(6)]
    work_of = {
        who: answered(course, who, "peep-before-pip" if who < "n3" else "") for who in learners
    }
    backs = {}
    with watched(course) as running:
        for who in learners:
            backs[who] = hand_in(course, who, work_of[who])
            list(work.collect(course.path))
            assert work.grade(course.path).failed == 0
        until(lambda: all(back.is_file() for back in backs.values()))
        until(lambda: not running.watch.todo)
    found = scores(course)
    assert set(found) == set(learners)
    assert len({found[who] for who in learners[:3]}) >= 1
    assert {result(backs[who], who).standing for who in learners[:3]} == {"unsafe"}
    assert {result(backs[who], who).standing for who in learners[3:]} == {"ready"}


def test_a_gradebook_that_is_away_is_told_once_and_waited_for(
    course: CourseFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The work waits with it."""
    watch, said = looked(course)
    back = hand_in(course, "ada", answered(course, "ada"))
    real = work.grade

    def away(*_: object, **__: object) -> None:
        raise GradebookError("The gradebook cannot be used just now.")

    monkeypatch.setattr(work, "grade", away)
    assert [watch._kept_up() for _ in range(3)] == [watching.AGAIN] * 3
    assert said == ["The gradebook cannot be used just now."]
    monkeypatch.setattr(work, "grade", real)
    watch._kept_up()
    assert back.is_file()


def test_somebody_who_comes_onto_the_roster_is_marked_then(course: CourseFolder) -> None:
    """Settings are read anew when they change; so is what was put aside before."""
    roster = course.path / "roster.csv"
    roster.write_text("learner\nbea\n", encoding="utf-8")
    back = hand_in(course, "ada", answered(course, "ada"))
    watch, said = looked(course)
    assert "not on the roster" in said[0]
    assert not back.exists()
    roster.write_text("learner\nbea\nada\n", encoding="utf-8")
    os.utime(roster, ns=(1, 1))  # whatever the clock's step is
    while watch.look():
        pass
    assert back.is_file()
    assert watch.unmarked == set()


def test_a_course_that_the_coordinator_grades_is_not_watched(
    tmp_path: Path, course: CourseFolder
) -> None:
    """A sentence says what to do; so it does when that changes while it runs."""
    other = lay_out(tmp_path / "june", Course("june", "June"))
    done = CliRunner().invoke(main, ["grade", "--course", str(other.path), "--watch"])
    assert done.exit_code == 1
    assert "tpiece assign --course" in done.output
    assert "--feedback at-hand-in" in done.output
    watch, said = looked(course)
    text = (course.path / FILE).read_text(encoding="utf-8")
    (course.path / FILE).write_text(text.replace("at hand-in", "when graded"), encoding="utf-8")
    assert watch._kept_up() == watching.AGAIN
    assert "nothing to watch" in said[0]


@pytest.mark.parametrize(
    "more", [["--verify"], ["--workers", "2"], ["--inbox", "."], ["--stock", "1"]]
)
def test_what_does_not_go_with_it_is_refused(course: CourseFolder, more: list[str]) -> None:
    """Nothing is left out in silence."""
    done = CliRunner().invoke(main, ["grade", "--course", str(course.path), "--watch", *more])
    assert done.exit_code == 1
    assert "--watch goes with --course alone" in done.output


def started(course: CourseFolder, **more: str) -> subprocess.Popen[str]:
    words = [sys.executable, "-m", "graders.cli", "grade", "--course", str(course.path), "--watch"]
    return subprocess.Popen(
        words, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        env={**os.environ, **more},
    )  # fmt: skip


def test_the_command_is_the_only_one_and_ends_by_a_signal(
    course: CourseFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """SIGTERM ends it with 0; with work that could not be marked, by Ctrl-C, with 3."""
    running = started(course)
    assert running.stdout is not None
    try:
        assert "Ctrl-C ends it" in running.stdout.readline()
        back = hand_in(course, "ada", answered(course, "ada"))
        until(back.is_file)
        assert "1 taken in, 1 marked" in running.stdout.readline()
        monkeypatch.setattr(watching, "TURN", 0.0)
        second = CliRunner().invoke(main, ["grade", "--course", str(course.path), "--watch"])
        assert second.exit_code == 1
        assert "one is enough" in second.output
        running.send_signal(signal.SIGTERM)
        said, _ = running.communicate(timeout=PATIENCE)
        assert running.returncode == 0, said
        assert said.startswith("Ended.")
        running = started(course)
        assert running.stdout is not None
        running.stdout.readline()
        hand_in(course, "zoe", b"nonsense")
        assert "zoe" in running.stdout.readline()
        running.send_signal(signal.SIGINT)
        said, _ = running.communicate(timeout=PATIENCE)
        assert running.returncode == NOT_FOR_ALL, said
    finally:
        running.kill()
        running.wait()


def test_it_ends_with_the_hub_that_started_it(course: CourseFolder) -> None:
    """A hub that is killed leaves none behind that would stand in the way of the next."""
    words = [sys.executable, "-m", "graders.cli", "grade", "--course", str(course.path), "--watch"]
    hub = (
        "import subprocess, sys, os\n"
        "os.environ['TPIECE_HUB'] = str(os.getpid())\n"
        "made = subprocess.Popen(sys.argv[1:], stdout=subprocess.PIPE, text=True)\n"
        "made.stdout.readline()\n"
        "print(made.pid, flush=True)\n"
        "os._exit(0)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", hub, *words], stdout=subprocess.PIPE, text=True, check=True,
        timeout=PATIENCE,
    )  # fmt: skip
    assert done.stdout.strip().isdecimal()
    with alone(course.path, WATCHING, PATIENCE):
        pass  # it has ended


def test_looking_when_nothing_is_new_reads_no_folder(
    course: CourseFolder, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it costs to wait does not grow with what was handed in."""
    hand_in(course, "ada", answered(course, "ada"))
    watch, _ = looked(course)
    inbound = course.exchange / "may" / "inbound"
    os.utime(inbound, ns=(1, 1))
    watch.look()
    monkeypatch.setattr(watching, "ANYWAY", 1e9)
    real = Path.iterdir

    def listed(path: Path) -> Iterator[Path]:
        assert path != inbound
        return real(path)

    monkeypatch.setattr(Path, "iterdir", listed)
    assert not watch.look()
    with pytest.raises(CourseError, match="cannot be written"), alone(course.path / FILE, GRADING):
        pass
