"""How soon results come on a hub: 30 hand in within a minute, ``tpiece grade --watch`` marks.

Run ``python -m tests.benchmarks.bench_arrivals [PEOPLE] [SECONDS]``; 0 seconds: all at once. Each
person has a folder as on a hub; one process hands in for all of them, one after the other, by the
function that each person's server calls; another does what the rooms' servers do, which look every
2 s and then read the result. No browser, no sign-in, no servers: those are measured by
``bench_result`` and ``bench_hub``. Times are from the moment at which a person hands in.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from graders.course.coursefolder import CourseFolder
from graders.marking.personas import answers_of
from graders.nbgrader.gradebook import Nbgrader
from graders.nbgrader.scores import totals
from graders.tasks import work
from workbook.cases import case, exercises
from workbook.core.answer_sheet import answers_path
from workbook.core.answers import AnswersFile
from workbook.core.whose import LEARNER
from workbook.course.handed import digest
from workbook.course.result import came_back, waits
from workbook.course.settings import read_course
from workbook.room.shown import shown
from workbook.start.given import Given
from workbook.start.launch import environment

PEOPLE, SPAN, LOOKS, WANTED = 30, 60.0, 2.0, 10.0  # s
PATIENCE, SEED, STEP = 600.0, 20261129, 0.02
Person = tuple[str, str, Path]  # learner, unit, folder


def main() -> None:
    """Print when results were laid and read, and that nothing was lost."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else PEOPLE
    span = float(sys.argv[2]) if len(sys.argv) > 2 else SPAN
    with tempfile.TemporaryDirectory(prefix="tpiece-arrivals-") as place:
        top, units = Path(place), exercises()
        course = work.assign(top / "may", course_id="may", feedback="at hand-in")
        people = [
            (f"n{n:03d}", units[n % len(units)], top / "homes" / f"n{n:03d}") for n in range(count)
        ]
        for person in people:
            get_ready(course, *person)
        words = ["-m", "graders.cli", "grade", "--course", str(course.path), "--watch"]
        watch = subprocess.Popen([sys.executable, *words], stdout=subprocess.PIPE, text=True)
        try:
            assert watch.stdout is not None
            watch.stdout.readline()  # it is ready
            measure(course, people, span)
        finally:
            watch.terminate()
            said, _ = watch.communicate()
        print(said.strip())
        print(f"watching took {os.times().children_user:.1f} s of a processor, hands included")
        with Nbgrader(course).gradebook() as book:
            assert set(totals(book)) == {(learner, unit) for learner, unit, _ in people}
    print("Nothing was lost: each person has a result that says the right answers, and a score.")


def get_ready(course: CourseFolder, learner: str, unit: str, folder: Path) -> None:
    """Lay a person's folder as their server does, and answer a unit in it; every third is wrong."""
    Given(course.exchange, "may").lay(folder, learner)
    settings = read_course(folder)
    drawn = case(settings.id, unit, learner, settings.book)
    path = answers_path(folder / unit / f"{unit}.ipynb")
    file = AnswersFile(path, settings.id, unit, learner, settings.edition)
    for question, value in answers_of(drawn, settings.book, "").items():
        file.append(question, value)


def hand_in(person: Person) -> float:
    """Hand in as a person's server does; return when that began."""
    from nbgrader.server_extensions.assignment_list.handlers import AssignmentList

    learner, unit, folder = person
    os.environ.update(environment(folder, learner))
    server: Any = AssignmentList()
    server.root_dir = str(folder)
    began = time.time()
    told = server.submit_assignment("may", unit)
    assert told["success"], told
    return began


def all_hand_in(people: Sequence[Person], span: float) -> list[tuple[str, float, float]]:
    """Hand in for everybody at moments of their own; return who, when it was due and done."""
    chance, done = random.Random(SEED), []  # noqa: S311
    import nbgrader.server_extensions.assignment_list.handlers  # noqa: F401  # as in a server

    start = time.time() + 1.0
    due = sorted((start + chance.uniform(0, span), person) for person in people)
    for when, person in due:
        time.sleep(max(0.0, when - time.time()))
        hand_in(person)
        done.append((person[0], when, time.time()))
    return done


def measure(course: CourseFolder, people: Sequence[Person], span: float) -> None:
    """Let everybody hand in, look as their rooms do, and print how long it took."""
    back = course.exchange / "may"
    names = {who: digest(answers_path(at / unit / f"{unit}.ipynb")) for who, unit, at in people}
    laid: dict[str, float] = {}
    read: dict[str, float] = {}
    looks: dict[str, float] = {}  # when each room looks again, once work is handed in there
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        handing = pool.submit(all_hand_in, people, span)
        end = time.time() + span + PATIENCE
        while len(read) < len(people):
            assert time.time() < end, f"no result for {sorted(set(names) - set(read))}"
            for who, unit, folder in people:
                now = time.time()
                if who not in laid and came_back(back, names[who]).is_file():
                    laid[who] = now
                if who in read or not any((folder / ".tpiece" / "handed_in").glob("may/*/time*")):
                    continue
                if now < looks.setdefault(who, now + LOOKS):
                    continue
                looks[who] = now + LOOKS
                os.environ[LEARNER] = who
                settings = read_course(folder)
                if not waits(folder, settings, who, unit):
                    told = shown(folder, settings, unit)
                    assert told is not None
                    assert (told["same"], told["learner"]) == (True, who)
                    assert told["earned"] == told["possible"]
                    read[who] = time.time()
            time.sleep(STEP)
        moments = handing.result()
    due = {who: when for who, when, _ in moments}
    took = max(done for *_, done in moments) - min(due.values())
    print(f"{len(people)} people handed in within {took:.0f} s")
    tell("handing in itself", [done - when for _, when, done in moments])
    tell("hand-in to result laid", [laid[who] - due[who] for who in due])
    tell("hand-in to result read by the room", [read[who] - due[who] for who in due])
    print(f"(wanted: under {WANTED:g} s in 95 of 100)")


def tell(what: str, seconds: Sequence[float]) -> None:
    """Print the median, what 95 of 100 stay under, and the longest."""
    found = sorted(seconds)
    at = found[max(0, -(-95 * len(found) // 100) - 1)]
    print(f"{what}: p50 {found[len(found) // 2]:.2f} s, p95 {at:.2f} s, longest {found[-1]:.2f} s")


if __name__ == "__main__":
    main()
