"""Draw mistakes to plant: for ``python3 -m tests.planted --drawn COUNT``.

Each is one small change in what judges or teaches: code, changed by cosmic-ray's operators (``pip
install cosmic-ray``), and numbers and yes-or-no of the data. The tests that use the changed file
are to find it. A change that alters nothing anybody can meet may survive; read each.
"""

from __future__ import annotations

import ast
import random
import re
from collections.abc import Iterator
from pathlib import Path

from tests.planted import ROOT, Mistake

CODE = ("workbook/physics/**/*.py", "workbook/rules/**/*.py", "workbook/core/quantities.py",
        "workbook/cases/*.py", "workbook/units/*/case/*.py", "workbook/taps/*.py",
        "workbook/bench/*.py", "workbook/trial/*.py", "workbook/scenario/*.py",
        "workbook/room/*.py", "workbook/course/result.py",
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


def drawn(count: int, seed: int, parts: tuple[str, ...]) -> Iterator[Mistake]:
    """Draw mistakes, three of four in code; ``parts`` narrow the files by pieces of their path."""
    chance = random.Random(seed)  # noqa: S311
    code, data = files(CODE, parts), files(DATA, parts)
    if not (code or data):
        raise SystemExit(f"No file that may be changed has {' or '.join(parts)} in its path.")
    seen: set[str] = set()
    while len(seen) < count:
        of_code = bool(code) and (chance.random() < 0.75 or not data)
        path = chance.choice(code if of_code else data)
        made = (in_code if of_code else in_data)(path, chance)
        if made and made not in seen:
            seen.add(made)
            source = _text(path)
            yield Mistake(path, source, made, tuple(tests_of(path)), _lines(source, made))


def files(patterns: tuple[str, ...], parts: tuple[str, ...]) -> list[str]:
    """Return the files that may be changed."""
    found = [path.relative_to(ROOT).as_posix() for pat in patterns for path in ROOT.glob(pat)]
    return [each for each in sorted(set(found)) if not parts or any(p in each for p in parts)]


def in_code(path: str, chance: random.Random) -> str:
    """Return code with a mistake; nothing when the drawn kind does not occur in the file."""
    from cosmic_ray.mutating import mutate_code  # type: ignore[import-not-found]
    from cosmic_ray.plugins import get_operator, operator_names  # type: ignore[import-not-found]

    source = _text(path)
    kind = chance.choice(OPERATORS)
    name = chance.choice([n for n in operator_names() if n.split("/")[1].startswith(kind)])
    made = mutate_code(source, get_operator(name)(), chance.randrange(12))
    if not made or ast.dump(ast.parse(made)) == ast.dump(ast.parse(source)):
        return ""
    told = _lines(source, made)
    return "" if " import " in told or '"""' in told else str(made)


def in_data(path: str, chance: random.Random) -> str:
    """Return a data file with a mistake in a number or a yes-or-no; nothing where it has none."""
    lines = _text(path).splitlines()
    told = [
        n
        for n, line in enumerate(lines)
        if not SAID.search(line) and "=" in line and CHANGED.search(line.split("=", 1)[1])
    ]
    if not told:
        return ""
    n = chance.choice(told)
    key, value = lines[n].split("=", 1)
    if match := NUMBER.search(value):
        number = match.group()
        other = str(int(number) + 1) if "." not in number else str(float(number) * 1.25)
        value = value[: match.start()] + other + value[match.end() :]
    else:
        value = value.replace("true", "FALSE").replace("false", "true").replace("FALSE", "false")
    lines[n] = f"{key}={value}"
    return "\n".join(lines) + "\n"


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
        text, test = _text(name), Path(name).name
        if path.endswith(".toml"):
            own += [test] if stem in name else []
            near += [test] if stem not in name and stem in text else []
        elif _names(text, module):
            own.append(test)
        elif any(_names(text, one) for one in users):
            near.append(test)
    return own + near


def _lines(source: str, made: str) -> str:
    """Return the first line that differs, before and after."""
    pairs = zip(source.splitlines(), made.splitlines(), strict=False)
    changed = ((n, a, b) for n, (a, b) in enumerate(pairs, 1) if a != b)
    n, a, b = next(changed, (0, "", ""))
    return f"line {n}: {a.strip()}  ->  {b.strip()}"


def _module(path: str) -> str:
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def _text(path: str) -> str:
    return (ROOT / path).read_text(encoding="utf-8")


def _names(text: str, module: str) -> bool:
    """Say whether a text imports a module, by its whole name or from its package."""
    package, _, name = map(re.escape, module.rpartition("."))
    by_part = rf"from {package} import (\([^)]*|[^\n]*)\b{name}\b"
    return bool(re.search(rf"\b{package}\.{name}\b|{by_part}", text))
