"""The answers file: numbered lines, only ever added, read without trust."""

from __future__ import annotations

import json
import os
import threading

import pytest

from workbook.core.answer_sheet import LARGEST_FILE, AnswerFileError, answers_path, read_answers
from workbook.core.answers import AnswersFile
from workbook.core.whose import learner_id, whoami


@pytest.fixture
def file(tmp_path):
    """Return a fresh answers file of an invented learner."""
    return AnswersFile(
        tmp_path / "1_setup_order.answers.jsonl", "demo", "1_setup_order", "ada", "aha-2020"
    )


def test_answers_come_back_with_the_last_one_on_top(file):
    """Every save is kept; the latest of each question counts."""
    file.append("order", ["a", "b"])
    file.append("reason", "x")
    file.append("order", ["b", "a"])
    sheet = file.sheet()
    assert [a.number for a in sheet.answers] == [2, 3, 4]
    assert sheet.latest()["order"].value == ["b", "a"]
    assert (sheet.course, sheet.exercise, sheet.learner) == ("demo", "1_setup_order", "ada")


def test_the_same_message_is_written_once(file):
    """A repeated (client, seq) is acknowledged with the number it had."""
    first = file.append("order", ["a"], client="tab", seq=1)
    again = file.append("order", ["a"], client="tab", seq=1)
    assert first.number == again.number
    assert len(file.sheet().answers) == 1


def test_two_tabs_cannot_overwrite_each_other(file):
    """Forty saves from four writers are forty lines with forty numbers."""
    twins = [
        AnswersFile(file.path, file.course, file.exercise, file.learner, file.edition)
        for _ in range(4)
    ]

    def write(twin, name):
        for n in range(10):
            twin.append(f"{name}{n}", n)

    threads = [threading.Thread(target=write, args=(t, f"t{i}-")) for i, t in enumerate(twins)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    sheet = read_answers(file.path)
    assert len({a.number for a in sheet.answers}) == 40
    assert sheet.problems == ()


def test_a_line_cut_short_costs_only_itself(file):
    """After a crash in the middle of a write, every other answer is there."""
    file.append("order", ["a"])
    with file.path.open("ab") as out:
        out.write(b'{"n": 3, "question": "rea')
    file.append("reason", "x")
    sheet = file.sheet()
    assert set(sheet.latest()) == {"order", "reason"}
    assert len(sheet.problems) == 1
    assert "line 3" in sheet.problems[0]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "not the head of an answers file"),
        (b"{", "not the head of an answers file"),
        (b"[]\n", "not the head of an answers file"),
        (b"\xff\xfe\x00", "not the head of an answers file"),
        (b'{"format": "tpiece-answers/9"}\n', "tpiece-answers/9, which this version cannot read"),
        (b"[" * 60_000, "not the head of an answers file"),
    ],
)
def test_a_file_that_is_none_says_so_in_one_sentence(file, content, says):
    """Whatever is in the file, the error names the file, what is wrong and what to do."""
    file.path.write_bytes(content)
    with pytest.raises(AnswerFileError, match=says) as caught:
        read_answers(file.path)
    assert file.path.name in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_missing_file_and_a_link_are_refused(file):
    """Nothing is followed out of the submission."""
    with pytest.raises(AnswerFileError, match="is missing"):
        read_answers(file.path)
    file.path.symlink_to("/etc/hostname")
    with pytest.raises(AnswerFileError, match="is missing"):
        read_answers(file.path)


def test_a_file_too_large_is_refused_unread(file):
    """A huge file costs nothing but its sentence."""
    with file.path.open("wb") as out:
        out.truncate(LARGEST_FILE + 1)
    with pytest.raises(AnswerFileError, match="more than the 8 MB"):
        read_answers(file.path)


@pytest.mark.parametrize(
    "line",
    [
        {"n": 2, "question": "order"},
        {"n": "2", "question": "order", "value": 1},
        {"n": 2, "question": 7, "value": 1},
        {"n": True, "question": "order", "value": 1},
        [1, 2],
    ],
)
def test_a_line_edited_by_hand_is_left_out_and_named(file, line):
    """A line of another shape is no answer, and the rest still counts."""
    file.append("reason", "x")
    with file.path.open("a") as out:
        out.write(json.dumps(line) + "\n")
    sheet = file.sheet()
    assert set(sheet.latest()) == {"reason"}
    assert "line 3" in sheet.problems[0]


def test_nan_and_infinity_are_no_numbers(file):
    """JSON's unofficial constants are refused line by line."""
    file.append("reason", "x")
    with file.path.open("a") as out:
        out.write('{"n": 3, "question": "order", "value": NaN}\n')
    assert len(file.sheet().problems) == 1


def test_a_folder_that_cannot_be_written_is_said(tmp_path):
    """The learner reads what to do, and no save is claimed."""
    (tmp_path / "taken").write_text("a file where a folder is wanted")
    file = AnswersFile(tmp_path / "taken" / "x.answers.jsonl", "c", "x", "ada", "aha-2020")
    with pytest.raises(AnswerFileError, match=r"Not saved: .* cannot be written to"):
        file.append("order", [])


def test_a_full_disk_is_said_and_a_later_save_works(file, monkeypatch):
    """When the disk refuses, nothing is acknowledged; the same message may come again."""

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(AnswerFileError, match="No space left"):
        file.append("order", ["a"], client="tab", seq=1)
    monkeypatch.undo()
    file.append("order", ["a"], client="tab", seq=1)
    assert file.sheet().latest()["order"].value == ["a"]


@pytest.mark.parametrize("id", ["ada", "ada.b@ward-2", "0007", "A_b"])
def test_ordinary_ids_are_learner_ids(id):
    """Letters, digits and a few marks are fine."""
    assert learner_id(id) == id


@pytest.mark.parametrize("id", ["", ".hidden", "a/b", "a+b", "x[1]", "a b", "é", "a" * 65, ".."])
def test_an_id_unsafe_as_a_folder_name_is_refused(id):
    """Nothing that could leave the folder or be skipped becomes a learner."""
    with pytest.raises(ValueError, match="cannot be a learner id"):
        learner_id(id)


def test_the_learner_is_the_one_set_at_opening(monkeypatch):
    """The opening command's learner goes before the hub's, the hub's before the account's."""
    monkeypatch.delenv("TPIECE_LEARNER", raising=False)
    monkeypatch.setenv("JUPYTERHUB_USER", "hubuser")
    assert whoami() == "hubuser"
    monkeypatch.setenv("TPIECE_LEARNER", "ada")
    assert whoami() == "ada"


def test_the_file_lies_beside_the_notebook(tmp_path):
    """The name follows the notebook's."""
    assert answers_path(tmp_path / "1_a.ipynb") == tmp_path / "1_a.answers.jsonl"


def test_a_file_that_vanished_is_put_back_with_the_next_answer(file):
    """Whoever removes it by mistake loses nothing that the open page has seen, and is told."""
    file.held = True
    file.append("order", ["a"])
    twin = AnswersFile(file.path, file.course, file.exercise, file.learner, file.edition)
    twin.held = True
    twin.append("reason", "x")  # the same page, run again
    before = file.path.read_bytes()
    assert not file.came_back
    file.path.unlink()
    number = file.append("gas", 8).number
    assert file.came_back
    assert number == 4
    assert file.path.read_bytes().startswith(before)
    assert set(file.sheet().latest()) == {"order", "reason", "gas"}


def test_a_file_that_vanished_before_the_page_opens_again_is_put_back(file):
    """Reading alone brings it back, too: nothing looks unanswered that was saved."""
    file.held = True
    file.append("order", ["a"])
    before = file.path.read_bytes()
    file.path.unlink()
    twin = AnswersFile(file.path, file.course, file.exercise, file.learner, file.edition)
    twin.held = True
    assert twin.sheet().latest()["order"].value == ["a"]
    assert file.path.read_bytes() == before


def test_a_stranger_s_file_that_was_moved_away_does_not_come_back(file):
    """Who is told to move it elsewhere begins anew."""
    file.held = True
    theirs = AnswersFile(file.path, file.course, file.exercise, "bob", file.edition)
    text = theirs._header() + "\n"
    file.path.write_text(text, encoding="utf-8")
    assert file.sheet().learner == "bob"
    file.path.unlink()
    assert file.sheet().latest() == {}
    assert not file.path.exists()


def test_only_a_page_puts_a_file_back(file):
    """A program that writes files of its own may remove them and begin anew."""
    file.append("order", ["a"])
    file.path.unlink()
    assert file.sheet().latest() == {}
    file.append("gas", 8)
    assert set(file.sheet().latest()) == {"gas"}
