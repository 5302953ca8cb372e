"""One learner's attempts by every way in: each is marked by its own case, and none is lost."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from graders.cli import main
from graders.cohort.picture import picture
from graders.commands.pages import views
from graders.course.coursefolder import CourseFolder
from graders.course.settings import Wanted, changed
from graders.handed_in import exchange
from graders.handed_in.held import waiting
from graders.learner.history import attempts
from graders.marking.exercise import model_answers
from graders.marking.graded import VERDICT_FILE, Graded, read_verdict
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from graders.report.export import csv_text
from graders.report.learner_page import learner_text
from graders.report.page import page
from graders.tasks import work
from tests.report_base import MADE_AT
from workbook.cases import case
from workbook.core.answers import AnswersFile
from workbook.course.settings import CourseError

pytestmark = pytest.mark.slow

UNIT, ADA = "5_interface_sizing", "ada"
Answers = dict[str, object]
Way = Callable[[CourseFolder, Path, int], Result]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> CourseFolder:
    """Return a course of one unit that was given out."""
    path = tmp_path_factory.mktemp("made")
    (path / "people.csv").write_text("learner,name\nada,Ada Demo\nbea,Bea Demo\n")
    roster = path / "people.csv"
    return work.assign(path / "may", course_id="may", title="May", units=[UNIT], roster=roster)


@pytest.fixture
def course(made: CourseFolder, tmp_path: Path) -> CourseFolder:
    """Return a copy of it, in which nobody handed in."""
    shutil.copytree(made.path, tmp_path / "may", symlinks=True)
    return CourseFolder(tmp_path / "may")


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def by_name(folder: CourseFolder, file: Path, _n: int) -> Result:
    return run("collect", "--course", folder.path, "--from", file)


def by_inbox(folder: CourseFolder, file: Path, n: int) -> Result:
    """As from a site: what a browser downloads, put into a folder."""
    inbox = file.parent / f"inbox-{n}"
    inbox.mkdir()
    shutil.copyfile(file, inbox / f"{ADA}.{UNIT}.answers.jsonl")
    return run("grade", "--course", folder.path, "--inbox", inbox)


def by_button(folder: CourseFolder, file: Path, n: int) -> Result:
    """As nbgrader hands in: a folder of the learner's name, each later than the last."""
    inbound = folder.exchange / "may" / "inbound"
    target = inbound / f"{ADA}+{UNIT}+2026-05-{n:02} 08:00:00.000000 UTC+{n}"
    target.mkdir()
    shutil.copyfile(file, target / f"{UNIT}.answers.jsonl")
    return run("collect", "--course", folder.path)


def by_hub(folder: CourseFolder, file: Path, n: int) -> Result:
    """As on a hub: the exchange lies elsewhere, and the account is the learner's."""
    if not folder.exchange.is_symlink():
        elsewhere = folder.path.parent / "hub-exchange"
        folder.exchange.rename(elsewhere)
        folder.exchange.symlink_to(elsewhere)
    return by_button(folder, file, n)


WAYS = {"--from": by_name, "inbox": by_inbox, "exchange": by_button, "hub": by_hub}


@pytest.fixture(params=WAYS)
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Way:
    """Return each way in, in turn."""
    monkeypatch.setattr(exchange, "account", lambda uid: ADA)
    return WAYS[request.param]


def best(folder: CourseFolder, attempt: int) -> Answers:
    """Return answers that earn every point of an attempt."""
    course = folder.course
    return model_answers(case(course.id, UNIT, ADA, course.book, attempt), course.book)


class Pages:
    """What a learner has open: one answers file that only grows, and copies of it handed in."""

    def __init__(self, folder: CourseFolder, home: Path, name: str = "mine") -> None:
        course = folder.course
        home.mkdir(exist_ok=True)
        self.home = home
        self.file = AnswersFile(home / f"{name}.jsonl", course.id, UNIT, ADA, course.edition)

    def answer(self, answers: Answers) -> Path:
        """Answer the attempt that is open; return a copy of the file as it is handed in."""
        for question, value in answers.items():
            self.file.append(question, value)
        copy = self.home / f"{self.file.path.stem}-{self.file.path.stat().st_size}.jsonl"
        shutil.copyfile(self.file.path, copy)
        return copy

    def begin(self) -> None:
        """Begin the next attempt, as its button does."""
        self.file.attempt = self.file.begin(self.file.attempt)


def graded(folder: CourseFolder) -> Graded:
    """Grade all that was collected; return the verdict that counts."""
    done = run("grade", "--course", folder.path)
    assert done.exit_code == 0, done.output
    return verdict(folder)


def verdict(folder: CourseFolder) -> Graded:
    return read_verdict(folder.autograded(ADA, UNIT) / VERDICT_FILE)


def row(folder: CourseFolder) -> dict[str, str]:
    """Return ada's line of report.csv."""
    return next(iter(csv.DictReader(io.StringIO(csv_text(picture(folder))))))


def score(folder: CourseFolder) -> float:
    with Nbgrader(folder).gradebook() as book:
        return totals(book)[ADA, UNIT]


def full(one: Graded) -> bool:
    return one.earned == one.possible


def replaced(folder: CourseFolder) -> Iterator[bytes]:
    """Yield what was replaced and is kept; each is longer than the one before."""
    yield from sorted(
        (path.read_bytes() for path in (folder.path / "replaced").rglob("*.jsonl")), key=len
    )


def test_two_attempts_come_in_and_each_is_marked_by_its_own_case(course, way, tmp_path):
    """Ready with the first; kept until the second is graded; the first never comes back over it."""
    mine = Pages(course, tmp_path / "own")
    first = mine.answer(best(course, 1))
    assert way(course, first, 1).exit_code == 0
    one = graded(course)
    assert (one.attempt, full(one), one.ready(course.course.needed)) == (1, True, True)
    assert (row(course)["attempt"], row(course)["ready"]) == ("1", "yes")

    mine.begin()
    begun = mine.answer({})
    assert way(course, begun, 2).exit_code == 0
    assert (graded(course).attempt, row(course)["ready"]) == (1, "yes")  # begun is not handed in

    copied = mine.answer(best(course, 1))  # what was right of the first case
    assert way(course, copied, 3).exit_code == 0
    if way is not by_inbox:  # which grades at once
        assert (row(course)["attempt"], row(course)["ready"]) == ("1", "yes")  # not graded yet
    two = graded(course)
    assert (two.attempt, two.ready(course.course.needed)) == (2, False)
    assert two.earned < two.possible
    assert (row(course)["attempt"], row(course)["ready"]) == ("2", "no")
    assert row(course)["other_attempts"] == "Attempt 1: 100 %, ready."

    last = mine.answer(best(course, 2))
    assert way(course, last, 4).exit_code == 0
    assert full(graded(course))
    assert score(course) == verdict(course).possible
    assert list(replaced(course)) == [path.read_bytes() for path in (first, begun, copied)]

    again = Pages(course, tmp_path / "own", "another").answer(best(course, 1))  # a later clock
    for n, old in enumerate((first, again), start=5):
        done = way(course, old, n)
        said = "later work is there already" in done.output or "attempt 2 is" in done.output
        assert said == (way in (by_name, by_inbox))  # the letter box is looked through each time
        assert (graded(course).attempt, full(verdict(course))) == (2, True)
    kept = attempts(course.path, ADA, UNIT)
    assert sorted(each.attempt for each in kept) == [1, 1, 2, 2]


def test_an_earlier_attempt_given_by_the_coordinator_replaces_no_later_one(course, tmp_path):
    """Held, since its id is nearly hers, and settled after she handed in her second attempt."""
    mine = Pages(course, tmp_path / "own")
    mine.answer(best(course, 1))
    mine.begin()
    late = mine.answer(best(course, 2))
    other = Pages(course, tmp_path / "own", "other")
    other.file.learner = "Ada"
    held = by_name(course, other.answer({"suction": "x"}), 1)
    assert "Ada is not on the roster, but is nearly ada" in held.output
    assert by_name(course, late, 2).exit_code == 0
    (one,) = waiting(course)
    given = run("held", "--course", course.path, one.key, "--to", ADA)
    assert given.exit_code == 0
    assert "left out, for attempt 2 is there already." in given.output
    assert list(waiting(course)) == []
    assert (graded(course).attempt, full(verdict(course))) == (2, True)


@pytest.mark.parametrize("box", [by_button, by_hub])
def test_an_earlier_attempt_handed_in_last_hides_no_later_one(course, tmp_path, monkeypatch, box):
    """From another computer, before anything was collected: the second attempt is taken in."""
    monkeypatch.setattr(exchange, "account", lambda uid: ADA)
    mine = Pages(course, tmp_path / "own")
    mine.answer(best(course, 1))
    mine.begin()
    with monkeypatch.context() as quiet:
        quiet.setattr(f"{__name__}.run", lambda *words: None)  # nothing is collected yet
        box(course, mine.answer(best(course, 2)), 1)
        box(course, Pages(course, tmp_path / "own", "another").answer(best(course, 1)), 2)
        broken = tmp_path / "broken.jsonl"
        broken.write_text("no answers file")
        box(course, broken, 3)
    assert run("collect", "--course", course.path).exit_code == 0
    assert (graded(course).attempt, full(verdict(course))) == (2, True)


def test_an_attempt_above_the_limit_is_not_marked_and_the_one_below_stands(course, way, tmp_path):
    """However the file was made; one sentence says it where it comes in and where it is marked."""
    changed(course.path, Wanted(attempts="2")).write()
    mine = Pages(course, tmp_path / "own")
    mine.answer(best(course, 1))
    mine.begin()
    second = mine.answer(best(course, 2))
    assert way(course, second, 1).exit_code == 0
    mine.begin()  # by a program of the learner's own: the page offers no third
    third = mine.answer(best(course, 3))
    done = way(course, third, 2)
    says = "holds attempt 3, and this course allows 2: attempt 2 is marked."
    assert f"{ADA}, {UNIT}, in place of earlier work: taken in; the file {says}" in done.output
    one = graded(course)
    assert (one.attempt, full(one)) == (2, True)
    assert any(says in problem for problem in one.problems)
    assert (row(course)["attempt"], row(course)["ready"]) == ("2", "yes")
    other = Pages(course, tmp_path / "own", "other")
    other.answer({"suction": "x"})
    other.begin()
    other.answer({"suction": "x"})
    other.begin()
    many = other.answer(best(course, 3))
    way(course, many, 3)
    one = graded(course)
    assert one.attempt == 2  # more attempts are no later work


def test_a_limit_set_after_hand_in_is_told_first_with_what_it_costs(course, tmp_path):
    """Without a word of agreement nothing changes; with it the highest allowed attempt counts."""
    mine = Pages(course, tmp_path / "own")
    mine.answer(best(course, 1))
    mine.begin()
    assert by_name(course, mine.answer({"suction": "x"}), 1).exit_code == 0
    assert graded(course).attempt == 2
    changed(course.path, Wanted(attempts="2")).write()  # costs nobody anything
    with pytest.raises(CourseError, match=r"1 person has handed in an attempt above 1: .*--even"):
        changed(course.path, Wanted(attempts="1"))
    changed(course.path, Wanted(attempts="1", even_so=True)).write()
    done = run("grade", "--course", course.path, "--verify")
    assert "the limit of attempts has changed since" in done.output
    assert (graded(course).attempt, full(verdict(course))) == (1, True)
    assert "Every verdict is what" in run("grade", "--course", course.path, "--verify").output


@pytest.mark.parametrize(("rule", "counts"), [("latest", 2), ("best", 1)])
def test_what_counts_of_two_attempts_is_what_the_course_says(course, tmp_path, rule, counts):
    """The latest by default, the best if asked for; report and page name the other one."""
    changed(course.path, Wanted(keep=rule)).write()
    mine = Pages(course, tmp_path / "own")
    by_name(course, mine.answer(best(course, 1)), 1)
    assert full(graded(course))
    mine.begin()
    by_name(course, mine.answer({"suction": "x"}), 2)
    one = graded(course)
    assert one.attempt == counts
    assert row(course)["attempt"] == str(counts)
    other = row(course)["other_attempts"]
    assert other == (
        "Attempt 1: 100 %, ready." if rule == "latest" else "Attempt 2: 0 %, not ready."
    )
    html = page(picture(course), made_at=MADE_AT, version="x")
    assert f"The {rule} hand-in counts" in html
    assert other in html
    (view,) = views(course, {ADA}, MADE_AT)
    text = learner_text(view, made_at=MADE_AT, version="x")
    assert "Handed in 2 times: attempt 1, " in text
    assert f"Attempt {counts} counts." in text
    assert "Your 2 attempts" not in text


def test_best_prefers_a_ready_hand_in_to_one_with_more_points(course, tmp_path):
    """More points with an unsafe act do not take away what was shown ready."""
    changed(course.path, Wanted(keep="best", pass_mark=0.6)).write()
    mine = Pages(course, tmp_path / "own")
    right = best(course, 1)
    some = {id: right[id] for id in list(right)[2:]}
    unsafe = next(
        (id, option.id)
        for id in some
        for option in case("may", UNIT, ADA, course.course.book)[id].options
        if _is_unsafe(course, id, option.id)
    )
    by_name(course, mine.answer({**right, unsafe[0]: unsafe[1]}), 1)
    first = graded(course)
    assert any(v.unsafe for v in first.verdicts)
    mine.begin()
    lesser = best(course, 2)
    for id in _dull(course)[:2]:
        lesser.pop(id)
    by_name(course, mine.answer(lesser), 2)
    second = graded(course)
    assert second.attempt == 2
    assert second.ready(course.course.needed)
    assert second.earned < first.earned


def _is_unsafe(folder: CourseFolder, id: str, chosen: str) -> bool:
    from graders.marking.exercise import mark

    course = folder.course
    return bool(mark(case("may", UNIT, ADA, course.book), id, chosen, course.book).unsafe)


def _dull(folder: CourseFolder) -> list[str]:
    """Return the questions of the second attempt that may be left out without harm."""
    from graders.marking.exercise import mark

    course = folder.course
    two = case("may", UNIT, ADA, course.book, 2)
    return [q.id for q in two.questions if not mark(two, q.id, None, course.book).unsafe]
