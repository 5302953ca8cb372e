"""Writes CITATION.cff into the source distribution, from what pyproject.toml says already."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

MESSAGE = "If you use this workbook, please cite it as below."


class CitationHook(BuildHookInterface[Any]):
    """Adds the file to the archive; the checkout never holds it."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Write the file aside and name it for the archive."""
        self.aside = tempfile.TemporaryDirectory(prefix="tpiece-citation-")
        path = Path(self.aside.name, "CITATION.cff")
        path.write_text(citation(self.metadata.core), encoding="utf-8")
        build_data["force_include"][str(path)] = path.name

    def finalize(self, version: str, build_data: dict[str, Any], artifact_path: str) -> None:
        """Remove what was written aside."""
        self.aside.cleanup()


def citation(core: Any) -> str:
    """Return the file of a project's metadata, in the Citation File Format 1.2.0.

    Every value is written as JSON, which YAML holds.
    """
    told = {
        "cff-version": "1.2.0",
        "message": MESSAGE,
        "type": "software",
        "title": "The T-piece workbook",
        "version": core.version,
        "abstract": core.description,
        "license": core.license_expression,
        "authors": [{"name": one["name"]} for one in core.authors],
        "keywords": core.keywords,
    }
    return "".join(f"{key}: {json.dumps(value)}\n" for key, value in told.items())
