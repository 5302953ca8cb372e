"""Plant mistakes and see which test finds each: ``python3 -m tests.planted [PART ...]``.

The mistakes stand in ``planted.toml``, one a line: a file, what it says, what it says wrongly, the
tests of which one must turn red, and what the mistake would do. Each is planted in a copy of the
tree, never here, and its tests are run until the first is red. First all those tests are run
without a mistake, for a test that is red anyhow finds nothing. What no test finds SURVIVES; then,
or where a line no longer fits the tree, the exit is 1. A PART narrows by a piece of path or reason.
"""

from __future__ import annotations

import argparse
import ast
import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue

from workbook import bootstrap

ROOT = bootstrap.ROOT
TABLE = Path(__file__).with_suffix(".toml")
COPIED = ("workbook", "graders", "tests", "source_exercises", "pyproject.toml", "README.md",
          "DEVELOPERS.md", "LICENSE")  # fmt: skip
LONGEST = 300  # s that one test may take
RED = (1, 2)  # what pytest ends with where a test failed, or where a file could not be read
UNREAD = 4  # where the file of a test that is named could not be read, or has no such test
PYTEST = ("-m", "pytest", "-q", "-p", "no:cacheprovider", f"--timeout={LONGEST}")
# What tests draw is the same every time. A test that is named by itself is run without conftest,
# which loads the whole workbook: half of the time. Such a test asks for no fixture of it.
WHOLE = ("--hypothesis-seed=1",)
ALONE = ("--noconftest", "-o", "addopts=", "-p", "no:nbval", "--hypothesis-profile=ci")


@dataclass(frozen=True)
class Mistake:
    """One mistake: in the file at ``path`` (from the tree's root) ``old`` becomes ``new``.

    ``by`` names the tests below ``tests/`` of which one must turn red.
    """

    path: str
    old: str
    new: str
    by: tuple[str, ...]
    why: str

    def planted(self, source: str) -> str:
        """Return the file's text with the mistake."""
        return source.replace(self.old, self.new)

    def rot(self, root: Path = ROOT) -> str:
        """Return in a sentence why the line no longer fits the tree; nothing where it does."""
        file = root / self.path
        source = file.read_text(encoding="utf-8") if file.is_file() else ""
        if source.count(self.old) != 1 or self.old == self.new:
            times = source.count(self.old)
            return f"{self.path} has {self.old!r} {times} times, not once ({self.why})."
        try:
            made = self.planted(source)
            ast.parse(made) if file.suffix == ".py" else tomllib.loads(made)
        except (SyntaxError, tomllib.TOMLDecodeError) as error:
            return f"{self.path} cannot be read with {self.new!r}: {error}."
        lost = [test for test in self.by if not _is_there(test, root)]
        return f"There is no test {lost[0]} ({self.why})." if lost else ""


def _is_there(test: str, root: Path) -> bool:
    name, _, function = test.partition("::")
    file = root / "tests" / name
    wanted = f"def {function.partition('[')[0]}(" if function else ""
    return file.is_file() and wanted in file.read_text(encoding="utf-8")


def table() -> list[Mistake]:
    """Return the mistakes of the table."""
    return [
        Mistake(path, row["old"], row["new"], tuple(row["by"].split()), row["why"])
        for path, rows in tomllib.loads(TABLE.read_text(encoding="utf-8")).items()
        for row in rows
    ]


def found(mistake: Mistake, copy: Path) -> str:
    """Return which test is red with a mistake; nothing when it survives.

    ``copy`` is a tree to plant it in; afterwards it is as it was. Exits where nothing could be run.
    """
    target = copy / mistake.path
    source, was = target.read_text(encoding="utf-8"), target.stat()
    target.write_text(mistake.planted(source), encoding="utf-8")
    try:
        # Nothing compiled from a mistake is kept: Python tells two writings apart by a second.
        run = _pytest(copy, "-x", *mistake.by, PYTHONDONTWRITEBYTECODE="1")
    finally:
        target.write_text(source, encoding="utf-8")
        os.utime(target, ns=(was.st_atime_ns, was.st_mtime_ns))
    return next(iter(_red(run)), "")


def red_anyhow(mistakes: Iterable[Mistake], copy: Path, side_by_side: int) -> list[str]:
    """Return which of the tests are red without any mistake."""
    tests = sorted({test for mistake in mistakes for test in mistake.by})
    files = [test for test in tests if "::" not in test]
    alone = [test for test in tests if test.partition("::")[0] not in files]
    return _red(_pytest(copy, "-n", str(side_by_side), *files, *alone))


def _pytest(copy: Path, *arguments: str, **settings: str) -> subprocess.CompletedProcess[str]:
    own = Path(bootstrap.program("python"))
    python = str(own) if own.is_file() else sys.executable
    tests = [each for each in arguments if each.startswith("test_")]
    given = [f"tests/{each}" if each in tests else each for each in arguments]
    how = ALONE if all("::" in test for test in tests) else WHOLE
    return subprocess.run(
        [python, *PYTEST, *how, *given], cwd=copy, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": str(copy), **settings},
    )  # fmt: skip


def _red(run: subprocess.CompletedProcess[str]) -> list[str]:
    if run.returncode == 0:
        return []
    lines = [line for line in run.stdout.splitlines() if line.startswith(("FAILED ", "ERROR "))]
    red = [line.split(" ", 1)[1].partition(" - ")[0].removeprefix("tests/") for line in lines]
    if run.returncode not in RED and not (run.returncode == UNREAD and red):
        raise SystemExit(f"The tests could not be run:\n{run.stdout[-2000:]}{run.stderr[-2000:]}")
    return red or ["a file of tests that cannot be read"]


def plant(mistakes: Sequence[Mistake], copies: Sequence[Path]) -> Iterator[tuple[str, float]]:
    """Yield for each mistake which test found it, if any, and how long that took (s).

    As many are planted side by side as there are copies of the tree.
    """
    free: SimpleQueue[Path] = SimpleQueue()
    for copy in copies:
        free.put(copy)

    def one(mistake: Mistake) -> tuple[str, float]:
        copy, begun = free.get(), time.monotonic()
        try:
            return found(mistake, copy), time.monotonic() - begun
        finally:
            free.put(copy)

    with ThreadPoolExecutor(len(copies)) as side_by_side:
        yield from side_by_side.map(one, mistakes)


def _copied(into: Path) -> Path:
    into.mkdir()
    for name in COPIED:
        place = ROOT / name
        (shutil.copytree if place.is_dir() else shutil.copy2)(place, into / name)
    return into


def _numbers(text: str) -> tuple[range, ...]:
    """Return the numbers that ``17`` or ``130-165,170`` names."""
    ends = [part.partition("-") for part in text.split(",")]
    return tuple(range(int(first), int(last or first) + 1) for first, _, last in ends)


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python3 -m tests.planted", description=__doc__)
    parser.add_argument("part", nargs="*", help="a piece of a path or a reason")
    parser.add_argument("--only", type=_numbers, default=(), metavar="N,A-B",
                        help="plant those of these numbers, as 17 or 130-165,170")  # fmt: skip
    parser.add_argument("--slice", metavar="A/B", help="plant part A of B parts, for example 1/4")
    parser.add_argument("--side-by-side", type=int, default=2, metavar="N", help="plant N at once")
    parser.add_argument("--drawn", type=int, metavar="COUNT", help="draw mistakes by cosmic-ray")
    parser.add_argument("--seed", type=int, default=1, help="what they are drawn from")
    return parser.parse_args()


def _chosen(asked: argparse.Namespace) -> list[tuple[int, Mistake]]:
    """Return the mistakes that were asked for, each with its number."""
    parts = tuple(asked.part)
    if asked.drawn:
        from tests.planted_drawn import drawn

        return list(enumerate(drawn(asked.drawn, asked.seed, parts), 1))
    chosen = list(enumerate(table(), 1))
    if parts:
        chosen = [(n, m) for n, m in chosen if any(p in f"{m.path} {m.why}" for p in parts)]
    if asked.only:
        chosen = [(n, m) for n, m in chosen if any(n in some for some in asked.only)]
    if asked.slice:
        which, of = map(int, asked.slice.split("/"))
        chosen = chosen[which - 1 :: of]
    return chosen


def main() -> int:
    """Plant what was asked for; return 1 where a mistake survives or a line no longer fits."""
    asked, begun = _asked(), time.monotonic()
    numbered = _chosen(asked)
    chosen = [mistake for _, mistake in numbered]
    if not chosen:
        print("No mistake of the table is asked for by that.")
        return 1
    if rotten := [] if asked.drawn else [each.rot() for each in chosen if each.rot()]:
        print(*rotten, sep="\n")
        return 1
    survived = 0
    with tempfile.TemporaryDirectory(prefix="tpiece-planted-") as made:
        first, side_by_side = _copied(Path(made, "1")), min(asked.side_by_side, len(chosen))
        if red := red_anyhow(chosen, first, side_by_side):
            print("Red without any mistake, so mend these first:", *red, sep="\n")
            return 1
        print(f"All their tests are green without a mistake ({_since(begun)} s).", flush=True)
        more = [Path(made, str(n)) for n in range(2, side_by_side + 1)]
        copies = [first, *(shutil.copytree(first, each) for each in more)]  # and all it compiled
        told = zip(numbered, plant(chosen, copies), strict=True)
        for (n, mistake), (red, seconds) in told:
            survived += not red
            says = f"found by {red}" if red else "SURVIVES"
            print(f"{n:4} {mistake.path}: {mistake.why}\n     {says} ({seconds:.0f} s)", flush=True)
    print(f"{len(chosen)} planted, {len(chosen) - survived} found, {survived} survive "
          f"({_since(begun)} s).")  # fmt: skip
    return 1 if survived else 0


def _since(begun: float) -> str:
    return f"{time.monotonic() - begun:.0f}"


if __name__ == "__main__":
    sys.exit(main())
