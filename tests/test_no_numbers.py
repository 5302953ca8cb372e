"""No clinical number outside the rules: notebooks, widgets and graders ask for it."""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PLACES = {
    "source_exercises": "**/*.ipynb",
    "workbook/lessons": "**/*.ipynb",
    "workbook/widgets": "**/*.[pj][ys]",
    "graders": "**/*.py",
}
FILES = sorted(
    path
    for place, pattern in PLACES.items()
    for path in (ROOT / place).glob(pattern)
    if ".ipynb_checkpoints" not in path.parts and "__pycache__" not in path.parts
)

# A number with a unit that only a clinical value has. A per cent sign of a style sheet stands
# without a space before it.
UNIT = r"(?:cm\s?H2O|L/min|mL/kg|mmHg|kPa|psi|Fr\b|(?:a|per) minute|/min\b|weeks?\b| %)"
WITH_UNIT = re.compile(rf"(?<![\w.#-])\d+(?:\.\d+)?\s?-?{UNIT}")

# A number given to a name that holds a clinical value.
NAMES = r"pip|peep|relief|flow|oxygen|fio2|spo2|saturation|heart_?rate|gestation|rate|inflation"
GIVEN = re.compile(rf"\b\w*(?:{NAMES})\w*['\"]?\s*(?:=|:)\s*-?\d+(?:\.\d+)?\b", re.IGNORECASE)
NAMED = re.compile(rf"(?:^|_)(?:{NAMES})(?:$|_)", re.IGNORECASE)
NEUTRAL = {0, 1, -1}  # nothing, all of it, and a sign are no clinical values


def findings(path: Path, text: str) -> list[str]:
    """Return each clinical number of a file, as place and text."""
    if path.suffix == ".ipynb":
        return list(_in_notebook(text))
    return list(_in_python(text) if path.suffix == ".py" else _in_text(text, GIVEN, WITH_UNIT))


def _in_notebook(text: str) -> Iterator[str]:
    for n, cell in enumerate(json.loads(text)["cells"]):
        source = "".join(cell["source"])
        found = _in_python(source) if cell["cell_type"] == "code" else _in_text(source, WITH_UNIT)
        yield from (f"cell {n}, {each}" for each in found)


def _in_text(text: str, *patterns: re.Pattern[str]) -> Iterator[str]:
    for n, line in enumerate(text.splitlines(), start=1):
        for pattern in patterns:
            for match in pattern.finditer(line):
                if not re.search(r"[:=]\s*-?[01]$", match[0]):
                    yield f"line {n}: {match[0]}"


def _in_python(source: str) -> Iterator[str]:
    tree = ast.parse(source)
    said = {id(text) for text in _docstrings(tree)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in said:
            yield from (f"line {node.lineno}: {m[0]}" for m in WITH_UNIT.finditer(node.value))
        for name, value in _given(node):
            if NAMED.search(name) and _number(value) not in {None, *NEUTRAL}:
                yield f"line {value.lineno}: {name} given {_number(value):g}"


def _docstrings(tree: ast.AST) -> Iterator[ast.AST]:
    """Yield docstrings: they explain to developers and may give an example."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and node.body:
            first = node.body[0]
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
                yield first.value


def _given(node: ast.AST) -> Iterator[tuple[str, ast.expr]]:
    """Yield (name, value) wherever Python gives a value to a name or weighs the two."""
    if isinstance(node, ast.Assign):
        yield from ((_name(target), node.value) for target in node.targets)
    elif isinstance(node, ast.AnnAssign) and node.value is not None:
        yield _name(node.target), node.value
    elif isinstance(node, ast.keyword):
        yield node.arg or "", node.value
    elif isinstance(node, ast.Dict):
        yield from ((_name(k), v) for k, v in zip(node.keys, node.values, strict=True) if k)
    elif isinstance(node, ast.Compare):
        names = " ".join(_name(each) for each in (node.left, *node.comparators))
        for name in names.split():
            yield from ((name, each) for each in (node.left, *node.comparators))


def _name(node: ast.expr) -> str:
    if isinstance(node, ast.Name):
        return node.id
    if isinstance(node, ast.Attribute):
        return node.attr
    return str(node.value) if isinstance(node, ast.Constant) else ""


def _number(node: ast.expr) -> float | None:
    if isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        inside = _number(node.operand)
        return None if inside is None else -inside
    if isinstance(node, ast.Constant) and type(node.value) in (int, float):
        return float(node.value)
    return None


def test_there_is_something_to_search():
    """Each place holds files, so that an empty folder cannot pass for a clean one."""
    for place in ("source_exercises", "workbook/widgets", "graders"):
        assert any(path.is_relative_to(ROOT / place) for path in FILES), place


@pytest.mark.parametrize("path", FILES, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_file_that_shows_or_marks_holds_no_clinical_number(path):
    """Every number with a clinical unit or name comes from the rules, with its source."""
    assert findings(path, path.read_text(encoding="utf-8")) == []


def notebook(kind: str, source: str) -> str:
    return json.dumps({"cells": [{"cell_type": kind, "source": [source]}]})


@pytest.mark.parametrize(
    ("name", "planted"),
    [
        ("a.py", "pip = 25"),
        ("a.py", "set_up(peep=5)"),
        ("a.py", "LIMITS = {'flow': 10}"),
        ("a.py", "ok = answer.rate < 40"),
        ("a.py", "start_pip: float = 22.5"),
        ("a.py", "says = 'Start at 25 cmH2O.'"),
        ("a.py", "says = f'{name}: ventilate at 40 a minute'"),
        ("a.py", "says = 'below 32 weeks'"),
        ("a.py", "oxygen = -21"),
        ("a.js", "const pip = 25;"),
        ("a.js", "const limits = { relief: 40 };"),
        ("a.js", "text.textContent = 'Turn to 8 L/min';"),
        ("a.ipynb", notebook("markdown", "Aim for 80 % at 5 min.")),
        ("a.ipynb", notebook("markdown", "Suction below 120 mmHg.")),
        ("a.ipynb", notebook("code", "peep = 5")),
        ("a.ipynb", notebook("code", "ask('set', '25 cmH2O')")),
    ],
)
def test_a_planted_number_is_found(name, planted):
    """The search sees a number in each kind of file and in each way of writing it."""
    assert findings(Path(name), planted)


@pytest.mark.parametrize(
    ("name", "clean"),
    [
        ("a.py", 'def f():\n    """Turn 8 L/min on, for example."""\n    return book["rate"]'),
        ("a.py", "flow = 0"),
        ("a.py", "pass_mark = 0.8"),
        ("a.py", "says = f'{rule.text} of {total}'"),
        ("a.js", "element.style.width = '100%'; const flowing = 1;"),
        ("a.ipynb", notebook("markdown", "Allow 20 minutes. Question 2 of 5.")),
    ],
)
def test_what_is_no_clinical_number_is_left_alone(name, clean):
    """Points, minutes of work, percentages of a style sheet and docstrings pass."""
    assert findings(Path(name), clean) == []
