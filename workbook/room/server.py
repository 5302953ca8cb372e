"""What the room asks a learner's server: home, results, and what a hand-in becomes.

The one thing written here is a file to send, where a course came as a file; where the server may
mark (``MARKER``), that writes the result.
"""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

from jupyter_server.base.handlers import APIHandler
from jupyter_server.utils import url_path_join
from tornado import web
from tornado.ioloop import IOLoop

from workbook.core.errors import PlainError
from workbook.core.whose import whoami
from workbook.course.handed import Way, give
from workbook.course.result import ResultError, marked, waits
from workbook.course.settings import Course, CourseError, read_course
from workbook.room.config import page_config
from workbook.room.home import home
from workbook.room.shown import shown

MARKER = "tpiece_marker"  # a server that may mark has a function here: folder, unit -> whether
MARKS = ThreadPoolExecutor(1, "tpiece-marks")  # one after the other: the language spoken is one


class OwnHandler(APIHandler):
    """Replies about the folder of this server's learner."""

    @property
    def folder(self) -> Path:
        """Return the learner's folder."""
        return Path(self.settings["server_root_dir"]).expanduser()

    @property
    def course(self) -> Course:
        """Return the course's settings."""
        return read_course(self.folder)

    @property
    def unit(self) -> str:
        """Return the unit asked about, one of the course's."""
        unit = self.get_query_argument("unit", "")
        try:
            known = unit in self.course.units
        except CourseError as error:
            raise web.HTTPError(404, log_message=str(error)) from error
        if not known:
            raise web.HTTPError(404)
        return unit

    @property
    def waits(self) -> bool:
        """Say whether a result of the unit asked about is on its way from elsewhere."""
        unit = self.unit
        return MARKER not in self.settings and waits(self.folder, self.course, whoami(), unit)

    def tell(self, what: dict[str, Any]) -> None:
        """Reply with data."""
        self.finish(json.dumps(what, ensure_ascii=False))


def _said(error: Exception) -> web.HTTPError:
    return web.HTTPError(500, reason=None, log_message=str(error))


class HomeHandler(OwnHandler):
    """Tells how far the learner of this server has come."""

    @web.authenticated
    def get(self) -> None:
        """Reply with the course as it stands now, or with a sentence that says what is wrong."""
        try:
            self.tell(home(self.folder, marks_here=MARKER in self.settings).told())
        except (CourseError, OSError) as error:
            raise _said(error) from error


class ResultHandler(OwnHandler):
    """Tells what marking found in a unit."""

    @web.authenticated
    def get(self) -> None:
        """Reply with a unit's result, with a sentence that says what is wrong, or with 404."""
        try:
            told = shown(self.folder, self.course, self.unit)
        except ResultError as error:
            told = {"trouble": str(error)}
        except (PlainError, OSError) as error:
            raise _said(error) from error
        if told is None:
            raise web.HTTPError(404)
        self.tell(told)

    @web.authenticated
    async def post(self) -> None:
        """Mark what was handed in last, where this server may; say whether its result is there.

        On a hub it may be there before this is asked: who marks there does not wait for the page.
        """
        marker, unit = self.settings.get(MARKER), self.unit
        try:
            if marker is not None:
                await IOLoop.current().run_in_executor(MARKS, marker, self.folder, unit)
            comes = self.waits  # asked first: a result that comes meanwhile is found below
            there = not comes and marked(self.folder, self.course, whoami(), unit)
        except (PlainError, OSError) as error:
            raise _said(error) from error
        self.tell({"marked": there, "waits": comes})


class WaitsHandler(OwnHandler):
    """Tells whether a result is on its way."""

    @web.authenticated
    def get(self) -> None:
        """Reply whether what was handed in last of a unit is still to be marked, and soon."""
        try:
            self.tell({"waits": self.waits})
        except (PlainError, OSError) as error:
            raise _said(error) from error


class SendHandler(OwnHandler):
    """Lays work out as a file to send, where the course came as a file."""

    @web.authenticated
    def post(self) -> None:
        """Reply with the file and where it lies; with no file where work goes by the exchange."""
        way, unit = Way.of(self.folder), self.unit
        if way is None or not way.by_file:
            self.tell({"file": ""})
            return
        try:
            file = give(self.folder, self.course.id, whoami(), unit)
        except OSError as error:
            raise _said(error) from error
        self.tell({"file": file.name, "folder": str(file.parent)})


def add_to(server: Any) -> None:
    """Let a server answer for the room, and tell its pages which of them are the room."""
    settings = server.web_app.settings
    base = settings["base_url"]
    answers = {
        "home": HomeHandler, "result": ResultHandler, "waits": WaitsHandler, "send": SendHandler,
    }  # fmt: skip
    server.web_app.add_handlers(
        ".*$", [(url_path_join(base, "tpiece", name), each) for name, each in answers.items()]
    )
    # A hub has a word of its own for each page, and says it later than this: ours comes after.
    IOLoop.current().add_callback(furnish, settings)


def furnish(settings: dict[str, Any]) -> None:
    """Tell each page of a server what it is told already, less what the room leaves out."""
    before = settings.get("page_config_hook")

    def told(handler: Any, config: dict[str, Any]) -> dict[str, Any]:
        return page_config(handler, before(handler, config) if before else config)

    settings["page_config_hook"] = told
