"""What of JupyterLab a room leaves out, and which pages are the room."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

ROOM, WORKSHOP = "/doc", "/lab"
IN_ROOM = "tpieceRoom"  # the page's own scripts look for this option


def page_config(handler: Any, config: dict[str, Any]) -> dict[str, Any]:
    """Return what a page of the server is told at its start: less of JupyterLab in the room.

    JupyterLab calls this for each page that it hands out; ``config`` is shared by all of them.
    """
    if not is_room(handler.request.path, handler.base_url):
        return config
    left_out = parts()
    extensions = config.get("federated_extensions", [])
    return {
        **config,
        "disabledExtensions": list(left_out),
        "federated_extensions": [each for each in extensions if each["name"] not in left_out],
        IN_ROOM: "yes",
    }


def is_room(path: str, base_url: str) -> bool:
    """Say whether an address of a server is the learner's room.

    Looked at is what follows the server's own part: a person or a folder may be called doc.
    """
    own = "/" + path.removeprefix(base_url).lstrip("/")
    return own == ROOM or own.startswith(f"{ROOM}/")


@cache
def parts() -> tuple[str, ...]:
    """Return the names of the extensions and plugins that the room leaves out."""
    told: Mapping[str, Any] = tomllib.loads(
        (Path(__file__).parent / "parts.toml").read_text(encoding="utf-8")
    )
    some = (f"{name}:{each}" for name, plugins in told["some"].items() for each in plugins)
    return (*told["whole"]["extensions"], *some)
