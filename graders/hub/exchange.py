"""Collecting where every learner has an account: only what a learner's own account handed in.

nbgrader itself only warns when a name and an account differ, follows links, and stops at the
first folder it cannot copy.
"""

from __future__ import annotations

import os
import pwd
import shutil
from pathlib import Path
from typing import Any

from nbgrader.exchange.default import ExchangeCollect

from graders.terminal import echo


def owner(path: Path) -> str:
    """Return the account that made a folder; empty for a link, or an account that is no more."""
    try:
        return "" if path.is_symlink() else pwd.getpwuid(path.lstat().st_uid).pw_name
    except (KeyError, OSError):
        return ""


class CollectOwned(ExchangeCollect):  # type: ignore[misc]  # nbgrader has no types
    """Collects each learner's latest work, if the learner's own account handed it in."""

    src_records: list[dict[str, Any]]

    def init_src(self) -> None:
        """Set aside what bears another's name, so that it hides nobody's own work."""
        inbound = Path(self.root) / self.coursedir.course_id / "inbound"
        for path in sorted(inbound.glob("[!.]*+*")):
            name = path.name.split("+")[0]
            if owner(path) != name:
                _say(
                    f"Work under the name {name} was handed in by another account "
                    f"({owner(path) or 'unknown'}); it is set aside as {inbound}/.{path.name}"
                )
                path.rename(path.with_name(f".{path.name}"))
        super().init_src()

    def copy_files(self) -> None:
        """Copy each learner's work; one that cannot be copied stops nobody else's."""
        for record in list(self.src_records):
            source = Path(self.inbound_path) / record["filename"]
            if owner(source) != record["username"]:  # it came since the look above
                continue
            self.src_records = [record]
            try:
                super().copy_files()
            except (OSError, shutil.Error, RuntimeError) as error:
                why = str(error)[:200]
                _say(f"{record['username']}'s work cannot be collected: {why}")

    def do_copy(self, src: str, dest: str, log: Any = None) -> None:
        """Copy a folder without what its links lead to: the coordinator may read more."""
        super().do_copy(src, dest, log)
        for here, folders, files in os.walk(src):
            for name in (*folders, *files):
                if (Path(here) / name).is_symlink():
                    _drop(Path(dest) / Path(here).relative_to(src) / name)


def _say(text: str) -> None:
    """Tell the coordinator; what nbgrader logs is caught and not shown."""
    echo(f"  {text}", err=True)


def _drop(copy: Path) -> None:
    if copy.is_dir():
        shutil.rmtree(copy)
    else:
        copy.unlink(missing_ok=True)
