"""A learner's room: JupyterLab with all that a learner does not need left out.

One server hands out both: the room at ``/doc``, the full JupyterLab (the workshop) at ``/lab``.
What is left out is named in ``parts.toml``; what takes its place is ``labextension/page/room.js``.
"""

from __future__ import annotations

from typing import Any

from workbook.room.config import IN_ROOM, ROOM, WORKSHOP, is_room, page_config, parts


def _jupyter_server_extension_points() -> list[dict[str, Any]]:
    return [{"module": "workbook.room"}]


def _load_jupyter_server_extension(server: Any) -> None:
    from workbook.room.server import add_to

    add_to(server)


__all__ = ["IN_ROOM", "ROOM", "WORKSHOP", "is_room", "page_config", "parts"]
