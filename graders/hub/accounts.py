"""Who may have a server on the hub: the people of the roster, never an account of the machine."""

from __future__ import annotations

import ipaddress
import os
import pwd
import sys
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from graders.core.alone import HUB
from graders.course.coursefolder import CourseFolder
from workbook.core.errors import PlainError

FIRST_PERSON = 1000  # accounts below this number belong to the machine


class HubError(PlainError):
    """The hub cannot be set up; the message says what is wrong and what to do."""


class NoServerError(Exception):
    """A person cannot have a server; the hub shows ``jupyterhub_message`` to them."""

    def __init__(self, says: str) -> None:
        super().__init__(says)
        self.jupyterhub_message = says


def learners(course: Path) -> set[str]:
    """Return the learner ids of the roster; each is the name of an account.

    Raises HubError for an empty roster or for ids that cannot be the name of an account here.
    """
    people = set(CourseFolder(course).roster())
    if not people:
        raise HubError(
            f"{course} has no roster, and a hub lets in the people of the roster only. "
            "Give it one: tpiece assign --course COURSE --roster people.csv"
        )
    strange = sorted(name for name in people if name != name.lower() or _of_the_machine(name))
    if strange:
        raise HubError(
            f"On a hub a learner's id is the name of the learner's account: in lower case, and no "
            f"account of the machine itself. Change in the roster: {', '.join(strange[:10])}"
        )
    return people


def services(course: Path) -> list[dict[str, Any]]:
    """Return what the hub keeps running beside learners' servers, as its settings name it.

    It is what marks at hand-in, run as the course's owner; nothing where the coordinator grades.
    """
    folder = CourseFolder(course)
    if not folder.course.at_hand_in:
        return []
    watch = [sys.executable, "-P", "-m", "graders.cli", "grade", "--course", str(course), "--watch"]
    owner = pwd.getpwuid(course.stat().st_uid).pw_name
    return [
        {
            "name": "results",
            "command": watch,
            "user": owner,
            "cwd": "/",
            "environment": {HUB: str(os.getpid())},  # it ends with this hub, however that ends
            "display": False,
        }
    ]


def _of_the_machine(name: str) -> bool:
    try:
        return pwd.getpwnam(name).pw_uid < FIRST_PERSON
    except KeyError:  # not made yet
        return False


def only_people(spawner: Any) -> None:
    """Refuse a server to an account of the machine, or to a name without an account."""
    name = spawner.user.name
    try:
        person = pwd.getpwnam(name).pw_uid >= FIRST_PERSON
    except KeyError:
        raise NoServerError(
            f"There is no account {name!r} on this machine. Ask whoever runs it to make one."
        ) from None
    if not person:
        raise NoServerError(f"{name!r} is an account of the machine itself, not a learner's.")


def is_local(address: str) -> bool:
    """Say whether an address can be reached from this machine alone."""
    host = urlsplit(address).hostname or ""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:  # a name, or none
        return host == "localhost"


def check_sign_in(c: Any) -> None:
    """Refuse a sign-in that lets anybody be anyone where others can reach it.

    Raises HubError; run on the settings once the site's own have been read.
    """
    told = c.JupyterHub.authenticator_class
    open_to_all = "dummy" in (told if isinstance(told, str) else told.__name__).lower()
    if open_to_all and not is_local(c.JupyterHub.bind_url):
        raise HubError(
            f"With the authenticator {told!r} anybody could come in as anyone at "
            f"{c.JupyterHub.bind_url}. Name the hospital's own sign-in in site_config.py."
        )
