"""A course laid out for a hub: what it writes, closes, and refuses in a sentence."""

from __future__ import annotations

import os
import re
import shutil
import stat
import subprocess
import sys
import tempfile
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner
from nbgrader.coursedir import CourseDirectory
from traitlets.config import Config, PyFileConfigLoader

from graders.cli import main
from graders.coursefolder import lay_out
from graders.hub import exchange, layout
from graders.hub.accounts import HubError, NoServerError, learners, only_people
from graders.hub.layout import SITE_CONFIG, closed_at, lay_hub
from workbook import hub, launch
from workbook.course import PROTOCOL, Course

UNIT = "1_setup_order"
COURSE = Course("may", "May course", units=(UNIT,))


@pytest.fixture
def place():
    """Yield a folder that every account can reach."""
    with tempfile.TemporaryDirectory(prefix="tpiece-hub-") as made:
        Path(made).chmod(0o755)
        yield Path(made)


@pytest.fixture
def course(tmp_path):
    """Return a course of three people, with work given out and a letter box."""
    path = tmp_path / "may"
    lay_out(path, COURSE)
    (path / "roster.csv").write_text("learner\nada\nbea\ncyd\n")
    outbound = path / "exchange/may/outbound" / UNIT
    outbound.mkdir(parents=True)
    (path / "exchange/may/inbound").mkdir()
    shutil.copyfile(path / "course.toml", outbound / "course.toml")
    (outbound / f"{UNIT}.ipynb").write_text("{}")
    return path


@pytest.fixture
def python(monkeypatch):
    """Name a program that every account can run, as an installation in /opt would be."""
    return shutil.which("sh", path="/usr/bin:/bin")


def laid(course, place, python, **other):
    """Lay a hub out."""
    settings = {"bind": "http://127.0.0.1:8000", "proxy": "proxy --quiet", "python": python}
    return lay_hub(course, place / "hub", **{**settings, **other})


def read(config: Path) -> Config:
    """Read settings as the hub itself does."""
    return PyFileConfigLoader(config.name, path=str(config.parent)).load_config()


# --- the settings


def test_the_hub_reads_what_is_written(course, place, python):
    """People of the roster come in; each has a server of the course, through the given proxy."""
    made = laid(course, place, python)
    c = read(made.config)
    assert c.Authenticator.allowed_users == {"ada", "bea", "cyd"}
    assert c.Spawner.cmd[0] == python
    assert c.Spawner.cmd[-2:] == [str(place / "hub/exchange"), "may"]
    assert c.ConfigurableHTTPProxy.command == ["proxy", "--quiet"]
    assert not c.JupyterHub.cleanup_servers
    assert "not a medical device" in c.JupyterHub.template_vars["announcement"]


def test_what_the_site_decides_wins_and_is_never_written_again(course, place, python):
    """The hospital's own sign-in stands in a file of its own."""
    made = laid(course, place, python)
    assert "PUT YOUR HOSPITAL'S OWN HERE" in made.site_config.read_text()
    with made.site_config.open("a") as file:
        file.write("c.JupyterHub.authenticator_class = 'ours.SignIn'\n")
    again = laid(course, place, python, bind="http://127.0.0.1:9000")
    c = read(again.config)
    assert c.JupyterHub.authenticator_class == "ours.SignIn"
    assert c.JupyterHub.bind_url == "http://127.0.0.1:9000"


def test_words_of_a_title_stay_words(course, place, python):
    """A title is text in the settings, whatever it holds."""
    text = (course / "course.toml").read_text().replace("May course", "May $course {x} ''' \\\\n")
    (course / "course.toml").write_text(text)
    assert read(laid(course, place, python).config).Authenticator.allowed_users


def test_the_course_is_closed_and_the_exchange_is_not(course, place, python):
    """Only its owner enters the course; all may add to the exchange, none may look around."""
    laid(course, place, python)
    out = place / "hub"
    modes = {
        name: stat.S_IMODE((out / name).stat().st_mode)
        for name in ("hub", "exchange", "exchange/may/inbound", SITE_CONFIG)
    }
    assert modes == {
        "hub": 0o700, "exchange": 0o1777, "exchange/may/inbound": 0o1733, SITE_CONFIG: 0o600,
    }  # fmt: skip
    assert stat.S_IMODE(course.stat().st_mode) == 0o700
    assert (course / "exchange").resolve() == out / "exchange"
    assert "CollectOwned" in (course / "nbgrader_config.py").read_text()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"proxy": "", "path": "/nowhere"}, r"needs configurable-http-proxy\. Install it"),
        ({"python": "/nowhere/python"}, r"There is no program /nowhere/python\."),
        ({"out": "inside"}, r"lies within the course"),
        ({"out": "closed"}, r"cannot reach .*: .*/closed lets only its owner pass"),
        ({"roster": "learner\n"}, r"no roster|no people|nobody"),
        ({"roster": "learner\nroot\nAda\n"}, r"Change in the roster: Ada, root$"),
    ],
)
def test_each_mistake_is_one_sentence(course, place, python, monkeypatch, change, says):
    """What is wrong, where, and what to do; no stack trace."""
    out = place / "hub"
    if "roster" in change:
        (course / "roster.csv").write_text(change["roster"])
    if "path" in change:
        monkeypatch.setenv("PATH", change["path"])
    if change.get("out") == "inside":
        out = course / "hub"
    if change.get("out") == "closed":
        (place / "closed").mkdir(mode=0o700)
        out = place / "closed" / "hub"
    given = {"proxy": "proxy", "python": python} | change
    words = ["hub", str(course), "--out", str(out), "--python", given["python"]]
    told = CliRunner().invoke(main, [*words, "--proxy", given["proxy"]])
    assert told.exit_code == 1
    assert told.output.count("\n") == 1
    assert re.search(says, told.output.strip())
    assert not (course / "exchange").is_symlink()


def test_a_python_that_learners_cannot_run_is_named(course, place):
    """The folder that stops them is in the sentence, and so is the way out."""
    (place / "closed").mkdir(mode=0o700)
    program = place / "closed" / "python"
    program.write_text("")
    with pytest.raises(HubError, match=r"/closed lets only its owner pass\. .*--python"):
        laid(course, place, str(program))
    assert closed_at(program) == place / "closed"


def test_a_second_hub_of_a_course_is_refused(course, place, python):
    """The exchange has one place; the sentence says which."""
    laid(course, place, python)
    with pytest.raises(HubError, match=rf"another hub.*--out {place}/hub$"):
        lay_hub(course, place / "other", bind="http://127.0.0.1:1", proxy="p", python=python)


def test_no_server_for_an_account_of_the_machine():
    """Nor for a name without an account; what is shown says why."""
    for name, says in (("root", "account of the machine"), ("nobody-here", "There is no account")):
        with pytest.raises(NoServerError) as told:
            only_people(SimpleNamespace(user=SimpleNamespace(name=name)))
        assert says in told.value.jupyterhub_message


# --- a learner's side


def test_a_learners_folder_is_the_one_of_tpiece_open(course, place, monkeypatch):
    """Lessons, units, settings and protocol are there, for that account alone."""
    outbound = course / "exchange/may/outbound" / UNIT
    (outbound / PROTOCOL).write_text("# invented\n")
    folder = hub.prepare(course / "exchange", "may", place, "ada")
    opened = launch.prepare_learner(
        place / "opened", learner="ada", course_id="may", exchange=course / "exchange",
        lessons=Path(launch.__file__).parent / "lessons",
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
def box(course, place, python, monkeypatch):
    """Return the letter box of a hub, where everything seems to be handed in by ada's account."""
    laid(course, place, python)
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
    (made / f"{UNIT}.answers.jsonl").write_text(name)
    return made


def collect(course: Path) -> None:
    """Collect as `tpiece collect` does, through the class its settings name."""
    config = read(course / "nbgrader_config.py")
    config.CourseDirectory.assignment_id = UNIT
    asked = config.ExchangeFactory.collect
    assert asked == f"{exchange.__name__}.{exchange.CollectOwned.__name__}"
    exchange.CollectOwned(
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
    (box / f"cyd+{UNIT}+2026-05-04 10:00:00.000000 UTC+x").symlink_to(made)
    collect(course)
    found = {p.name for p in (course / "submitted").rglob("*")}
    assert found == {"ada", UNIT, "timestamp.txt", f"{UNIT}.answers.jsonl"}


def test_one_that_cannot_be_copied_stops_nobody(course, box, capsys):
    """A pipe in one submission: a sentence, and the others are there."""
    os.mkfifo(handed_in(box, "ada") / "pipe")
    _owners[handed_in(box, "bea").name] = "bea"
    collect(course)
    assert (course / "submitted/bea" / UNIT / f"{UNIT}.answers.jsonl").read_text() == "bea"
    assert "ada's work cannot be collected" in capsys.readouterr().err


def test_learners_are_the_people_of_the_roster(course):
    """Nobody else is let in."""
    assert learners(course) == {"ada", "bea", "cyd"}


def test_advice_is_given_only_where_there_is_something_to_do(course, place, python):
    """A database server is advised while the scores are in a file, and no longer."""
    assert any("database server" in line for line in laid(course, place, python).advice)
    (course / "gradebook.url").write_text("postgresql+psycopg://invented\n")
    assert not any("database server" in line for line in laid(course, place, python).advice)
    assert layout.SAFETY
