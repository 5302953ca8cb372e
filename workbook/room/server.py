"""What the room asks a learner's server: the home page's data. It reads; it writes nothing."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from jupyter_server.base.handlers import APIHandler
from jupyter_server.utils import url_path_join
from tornado import web

from workbook.course import CourseError
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
    """Let a server answer for the room."""
    base = server.web_app.settings["base_url"]
    server.web_app.add_handlers(".*$", [(url_path_join(base, "tpiece", "home"), HomeHandler)])
