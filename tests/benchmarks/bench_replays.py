"""How fast many records are replayed at once, beside scipy's RK45 and one record at a time.

Run ``python -m tests.benchmarks.bench_replays``; it prints the processor time that a record of a
minute takes each way, and ends with 1 when many at once are less than 200 times as fast as RK45 on
the laws as written. RK45 is given the first 12 s of a few of the same records and its time is
scaled; ``python -m tests.benchmarks.bench_replays memory`` prints the largest memory instead.
"""

from __future__ import annotations

import random
import sys
import time
import tracemalloc
from collections.abc import Callable

from tests.benchmarks.bench_physics import inflations
from tests.physics_reference import integrate
from workbook.physics import (
    Circuit,
    Lung,
    Record,
    Tube,
    leak_of,
    set_peep,
    set_pip,
    set_relief,
)
from workbook.replays import replay_many

DURATION, SHORT, WANTED, FEW = 60.0, 12.0, 200.0, 8
GRID = [n * 0.01 for n in range(int(SHORT * 100) + 1)]


def cohort(size: int) -> list[Record]:
    """Return a minute of inflations for each of many hands, lungs and settings."""
    chance = random.Random(11)  # noqa: S311
    made = []
    for n in range(size):
        circuit = set_peep(set_pip(set_relief(Circuit(chance.uniform(6, 12)), 40), 20), 5)
        if n % 4 == 1:
            circuit = Circuit(
                circuit.flow,
                circuit.pip_valve,
                circuit.relief_valve,
                circuit.aperture,
                leak=leak_of(chance.uniform(0.2, 1)),
            )
        tube = Tube(3) if n % 4 == 2 else None
        lung = Lung(chance.uniform(0.5, 3), chance.uniform(20, 80), tube)
        rhythm = inflations(chance.uniform(40, 60), chance.uniform(0.35, 0.6), DURATION)
        made.append(Record(circuit, lung, DURATION, tuple(rhythm)))
    return made


def taken(run: Callable[[], object]) -> float:
    """Return the processor time of a run in seconds."""
    begun = time.process_time()
    run()
    return time.process_time() - begun


def as_written(records: list[Record]) -> None:
    """Integrate the first seconds of records by RK45, the laws as written."""
    for record in records:
        actions = [action for action in record.actions if action.time < SHORT]
        integrate(record.circuit, record.lung, actions, GRID, method="RK45", rtol=1e-6)


def memory(records: list[Record]) -> int:
    """Print the most memory that a replay of many takes, its answer included."""
    tracemalloc.start()
    made = replay_many(records)
    peak = tracemalloc.get_traced_memory()[1]
    answer = 4 * made.volume.nbytes
    print(f"{len(made)} records: at most {peak / 1e6:.0f} MB, the answer {answer / 1e6:.0f} MB")
    return 0


def main() -> int:
    """Print one line for each way."""
    records = cohort(1000)
    if sys.argv[1:] == ["memory"]:
        return memory(records)
    few = records[:FEW]
    times = {
        "RK45 as written": taken(lambda: as_written(few)) / FEW * DURATION / SHORT,
        "Record.replay": taken(lambda: [record.replay() for record in few]) / FEW,
        "replay_many, 100": taken(lambda: replay_many(records[:100])) / 100,
        "replay_many, 1000": taken(lambda: replay_many(records)) / 1000,
    }
    rk45 = times["RK45 as written"]
    print("processor time for a record of 60 s, and how often it goes into RK45's")
    for name, each in times.items():
        print(f"{name:18} {1000 * each:8.1f} ms {rk45 / each:8.0f}")
    return 0 if rk45 / times["replay_many, 1000"] >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main())
