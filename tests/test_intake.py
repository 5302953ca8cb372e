"""One way in: whichever way work came, the same checks; nothing lost, nobody's work replaced."""

from __future__ import annotations

import io
import os
import shutil
import sys
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from graders.cli import main
from graders.course.coursefolder import CourseFolder
from graders.course.stamps import stamps
from graders.grading.grade import grade
from graders.handed_in import exchange
from graders.handed_in.exchange import collect_all
from graders.handed_in.held import waiting
from graders.handed_in.inbox import take_files, take_in
from graders.handed_in.intake import Intake, Piece, Taken
from graders.handed_in.received import REPLACED
from graders.marking.exercise import model_answers
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.course.settings import FILE, Course

UNIT = "1_setup_order"
EARLY, LATER, LATEST = (f"2026-05-0{day}T08:00:00Z" for day in (1, 2, 3))
AHEAD = "9999-01-01T08:00:00Z"
ROSTER = "learner,name\nada,Ada Demo\nbea,Bea Demo\ncyd.long,Cyd Demo\n"

Way = Callable[[CourseFolder, Path, str], list[Taken]]


@pytest.fixture
def folder(tmp_path: Path) -> CourseFolder:
    """Return a course of one unit and three people, in which nothing was collected yet."""
    path = tmp_path / "may"
    (path / "exchange" / "may" / "inbound").mkdir(parents=True)
    (path / FILE).write_text(Course("may", "May", units=(UNIT,)).text(), encoding="utf-8")
    (path / "roster.csv").write_text(ROSTER)
    return CourseFolder(path)


def by_name(folder: CourseFolder, path: Path, _learner: str) -> list[Taken]:
    return list(take_files(folder, [path]))


def by_inbox(folder: CourseFolder, path: Path, _learner: str) -> list[Taken]:
    inbox = folder.path.parent / f"inbox-{path.name}"
    inbox.mkdir()
    shutil.copyfile(path, inbox / path.name)
    return list(take_in(folder, inbox))


def by_button(folder: CourseFolder, path: Path, learner: str, at: str = LATEST) -> list[Taken]:
    """Hand in as nbgrader does: a folder of the learner's name."""
    when = at.replace("T", " ").replace("Z", ".000000 UTC")
    target = folder.exchange / "may" / "inbound" / f"{learner}+{UNIT}+{when}+{path.stem}"
    target.mkdir()
    shutil.copyfile(path, target / f"{UNIT}.answers.jsonl")
    return list(collect_all(folder, [UNIT]))


def by_button_after(folder: CourseFolder, path: Path, learner: str) -> list[Taken]:
    return by_button(folder, path, learner, "2026-05-04T08:00:00Z")


WAYS_AFTER: dict[Way, Way] = {by_button: by_button_after}  # a second time, a later folder
WAYS = {"--from": by_name, "inbox": by_inbox, "exchange": by_button}


@pytest.fixture(params=WAYS)
def way(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Way:
    """Return each way in, in turn; accounts of the machine play no part."""
    monkeypatch.setattr(exchange, "account", lambda uid: "")
    return WAYS[request.param]


def sheet(
    path: Path, learner: str, at: Iterable[str], monkeypatch: pytest.MonkeyPatch, **told: Any
) -> Path:
    """Write an answers file saved at these times, as right as can be at the last."""
    path.parent.mkdir(parents=True, exist_ok=True)
    head = {"course": "may", "exercise": UNIT, "edition": Course().edition, **told}
    file = AnswersFile(path, learner=learner, **head)
    drawn = case("may", UNIT, learner, Course().book)
    for moment in at:
        monkeypatch.setattr("workbook.core.answers.now", lambda moment=moment: moment)
        for question, value in model_answers(drawn, Course().book).items():
            file.append(question, value)
    return path


class Screen(io.StringIO):
    """A terminal that keeps what it shows."""

    def isatty(self) -> bool:
        """Say that a person looks on."""
        return True


@pytest.mark.parametrize(("screen", "shows"), [(Screen, True), (io.StringIO, False)])
def test_a_terminal_shows_how_far_collecting_is(folder, tmp_path, monkeypatch, screen, shows):
    """Many pieces take a while: a person sees how many are in; a file of what was said does not."""
    monkeypatch.setattr(exchange, "account", lambda uid: "")
    monkeypatch.setattr(sys, "stderr", screen())
    by_button(folder, sheet(tmp_path / "ada.jsonl", "ada", [EARLY], monkeypatch), "ada")
    assert ("Collecting" in sys.stderr.getvalue()) == shows


def kept(folder: CourseFolder, learner: str) -> Path:
    return answers_path(folder.submitted(learner, UNIT) / f"{UNIT}.ipynb")


def told(taken: Iterable[Taken]) -> str:
    return " ".join(one.says for one in taken)


def points(folder: CourseFolder, learner: str) -> float:
    marked = grade(
        folder.submitted(learner, UNIT), folder.course, UNIT, learner, stamps(folder.path)
    )
    return marked.earned / marked.possible


# --- one set of checks, whichever way


@pytest.mark.parametrize(
    ("head", "says"),
    [
        ({"course": "june"}, "it is of course 'june'"),
        ({"exercise": "9_other"}, "which this course does not grade"),
        ({"edition": "erc-2015"}, "it answers about edition 'erc-2015'"),
        ({"protocol": "0123456789ab"}, "another local protocol"),
    ],
)
def test_work_of_elsewhere_is_left_out(folder, way, monkeypatch, tmp_path, head, says):
    """It answers other questions; what is there stays, byte for byte."""
    way(folder, sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch), "ada")
    before = kept(folder, "ada").read_bytes()
    other = sheet(tmp_path / "b.jsonl", "ada", [LATER], monkeypatch, **head)
    taken = (
        WAYS_AFTER[way](folder, other, "ada") if way in WAYS_AFTER else way(folder, other, "ada")
    )
    assert says in told(taken)
    assert kept(folder, "ada").read_bytes() == before


def test_later_work_replaces_earlier_which_is_kept(folder, way, monkeypatch, tmp_path):
    """A file that goes on from what is there takes its place; nothing is thrown away."""
    first = sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch)
    later = tmp_path / "b.jsonl"
    shutil.copyfile(first, later)
    sheet(later, "ada", [LATER], monkeypatch)
    way(folder, first, "ada")
    taken = WAYS_AFTER.get(way, way)(folder, later, "ada")
    assert "in place of earlier work: taken in" in told(taken)
    assert kept(folder, "ada").read_bytes() == later.read_bytes()
    (old,) = (folder.path / REPLACED).rglob(f"{UNIT}.answers.jsonl")
    assert old.read_bytes() == first.read_bytes()


def test_an_old_copy_from_a_clock_that_was_ahead_replaces_nothing(folder, monkeypatch, tmp_path):
    """What is there goes on from it, whatever the time it came in and the time it tells."""
    early = sheet(tmp_path / "a.jsonl", "ada", [AHEAD], monkeypatch)
    later = Path(shutil.copy(early, tmp_path / "b.jsonl"))
    sheet(later, "ada", [AHEAD], monkeypatch)
    by_name(folder, later, "ada")
    taken = by_name(folder, early, "ada")
    assert "later work is there already" in told(taken)
    assert kept(folder, "ada").read_bytes() == later.read_bytes()


@pytest.mark.parametrize("by", [by_name, by_inbox])
def test_the_same_work_twice_is_there_already_and_nothing_is_kept_aside(
    folder, by, monkeypatch, tmp_path
):
    """A second copy of the same file changes nothing, whichever way it comes."""
    work = sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch)
    by_name(folder, work, "ada")
    taken = by(folder, Path(shutil.copy(work, tmp_path / "b.jsonl")), "ada")
    assert "the same work is there already" in told(taken)
    assert kept(folder, "ada").read_bytes() == work.read_bytes()
    assert not list((folder.path / REPLACED).rglob(f"{UNIT}.answers.jsonl"))


def test_work_on_another_unit_in_a_units_place_is_put_to_the_coordinator(
    folder, monkeypatch, tmp_path
):
    """It is kept aside, and lies in no unit's place."""
    work = sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch)
    piece = Piece("a.jsonl", work.read_bytes(), learner="ada", unit="3_pressure_targets")
    taken = Intake(folder).take(piece)
    assert f"in place of 3_pressure_targets lies work on {UNIT}" in taken.says
    assert not taken.usable
    assert not kept(folder, "ada").is_file()


def test_earlier_work_never_replaces_later(folder, way, monkeypatch, tmp_path):
    """An old download, or a folder handed in before, changes nothing."""
    later = sheet(tmp_path / "b.jsonl", "ada", [EARLY, LATER], monkeypatch)
    early = sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch)
    by_name(folder, later, "ada")
    taken = way(folder, early, "ada")
    assert kept(folder, "ada").read_bytes() == later.read_bytes()
    assert way is by_button or "later work is there already" in told(taken)


@pytest.mark.parametrize("by", [by_name, by_inbox])
def test_a_file_under_a_neighbours_name_never_replaces_hers(folder, by, monkeypatch, tmp_path):
    """Whatever time it claims, it is put to the coordinator; a command gives it to one person."""
    by_name(folder, sheet(tmp_path / "bea.jsonl", "bea", [EARLY], monkeypatch), "bea")
    hers = kept(folder, "bea").read_bytes()
    forged = sheet(tmp_path / "forged.jsonl", "bea", [LATER], monkeypatch)
    taken = by(folder, forged, "bea")
    assert not taken[0].usable
    assert "nothing shows that it is bea's" in told(taken)
    assert kept(folder, "bea").read_bytes() == hers
    (one,) = waiting(folder)
    assert f"tpiece held {one.key} --to bea" in told(taken)
    assert run("held", "--course", folder.path, one.key[:4], "--to", "bea").exit_code == 0
    assert kept(folder, "bea").read_bytes() == forged.read_bytes()
    assert [path.read_bytes() for path in (folder.path / REPLACED).rglob("*.jsonl")] == [hers]
    assert not list(waiting(folder))


def test_a_folder_under_a_neighbours_name_never_replaces_hers(folder, monkeypatch, tmp_path):
    """Ada hands in her own file in a folder called after bea."""
    monkeypatch.setattr(exchange, "account", lambda uid: "")
    by_button(folder, sheet(tmp_path / "bea.jsonl", "bea", [EARLY], monkeypatch), "bea", EARLY)
    hers = kept(folder, "bea").read_bytes()
    adas = sheet(tmp_path / "ada.jsonl", "ada", [LATER], monkeypatch)
    taken = by_button(folder, adas, "bea")
    assert "under the name bea lies work of ada" in told(taken)
    assert kept(folder, "bea").read_bytes() == hers
    assert not folder.submitted("ada", UNIT).exists()


def test_a_neighbours_account_hands_in_for_nobody_else(folder, monkeypatch, tmp_path):
    """On a shared machine without a hub the folder's owner tells whose it is not."""
    monkeypatch.setattr(exchange, "account", lambda uid: "ada")
    forged = sheet(tmp_path / "bea.jsonl", "bea", [LATER], monkeypatch)
    taken = by_button(folder, forged, "bea")
    assert "ada's account handed in work of bea" in told(taken)
    assert not folder.submitted("bea", UNIT).exists()


def test_somebody_who_begins_anew_is_taken_from_the_same_account(folder, monkeypatch, tmp_path):
    """A learner who lost the folder hands in again by the button, and need not ask anybody."""
    monkeypatch.setattr(exchange, "account", lambda uid: "pc")
    by_button(folder, sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch), "ada", EARLY)
    anew = sheet(tmp_path / "b.jsonl", "ada", [LATER], monkeypatch)
    assert "taken in" in told(by_button(folder, anew, "ada"))
    assert kept(folder, "ada").read_bytes() == anew.read_bytes()


# --- the course's clock


def test_a_clock_that_was_ahead_keeps_nobody_from_handing_in_again(
    folder, way, monkeypatch, tmp_path
):
    """Saved in the year 9999, put right, saved again: the later work counts."""
    first = sheet(tmp_path / "a.jsonl", "ada", [AHEAD], monkeypatch)
    later = tmp_path / "b.jsonl"
    shutil.copyfile(first, later)
    sheet(later, "ada", [LATER], monkeypatch)
    way(folder, first, "ada")
    assert "9999" not in (kept(folder, "ada").with_name("timestamp.txt")).read_text()
    WAYS_AFTER.get(way, way)(folder, later, "ada")
    assert kept(folder, "ada").read_bytes() == later.read_bytes()


# --- whose it is


@pytest.mark.parametrize(
    "id", ["Ada", "ADA", "ada@ward.example", "cyd-long", "cyd.lnog", "cydlong"]
)
def test_an_id_that_is_nearly_somebodys_is_put_to_the_coordinator(
    folder, way, monkeypatch, tmp_path, id
):
    """One command gives it to her; every right answer then counts, and so does what comes later."""
    path = sheet(tmp_path / "a.jsonl", id, [EARLY], monkeypatch)
    who = "ada" if id.casefold().startswith("ada") else "cyd.long"
    taken = way(folder, path, id)
    assert f"is not on the roster, but is nearly {who}" in told(taken)
    assert not folder.submitted(who, UNIT).exists()
    (one,) = waiting(folder)
    assert run("held", "--course", folder.path, one.key, "--to", who).exit_code == 0
    assert points(folder, who) == 1.0
    sheet(path, id, [LATER], monkeypatch)
    assert "taken in" in told(by_name(folder, path, id))
    assert points(folder, who) == 1.0


def test_an_id_of_nobody_waits_too_and_can_be_left_out_for_good(folder, way, monkeypatch, tmp_path):
    """It is told until it is settled, and not asked again each day."""
    path = sheet(tmp_path / "a.jsonl", "zoe", [EARLY], monkeypatch)
    assert "zoe is not on the roster." in told(way(folder, path, "zoe"))
    said = run("held", "--course", folder.path)
    assert said.output.count("tpiece held") == 2
    (one,) = waiting(folder)
    assert run("held", "--course", folder.path, one.key, "--drop").exit_code == 0
    assert not list(waiting(folder))
    (again,) = by_name(folder, path, "zoe")
    assert again.usable
    assert not list(waiting(folder))


def test_without_a_roster_two_ids_that_differ_in_case_are_not_two_people(
    folder, monkeypatch, tmp_path
):
    """On some disks they would even be one folder."""
    (folder.path / "roster.csv").unlink()
    by_name(folder, sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch), "ada")
    taken = by_name(folder, sheet(tmp_path / "b.jsonl", "Ada", [LATER], monkeypatch), "Ada")
    assert "Ada is nearly ada, who handed in before" in told(taken)


def test_a_file_of_somebody_can_be_given_to_another_without_giving_the_id_away(
    folder, monkeypatch, tmp_path
):
    """Bea worked in ada's page: that one file is hers, and ada's id stays ada's."""
    monkeypatch.setattr(exchange, "account", lambda uid: "")
    path = sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch)
    by_button(folder, path, "bea")
    (one,) = waiting(folder)
    assert run("held", "--course", folder.path, one.key, "--to", "bea").exit_code == 0
    assert points(folder, "bea") == 1.0
    own = sheet(tmp_path / "b.jsonl", "ada", [LATER], monkeypatch)
    by_name(folder, own, "ada")
    assert points(folder, "ada") == 1.0
    assert kept(folder, "ada").read_bytes() == own.read_bytes()


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["zzz", "--to", "ada"], "Nothing that waits is called 'zzz'"),
        (["../../roster", "--to", "ada"], "Nothing that waits is called"),
        (["KEY"], "Say whose it is"),
        (["KEY", "--to", "ada", "--drop"], "Say whose it is"),
        (["KEY", "--to", "nobody"], "nobody is not on the roster"),
        (["KEY", "--to", "a/b"], "cannot be a learner id"),
        (["--drop"], "Say which"),
    ],
)
def test_a_slip_in_the_command_settles_nothing(folder, monkeypatch, tmp_path, words, says):
    """One sentence, and the work still waits."""
    by_name(folder, sheet(tmp_path / "a.jsonl", "Ada", [EARLY], monkeypatch), "")
    (one,) = waiting(folder)
    said = run("held", "--course", folder.path, *(one.key if w == "KEY" else w for w in words))
    assert said.exit_code == 1
    assert says in said.output
    assert len(said.output.strip().splitlines()) == 1
    assert [each.key for each in waiting(folder)] == [one.key]


# --- the letter box


def test_what_is_no_work_in_the_letter_box_is_told_and_left(folder, monkeypatch, tmp_path):
    """Names without a time, files, links, pipes: each a sentence; the learner's work is taken."""
    monkeypatch.setattr(exchange, "account", lambda uid: "")
    inbound = folder.exchange / "may" / "inbound"
    strange = [f"ada+{UNIT}+2026-W48-6+x", "ada", "+++", f"ada+{UNIT}+9999-13-13 00:00:00 UTC+x",
               f"ada+{UNIT}+0001-01-01 00:00:00 UTC+x"]  # fmt: skip
    for name in strange:
        (inbound / name).mkdir()
    os.mkfifo(inbound / f"bea+{UNIT}+{LATER}+pipe")
    (inbound / f"bea+{UNIT}+{LATER}+link").symlink_to("/")
    (inbound / f"bea+{UNIT}+{LATER}+file").write_text("x")
    taken = by_button(folder, sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch), "ada")
    assert told(taken).count("is no handed-in work") == len(strange) + 3
    assert kept(folder, "ada").is_file()
    assert not (folder.path / "submitted" / "bea").exists()


def test_the_latest_piece_that_can_be_used_is_taken(folder, monkeypatch, tmp_path):
    """A broken second hand-in does not cost the first."""
    monkeypatch.setattr(exchange, "account", lambda uid: "")
    good = sheet(tmp_path / "good.jsonl", "ada", [EARLY], monkeypatch)
    broken = tmp_path / "broken.jsonl"
    broken.write_text("torn")
    inbound = folder.exchange / "may" / "inbound"
    inbound.rename(inbound.with_name("off"))
    inbound.mkdir()
    by_button(folder, broken, "ada")
    taken = by_button(folder, good, "ada", EARLY)
    assert "not the head of an answers file" in told(taken)
    assert kept(folder, "ada").read_bytes() == good.read_bytes()
    assert not list(waiting(folder))  # it has work that counts


def test_work_that_cannot_be_used_waits_until_there_is_better(folder, monkeypatch, tmp_path):
    """Who handed in nothing else is told of; with better work it is settled by itself."""
    monkeypatch.setattr(exchange, "account", lambda uid: "")
    broken = tmp_path / "broken.jsonl"
    broken.write_text("torn")
    by_button(folder, broken, "ada", EARLY)
    (one,) = waiting(folder)
    assert (one.learner, one.unit, one.usable) == ("ada", UNIT, False)
    by_button(folder, sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch), "ada")
    assert not list(waiting(folder))


def test_a_stop_half_way_is_mended_by_the_next_run(folder, monkeypatch, tmp_path):
    """The receipt is written last: without one the same work is written again."""
    path = sheet(tmp_path / "a.jsonl", "ada", [EARLY], monkeypatch)
    by_name(folder, path, "ada")
    target = kept(folder, "ada").parent
    (target / "received.json").unlink()
    (target / "timestamp.txt").unlink()
    by_name(folder, path, "ada")
    assert (target / "timestamp.txt").read_text() == "2026-05-01 08:00:00 UTC"
    assert not (folder.path / REPLACED).exists()
