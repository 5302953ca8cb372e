"""JSON files of the grader: written fast, whole or not at all."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import msgspec


def write_json(path: Path, value: Any) -> None:
    """Write plain data, or a dataclass of such, as a file of indented JSON in UTF-8."""
    draft = path.with_suffix(".part")
    draft.write_bytes(as_json(value))
    draft.replace(path)


def as_json(value: Any) -> bytes:
    """Return plain data, or a dataclass of such, as indented JSON."""
    try:
        return msgspec.json.format(msgspec.json.encode(value), indent=1)
    except UnicodeEncodeError:  # half a character is no text; the rest of the answer is
        text = json.dumps(msgspec.to_builtins(value), indent=1, ensure_ascii=False)
        return text.encode("utf-8", errors="replace")
