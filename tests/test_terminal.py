"""Slips at the command line: one sentence, what to do, and nothing done; a next step after each."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from graders import cli
from graders.cli import main
from graders.core.terminal import TRACE, in_one_line, printable
from graders.course.coursefolder import CourseFolder
from graders.tasks import work
from tests.test_unmarked import hand_in

pytestmark = pytest.mark.slow

UNIT = "1_setup_order"


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.fixture(scope="module")
def made(tmp_path_factory) -> CourseFolder:
    """Return a course given out, in which ada handed in."""
    path = tmp_path_factory.mktemp("course") / "may"
    folder = work.assign(path, course_id="may", title="May", units=[UNIT])
    hand_in(folder, "ada")
    return folder


@pytest.fixture
def course(made, tmp_path) -> Path:
    """Return a copy of it."""
    shutil.copytree(made.path, tmp_path / "may")
    return tmp_path / "may"


@pytest.mark.parametrize("port", ["99999999", "0", "-1", "65536"])
def test_a_port_that_there_is_not_is_one_sentence(tmp_path, port):
    """Nothing is made or started; the sentence names what to write."""
    done = run("open", "--folder", tmp_path / "x", "--port", port)
    assert done.exit_code == 1
    assert done.output.startswith(f"Error: There is no port {port}. Name one from 1024 to 65535")
    assert not (tmp_path / "x").exists()


@pytest.mark.parametrize("workers", ["999999999", "0", "-3"])
def test_workers_no_machine_has_are_one_sentence(course, workers):
    """No process is started; the sentence names a number that helps."""
    done = run("grade", "--course", course, "--workers", workers)
    assert done.exit_code == 1
    assert f"Error: {workers} workers are no help on this machine" in done.output
    assert "--workers" in done.output
    assert not (course / "autograded" / "ada").exists()


@pytest.mark.parametrize("file", ["/dev/zero", "/dev/urandom", "/nowhere", "/"])
def test_a_protocol_that_is_no_file_is_said_at_once(file):
    """An endless one as well."""
    done = run("protocol", "check", file)
    assert done.exit_code == (2 if file == "/" else 1)
    assert "program itself failed" not in done.output
    assert "Traceback" not in done.output


def test_after_each_command_the_next_step_is_named(course):
    """From giving out to the lab each command names the one that comes next."""
    steps = {
        ("assign", "--title", "May"): "tpiece collect",
        ("collect",): "tpiece grade",
        ("grade",): "tpiece report",
        ("report",): "tpiece lab brief",
        ("lab", "brief"): "tpiece lab checklist",
        ("lab", "checklist"): "tpiece lab results",
    }
    for words, following in steps.items():
        done = run(*words, "--course", course)
        assert done.exit_code == 0, done.output
        assert following in done.output.strip().splitlines()[-1], words


def test_what_the_program_gets_wrong_is_a_sentence_unless_asked_for_more(course, monkeypatch):
    """Nobody is shown a trace; whoever looks for the fault sets a name and sees it."""

    def fails(*_: object, **__: object) -> None:
        raise KeyError("x")

    monkeypatch.setattr(cli.work, "report_of", fails)
    done = run("report", "--course", course)
    assert done.exit_code == 1
    assert done.output.startswith("Error: The program itself failed (KeyError: 'x').")
    assert len(done.output.strip().splitlines()) == 1
    monkeypatch.setenv(TRACE, "1")
    assert isinstance(run("report", "--course", course).exception, KeyError)


def test_signs_that_steer_are_shown_as_a_sign():
    """Letters of every script stay; what moves a cursor or turns a line around does not."""
    assert printable("Größe 見本 خزامى\tx\ny") == "Größe 見本 خزامى\tx\ny"
    assert printable("\x1b[2J\u202ex\x9b\ud800") == "\ufffd[2J\ufffdx\ufffd\ufffd"
    assert in_one_line("a\nb") == "a\ufffdb"
