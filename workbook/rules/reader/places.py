"""Line numbers in a TOML text, for messages that say where a mistake is."""

from __future__ import annotations

import re


class Places:
    """Finds the line of a table or of a key in it."""

    def __init__(self, text: str) -> None:
        self._lines = text.splitlines()

    def line(self, table: str, index: int | None, key: str | None = None) -> int | None:
        """Return the line (from 1) of ``[[table]]`` number ``index``, or of a key inside it."""
        start = self._table(table, index)
        if start is None or key is None:
            return start
        for n in range(start, len(self._lines)):
            line = self._lines[n]
            if line.lstrip().startswith("["):
                break
            if re.match(rf"\s*{re.escape(key)}\s*=", line):
                return n + 1
        return start

    def _table(self, table: str, index: int | None) -> int | None:
        wanted = f"[[{table}]]" if index is not None else f"[{table}]"
        seen = -1
        for n, line in enumerate(self._lines):
            if line.split("#")[0].strip() == wanted:
                seen += 1
                if index is None or seen == index:
                    return n + 1
        return None
