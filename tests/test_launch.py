"""Laying out a learner's folder, and the command that opens it."""

from __future__ import annotations

import json
import os
import re
import stat
import subprocess
import sys
import urllib.request
from pathlib import Path

import pytest
from nbgrader.apps import NbGrader

from workbook.start import launch
from workbook.start.launch import LaunchError, environment, prepare_learner, server_command

pytestmark = pytest.mark.slow

LEARNER = "nurse.one"


def write_page(path: Path, text: str, output: str = "", about: str = "") -> None:
    """Write a notebook of one cell."""
    outputs = [{"output_type": "stream", "name": "stdout", "text": output}] if output else []
    cell = {"id": "a", "cell_type": "code", "metadata": {}, "execution_count": None}
    cells = [{**cell, "source": [text], "outputs": outputs}]
    page = {"cells": cells, "metadata": {"about": about}, "nbformat": 4, "nbformat_minor": 5}
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(page), encoding="utf-8")


def words(path: Path) -> str:
    """Return the text of a one-cell notebook."""
    return "".join(json.loads(path.read_text(encoding="utf-8"))["cells"][0]["source"])


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Return a folder with lessons and an exchange that has one released unit."""
    write_page(tmp_path / "lessons" / "start_here.ipynb", "first words")
    write_page(tmp_path / "exchange" / "toy" / "outbound" / "1_unit" / "1_unit.ipynb", "released")
    return tmp_path


def prepare(place: Path, learner: str = LEARNER, folder: str = "home", text: str = "") -> Path:
    """Prepare a learner's folder in the place."""
    return prepare_learner(
        place / folder, learner=learner, course_id="toy", exchange=place / "exchange",
        lessons=place / "lessons", course_text=text,
    )  # fmt: skip


def copies(folder: Path) -> list[Path]:
    """Return the pages kept as a learner's copy."""
    return sorted(folder.glob("*your copy*.ipynb"))


def test_a_new_folder_gets_the_lessons_the_units_and_the_course(place: Path) -> None:
    """A learner starts with everything that is released, and the course's settings."""
    folder = prepare(place, text='id = "toy"\n')
    assert words(folder / "start_here.ipynb") == "first words"
    assert words(folder / "1_unit" / "1_unit.ipynb") == "released"
    assert (folder / "course.toml").read_text(encoding="utf-8") == 'id = "toy"\n'


def test_a_second_opening_leaves_a_learners_work_alone(place: Path) -> None:
    """Neither a changed lesson nor a changed unit is touched when nothing new is shipped."""
    folder = prepare(place)
    write_page(folder / "start_here.ipynb", "my lesson")
    write_page(folder / "1_unit" / "1_unit.ipynb", "my unit")
    write_page(place / "exchange" / "toy" / "outbound" / "1_unit" / "1_unit.ipynb", "corrected")
    prepare(place)
    assert words(folder / "start_here.ipynb") == "my lesson"
    assert words(folder / "1_unit" / "1_unit.ipynb") == "my unit"
    assert copies(folder) == []


def test_a_new_lesson_keeps_the_learners_changed_copy(place: Path) -> None:
    """When both sides changed, the new lesson is laid and the learner's own kept by name."""
    folder = prepare(place)
    for version in ("second", "third"):
        write_page(folder / "start_here.ipynb", f"mine before {version}")
        write_page(place / "lessons" / "start_here.ipynb", version)
        prepare(place)
        assert words(folder / "start_here.ipynb") == version
    assert {words(path) for path in copies(folder)} == {"mine before second", "mine before third"}


def test_a_lesson_that_was_only_run_is_replaced_without_a_copy(place: Path) -> None:
    """Outputs alone are no change of the learner's, so no copies pile up."""
    folder = prepare(place)
    write_page(folder / "start_here.ipynb", "first words", output="42")
    write_page(place / "lessons" / "start_here.ipynb", "second words")
    prepare(place)
    assert words(folder / "start_here.ipynb") == "second words"
    assert copies(folder) == []


def test_a_lesson_whose_settings_alone_changed_is_brought(place: Path) -> None:
    """A new version may differ in its metadata only and still must arrive."""
    folder = prepare(place)
    write_page(place / "lessons" / "start_here.ipynb", "first words", about="new")
    prepare(place)
    page = json.loads((folder / "start_here.ipynb").read_text(encoding="utf-8"))
    assert page["metadata"]["about"] == "new"


def test_a_lost_record_never_costs_a_learners_words(place: Path) -> None:
    """Without the record of what was shipped, a different page counts as the learner's."""
    folder = prepare(place)
    write_page(folder / "start_here.ipynb", "mine")
    (folder / ".tpiece" / "lessons.json").write_text("cut sho", encoding="utf-8")
    prepare(place)
    assert [words(path) for path in copies(folder)] == ["mine"]


def test_a_deleted_page_of_a_unit_comes_back_beside_its_answers(place: Path) -> None:
    """A learner who deletes a page by mistake opens the workbook again and has it back."""
    folder = prepare(place)
    (folder / "1_unit" / "1_unit.ipynb").unlink()
    answers = folder / "1_unit" / "1_unit.answers.jsonl"
    answers.write_text("{}\n", encoding="utf-8")
    prepare(place)
    assert words(folder / "1_unit" / "1_unit.ipynb") == "released"
    assert answers.read_text(encoding="utf-8") == "{}\n"


def test_a_unit_released_read_only_is_writable_for_the_learner(place: Path) -> None:
    """A release may be read-only; a learner's copy must take answers."""
    released = place / "exchange" / "toy" / "outbound" / "1_unit" / "1_unit.ipynb"
    released.chmod(0o444)
    folder = prepare(place)
    assert (folder / "1_unit" / "1_unit.ipynb").stat().st_mode & stat.S_IWUSR


def test_another_learners_answers_and_hidden_files_are_not_brought(place: Path) -> None:
    """Answers, locks and hidden files beside a lesson or a release stay where they are."""
    unit = place / "exchange" / "toy" / "outbound" / "1_unit"
    for name in ("1_unit.answers.jsonl", ".hidden", "1_unit.lock"):
        (unit / name).write_text("x", encoding="utf-8")
    folder = prepare(place)
    assert [path.name for path in (folder / "1_unit").iterdir()] == ["1_unit.ipynb"]


@pytest.mark.parametrize("learner", ["a+b", "a*b", "a/b", "..", ".a", "", "a" * 65, "a b", "é"])
def test_a_learner_id_that_cannot_name_a_folder_is_refused(place: Path, learner: str) -> None:
    """The sentence names the id and the characters that are allowed; nothing is written."""
    with pytest.raises(LaunchError, match="cannot be a learner id: use 1 to 64 letters") as error:
        prepare(place, learner=learner, folder="other")
    assert repr(learner) in str(error.value)
    assert not list((place / "other").rglob("*.ipynb"))


def test_a_folder_of_another_learner_is_refused(place: Path) -> None:
    """Two learners at one computer cannot write into each other's answers by mistake."""
    prepare(place)
    with pytest.raises(LaunchError, match=r"holds the work of 'nurse\.one'.*for 'nurse\.two'"):
        prepare(place, learner="nurse.two")


def test_a_folder_that_cannot_be_made_is_one_sentence(place: Path) -> None:
    """A file where the folder should be gives a sentence with what to do, not a traceback."""
    (place / "home").write_text("a file", encoding="utf-8")
    with pytest.raises(LaunchError, match=r"cannot be used .* Choose another folder"):
        prepare(place)


def test_nbgrader_reads_the_learner_and_the_exchange(place: Path, monkeypatch) -> None:
    """What is written is what nbgrader understands, odd characters in a path included."""
    folder = prepare(place, folder="o'neil home")
    monkeypatch.setenv("JUPYTER_CONFIG_PATH", environment(folder, LEARNER)["JUPYTER_CONFIG_PATH"])
    monkeypatch.chdir(place)
    app = NbGrader()
    app.load_config_file()
    assert app.config.CourseDirectory.student_id == LEARNER
    assert app.config.CourseDirectory.course_id == "toy"
    assert "*.lock" in app.config.CourseDirectory.ignore
    assert app.config.Exchange.root == str(place / "exchange")
    assert app.config.Exchange.assignment_dir == str(folder)
    assert Path(app.config.Exchange.cache).is_relative_to(folder)


def test_the_environment_puts_ours_first_and_keeps_the_rest(place: Path, monkeypatch) -> None:
    """A site's own Jupyter settings stay in force behind ours; programs are found."""
    folder = prepare(place)
    monkeypatch.setenv("JUPYTER_CONFIG_PATH", "/site/settings")
    env = environment(folder, LEARNER, token="key")  # noqa: S106  (a made-up one)
    ours = str(folder / ".tpiece" / "config")
    assert env["JUPYTER_CONFIG_PATH"].split(os.pathsep) == [ours, "/site/settings"]
    assert env["PATH"].split(os.pathsep)[0] == str(Path(sys.executable).parent)
    assert env["TPIECE_LEARNER"] == LEARNER
    assert env["JUPYTER_TOKEN"] == "key"  # noqa: S105


def test_the_server_is_for_this_computer_and_its_key_is_not_on_the_command_line(
    place: Path,
) -> None:
    """Others on the computer can read a command line, so the key is not there."""
    folder = prepare(place)
    command = server_command(folder, port=4321, browser=False)
    assert "--ServerApp.ip=127.0.0.1" in command
    assert f"--ServerApp.root_dir={folder}" in command
    assert "--LabApp.default_url=/doc" in command
    workshop = server_command(folder, port=4321, browser=False, workshop=True)
    assert "--LabApp.default_url=/lab/tree/start_here.ipynb" in workshop
    assert not any("token" in part.lower() for part in command)
    assert ("--allow-root" in command) == (os.geteuid() == 0)


def test_a_port_in_use_is_one_sentence(place: Path) -> None:
    """A learner who names a busy port hears which one, and what to do."""
    folder = prepare(place)
    with launch.socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        with pytest.raises(LaunchError, match=rf"^Port {port} is in use\. Choose another"):
            launch.launch(folder, learner=LEARNER, port=port, browser=False)


def test_a_server_that_does_not_start_says_where_to_look(place: Path, monkeypatch) -> None:
    """The reason is kept in a file and the sentence names it."""
    folder = prepare(place)
    broken = [sys.executable, "-c", "raise SystemExit('no such thing')"]
    monkeypatch.setattr(launch, "server_command", lambda *_, **__: broken)
    with pytest.raises(LaunchError, match=r"did not start\. .*server\.log says why"):
        launch.launch(folder, learner=LEARNER, browser=False)
    assert "no such thing" in (folder / ".tpiece" / "server.log").read_text(encoding="utf-8")


def test_a_server_that_starts_slowly_is_waited_for_and_said_to(place, monkeypatch, capsys) -> None:
    """An old computer is no fault: a line says that it still starts, and nothing gives up."""
    folder = prepare(place)
    slow = [sys.executable, "-c", "import time; time.sleep(60)"]
    monkeypatch.setattr(launch, "server_command", lambda *_, **__: slow)
    monkeypatch.setattr(launch, "PATIENT_SECONDS", 0)
    asked = iter([False, False, False, False, True])
    monkeypatch.setattr(launch, "_answers", lambda _: next(asked))
    monkeypatch.setattr(launch.subprocess.Popen, "wait", lambda *_, **__: 0)
    assert launch.launch(folder, learner=LEARNER, browser=False) == 0
    told = capsys.readouterr()
    assert told.err.count("Still starting") == 1
    assert "The workbook is open at" in told.out


def test_the_workbook_opens_at_the_address_it_prints_and_closes_when_told(place: Path) -> None:
    """The address leads to the start page; closing ends the server and says what is kept."""
    folder = prepare(place)
    code = (
        "import sys; from pathlib import Path; from workbook.start.launch import launch\n"
        f"sys.exit(launch(Path({str(folder)!r}), learner={LEARNER!r}, browser=False))"
    )
    command = [sys.executable, "-c", code]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as opened:
        try:
            line = opened.stdout.readline()
            address = re.fullmatch(r"The workbook is open at (\S+)  \(to stop it: .*\)\n", line)[1]
            no_proxy = urllib.request.build_opener(urllib.request.ProxyHandler({}))
            with no_proxy.open(address) as page:
                assert re.search(r"/doc(\?|$)", page.url)
        finally:
            opened.terminate()
        assert opened.stdout.read() == "The workbook is closed. Answers marked “Saved” are kept.\n"
    assert opened.returncode == 0
    with pytest.raises(OSError, match="refused"):
        no_proxy.open(address)


def test_importing_the_launcher_needs_no_nbgrader() -> None:
    """A learner's side of the workbook works where nbgrader is not installed."""
    code = "import sys, workbook.start.launch; print('nbgrader' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
