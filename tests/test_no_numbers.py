"""No clinical number outside the rules: whatever shows, draws, tells or marks asks for it.

Every Python, JavaScript, TOML and template file and every notebook is searched; what may stand
there is allowed by what it means, never by its file.
"""

from __future__ import annotations

import ast
import json
import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).parent.parent
PLACES = ("source_exercises", "workbook", "graders")
KINDS = {".py", ".js", ".toml", ".jinja", ".ipynb", ".html", ".in"}
RULES = ROOT / "workbook" / "rules" / "data"  # where numbers have their source beside them
FILES = sorted(
    path
    for place in PLACES
    for path in (ROOT / place).rglob("*")
    if path.suffix in KINDS
    and not path.is_relative_to(RULES)
    and ".ipynb_checkpoints" not in path.parts
)

# A number with a unit that only a clinical value has. A per cent sign of a style sheet stands
# without a space before it.
UNIT = r"(?:cm\s?H2O|L/min|mL/kg|mmHg|kPa|psi|Fr\b|(?:a|per) minute|/min\b|weeks?\b| %(?!\}))"
WITH_UNIT = re.compile(rf"(?<![\w.#-])\d+(?:\.\d+)?\s?-?{UNIT}")

# What a sentence for a learner can say besides; elsewhere these are sizes on paper and on screen.
LENGTH = re.compile(r"(?<![\w.#-])\d+(?:\.\d+)?\s?(?:kg|g|cm|mm|s|seconds?|Fr)\b")
ADDED = re.compile(r"\b(?:plus|adds?|minus) (?:\d+|one|six)\b", re.IGNORECASE)
WORDS = "two|three|four|five|six|eight|ten|fifteen|twenty|thirty|forty|sixty|hundred"
SPELLED = re.compile(
    rf"\b(?:{WORDS})\s(?:weeks?|seconds?|centimetres?|litres?|millimetres?|per cent|kilograms?)\b",
    re.IGNORECASE,
)
TOLD = (LENGTH, ADDED, SPELLED)

# A number given to a name that holds a clinical value.
NAMES = r"pip|peep|relief|flow|oxygen|fio2|spo2|saturation|heart_?rate|gestation|rate|inflation"
GIVEN = re.compile(rf"\b\w*(?:{NAMES})\w*['\"]?\s*(?:=|:)\s*-?\d+(?:\.\d+)?\b", re.IGNORECASE)
NAMED = re.compile(rf"(?:^|_)(?:{NAMES})(?:$|_)", re.IGNORECASE)
NEUTRAL = {0, 1, -1}  # nothing, all of it, and a sign are no clinical values
# What a rule of depth adds to; here a one is as clinical as a six.
SUMMED = re.compile(r"(?:^|_)(?:ntl|kg|weight|depth)(?:$|_)", re.IGNORECASE)


@dataclass(frozen=True)
class Meaning:
    """What a number may stand for outside the rules: in ``statement``, as ``finding``."""

    why: str
    finding: str
    statement: str = ""


ALLOWED = (
    Meaning("the unit of a rate, which begins with a one", r"^1/min$"),
    Meaning("an example of how a quantity is typed", "cmH2O", r"for example '[^']*cmH2O'"),
    Meaning(
        "a number of the physical model, with its own source and basis in the same statement",
        "",
        r"\bCoefficient\(.*\bBasis\.",
    ),
    Meaning(
        "what a published study set and measured, in a row that names the study",
        "",
        r"\btuple\[Row\[Standing\], \.\.\.\] = ",
    ),
    Meaning("what such a study leaves out, said to be assumed", "", r"^_\w+ = .*\bassumed\b"),
)
# In a data file: how probable it is that a belief, named as in the list of beliefs, shows.
PROBABLE = Meaning("how probable a belief's sign is", r"^\.(leads|softer)\.[\w.-]+ = 0\.\d+$")


def findings(path: Path, text: str) -> list[str]:
    """Return each clinical number of a file, as place and text."""
    if path.suffix == ".ipynb":
        return list(_in_notebook(text))
    if path.suffix == ".py":
        return list(_in_python(text))
    if path.suffix == ".toml":
        return list(_in_toml(tomllib.loads(text)))
    return list(_in_text(text, GIVEN, WITH_UNIT))


def _in_notebook(text: str) -> Iterator[str]:
    for n, cell in enumerate(json.loads(text)["cells"]):
        source = "".join(cell["source"])
        found = (
            _in_python(source)
            if cell["cell_type"] == "code"
            else _in_text(source, WITH_UNIT, *TOLD)
        )
        yield from (f"cell {n}, {each}" for each in found)


def _in_toml(value: Any, at: str = "") -> Iterator[str]:
    """Yield what a data file tells in its texts, and what it gives to a clinical name."""
    if isinstance(value, dict | list):
        pairs = value.items() if isinstance(value, dict) else enumerate(value)
        for key, inside in pairs:
            yield from _in_toml(inside, f"{at}.{key}")
    elif isinstance(value, str):
        yield from (f"{at}: {m[0]}" for p in (WITH_UNIT, *TOLD) for m in p.finditer(value))
    elif type(value) in (int, float) and value not in NEUTRAL:
        name = at.rpartition(".")[2].replace("-", "_")
        if NAMED.search(name) and not re.search(PROBABLE.finding, f"{at} = {value:g}"):
            yield f"{at} = {value:g}"


def _in_text(text: str, *patterns: re.Pattern[str]) -> Iterator[str]:
    for n, line in enumerate(text.splitlines(), start=1):
        for pattern in patterns:
            for match in pattern.finditer(line):
                if not re.search(r"[:=]\s*-?[01]$", match[0]):
                    yield f"line {n}: {match[0]}"


def _in_python(source: str) -> Iterator[str]:
    tree = ast.parse(source)
    said = {id(text) for text in _docstrings(tree)}
    lines = source.splitlines()
    for statement in _statements(tree):
        whole = _spoken(statement, lines)
        for line, found in _in_statement(statement, said):
            if not any(_means(each, found, whole) for each in ALLOWED):
                yield f"line {line}: {found}"


def _statements(tree: ast.Module) -> Iterator[ast.stmt]:
    """Yield the statements of a file, those of functions and classes one by one."""
    waiting: list[ast.stmt] = list(tree.body)
    while waiting:
        statement = waiting.pop(0)
        bodies = [getattr(statement, name, []) for name in ("body", "orelse", "finalbody")]
        handlers = [h.body for h in getattr(statement, "handlers", [])]
        cases = [c.body for c in getattr(statement, "cases", [])]
        inner = [each for body in (*bodies, *handlers, *cases) for each in body]
        waiting += inner
        yield statement


def _spoken(statement: ast.stmt, lines: list[str]) -> str:
    """Return the source of a statement in one line."""
    return " ".join(" ".join(lines[statement.lineno - 1 : statement.end_lineno]).split())


def _in_statement(statement: ast.stmt, said: set[int]) -> Iterator[tuple[int, str]]:
    """Yield (line, finding) of one statement, without the statements inside it."""
    waiting: list[ast.AST] = [statement]
    while waiting:
        node = waiting.pop()
        waiting += [n for n in ast.iter_child_nodes(node) if not isinstance(n, ast.stmt)]
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in said:
            yield from ((node.lineno, m[0]) for m in WITH_UNIT.finditer(node.value))
        for name, value in _given(node):
            if NAMED.search(name) and _number(value) not in {None, *NEUTRAL}:
                yield value.lineno, f"{name} given {_number(value):g}"
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Add | ast.Sub):
            yield from _summed(node)


def _summed(node: ast.BinOp) -> Iterator[tuple[int, str]]:
    """Yield a number added to a weight or a length, as the rules of depth do."""
    for one, other in ((node.left, node.right), (node.right, node.left)):
        number = _number(other)
        if SUMMED.search(_name(one)) and number not in {None, 0}:
            yield node.lineno, f"{_name(one)} and {number:g}"


def _means(meaning: Meaning, found: str, statement: str) -> bool:
    if not re.search(meaning.finding, found):
        return False
    return re.search(meaning.statement, statement) is not None


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
    for place in PLACES:
        kinds = {path.suffix for path in FILES if path.is_relative_to(ROOT / place)}
        assert kinds >= ({".ipynb"} if place == "source_exercises" else {".py", ".toml"}), place


def test_every_meaning_that_is_allowed_is_met():
    """What no file needs any more is allowed no more."""
    met = {meaning.why: 0 for meaning in (*ALLOWED, PROBABLE)}
    for path in FILES:
        if path.suffix == ".toml":
            text = path.read_text(encoding="utf-8")
            met[PROBABLE.why] += any(f"[{name}." in text for name in ("leads", "softer"))
        if path.suffix != ".py":
            continue
        source = path.read_text(encoding="utf-8")
        tree = ast.parse(source)
        said, lines = {id(text) for text in _docstrings(tree)}, source.splitlines()
        for statement in _statements(tree):
            whole = _spoken(statement, lines)
            for _, found in _in_statement(statement, said):
                for meaning in ALLOWED:
                    met[meaning.why] += _means(meaning, found, whole)
    assert all(met.values()), met


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
        ("a.py", "depth = baby.weight + 6"),
        ("a.py", "facts['ntl'] = 1\ndepth = ntl + 1"),
        ("a.py", "for each in cases:\n    if each:\n        says = 'at 8 L/min'"),
        ("a.py", "PIP = Coefficient(25.0, 'cmH2O', 'a PIP of 25 cmH2O', 'nobody')"),
        ("a.toml", "[start]\npip = 25"),
        ("a.toml", "says = 'Start at 25 cmH2O.'"),
        ("a.toml", "options = { deep = 'Weight plus 6 cm.' }"),
        ("a.toml", "options = [{ says = 'Weight plus six.' }]"),
        ("a.toml", "says = 'Suction for five seconds at most.'"),
        ("a.jinja", "<p>Pass from 80 %.</p>"),
        ("a.ipynb", notebook("markdown", "A tube of 3.5 mm.")),
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
        ("a.py", "K = Coefficient(25.0, 'cmH2O', 'set at 8 L/min', 'A study', Basis.PRIMARY)"),
        ("a.py", "wide = wide + 6"),
        ("a.jinja", "{% if pages > 160 %}<td width='60%'>"),
        ("a.toml", "[points]\ngauge = 2"),
        ("a.js", "element.style.width = '100%'; const flowing = 1;"),
        ("a.ipynb", notebook("markdown", "Allow 20 minutes. Question 2 of 5.")),
    ],
)
def test_what_is_no_clinical_number_is_left_alone(name, clean):
    """Points, minutes of work, percentages of a style sheet and docstrings pass."""
    assert findings(Path(name), clean) == []
