"""What the room asks a learner's server: the home page's data. It reads; it writes nothing."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from jupyter_server.base.handlers import APIHandler
from jupyter_server.utils import url_path_join
from tornado import web
from tornado.ioloop import IOLoop

from workbook.course import CourseError
from workbook.room import page_config
from workbook.room.home import home


class HomeHandler(APIHandler):
    """Tells how far the learner of this server has come."""

    @web.authenticated
    def get(self) -> None:
        """Reply with the course as it stands now, or with a sentence that says what is wrong."""
        try:
            told = home(Path(self.settings["server_root_dir"]).expanduser()).told()
        except (CourseError, OSError) as error:
            raise web.HTTPError(500, reason=None, log_message=str(error)) from error
        self.finish(json.dumps(told, ensure_ascii=False))


def add_to(server: Any) -> None:
    """Let a server answer for the room, and tell its pages which of them are the room."""
    settings = server.web_app.settings
    base = settings["base_url"]
    server.web_app.add_handlers(".*$", [(url_path_join(base, "tpiece", "home"), HomeHandler)])
    # A hub has a word of its own for each page, and says it later than this: ours comes after.
    IOLoop.current().add_callback(furnish, settings)


def furnish(settings: dict[str, Any]) -> None:
    """Tell each page of a server what it is told already, less what the room leaves out."""
    before = settings.get("page_config_hook")

    def told(handler: Any, config: dict[str, Any]) -> dict[str, Any]:
        return page_config(handler, before(handler, config) if before else config)

    settings["page_config_hook"] = told
