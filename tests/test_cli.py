"""The command line: help with examples, and one sentence for each mistake."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from click import Group
from click.testing import CliRunner

from graders.cli import main
from workbook.course.settings import Course


def run(*words: str | Path):
    return CliRunner().invoke(main, [str(word) for word in words])


def every_command() -> Iterator[tuple[str, ...]]:
    """Yield the words of each command, those of groups included."""
    for name, command in main.commands.items():
        if isinstance(command, Group):
            yield from ((name, part) for part in command.commands)
        else:
            yield (name,)


@pytest.mark.parametrize("command", list(every_command()), ids=" ".join)
def test_every_command_has_help_with_an_example(command):
    """`--help` says what the command does and shows one way to call it."""
    result = run(*command, "--help")
    assert result.exit_code == 0
    assert f"Example: tpiece {' '.join(command)}" in " ".join(result.output.split())


def test_the_commands_are_the_documented_ones():
    """Nothing undocumented, nothing missing."""
    text = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")
    for command in main.commands:
        assert f"tpiece {command}" in text


def one_sentence(result, *words: str) -> None:
    assert result.exit_code != 0
    assert not isinstance(result.exception, AssertionError | KeyError | TypeError)
    assert "Traceback" not in result.output
    assert len(result.output.strip().splitlines()) == 1
    for word in words:
        assert word in result.output


def test_a_course_folder_that_cannot_be_written_is_said(tmp_path):
    """The sentence names the folder and offers another."""
    (tmp_path / "taken").write_text("a file where a folder is wanted")
    one_sentence(run("assign", "--course", tmp_path / "taken" / "may"), "taken")


def test_an_unknown_edition_is_said_with_the_known_ones(tmp_path):
    """Nothing is made for an edition nobody knows."""
    result = run("assign", "--course", tmp_path / "may", "--edition", "aha-1999")
    one_sentence(result, "no edition 'aha-1999'", "aha-2020")
    assert not (tmp_path / "may").exists()


def test_an_unknown_unit_is_said_with_the_known_ones(tmp_path):
    """A slip in a unit's name gives out nothing."""
    one_sentence(run("assign", "--course", tmp_path / "may", "2_set"), "no unit '2_set'")


@pytest.mark.parametrize("command", ["collect", "grade", "report"])
def test_a_folder_that_is_no_course_is_said(tmp_path, command):
    """Each command names the folder and how to start a course."""
    one_sentence(run(command, "--course", tmp_path), "not a course folder", "tpiece assign")


def test_a_course_with_wrong_settings_is_said_at_once(tmp_path):
    """Every mistake of course.toml in one message."""
    text = 'id = "a b"\nedition = "x"\npass_mark = 80\ncolour = "red"\nunits = ["none"]\n'
    (tmp_path / "course.toml").write_text(text)
    one_sentence(
        run("grade", "--course", tmp_path),
        "Unknown setting 'colour'", "id must be", "edition 'x' is not", "pass_mark must be",
        "units must be",
    )  # fmt: skip


def test_a_bad_learner_id_is_said(tmp_path):
    """A name that cannot be a folder is refused before anything is made."""
    one_sentence(run("open", "--folder", tmp_path / "x", "--learner", "a/b"), "learner id")
    assert not (tmp_path / "x").exists()


def test_a_roster_with_mistakes_names_each_line(tmp_path):
    """Doubled and unusable ids are listed with their lines."""
    roster = tmp_path / "people.csv"
    roster.write_text("learner,name\nada,A\nada,B\na/b,C\n")
    result = run("assign", "--course", tmp_path / "may", "--roster", roster)
    one_sentence(result, "line 3: ada stands twice", "line 4: 'a/b' cannot be a learner id")


def test_an_answers_file_that_is_none_is_not_taken_in(tmp_path):
    """A file a learner mailed is checked before it is put among submissions."""
    (tmp_path / "course.toml").write_text(Course("may", "May").text())
    (tmp_path / "letter.jsonl").write_text("Dear educator")
    result = run("collect", "--course", tmp_path, "--from", tmp_path / "letter.jsonl")
    one_sentence(result, "letter.jsonl", "not the head of an answers file")


def test_the_demo_leaves_other_folders_alone(tmp_path):
    """A folder with something else in it is not cleared."""
    (tmp_path / "thesis.txt").write_text("years of work")
    one_sentence(run("demo", "--course", tmp_path), "something else than a demo")
    assert (tmp_path / "thesis.txt").read_text() == "years of work"


def test_a_command_starts_without_what_only_some_need():
    """Help comes at once, and each grading process starts light: nbgrader alone takes seconds."""
    heavy = "{'nbgrader', 'scipy', 'matplotlib', 'fpdf', 'jupyterlab'}"
    code = f"import sys, graders.cli; print(*{heavy} & set(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []
