"""How long the rules take: import with its breakdown, and one look-up.

Run from the repository: python3 -m tests.benchmarks.bench_rules
It ends with a non-zero exit when a limit is passed.
"""

from __future__ import annotations

import re
import statistics
import subprocess
import sys
import timeit

RUNS = 9
IMPORT_LIMIT = 0.3  # seconds, median of whole interpreter runs less an empty one
LOOKUP_LIMIT = 20e-6  # seconds
SHOWN = 10
HEAVY = ("numpy", "scipy", "matplotlib", "pint", "pandas")
LINE = re.compile(r"import time:\s+(\d+) \|\s+(\d+) \| (\s*)(\S+)")


def main() -> int:
    """Print every figure beside its limit; return 1 when one is passed."""
    empty, whole = (_median_run(code) for code in ("pass", "import workbook.rules"))
    took = whole - empty
    print(f"python alone {empty * 1e3:.0f} ms, with workbook.rules {whole * 1e3:.0f} ms")
    passed = [_told("import workbook.rules", took, IMPORT_LIMIT)]
    passed.append(_breakdown())
    passed += [_told(name, _look_up(code), LOOKUP_LIMIT) for name, code in LOOK_UPS.items()]
    _told("first book of an edition, files read", _first_book(), IMPORT_LIMIT)
    return 0 if all(passed) else 1


LOOK_UPS = {
    "look-up by id": 'book["rate"]',
    "look-up by gestation": 'book.find("oxygen.start", gestation=30.5)',
    "number of a rule": 'book["flow.start"].value',
    "edition already read": 'rulebook("aha-2020")',
}


def _median_run(code: str) -> float:
    command = [sys.executable, "-c", code]
    return statistics.median(
        timeit.timeit(lambda: subprocess.run(command, check=True), number=1) for _ in range(RUNS)
    )


def _breakdown() -> bool:
    """Print the modules that take longest by themselves, and refuse heavy ones."""
    command = [sys.executable, "-X", "importtime", "-c", "import workbook.rules"]
    output = subprocess.run(command, check=True, capture_output=True, text=True).stderr
    rows = [(int(own), name) for own, _, _, name in LINE.findall(output)]
    total = sum(own for own, name in rows)
    for own, name in sorted(rows, reverse=True)[:SHOWN]:
        print(f"  {own / 1e3:7.2f} ms  {100 * own / total:4.0f} %  {name}")
    heavy = {name.split(".")[0] for _, name in rows} & set(HEAVY)
    print(f"  heavy packages imported: {', '.join(sorted(heavy)) or 'none'}")
    return not heavy


def _look_up(code: str) -> float:
    """Return the best of several means: what the machine does when left alone."""
    timer = timeit.Timer(
        code, "from workbook.rules import rulebook; book = rulebook('aha-2020'); " + code
    )
    number = 5000
    return min(timer.repeat(7, number)) / number


def _first_book() -> float:
    code = "import time, workbook.rules as r; t = time.perf_counter(); r.rulebook(); "
    code += "print(time.perf_counter() - t)"
    command = [sys.executable, "-c", code]
    times = (subprocess.run(command, check=True, capture_output=True, text=True) for _ in range(5))
    return statistics.median(float(each.stdout) for each in times)


def _told(name: str, took: float, limit: float) -> bool:
    print(f"{name}: {took * 1e6:,.2f} us, {took / limit:.2f} of its limit {limit * 1e6:,.0f} us")
    return took <= limit


if __name__ == "__main__":
    sys.exit(main())
