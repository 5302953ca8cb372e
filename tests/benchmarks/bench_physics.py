"""How fast the stepper is beside scipy's RK45: a minute of inflations, replayed.

Run ``python -m tests.benchmarks.bench_physics``; it prints simulated seconds for each second of
processor time and the ratio, and ends with 1 when the stepper is less than 20 times as fast as RK45
on the laws as written. RK45 is given the first 12 s and the time it takes is scaled.
"""

from __future__ import annotations

import math
import sys
import time
from collections.abc import Callable
from functools import partial

from tests.physics_reference import integrate, law
from workbook.physics import (
    Action,
    Circuit,
    Lung,
    Tube,
    leak_of,
    set_peep,
    set_pip,
    set_relief,
    simulate,
)
from workbook.physics.solver.ways import outflow, upstream

DURATION, SHORT, WANTED, TIMES = 60.0, 12.0, 20.0, 3
GRID = [n * 0.01 for n in range(int(SHORT * 100) + 1)]


def inflations(rate: float, inflation: float, until: float) -> list[Action]:
    """Return a steady rhythm of occluding and releasing."""
    made, at = [], 0.5
    while at + inflation < until:
        made += [Action(at, "occlude"), Action(at + inflation, "release")]
        at += 60 / rate
    return made


def fast_law(circuit, lung, held, effort):
    """Return the slope with the kernel's closed forms, so that scipy is not held back."""
    above, out = upstream(circuit), outflow(circuit, held=held)
    r, k = lung.linear / 1000, lung.quadratic / 1e6

    def slope(time, y):
        at_t, volume = float(y[0]), float(y[1])
        drive = at_t - lung.recoil(volume)
        patient = 2 * drive / (r + math.sqrt(r * r + 4 * k * abs(drive)))
        aperture, leak, _, _ = out(at_t)
        return (above(at_t)[0] - aperture - leak - patient) / circuit.compressible, patient

    return slope


def best(run: Callable[[], object], times: int) -> float:
    """Return the shortest of a few runs, in seconds."""
    taken = []
    for _ in range(times):
        begun = time.process_time()
        run()
        taken.append(time.process_time() - begun)
    return min(taken)


def main() -> int:
    """Print one line for each scenario."""
    circuit = set_peep(set_pip(set_relief(Circuit(8), 40), 20), 5)
    leaky = Circuit(8, circuit.pip_valve, circuit.relief_valve, circuit.aperture, leak=leak_of(0.3))
    scenarios = [
        ("stiff lung, 60 a minute", circuit, Lung(0.5, 50), 60.0, 0.4),
        ("base, 50 a minute", circuit, Lung(1, 40), 50.0, 0.5),
        ("leak, 50 a minute", leaky, Lung(1, 40), 50.0, 0.5),
        ("3.0 mm tube, 40 a minute", circuit, Lung(3, 40, Tube(3)), 40.0, 0.75),
    ]
    slowest = {"as written": math.inf, "closed forms": math.inf}
    print("simulated seconds for each second of processor time; the stepper errs by about 2e-4,")
    print(
        "RK45 at rtol 1e-6 by less; its law once as written and once in the kernel's closed forms"
    )
    for name, made, lung, rate, inflation in scenarios:
        actions = inflations(rate, inflation, DURATION)
        ours = DURATION / best(partial(simulate, made, lung, actions, DURATION), TIMES)
        print(f"{name:25} stepper {ours:5.0f}", end="")
        for label, laws in (("as written", law), ("closed forms", fast_law)):
            options = {"make": laws, "method": "RK45", "rtol": 1e-6}
            theirs = SHORT / best(partial(integrate, made, lung, actions, GRID, **options), 1)
            slowest[label] = min(slowest[label], ours / theirs)
            print(f"; RK45 {label} {theirs:5.1f}, ratio {ours / theirs:5.1f}", end="")
        print()
    print("smallest ratios:", {label: round(ratio, 1) for label, ratio in slowest.items()})
    return 0 if slowest["as written"] >= WANTED else 1


if __name__ == "__main__":
    sys.exit(main())
