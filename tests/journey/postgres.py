"""A PostgreSQL server of the tests' own, on loopback, in a folder of its own."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
from collections.abc import Sequence
from pathlib import Path

HOMES = ("/usr/lib/postgresql", "/usr/local/pgsql")


def programs() -> Path | None:
    """Return the folder of the server's programs, or None where there is no server."""
    found = [path for home in HOMES for path in Path(home).glob("**/bin/initdb")]
    if found:
        return sorted(found)[-1].parent
    on_path = shutil.which("initdb")
    return None if on_path is None else Path(on_path).resolve().parent


class Server:
    """One server; it refuses to run as root, so there it runs as the account postgres."""

    def __init__(self, folder: Path, password: str = "") -> None:
        self.folder, self.port, self.password = folder, _free_port(), password
        home = programs()
        if home is None:
            raise FileNotFoundError("There is no PostgreSQL server; install postgresql.")
        self._home = home
        self._as = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
        folder.mkdir(parents=True)
        if self._as:
            shutil.chown(folder, "postgres")
        self._run("initdb", "-D", str(folder / "data"), *self._sign_in(), "-U", "tpiece", "-N")
        self.start()
        self._run("createdb", "-h", "127.0.0.1", "-p", str(self.port), "-U", "tpiece", "course")

    @property
    def url(self) -> str:
        """Return the address of the course's database."""
        who = f"tpiece:{self.password}" if self.password else "tpiece"
        return f"postgresql+psycopg://{who}@127.0.0.1:{self.port}/course"

    def start(self) -> None:
        """Start the server and wait until it answers."""
        options = f"-p {self.port} -h 127.0.0.1 -k {self.folder}"
        self._ctl("start", "-o", options, "-l", str(self.folder / "log"))

    def stop(self, how: str = "fast") -> None:
        """Stop the server; "immediate" is as if the power had failed."""
        self._ctl("stop", "-m", how)

    def _sign_in(self) -> list[str]:
        if not self.password:
            return ["-A", "trust"]
        file = self.folder / "password"
        file.touch(mode=0o600)
        file.write_text(self.password)
        if self._as:
            shutil.chown(file, "postgres")
        return ["-A", "scram-sha-256", f"--pwfile={file}"]

    def _ctl(self, *what: str) -> None:
        self._run("pg_ctl", "-D", str(self.folder / "data"), "-w", *what)

    def _run(self, program: str, *arguments: str) -> None:
        command: Sequence[str] = [*self._as, str(self._home / program), *arguments]
        subprocess.run(
            command, check=True, cwd=self.folder, stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL, env={**os.environ, "PGPASSWORD": self.password},
        )  # fmt: skip


def _free_port() -> int:
    with socket.socket() as each:
        each.bind(("127.0.0.1", 0))
        return int(each.getsockname()[1])
