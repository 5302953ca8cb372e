"""Joins a control's JavaScript: modules that import each other become the one that a page loads.

A page gets a control's code as one text, so what its modules import cannot be fetched by it. They
are put one after the other, each after what it imports, without imports, exports and comments. A
module is written so that this needs no reader of JavaScript:

- it imports by name, from a module beside it: ``import { a, b } from "./beside.js";``
- it exports where it declares: ``export const``, ``let``, ``function`` or ``class``
- a control's own module ends with ``export default`` and what the page calls; joined into
  another control, it goes without
- what it declares at its top level begins in the first column, and nothing else does so

Whatever breaks this, a name that is not exported, a circle, or two modules with one name at their
top level is a `ModuleError`.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

HERE = Path(__file__).parent
_BLOCK_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
# A comment behind code: before it stand no marks but whole strings.
_LAST_COMMENT = re.compile(r'^((?:[^"\'`\n]|"[^"\\\n]*")*?)\s+// .*$', re.MULTILINE)
_IMPORT = re.compile(r'^import \{([^{}]*)\} from "\./([\w-]+\.js)";$', re.MULTILINE)
_DECLARED = re.compile(r"^(export )?(?:const|let|(?:async )?function\*?|class) (\w+)", re.MULTILINE)
_DEFAULT = re.compile(r"^export default [^;]*;$", re.MULTILINE)
_LEFT = re.compile(r"^(?:import|export|const|let|var|(?:async )?function|class)\b.*$", re.MULTILINE)


class ModuleError(Exception):
    """A module cannot be joined with others."""


@dataclass(frozen=True, slots=True)
class Module:
    """One module: what it imports by name (from which module), its code, its names.

    ``names`` are all at its top level, ``exports`` those that others may import. ``default`` is
    its line ``export default …;`` or nothing.
    """

    name: str
    imports: Mapping[str, tuple[str, ...]]
    code: str
    names: frozenset[str]
    exports: frozenset[str]
    default: str


@cache
def joined(name: str) -> str:
    """Return a control's module with all that it imports, as one that imports nothing."""
    modules = in_order(name)
    default = modules[-1].default
    if not default:
        raise ModuleError(f"{name}: ends with no export default, so a page has nothing to call.")
    return "\n".join([*(each.code for each in modules), default])


@cache
def styles(*files: str) -> str:
    """Return styles of ours as one, without their comments."""
    texts = ((HERE / file).read_text(encoding="utf-8") for file in files)
    return "\n".join(without_indents(without_comments(text)) for text in texts)


def script(*names: str) -> str:
    """Return modules with all that they import as a plain script, its names open to the page."""
    return "\n".join(each.code for each in in_order(*names))


def in_order(*names: str) -> list[Module]:
    """Return modules and all that they import, each after what it imports."""
    done: dict[str, Module] = {}
    for name in names:
        _reach(name, done, ())
    _refuse_collisions(done)
    return list(done.values())


def _reach(name: str, done: dict[str, Module], way: tuple[str, ...]) -> None:
    if name in way:
        raise ModuleError(f"{name}: imports itself in a circle: {' -> '.join([*way, name])}.")
    if name in done:
        return
    module = read(name)
    for source, wanted in module.imports.items():
        _reach(source, done, (*way, name))
        if missing := sorted(set(wanted) - done[source].exports):
            raise ModuleError(f"{name}: {source} exports no {', '.join(missing)}.")
    done[name] = module


def _refuse_collisions(modules: Mapping[str, Module]) -> None:
    owner: dict[str, str] = {}
    for module in modules.values():
        for name in sorted(module.names):
            other = owner.setdefault(name, module.name)
            if other != module.name:
                raise ModuleError(
                    f"{module.name}: {other} has a {name}, too; give it another name."
                )


@cache
def read(name: str) -> Module:
    """Return a module of this folder; ModuleError where it is none that can be joined."""
    try:
        text = (HERE / name).read_text(encoding="utf-8")
    except OSError as error:
        raise ModuleError(f"{name}: cannot be read ({error.strerror}).") from error
    return parsed(name, text)


def parsed(name: str, text: str) -> Module:
    """Return a module from its text."""
    text = without_comments(text)
    imports = dict(_imports(name, text))
    text = _IMPORT.sub("", text)
    defaults = _DEFAULT.findall(text)
    text = _DEFAULT.sub("", text)
    declared = _DECLARED.findall(text)
    _refuse_other_forms(name, text, len(defaults))
    names = [each for _, each in declared]
    bound = Counter([*names, *(each for wanted in imports.values() for each in wanted)])
    if twice := [each for each, count in bound.items() if count > 1]:
        raise ModuleError(f"{name}: {', '.join(twice)} stands for two things.")
    code = re.sub(r"^export ", "", text, flags=re.MULTILINE)
    exports = frozenset(each for export, each in declared if export)
    default = defaults[0] if defaults else ""
    return Module(name, imports, without_indents(code), frozenset(names), exports, default)


def _imports(name: str, text: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    seen = set()
    for names, source in _IMPORT.findall(text):
        wanted = tuple(each.strip() for each in names.split(",") if each.strip())
        if odd := [each for each in wanted if not each.isidentifier()]:
            raise ModuleError(f"{name}: imports “{odd[0]}”; import a name as it is exported.")
        if source in seen:
            raise ModuleError(f"{name}: imports {source} twice; name all in one import.")
        seen.add(source)
        yield source, wanted


def _refuse_other_forms(name: str, text: str, defaults: int) -> None:
    known = {match.start() for match in _DECLARED.finditer(text)}
    odd = [match for match in _LEFT.finditer(text) if match.start() not in known]
    if odd:
        raise ModuleError(f"{name}: “{odd[0][0]}” cannot be joined; DEVELOPERS.md says what can.")
    if defaults > 1:
        raise ModuleError(f"{name}: has more than one export default.")


def without_comments(text: str) -> str:
    """Return code or styles without comments."""
    bare = _LAST_COMMENT.sub(r"\1", _BLOCK_COMMENT.sub("", text))
    return "\n".join(line for line in bare.splitlines() if not line.lstrip().startswith("//"))


def without_indents(text: str) -> str:
    """Return code or styles without indents and empty lines: every page carries it."""
    return "\n".join(line for each in text.splitlines() if (line := each.strip()))
