"""Plant mistakes and see which no test finds: ``python -m tests.planted [COUNT [SEED [PART]]]``.

Each is one small change in what judges or teaches: code, changed by cosmic-ray's operators (``pip
install cosmic-ray``), and numbers and yes-or-no of the data. It is planted in a copy of the tree,
where the tests that use the changed file run. What survives is printed; a PART narrows the files
by a piece of their path. A change that alters nothing anybody can meet may survive; read each.
"""

from __future__ import annotations

import ast
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parent.parent
COPIED = ("workbook", "graders", "tests", "source_exercises", "pyproject.toml", "README.md",
          "DEVELOPERS.md", "LICENSE")  # fmt: skip
CODE = ("workbook/physics/**/*.py", "workbook/rules/*.py", "workbook/core/quantities.py",
        "workbook/cases/*.py", "workbook/taps/*.py", "workbook/bench/*.py", "workbook/trial/*.py",
        "workbook/scenario/*.py", "workbook/room/*.py", "workbook/course/result.py",
        "graders/marks/*.py", "graders/watch/*.py", "graders/units/*/*.py", "graders/beliefs/*.py",
        "graders/marking/exercise.py", "graders/award.py",
        "graders/learner/standing.py")  # fmt: skip
DATA = ("workbook/rules/data/*.toml", "graders/watch/*.toml", "graders/units/*/*.toml")
SAID = re.compile(r'^\s*(says|reason|why|locator|confidence|title|text|year|doi|url)\b|"""')
NUMBER = re.compile(r"(?<![\w.\"-])\d+(\.\d+)?(?![\w.\"-])")
CHANGED = re.compile(rf"{NUMBER.pattern}|\b(true|false)\b")
OPERATORS = ("NumberReplacer", "ReplaceComparisonOperator", "ReplaceBinaryOperator", "AddNot",
             "ReplaceAndWithOr", "ReplaceOrWithAnd", "ReplaceTrueWithFalse",
             "ReplaceFalseWithTrue", "ReplaceUnaryOperator_Delete_USub",
             "ReplaceUnaryOperator_Delete_Not")  # fmt: skip
LONGEST = 900  # s for the tests of one mistake


@dataclass(frozen=True)
class Planted:
    """One mistake: the file, its text with the mistake, and the changed lines."""

    path: str
    text: str

    def lines(self) -> str:
        """Return the line before and after."""
        old = (ROOT / self.path).read_text(encoding="utf-8").splitlines()
        pairs = zip(old, self.text.splitlines(), strict=False)
        changed = [(n, a, b) for n, (a, b) in enumerate(pairs, 1) if a != b]
        n, a, b = changed[0] if changed else (0, "", "")
        return f"{self.path}:{n}\n  - {a.strip()}\n  + {b.strip()}"


def files(patterns: tuple[str, ...], parts: tuple[str, ...]) -> list[str]:
    """Return the files that may be changed, each weighing as much as it is long."""
    found = [path.relative_to(ROOT).as_posix() for pat in patterns for path in ROOT.glob(pat)]
    return [each for each in sorted(set(found)) if not parts or any(p in each for p in parts)]


def in_code(path: str, chance: random.Random) -> Planted | None:
    """Return a mistake in code; None when the drawn kind does not occur in the file."""
    from cosmic_ray.mutating import mutate_code  # type: ignore[import-not-found]
    from cosmic_ray.plugins import get_operator, operator_names  # type: ignore[import-not-found]

    source = (ROOT / path).read_text(encoding="utf-8")
    kind = chance.choice(OPERATORS)
    name = chance.choice([n for n in operator_names() if n.split("/")[1].startswith(kind)])
    made = mutate_code(source, get_operator(name)(), chance.randrange(12))
    if not made or made == source or ast.dump(ast.parse(made)) == ast.dump(ast.parse(source)):
        return None
    mistake = Planted(path, made)
    return None if " import " in mistake.lines() or '"""' in mistake.lines() else mistake


def in_data(path: str, chance: random.Random) -> Planted | None:
    """Return a mistake in a number or a yes-or-no of a data file."""
    lines = (ROOT / path).read_text(encoding="utf-8").splitlines()
    told = [
        n
        for n, line in enumerate(lines)
        if not SAID.search(line) and "=" in line and CHANGED.search(line.split("=", 1)[1])
    ]
    if not told:
        return None
    n = chance.choice(told)
    key, value = lines[n].split("=", 1)
    if match := NUMBER.search(value):
        number = match.group()
        other = str(int(number) + 1) if "." not in number else str(float(number) * 1.25)
        value = value[: match.start()] + other + value[match.end() :]
    else:
        value = value.replace("true", "FALSE").replace("false", "true").replace("FALSE", "false")
    lines[n] = f"{key}={value}"
    return Planted(path, "\n".join(lines) + "\n")


def mistakes(count: int, seed: int, parts: tuple[str, ...]) -> Iterator[Planted]:
    """Draw mistakes, three of four in code."""
    chance = random.Random(seed)  # noqa: S311
    code, data = files(CODE, parts), files(DATA, parts)
    seen: set[str] = set()
    while len(seen) < count:
        of_code = bool(code) and (chance.random() < 0.75 or not data)
        path = chance.choice(code if of_code else data)
        mistake = (in_code if of_code else in_data)(path, chance)
        if mistake and mistake.lines() not in seen:
            seen.add(mistake.lines())
            yield mistake


def tests_of(path: str) -> list[str]:
    """Return the tests that use a file: those that name it first, then those of who uses it."""
    stem = "rules" if "rules/data" in path else Path(path).stem
    if path.startswith("graders/units/"):
        stem = ".".join(Path(path).parts[:3])  # whoever imports from the room
    module = _module(path)
    package = module.rpartition(".")[0]
    users = [_module(one) for one in files(("workbook/**/*.py", "graders/**/*.py"), ())
             if _names(_text(one), module)]  # fmt: skip
    users += [package] if "." in package else []  # all tests use the two at the top
    own, near = [], []
    for name in files(("tests/test_*.py",), ()):
        text = _text(name)
        if path.endswith(".toml"):
            own += [name] if stem in name else []
            near += [name] if stem not in name and stem in text else []
        elif _names(text, module):
            own.append(name)
        elif any(_names(text, one) for one in users):
            near.append(name)
    return own + near


def _module(path: str) -> str:
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def _text(path: str) -> str:
    return (ROOT / path).read_text(encoding="utf-8")


def _names(text: str, module: str) -> bool:
    """Say whether a text imports a module, by its whole name or from its package."""
    package, _, name = map(re.escape, module.rpartition("."))
    by_part = rf"from {package} import (\([^)]*|[^\n]*)\b{name}\b"
    return bool(re.search(rf"\b{package}\.{name}\b|{by_part}", text))


def found(mistake: Planted, copy: Path) -> str:
    """Return the first test that is red with a mistake; empty when it survives."""
    target = copy / mistake.path
    target.write_text(mistake.text, encoding="utf-8")
    run = subprocess.run(
        [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider",
         *tests_of(mistake.path)],
        cwd=copy, capture_output=True, text=True, check=False, timeout=LONGEST,
        env={**os.environ, "PYTHONPATH": str(copy)},
    )  # fmt: skip
    shutil.copyfile(ROOT / mistake.path, target)
    red = [line for line in run.stdout.splitlines() if line.startswith(("FAILED", "ERROR"))]
    return (red or [run.stdout[-200:]])[0] if run.returncode else ""


def main(count: int = 60, seed: int = 1, *parts: str) -> int:
    """Plant mistakes one by one; return how many no test found."""
    survived = 0
    with tempfile.TemporaryDirectory(prefix="tpiece-planted-") as made:
        copy = Path(made)
        for name in COPIED:
            place = ROOT / name
            (shutil.copytree if place.is_dir() else shutil.copyfile)(place, copy / name)
        for n, mistake in enumerate(mistakes(count, seed, parts), 1):
            begun = time.monotonic()
            red = found(mistake, copy)
            survived += not red
            says = f"found by {red[:110]}" if red else "SURVIVED"
            print(f"{n} {time.monotonic() - begun:.0f} s {mistake.lines()}\n  {says}", flush=True)
    print(f"{survived} of {count} survived (seed {seed}).")
    return survived


if __name__ == "__main__":
    asked = [int(each) for each in sys.argv[1:3]] + [60, 1][len(sys.argv[1:3]) :]
    sys.exit(min(1, main(asked[0], asked[1], *sys.argv[3:])))
