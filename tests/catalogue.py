"""Gather every text a learner reads into one catalogue, and compile its translations.

``python -m tests.catalogue`` writes ``workbook/locale/tpiece.pot``, brings the translations up to
date with it, compiles them, and writes what JupyterLab's bar needs of them. Texts stand in Python
(``_`` and ``N_``), in JavaScript and in templates of pages (``_``), in the controls' fixed words,
in TOML files and in the Markdown cells of notebooks.
"""

from __future__ import annotations

import ast
import io
import json
import sys
import tomllib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import babel.messages.catalog
from babel.messages.catalog import Catalog
from babel.messages.extract import extract
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from tests import page_words
from workbook import __version__
from workbook.core.language import DOMAIN, LOCALES, NO_TEXT, has_words, is_text
from workbook.course.pages import messages
from workbook.physics.published import bench_rows
from workbook.widgets import case_words, control, face_words
from workbook.widgets.bench import trial_words
from workbook.widgets.bench import words as bench_words

ROOT = Path(__file__).parent.parent
POT = LOCALES / f"{DOMAIN}.pot"
WHEN = datetime(2026, 11, 26, tzinfo=UTC)  # fixed, so that the same texts give the same file
HEADER = "# Texts of the T-piece workbook. Written by: python -m tests.catalogue"
MARKS: dict[str, None] = {"_": None, "N_": None}
WORDS = (control, bench_words, case_words, face_words, trial_words)
CODE = ("workbook/**/*.py", "graders/**/*.py", "workbook/labextension/page/*.js",
        "graders/**/*.jinja")  # fmt: skip
ITSELF = ("lang", "dir", "decimal")  # of a language, not in it
PAGES = ("workbook/lessons/*.ipynb", "source_exercises/*/*.ipynb")
SAID = ("workbook/lessons/*.toml", "workbook/units/*/case/*.toml", "graders/units/*/*.toml",
        "graders/watch/*.toml")  # fmt: skip
RULES = "workbook/rules/data/*.toml"
NO_RULES = ("limits.toml", "example-protocol.toml", "baby.toml")  # no page shows them
RULE_KEYS = {"says", "reason", "why", "locator", "confidence"}

babel.messages.catalog.VERSION = "2"  # named in each file, which any release of Babel may write

Found = tuple[str, str, str]  # where, what it is, the text


def found() -> Iterator[Found]:
    """Return every text with the file it stands in and what it is there, in a fixed order."""
    for words in WORDS:
        path = f"{words.__name__.replace('.', '/')}.py"
        said = {key: text for key, text in words.WORDS.items() if key not in ITSELF}
        yield from ((path, key, text) for key, text in said.items() if has_words(text))
    for pattern in SAID:
        for path in _files(pattern):
            yield from ((_name(path), key, text) for key, text in _leaves(_toml(path)))
    yield from _rules()
    for row in bench_rows():
        yield from (
            ("workbook/physics/published.py", row.id, text) for text in (row.says, row.note)
        )
    for pattern in PAGES:
        for path in _files(pattern):
            page = json.loads(path.read_text(encoding="utf-8"))
            yield from ((_name(path), "", text) for text in messages(page))
    for pattern in CODE:
        for path in _files(pattern):
            yield from ((_name(path), "", text) for text in _marked(path))


def _files(pattern: str) -> list[Path]:
    return sorted(ROOT.glob(pattern))


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def _toml(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def _leaves(tree: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """Return the texts of a tree as ``workbook.core.language.told`` would look them up."""
    if isinstance(tree, str) and is_text(tree):
        yield key, tree
    elif isinstance(tree, dict):
        for name, value in tree.items():
            if is_text(name):
                yield key, name
            if name not in NO_TEXT or not isinstance(value, str):
                yield from _leaves(value, f"{key}.{name}".strip("."))
    elif isinstance(tree, list):
        for value in tree:
            yield from _leaves(value, key)


def _rules() -> Iterator[Found]:
    """Return what the rules say; names of publications stay as they are printed."""
    for path in _files(RULES):
        if path.name in NO_RULES:
            continue
        tables = _toml(path)
        sources = tables if path.name == "sources.toml" else tables.get("source", {})
        for key, source in sources.items():
            if not {"year", "edition"} & set(source):
                yield from ((_name(path), key, source[part]) for part in ("body", "title"))
        if path.name == "procedures.toml":
            yield from ((_name(path), key, each["title"]) for key, each in tables.items())
        yield from ((_name(path), key, text) for key, text in _told(tables))


def _told(tree: Any, key: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(tree, dict):
        key = tree.get("id", key)
        for name, value in tree.items():
            if name in RULE_KEYS and isinstance(value, str):
                yield f"{key} {name}", value
            elif name != "edition":
                yield from _told(value, key)
    elif isinstance(tree, list):
        for value in tree:
            yield from _told(value, key)


def _marked(path: Path) -> Iterator[str]:
    if path.suffix == ".py":
        yield from _marked_in_python(path)
        return
    with path.open("rb") as file:
        method = {".js": "javascript", ".jinja": "jinja2"}[path.suffix]
        for _line, text, _comments, _context in extract(method, file, MARKS):
            yield text if isinstance(text, str) else text[0]


def _marked_in_python(path: Path) -> Iterator[str]:
    """Return the texts that are marked themselves, not a key of what is: ``_(words["title"])``.

    Releases of Babel differ in what they take for a text there.
    """
    for call in _calls(ast.parse(path.read_bytes())):
        if isinstance(call.func, ast.Name) and call.func.id in MARKS and call.args:
            text = call.args[0]
            if isinstance(text, ast.Constant) and isinstance(text.value, str):
                yield text.value


def _calls(tree: ast.AST) -> Iterator[ast.Call]:
    """Return every call, in the order of the text: places inside of f-strings are not to trust."""
    if isinstance(tree, ast.Call):
        yield tree
    for part in ast.iter_child_nodes(tree):
        yield from _calls(part)


def template() -> Catalog:
    """Return every text once, with where it stands."""
    made = Catalog(project="tpiece-workbook", header_comment=HEADER, creation_date=WHEN,
                   revision_date=WHEN, charset="utf-8", version=__version__,
                   msgid_bugs_address="see DEVELOPERS.md")  # fmt: skip
    for where, what, text in found():
        made.add(text, locations=[(where, 0)], auto_comments=[what] if what else [])
    return made


def written(catalogue: Catalog) -> str:
    """Return a catalogue as the text of its file."""
    file = io.BytesIO()
    write_po(file, catalogue, width=0, include_lineno=False, ignore_obsolete=True)
    return file.getvalue().decode("utf-8")


def compiled(path: Path) -> bytes:
    """Return a translation as gettext's compiled file."""
    with path.open("rb") as text:
        catalogue = read_po(text)
    file = io.BytesIO()
    write_mo(file, catalogue)
    return file.getvalue()


def update(template: Catalog, path: Path) -> None:
    """Bring a translation up to date: new texts untranslated; what nobody says any more goes."""
    with path.open("rb") as text:
        catalogue = read_po(text)
    catalogue.update(template, no_fuzzy_matching=True)
    path.write_text(written(catalogue), encoding="utf-8")


def main() -> int:
    """Write the template, bring each translation up to date, compile it, and say how far it is."""
    made = template()
    POT.write_text(written(made), encoding="utf-8")
    words = sum(len(str(message.id).split()) for message in made if message.id)
    print(f"{POT.name}: {len(made)} texts, {words} words")
    for path in sorted(LOCALES.glob(f"*/LC_MESSAGES/{DOMAIN}.po")):
        update(made, path)
        path.with_suffix(".mo").write_bytes(compiled(path))
        with path.open("rb") as text:
            missing = [m.id for m in read_po(text) if m.id and not m.string]
        language = path.parent.parent.name
        print(f"{language}: {len(made) - len(missing)} of {len(made)} texts")
        for text_left in missing:
            print(f"{language}, not translated: {text_left}")
    return page_words.main()


if __name__ == "__main__":
    sys.exit(main())
