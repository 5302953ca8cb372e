"""What a learner of a hub could try by code in a page of their own, and what is shut to them."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from tests.journey.hub import COURSE, Hub
from tests.journey.hub_people import Person
from tests.journey.pages import UNIT

_READABLE = """
import getpass, json, os

def readable(path):
    try:
        os.listdir(path) if os.path.isdir(path) else open(path, "rb").read(1)
    except OSError:
        return False
    return True
"""
_LOOK = """
read = [path for path in PATHS if readable(path)]
print(json.dumps({"account": getpass.getuser(), "read": read}))
"""
_SEARCH = """
count, found = 0, []
for root in PATHS:
    for here, _, names in os.walk(root):
        for name in names:
            path = os.path.join(here, name)
            if (root == "/proc" and name not in ("environ", "cmdline")) or not readable(path):
                continue
            count += 1
            with open(path, "rb") as file:
                if WORD.encode() in file.read():
                    found.append(path)
print(json.dumps({"files": count, "found": found}))
"""
_KNOCK = """
import json, os, urllib.error, urllib.request
import psycopg

def asked(url):
    key = "token " + os.environ["JUPYTERHUB_API_TOKEN"]
    try:
        asking = urllib.request.Request(url, headers={"Authorization": key})
        return urllib.request.urlopen(asking, timeout=60).status
    except urllib.error.HTTPError as refused:
        return refused.code

def database():
    try:
        psycopg.connect(host="127.0.0.1", port=PORT, user="tpiece", dbname="course", password="x")
    except psycopg.OperationalError as refused:
        return str(refused)

hub = os.environ["JUPYTERHUB_API_URL"]
print(json.dumps({
    "own server": asked(OWN + "api/contents"), "other's server": asked(OTHER + "api/contents"),
    "own entry": asked(hub + "/user"), "other's entry": asked(hub + "/users/" + NAME),
    "database": database(),
}))
"""
_FORGE = """
import json, os

def done(does):
    try:
        does()
    except OSError:
        return False
    return True

def lay():
    made = os.path.join(INBOUND, NAME + "+" + UNIT + "+2099-01-01 10:00:00.000000 UTC+x")
    os.mkdir(made)
    os.chmod(made, 0o755)
    for name, text in (("timestamp.txt", "2099-01-01 10:00:00.000000 UTC"),
                       (UNIT + ".answers.jsonl", "{}")):
        with open(os.path.join(made, name), "w") as file:
            file.write(text)

print(json.dumps({
    "renamed": done(lambda: os.rename(OTHERS, OTHERS + "x")),
    "changed": done(lambda: open(os.path.join(OTHERS, "timestamp.txt"), "a")),
    "laid": done(lay),
}))
"""


def open_to(hub: Hub, person: Person) -> list[Path]:
    """Return what a learner may read."""
    given = hub.out / "exchange" / COURSE / "outbound" / UNIT
    return [person.file, given, given / f"{UNIT}.ipynb", Path(f"/proc/{person.server()}/environ")]


def shut_to(hub: Hub, other: Person) -> list[Path]:
    """Return what a learner may not read: of another, of the course, of the hub."""
    course, out, marks = hub.course.path, hub.out, hub.folder / "closed" / "graders"
    assert hub.running is not None
    running = (other.server(), hub.running.pid, hub.proxy)
    return [
        other.file, other.file.parent, other.home / ".local",
        out / "exchange" / COURSE / "inbound", course, course / "gradebook.url",
        course / "roster.csv", course / "submitted" / other.name / UNIT,
        course / "source_exercises" / UNIT / f"{UNIT}.ipynb", marks, marks / "units/setup/key.toml",
        out / "hub", out / "hub" / "cookie_secret", out / "hub" / "jupyterhub.sqlite",
        out / "site_config.py", out / "jupyterhub_config.py", hub.scores.folder / "data",
        *(Path(f"/proc/{process}/environ") for process in running),
    ]  # fmt: skip


def look(paths: Sequence[Path]) -> str:
    """Return code that prints which of some places it can read."""
    return f"PATHS = {list(map(str, paths))!r}\n{_READABLE}{_LOOK}"


def search(paths: Sequence[Path], word: str) -> str:
    """Return code that prints which files below some places hold a word, of those it can read."""
    split = word[:3], word[3:]  # the code itself is kept as a cell's text, and holds no whole word
    return f"PATHS, WORD = {list(map(str, paths))!r}, ''.join({split!r})\n{_READABLE}{_SEARCH}"


def knock(hub: Hub, person: Person, other: Person) -> str:
    """Return code that asks others' servers with a learner's own key, and the database."""
    told = f"OWN, OTHER = {_address(person)!r}, {_address(other)!r}\n"
    return f"{told}NAME, PORT = {other.name!r}, {hub.scores.port}\n{_KNOCK}"


def forge(inbound: Path, others: Path, name: str) -> str:
    """Return code that meddles with another's handed-in work, and hands in under that name.

    It is told what it could not find out: the folder's name has 72 random bits, and nobody but
    the coordinator can list the letter box.
    """
    told = f"INBOUND, OTHERS = {str(inbound)!r}, {str(others)!r}\n"
    return f"{told}NAME, UNIT = {name!r}, {UNIT!r}\n{_FORGE}"


def _address(person: Person) -> str:
    """Return where a person's server listens, past the proxy."""
    told = Path(f"/proc/{person.server()}/environ").read_bytes().decode().split("\0")
    return next(t.partition("=")[2] for t in told if t.startswith("JUPYTERHUB_SERVICE_URL="))
