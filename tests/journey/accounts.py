"""Accounts of this machine, made for a test and removed with all they ran and wrote."""

from __future__ import annotations

import os
import pwd
import signal
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path


@contextmanager
def accounts(names: tuple[str, ...]) -> Iterator[None]:
    """Make accounts of the machine, and remove them with all they ran and wrote."""
    if os.geteuid() != 0:
        raise PermissionError("A hub's journey makes accounts of the machine: run it as root.")
    try:
        for name in names:
            subprocess.run(["useradd", "--create-home", name], check=True)
        yield
    finally:
        for name in names:
            with suppress(KeyError):  # never made
                pwd.getpwnam(name)
                until(lambda name=name: _removed(name), 60)


def _removed(account: str) -> bool:
    """Kill what an account runs and remove it; it stays while a process of it still ends."""
    for pid in processes(account):
        kill(pid)
    command = ["userdel", "--remove", account]
    return subprocess.run(command, check=False, capture_output=True).returncode == 0


def kill(pid: int) -> None:
    """Kill a process outright."""
    with suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)


def processes(account: str, running: str = "") -> list[int]:
    """Return the processes of an account whose command line has these words."""
    uid, found = pwd.getpwnam(account).pw_uid, []
    for place in Path("/proc").glob("[0-9]*"):
        with suppress(OSError):
            words = (place / "cmdline").read_bytes().replace(b"\0", b" ").decode()
            if place.stat().st_uid == uid and running in words:
                found.append(int(place.name))
    return found


def until(true: Callable[[], bool], seconds: float) -> None:
    """Wait until something is true."""
    end = time.monotonic() + seconds
    while not true():
        if time.monotonic() > end:
            raise AssertionError("it did not come true in time")
        time.sleep(0.2)
