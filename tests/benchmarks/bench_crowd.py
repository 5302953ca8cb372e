"""What thirty people on one hub wait for: `python3 -m tests.benchmarks.bench_crowd [PEOPLE] [S]`.

As root. Each person signs in and gets an account's own server, started by the hub; 60 s, and as
long as it takes, for that. Then all hand in within a minute (or the seconds given), each by the
request that the page's button sends to the person's own server, which then looks for the result
every 2 s as the page does. The hub's service marks; scores lie on a PostgreSQL server. No browser:
what a page itself costs is `bench_hub`'s and `bench_result`'s.
"""

from __future__ import annotations

import os
import random
import sys
import tempfile
import time
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import requests

from graders.marking.personas import answers_of
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from tests.benchmarks.bench_arrivals import LOOKS, PATIENCE, PEOPLE, SEED, SPAN, WANTED, tell
from tests.journey.accounts import processes, until
from tests.journey.hub import COURSE, Hub, hub_of
from tests.journey.hub_people import SERVER
from tests.journey.pages import UNIT
from workbook.cases import case
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.hub import HOME

STARTING = 4  # sign in side by side


@dataclass
class Guest:
    """Somebody on the hub, who speaks to their own server with its own token."""

    hub: Hub
    name: str
    token: str = ""

    def come(self) -> float:
        """Sign in, and wait until the server answers; return the seconds that took."""
        began = time.monotonic()
        with requests.Session() as browser:
            page = f"{self.hub.address}/hub/login"
            browser.get(page, timeout=60).raise_for_status()
            words = {"username": self.name, "password": self.hub.passwords[self.name]}
            words["_xsrf"] = browser.cookies.get("_xsrf", path="/hub/") or ""
            browser.post(page, data=words, timeout=120).raise_for_status()
        until(self._has_server, PATIENCE)
        until(self._answers, PATIENCE)
        return time.monotonic() - began

    def _has_server(self) -> bool:
        for pid in processes(self.name, SERVER):
            held = Path(f"/proc/{pid}/environ").read_bytes().split(b"\0")
            kept = dict(each.partition(b"=")[::2] for each in held)
            self.token = kept.get(b"JUPYTERHUB_API_TOKEN", b"").decode()
        return bool(self.token)

    def _answers(self) -> bool:
        return self.ask("GET", "api/status").ok

    def ask(self, how: str, what: str, **query: str) -> requests.Response:
        """Ask this person's server."""
        return requests.request(
            how, f"{self.hub.address}/user/{self.name}/{what}", params=query, timeout=120,
            headers={"Authorization": f"token {self.token}"},
        )  # fmt: skip

    def answer(self) -> None:
        """Answer all questions rightly, in the file that the page's controls write."""
        home = Path(f"~{self.name}").expanduser()
        path = answers_path(home / HOME / COURSE / UNIT / f"{UNIT}.ipynb")
        course = self.hub.course.course
        drawn = case(course.id, UNIT, self.name, course.book)
        file = AnswersFile(path, course.id, UNIT, self.name, course.edition)
        for question, value in answers_of(drawn, course.book, "").items():
            file.append(question, value)
        owner = path.parent.stat()
        for each in path.parent.iterdir():
            os.chown(each, owner.st_uid, owner.st_gid)

    def hand_in(self, at: float) -> tuple[float, float]:
        """Hand in at a moment; return the seconds until that was confirmed, and read the result."""
        time.sleep(max(0.0, at - time.monotonic()))
        began = time.monotonic()
        told = self.ask("POST", "assignments/submit", course_id=COURSE, assignment_id=UNIT).json()
        assert told["success"], told
        confirmed = time.monotonic() - began
        until(self._is_marked, PATIENCE)
        result = self.ask("GET", "tpiece/result", unit=UNIT).json()
        assert (result["same"], result["earned"]) == (True, result["possible"])
        return confirmed, time.monotonic() - began

    def _is_marked(self) -> bool:
        time.sleep(LOOKS)
        return not self.ask("GET", "tpiece/waits", unit=UNIT).json()["waits"]


def main() -> None:
    """Print how long people wait for their server and for their result, and what was lost."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else PEOPLE
    span = float(sys.argv[2]) if len(sys.argv) > 2 else SPAN
    names = tuple(f"tpcrowd{n:02d}" for n in range(count))
    with (
        tempfile.TemporaryDirectory(prefix="tpiece-crowd-") as place,
        hub_of(Path(place), names) as hub,
    ):
        given = hub.tpiece("assign", "--course", hub.course.path, "--feedback", "at-hand-in")
        assert given.returncode == 0, given.stderr
        hub.kill()
        hub.start()  # the service that marks is read from the course at the start
        until(lambda: bool(hub.marking()), PATIENCE)
        people = [Guest(hub, name) for name in names]
        with ThreadPoolExecutor(STARTING) as pool:
            tell("sign-in to a server of one's own", list(pool.map(Guest.come, people)))
        for person in people:
            person.answer()
        chance = random.Random(SEED)  # noqa: S311
        start = time.monotonic() + 1
        with ThreadPoolExecutor(count) as pool:
            due = [start + chance.uniform(0, span) for _ in people]
            times = list(pool.map(Guest.hand_in, people, due))
        tell("handing in itself", [confirmed for confirmed, _ in times])
        tell("hand-in to result read", [read for _, read in times])
        with Nbgrader(hub.course).gradebook() as book:
            assert set(totals(book)) == {(name, UNIT) for name in names}
    print(
        f"{count} people within {span:g} s, nothing lost (wanted: under {WANTED:g} s in 95 of 100)"
    )


if __name__ == "__main__":
    main()
