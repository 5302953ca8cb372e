"""A folder of answers files taken in: good ones once, later work kept, bad ones named."""

from __future__ import annotations

from pathlib import Path

import pytest

from graders.course.coursefolder import CourseFolder
from graders.handed_in.inbox import Taken, take_in
from workbook.core.answer_sheet import answers_path, read_answers
from workbook.core.answers import AnswersFile
from workbook.course.settings import FILE, Course, CourseError

UNIT = "1_setup_order"
EARLY, LATER = "2026-05-01T08:00:00Z", "2026-05-02T08:00:00Z"


@pytest.fixture
def folder(tmp_path: Path) -> CourseFolder:
    """Return a course of one unit, in which nothing was collected yet."""
    path = tmp_path / "may"
    path.mkdir()
    (path / FILE).write_text(Course("may", "May", units=(UNIT,)).text(), encoding="utf-8")
    return CourseFolder(path)


@pytest.fixture
def inbox(tmp_path: Path) -> Path:
    """Return an empty inbox."""
    path = tmp_path / "inbox"
    path.mkdir()
    return path


def write(
    path: Path, at: list[str], monkeypatch: pytest.MonkeyPatch, learner: str = "ada", **told: str
) -> Path:
    """Write an answers file saved at these times."""
    head = {"course": "may", "exercise": UNIT, "edition": Course().edition, **told}
    file = AnswersFile(path, learner=learner, **head)
    for moment in at:
        monkeypatch.setattr("workbook.core.answers.now", lambda moment=moment: moment)
        file.append("order", ["look"])
    return path


def kept(folder: CourseFolder, learner: str = "ada") -> Path:
    """Return where a learner's collected answers lie."""
    return answers_path(folder.submitted(learner, UNIT) / f"{UNIT}.ipynb")


def test_a_good_file_is_taken_in_with_its_time(folder, inbox, monkeypatch):
    """It lies where collected work lies, byte for byte, and its last save is its time."""
    sent = write(inbox / "ada.answers (1).jsonl", [EARLY, LATER], monkeypatch)
    (taken,) = take_in(folder, inbox)
    assert (taken.usable, taken.new) == (True, True)
    assert kept(folder).read_bytes() == sent.read_bytes()
    timestamp = folder.submitted("ada", UNIT) / "timestamp.txt"
    assert timestamp.read_text() == "2026-05-02 08:00:00 UTC"


@pytest.mark.parametrize("names", [("a.jsonl", "b.jsonl"), ("b.jsonl", "a.jsonl")])
def test_of_two_files_the_later_work_stays(folder, inbox, monkeypatch, names):
    """Whichever is read first, the later stays, and the sentence says what happened."""
    early, later = names
    write(inbox / early, [EARLY], monkeypatch)
    write(inbox / later, [EARLY, LATER], monkeypatch)
    says = " ".join(one.says for one in take_in(folder, inbox))
    assert len(read_answers(kept(folder)).answers) == 2
    assert ("in place of earlier work" in says) == (early < later)
    assert ("later work is there already" in says) == (early > later)


def test_later_collected_work_is_not_overwritten(folder, inbox, monkeypatch):
    """An old download never replaces what the learner handed in since."""
    target = kept(folder)
    target.parent.mkdir(parents=True)
    before = write(target, [EARLY, LATER], monkeypatch).read_bytes()
    write(inbox / "old.jsonl", [EARLY], monkeypatch)
    (taken,) = take_in(folder, inbox)
    assert "later work is there already" in taken.says
    assert (taken.usable, taken.new) == (True, False)
    assert kept(folder).read_bytes() == before


def test_taking_in_again_changes_nothing(folder, inbox, monkeypatch):
    """The same folder may be named every day."""
    write(inbox / "ada.jsonl", [EARLY], monkeypatch)
    list(take_in(folder, inbox))
    (again,) = take_in(folder, inbox)
    says = "ada.jsonl: ada, 1_setup_order: the same work is there already."
    assert again == Taken(says, learner="ada", unit=UNIT)


BAD = {
    "notes.txt": (b"hello", "does not end in .jsonl"),
    "empty.jsonl": (b"", "is not the head of an answers file"),
    "torn.jsonl": (b'{"format": "tpiece-ans', "is not the head of an answers file"),
    "picture.jsonl": (bytes(range(256)), "is not the head of an answers file"),
    "future.jsonl": (b'{"format": "tpiece-answers/9"}', "which this version cannot read"),
    "path.jsonl": (
        b'{"format": "tpiece-answers/1", "course": "may", "exercise": "1_setup_order", '
        b'"learner": "../../root"}',
        "cannot be a learner id",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_is_named_and_stops_no_other(folder, inbox, monkeypatch, name):
    """One sentence for it; the good file beside it is taken in."""
    data, expected = BAD[name]
    (inbox / name).write_bytes(data)
    write(inbox / "zoe.jsonl", [EARLY], monkeypatch, learner="zoe")
    bad, good = take_in(folder, inbox)
    assert not bad.usable
    assert bad.says.startswith(f"{name} is left out: ")
    assert expected in bad.says
    assert good.new
    assert kept(folder, "zoe").is_file()


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        ({"course": "june"}, "it is of course 'june'"),
        ({"exercise": "../outside"}, "which this course does not grade"),
        ({"edition": "erc-2021"}, "it answers about edition 'erc-2021'"),
    ],
)
def test_work_for_another_course_is_left_out(folder, inbox, monkeypatch, told, expected):
    """Its questions were other questions, so it cannot be marked here."""
    write(inbox / "ada.jsonl", [EARLY], monkeypatch, **told)
    (taken,) = take_in(folder, inbox)
    assert expected in taken.says
    assert not taken.usable
    assert not folder.submitted("ada", UNIT).exists()


def test_a_link_is_not_followed(folder, inbox, monkeypatch, tmp_path):
    """What lies elsewhere is not taken in through the inbox."""
    outside = write(tmp_path / "outside.jsonl", [EARLY], monkeypatch)
    (inbox / "ada.jsonl").symlink_to(outside)
    (taken,) = take_in(folder, inbox)
    assert not taken.usable
    assert not kept(folder).exists()


def test_an_inbox_that_is_not_there_is_one_sentence(folder, tmp_path):
    """The folder's name is in it."""
    with pytest.raises(CourseError, match="is not a folder"):
        list(take_in(folder, tmp_path / "nowhere"))
