"""Whose work it is: the id of the learner at work, and what may be one."""

from __future__ import annotations

import getpass
import os
import re

LEARNER = "TPIECE_LEARNER"  # names the learner at work to every kernel
_LEARNER = re.compile(r"[A-Za-z0-9_@][A-Za-z0-9._@-]{0,63}")


def whoami() -> str:
    """Return the learner's id: as set at opening, else the hub's name, else this computer's."""
    for name in (LEARNER, "JUPYTERHUB_USER"):
        if os.environ.get(name):
            return learner_id(os.environ[name])
    try:
        return learner_id(getpass.getuser())
    except (KeyError, OSError, ImportError, ValueError):
        return "practice"


def learner_id(text: str) -> str:
    """Return a learner id that is safe as a folder name; ValueError with a sentence if not."""
    if not _LEARNER.fullmatch(text):
        raise ValueError(
            f"{text!r} cannot be a learner id: use 1 to 64 letters, digits, '.', '-', '_' or '@', "
            "not starting with a dot or a hyphen."
        )
    return text
