"""A course laid out for a hub: what it writes, closes, and refuses in a sentence."""

from __future__ import annotations

import errno
import os
import pwd
import re
import stat
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner

from graders.cli import main
from graders.core.alone import HUB
from graders.hub import layout
from graders.hub.accounts import HubError, NoServerError, is_local, learners, only_people
from graders.hub.layout import SITE_CONFIG, closed_at, lay_hub
from tests.hub_course import PYTHON, UNIT, laid, read

# --- the settings


def test_the_hub_reads_what_is_written(course, place):
    """People of the roster come in; each has a server of the course, through the given proxy."""
    made = laid(course, place)
    c = read(made.config)
    assert c.Authenticator.allowed_users == {"ada", "bea", "cyd"}
    assert c.Spawner.cmd[0] == PYTHON
    assert c.Spawner.cmd[-2:] == [str(place / "hub/exchange"), "may"]
    assert c.ConfigurableHTTPProxy.command == ["proxy", "--quiet"]
    assert not c.JupyterHub.cleanup_servers
    assert "not a medical device" in c.JupyterHub.template_vars["announcement"]


def test_a_course_marked_at_hand_in_is_marked_by_its_owner_beside_the_hub(course, place):
    """It is no page of the hub, and none runs where the coordinator grades."""
    made = laid(course, place)
    assert read(made.config).JupyterHub.services == []
    settings = course / "course.toml"
    settings.write_text(settings.read_text() + 'feedback = "at hand-in"\n')
    (service,) = read(made.config).JupyterHub.services
    words = ["graders.cli", "grade", "--course", str(course), "--watch"]
    assert service["command"][-5:] == words
    assert service["user"] == pwd.getpwuid(course.stat().st_uid).pw_name
    assert service["environment"] == {HUB: str(os.getpid())}
    assert not {"url", "admin", "api_token", "oauth_client_allowed_scopes"} & set(service)
    with made.site_config.open("a") as file:
        file.write("c.JupyterHub.services.append({'name': 'ours'})\n")
    assert [one["name"] for one in read(made.config).JupyterHub.services] == ["results", "ours"]


def test_what_the_site_decides_wins_and_is_never_written_again(course, place):
    """The hospital's own sign-in stands in a file of its own."""
    made = laid(course, place)
    assert "PUT YOUR HOSPITAL'S OWN HERE" in made.site_config.read_text()
    with made.site_config.open("a") as file:
        file.write("c.JupyterHub.authenticator_class = 'ours.SignIn'\n")
    again = laid(course, place, bind="http://127.0.0.1:9000")
    c = read(again.config)
    assert c.JupyterHub.authenticator_class == "ours.SignIn"
    assert c.JupyterHub.bind_url == "http://127.0.0.1:9000"


def test_a_sign_in_open_to_all_is_refused_where_others_can_reach_it(course, place):
    """The hub then does not start, and says why; on the machine itself it may be tried."""
    made = laid(course, place)
    with made.site_config.open("a") as file:
        file.write("c.JupyterHub.authenticator_class = 'dummy'\n")
    assert read(made.config).JupyterHub.authenticator_class == "dummy"
    laid(course, place, bind="http://hub.invented.example:8000")
    with pytest.raises(HubError, match="anybody could come in as anyone"):
        read(made.config)


@pytest.mark.parametrize(
    ("address", "local"),
    [("http://127.0.0.1:8000", True), ("http://[::1]:80", True), ("http://localhost", True),
     ("http://:8000", False), ("http://0.0.0.0:8000", False), ("https://hub.example", False)],
)  # fmt: skip
def test_which_address_is_this_machines_alone(address, local):
    """Every address but the loopback ones of RFC 5735 and RFC 4291 can be reached by others."""
    assert is_local(address) is local


def test_the_course_is_closed_and_the_exchange_is_not(course, place):
    """Only its owner enters the course; all may add to the exchange, none may look around."""
    laid(course, place)
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
def test_each_mistake_is_one_sentence(course, place, monkeypatch, change, says):
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
    given = {"proxy": "proxy", "python": PYTHON} | change
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


def test_where_there_are_no_such_accounts_the_way_out_is_named(course, place, monkeypatch):
    """Windows has no accounts as a hub needs them; a site does without."""
    monkeypatch.setattr("graders.commands.hub.os", SimpleNamespace(name="nt"))
    told = CliRunner().invoke(main, ["hub", str(course), "--out", str(place / "hub")])
    assert told.exit_code == 1
    assert "A hub needs Linux. On Windows, give out a site: tpiece site" in told.output


def test_a_second_hub_of_a_course_is_refused(course, place):
    """The exchange has one place; the sentence says which."""
    laid(course, place)
    with pytest.raises(HubError, match=rf"another hub.*--out {place}/hub$"):
        lay_hub(course, place / "other", bind="http://127.0.0.1:1", proxy="p", python=PYTHON)


def test_no_server_for_an_account_of_the_machine():
    """Nor for a name without an account; what is shown says why."""
    for name, says in (("root", "account of the machine"), ("nobody-here", "There is no account")):
        with pytest.raises(NoServerError) as told:
            only_people(SimpleNamespace(user=SimpleNamespace(name=name)))
        assert says in told.value.jupyterhub_message


def test_learners_are_the_people_of_the_roster(course):
    """Nobody else is let in."""
    assert learners(course) == {"ada", "bea", "cyd"}


def advice(course, place, **other) -> str:
    """Return what is advised."""
    return "\n".join(laid(course, place, **other).advice)


def test_advice_is_given_only_where_there_is_something_to_do(course, place):
    """A database server, encryption, accounts: each is advised while it is missing."""
    first = advice(course, place, bind="http://0.0.0.0:8000")
    for missing in ("database server", "cross the network", "3 of the roster have no account"):
        assert missing in first
    (course / "gradebook.url").write_text("postgresql+psycopg://invented\n")
    (course / "roster.csv").write_text("learner\nnobody-but-one\n")
    later = advice(course, place, bind="https://0.0.0.0:8000")
    assert "database server" not in later
    assert "cross the network" not in later
    assert "1 of the roster have no account on this machine" in later


def test_marking_that_learners_could_read_is_refused(course, place, monkeypatch):
    """The sentence names the folders, and the command that closes them; then it is laid out."""
    marks = place / "graders"
    marks.mkdir(mode=0o755)
    monkeypatch.setattr(layout, "what_marks", lambda units, python: [marks])
    with pytest.raises(HubError, match=rf"how they are marked, in {marks}\. .*chmod 700 {marks}$"):
        laid(course, place)
    marks.chmod(0o700)
    assert laid(course, place).learners == 3


def test_marking_is_looked_for_wherever_it_is_installed(place, monkeypatch):
    """In this program's own folders, and beside the Python of learners' servers."""
    monkeypatch.undo()
    theirs = place / "env/lib/python3.11/site-packages/graders"
    theirs.mkdir(parents=True)
    found = layout.what_marks([UNIT], place / "env/bin/python")
    assert theirs in found
    assert any((path / "units/setup/key.toml").is_file() for path in found)  # the key
    assert any((path / UNIT / f"{UNIT}.ipynb").is_file() for path in found)  # the solutions


def test_work_keeps_its_owner_on_the_way_to_another_disk(course, place, monkeypatch):
    """It is the owner that shows who handed it in; the course's owner gets the rest."""
    work = course / "exchange/may/inbound" / f"bea+{UNIT}+2026-05-04 10:00:00.000000 UTC+x"
    work.mkdir()
    (work / "timestamp.txt").write_text("2026")
    root = os.geteuid() == 0
    theirs, coordinator = (4001, 4002) if root else (os.geteuid(), os.geteuid())
    os.chown(work, theirs, -1)
    os.chown(course, coordinator, -1)
    rename = Path.rename

    def other_disk(path, target):
        if path.name == "exchange":
            raise OSError(errno.EXDEV, "Invalid cross-device link")
        return rename(path, target)

    monkeypatch.setattr(Path, "rename", other_disk)
    laid(course, place)
    moved = place / "hub/exchange/may/inbound"
    assert (moved / work.name / "timestamp.txt").read_text() == "2026"
    assert (moved / work.name).stat().st_uid == theirs
    assert moved.stat().st_uid == (place / "hub/exchange/may/outbound").stat().st_uid == coordinator
