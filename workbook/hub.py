"""A learner's server on a hub: `python -m workbook.hub EXCHANGE COURSE`, run as the learner.

The folder, the pages and the settings are those of `tpiece open`; what differs is who starts
the server, and that others work on the same computer. The hub's own arguments are passed on.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from pathlib import Path

from workbook.core.whose import whoami
from workbook.start import launch
from workbook.start.given import Given

HOME = "tpiece-workbook"  # in the learner's home; one folder in it for each course
OWN_ONLY = 0o077  # umask: what a learner writes is for that learner's account alone
# Between kernel and server pass answers: by sockets in the learner's own folder, which no other
# account can open, not by ports of a computer that all share.
PRIVATE = ("--KernelManager.transport=ipc",)


def prepare(exchange: Path, course_id: str, home: Path, learner: str) -> Path:
    """Make a learner's folder ready from what the course has given out, and return it.

    Raises LaunchError.
    """
    given = Given(exchange, course_id)
    given.settings.stat()  # nothing is made of a course that is not given out yet
    folder = home / HOME / course_id
    folder.mkdir(parents=True, exist_ok=True)
    (home / HOME).chmod(0o700)
    return given.lay(folder, learner)


def main(arguments: Sequence[str]) -> None:
    """Prepare the folder of whoever this account is, and become the server."""
    exchange, course_id, *passed_on = arguments
    os.umask(OWN_ONLY)
    learner = whoami()
    try:
        folder = prepare(Path(exchange), course_id, Path.home(), learner)
    except (launch.LaunchError, OSError) as error:
        sys.exit(f"The workbook of {learner} cannot be opened: {error}")
    os.environ.update(launch.environment(folder, learner))
    command = [sys.executable, "-P", "-m", "jupyterhub.singleuser"]
    settings = [*launch.server_settings(folder), *PRIVATE, *passed_on]
    os.execv(sys.executable, [*command, *settings])  # noqa: S606  (our own command, no shell)


if __name__ == "__main__":
    main(sys.argv[1:])
