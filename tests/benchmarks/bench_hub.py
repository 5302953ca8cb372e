"""What a hub costs: `python3 -m tests.benchmarks.bench_hub [PEOPLE]`, as root.

Memory is PSS (what processes share is counted once), with the unit's page open in a browser and
once it is closed; time is from the press of Enter at the sign-in to the first control on the page.
"""

from __future__ import annotations

import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterable
from pathlib import Path
from statistics import median

from playwright.sync_api import sync_playwright

from tests.conftest import CHROMIUM_FLAGS
from tests.journey.accounts import processes
from tests.journey.hub import hub_of
from tests.journey.hub_people import KERNEL, PATIENCE, SERVER, Person
from tests.journey.pages import SHOWN

LINK = "/hub/user-redirect/doc/tree/1_setup_order/1_setup_order.ipynb"


def mib(pids: Iterable[int]) -> float:
    """Return the memory of some processes, in MiB, what they share counted once."""
    lines = [Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines() for pid in pids]
    told = [line.split()[1] for text in lines for line in text if line.startswith("Pss:")]
    return sum(map(int, told)) / 1024


def processor(names: Iterable[str]) -> list[float]:
    """Return the processor seconds each person's server and kernel have taken so far."""
    return [sum(map(_seconds, processes(name))) for name in names]


def _seconds(pid: int) -> float:
    """Return the processor seconds of a process, as Linux counts them in its 14th, 15th field."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def first_control(person: Person) -> float:
    """Sign in by a link to the unit; return the seconds until its first control is there."""
    person.sign_in(LINK)
    began = time.monotonic()
    person.page.locator(f"{SHOWN} .tpiece").first.wait_for(timeout=PATIENCE)
    return time.monotonic() - began


def report(names: tuple[str, ...], what: str) -> None:
    """Print the memory of each person's server and kernel."""
    for part in (SERVER, KERNEL):
        used = [mib(processes(name, part)) for name in names]
        print(f"{what}: {part} {median(used):.0f} MiB a person ({min(used):.0f}-{max(used):.0f})")


def main() -> None:
    """Start a hub, let people in one after the other, and print what it took."""
    names = tuple(f"tphub{n:03d}" for n in range(int((sys.argv[1:] or ["4"])[0])))
    chromium = shutil.which("chromium")
    with (
        tempfile.TemporaryDirectory(prefix="tpiece-hub-") as place,
        hub_of(Path(place), names) as hub,
        sync_playwright() as playwright,
    ):
        assert hub.running is not None
        print(f"hub, nobody in: {mib([hub.running.pid]):.0f} MiB; proxy {mib([hub.proxy]):.0f} MiB")
        browser = playwright.chromium.launch(executable_path=chromium, args=CHROMIUM_FLAGS)
        people = [Person(hub, browser, name) for name in names]
        times = [first_control(person) for person in people]
        print("seconds to the first control:", ", ".join(f"{t:.1f}" for t in times))
        print("of the processor:", ", ".join(f"{t:.1f}" for t in processor(names)))
        time.sleep(20)  # what starts has settled
        report(names, "page open")
        for person in people:
            person.page.context.close()
        time.sleep(20)
        report(names, "page closed")
        print(f"hub: {mib([hub.running.pid]):.0f} MiB; proxy {mib([hub.proxy]):.0f} MiB")


if __name__ == "__main__":
    main()
