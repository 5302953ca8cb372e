"""Files of others: bounded before they are read, never through a link, never without an end."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from graders.cli import main
from graders.core.terminal import printable
from graders.course.coursefolder import CourseFolder
from workbook.core.answer_sheet import AnswerFileError, read_answers
from workbook.core.answers import AnswersFile
from workbook.core.plainfile import NotPlainError, TooLargeError, in_utf8, read_plain
from workbook.course.settings import Course

MOST = 1000
STEERS = "\x1b[2J\x07\x9b31m\u202e\u2066\r\x00"


@pytest.mark.parametrize("kind", ["link", "link to /dev/zero", "pipe", "folder", "/dev/zero"])
def test_what_is_no_plain_file_is_refused_at_once(tmp_path: Path, kind: str) -> None:
    """Neither followed, nor waited for, nor read."""
    path = tmp_path / "file"
    if kind == "link":
        (tmp_path / "other").write_text("secret")
        path.symlink_to(tmp_path / "other")
    elif kind.startswith("link"):
        path.symlink_to("/dev/zero")
    elif kind == "pipe":
        os.mkfifo(path)
    elif kind == "folder":
        path.mkdir()
    else:
        path = Path(kind)
    with pytest.raises(NotPlainError):
        read_plain(path, MOST)


def test_a_file_is_bounded_before_it_is_read(tmp_path: Path) -> None:
    """One of many gigabytes, empty as it is, takes neither memory nor time."""
    path = tmp_path / "file"
    path.write_bytes(b"x" * MOST)
    assert len(read_plain(path, MOST)) == MOST
    os.truncate(path, 2**40)
    with pytest.raises(TooLargeError) as told:
        read_plain(path, MOST)
    assert told.value.size == 2**40


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-be"])
def test_answers_are_read_in_the_encodings_people_have(tmp_path: Path, encoding: str) -> None:
    """An editor that saved them in UTF-16 with its mark loses nobody an answer."""
    path = tmp_path / "u.answers.jsonl"
    AnswersFile(path, "may", "u", "ada", "aha-2020").append("q", "Größe")
    mark = "\ufeff" if encoding == "utf-16-be" else ""
    path.write_bytes((mark + path.read_text(encoding="utf-8")).encode(encoding))
    (answer,) = read_answers(path).answers
    assert answer.value == "Größe"


def test_half_a_character_of_utf_16_is_a_bad_line(tmp_path: Path) -> None:
    """What is whole is read."""
    data = in_utf8("one\ntwo".encode("utf-16") + b"\x00")
    assert data.startswith(b"one\ntwo")


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture
def course(tmp_path: Path) -> Path:
    path = tmp_path / "may"
    path.mkdir()
    (path / "course.toml").write_text(Course("may", "May", units=("1_setup_order",)).text())
    return path


@pytest.mark.parametrize(
    "words",
    [
        ["protocol", "check", "/dev/zero"],
        ["assign", "--course", "COURSE", "--roster", "/dev/zero"],
        ["assign", "--course", "COURSE", "--protocol", "/dev/zero"],
        ["lab", "results", "/dev/zero", "--course", "COURSE"],
        ["angoff", "/dev/zero", "--course", "COURSE"],
        ["collect", "--course", "COURSE", "--from", "/dev/zero"],
    ],
    ids=lambda words: " ".join(words[:2]),
)
def test_a_file_without_an_end_is_one_sentence(course: Path, words: list[str]) -> None:
    """Every command that is given a file says at once that it is none."""
    done = run(*(str(course) if word == "COURSE" else word for word in words))
    assert done.exit_code == 1
    assert "Traceback" not in done.output
    assert "program itself failed" not in done.output
    assert len(done.output.strip().splitlines()) <= 2


def test_nothing_that_steers_a_terminal_is_printed(course: Path) -> None:
    """Not from a file's name, nor from what stands in it."""
    inbox = course.parent / "inbox"
    inbox.mkdir()
    (inbox / f"a{STEERS.replace(chr(0), '')}.jsonl").write_text("x")
    (inbox / os.fsdecode(b"\xff\xfe.jsonl")).write_text("x")
    path = inbox / "b.jsonl"
    AnswersFile(path, STEERS, "1_setup_order", STEERS, STEERS).append("q", 1)
    (course / "course.toml").write_text(f'id = "may"\nedition = "{"x" * 5}\\u001b[2J"\n')
    said = run("grade", "--course", course).output
    (course / "course.toml").write_text(Course("may", "May", units=("1_setup_order",)).text())
    said += run("grade", "--course", course, "--inbox", inbox).output
    said += run("open", "--learner", STEERS[:-1], "--folder", course).output
    assert said.count("left out") == 3
    assert printable(said) == said


def test_a_link_among_collected_work_is_not_followed(course: Path, tmp_path: Path) -> None:
    """Neither a learner's folder nor a unit's; each is named."""
    folder = CourseFolder(course)
    (tmp_path / "elsewhere" / "1_setup_order").mkdir(parents=True)
    folder.submitted("ada", "1_setup_order").mkdir(parents=True)
    (course / "submitted" / "bea").symlink_to(tmp_path / "elsewhere")
    (course / "submitted" / "cyd").mkdir()
    folder.submitted("cyd", "1_setup_order").symlink_to(tmp_path / "elsewhere" / "1_setup_order")
    assert list(folder.learners_with_work("1_setup_order")) == ["ada"]
    assert [path.name for path in folder.linked()] == ["bea", "1_setup_order"]


def test_an_answers_file_that_becomes_a_link_is_not_read(tmp_path: Path) -> None:
    """The file is looked at once it is open, so there is no moment to put another there."""
    path = tmp_path / "u.answers.jsonl"
    path.symlink_to("/etc/hostname")
    with pytest.raises(AnswerFileError, match="is missing"):
        read_answers(path)
