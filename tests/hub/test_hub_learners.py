"""A hub's learners: the folder each works in, and how their work is collected."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from nbgrader.coursedir import CourseDirectory

from graders import nbgrader_seam
from graders.handed_in import exchange
from graders.hub import exchange as earlier
from graders.nbgrader import collect as by_nbgrader
from graders.nbgrader.seam import NameLearner
from tests.hub_course import UNIT, laid, read
from workbook import hub
from workbook.core.answers import AnswersFile
from workbook.course.settings import PROTOCOL, Course
from workbook.start import launch

# --- a learner's side


def test_a_learners_folder_is_the_one_of_tpiece_open(course, place, monkeypatch):
    """Lessons, units, settings and protocol are there, for that account alone."""
    outbound = course / "exchange/may/outbound" / UNIT
    (outbound / PROTOCOL).write_text("# invented\n")
    folder = hub.prepare(course / "exchange", "may", place, "ada")
    opened = launch.prepare_learner(
        place / "opened", learner="ada", course_id="may", exchange=course / "exchange",
        lessons=Path(launch.__file__).parents[1] / "lessons",
    )  # fmt: skip
    names = [{p.relative_to(f).as_posix() for p in f.rglob("*")} for f in (folder, opened)]
    assert names[0] - names[1] == {PROTOCOL, "course.toml"}
    assert names[1] <= names[0]
    assert stat.S_IMODE((place / hub.HOME).stat().st_mode) == 0o700


def test_a_course_that_gave_nothing_out_is_one_sentence(tmp_path, monkeypatch, capsys):
    """The hub's log says who, what and what to do."""
    monkeypatch.setenv("JUPYTERHUB_USER", "ada")
    monkeypatch.delenv("TPIECE_LEARNER", raising=False)
    umask = os.umask(0o022)
    try:
        with pytest.raises(SystemExit) as told:
            hub.main([str(tmp_path), "may"])
    finally:
        os.umask(umask)
    assert "workbook of ada cannot be opened: Nothing is given out" in str(told.value)


def test_the_server_is_told_what_any_server_is_and_keeps_its_kernels_to_itself(
    course, place, monkeypatch
):
    """The hub's own words are passed on; messages go by the learner's own sockets, not ports."""
    monkeypatch.setenv("JUPYTERHUB_USER", "ada")
    monkeypatch.setenv("HOME", str(place))
    monkeypatch.delenv("TPIECE_LEARNER", raising=False)
    became = []
    monkeypatch.setattr(hub.os, "execv", lambda _, command: became.extend(command))
    monkeypatch.setattr(hub.os, "environ", dict(os.environ))
    umask = os.umask(0o022)
    try:
        hub.main([str(course / "exchange"), "may", "--ServerApp.x=1"])
    finally:
        os.umask(umask)
    folder = place / hub.HOME / "may"
    assert became[1:4] == ["-P", "-m", "jupyterhub.singleuser"]
    assert set(launch.server_settings(folder)) < set(became)
    assert "--KernelManager.transport=ipc" in became
    assert became[-1] == "--ServerApp.x=1"


def test_a_learners_side_needs_no_graders():
    """What grades may be closed to learners: nothing of theirs imports it."""
    code = "import sys, workbook.hub; print(any(m.startswith('graders') for m in sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


# --- collecting


@pytest.fixture
def box(course, place, monkeypatch):
    """Return the letter box of a hub, where everything seems to be handed in by ada's account."""
    laid(course, place)
    monkeypatch.setattr(
        exchange, "owner", lambda path: "" if path.is_symlink() else _owners.get(path.name, "ada")
    )
    return place / "hub/exchange/may/inbound"


_owners: dict[str, str] = {}


def handed_in(box: Path, name: str, at: str = "2026-05-04 10:00:00.000000 UTC") -> Path:
    """Lay a submission into the letter box."""
    made = box / f"{name}+{UNIT}+{at}+x"
    made.mkdir()
    (made / "timestamp.txt").write_text(at)
    file = AnswersFile(made / f"{UNIT}.answers.jsonl", "may", UNIT, name, Course().edition)
    file.append("reason", name)
    return made


def test_a_course_laid_out_earlier_is_collected_and_marked_as_one_of_today():
    """Its settings name where collecting and naming the learner stood then."""
    assert earlier.CollectOwned is by_nbgrader.CollectOwned
    assert nbgrader_seam.NameLearner is NameLearner


def collect(course: Path) -> None:
    """Collect as stock nbgrader does, through the class its settings name."""
    config = read(course / "nbgrader_config.py")
    config.CourseDirectory.assignment_id = UNIT
    asked = config.ExchangeFactory.collect
    assert asked == f"{by_nbgrader.__name__}.{by_nbgrader.CollectOwned.__name__}"
    by_nbgrader.CollectOwned(
        coursedir=CourseDirectory(config=config), authenticator=None, config=config
    ).start()


def test_work_under_anothers_name_is_set_aside_and_told(course, box, capsys):
    """Ada's account hands in as bea, later than bea did: bea's own work counts."""
    _owners[handed_in(box, "bea").name] = "bea"
    forged = handed_in(box, "bea", "2030-01-01 10:00:00.000000 UTC")
    handed_in(box, "ada")
    collect(course)
    collected = course / "submitted"
    assert {path.name for path in collected.iterdir()} == {"ada", "bea"}
    assert "2026" in (collected / "bea" / UNIT / "timestamp.txt").read_text()
    assert not forged.exists()
    assert "under the name bea was handed in by another account (ada)" in capsys.readouterr().err


def test_a_link_leads_to_nobodys_files(course, box, tmp_path):
    """Neither a linked folder nor a linked file in a submission is followed."""
    secret = tmp_path / "secret"
    secret.mkdir()
    (secret / "scores").write_text("1.0")
    made = handed_in(box, "ada")
    (made / "more").symlink_to(secret)
    (made / "scores").symlink_to(secret / "scores")
    (made / f"{UNIT}.ipynb").symlink_to("/dev/zero")
    (box / f"cyd+{UNIT}+2026-05-04 10:00:00.000000 UTC+x").symlink_to(made)
    collect(course)
    found = {p.name for p in (course / "submitted").rglob("*")}
    assert found == {"ada", UNIT, "timestamp.txt", f"{UNIT}.answers.jsonl", "received.json"}


@pytest.mark.parametrize("what", ["pipe", "link to /dev/zero", "huge", "folder"])
def test_one_that_cannot_be_copied_stops_nobody(course, box, capsys, what):
    """In place of one answers file lies what never ends: a sentence, and the others are there."""
    file = handed_in(box, "ada") / f"{UNIT}.answers.jsonl"
    file.unlink()
    if what == "pipe":
        os.mkfifo(file)
    elif what == "huge":
        file.touch()
        os.truncate(file, 2**40)
    elif what == "folder":
        file.mkdir()
    else:
        file.symlink_to("/dev/zero")
    _owners[handed_in(box, "bea").name] = "bea"
    collect(course)
    assert (course / "submitted/bea" / UNIT / f"{UNIT}.answers.jsonl").is_file()
    assert not (course / "submitted/ada").exists()
    assert f"ada+{UNIT}" in capsys.readouterr().err
