"""Which pages of a server are the learner's room, and what they are told."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from workbook.room import IN_ROOM, is_room, page_config, parts


@pytest.mark.parametrize("path", ["/doc", "/doc/", "/doc/tree/1_a/1_a.ipynb", "/doc/workspaces/x"])
def test_the_room_is_at_its_own_address_on_a_server_and_on_a_hub(path: str) -> None:
    """A hub puts the person's name in front."""
    assert is_room(path, "/")
    assert is_room(f"/user/doc{path}", "/user/doc/")


@pytest.mark.parametrize("path", ["/lab", "/lab/tree/doc/doc.ipynb", "/docs", "/tree/doc", "/"])
def test_a_person_or_a_folder_of_that_name_is_no_room(path: str) -> None:
    """Only what follows the server's own part of the address counts."""
    assert not is_room(path, "/")
    assert not is_room(f"/user/doc{path}", "/user/doc/")


def told(path: str, config: dict[str, Any]) -> dict[str, Any]:
    """Return what a page at an address is told."""
    handler = SimpleNamespace(request=SimpleNamespace(path=path), base_url="/user/ada/")
    return page_config(handler, config)


def test_what_one_page_is_told_changes_nothing_for_another() -> None:
    """The settings are shared by all pages of a server."""
    shared = {
        "disabledExtensions": ["@jupyter/nbgrader"],
        "federated_extensions": [{"name": "anywidget"}, {"name": "@jupyter/nbgrader"}],
    }
    before = repr(shared)
    room = told("/user/ada/doc/tree/x.ipynb", shared)
    assert room[IN_ROOM] == "yes"
    assert set(room["disabledExtensions"]) >= {*parts(), "@jupyter/nbgrader"}
    assert room["federated_extensions"] == [{"name": "anywidget"}]
    workshop = told("/user/ada/lab/tree/x.ipynb", shared)
    assert IN_ROOM not in workshop
    assert repr(workshop) == repr(shared) == before


def test_each_part_is_named_once() -> None:
    """A part of an extension that is left out whole needs no name of its own."""
    names = parts()
    assert len(set(names)) == len(names)
    whole = {name for name in names if ":" not in name}
    assert not [name for name in names if name.partition(":")[0] in whole - {name}]


def test_what_a_hub_tells_its_pages_is_told_too() -> None:
    """A hub has a hook of its own, set later than ours is loaded: neither replaces the other."""
    from workbook.room.server import furnish

    settings = {"page_config_hook": lambda handler, config: {**config, "hubUser": "ada"}}
    furnish(settings)
    handler = SimpleNamespace(request=SimpleNamespace(path="/user/ada/doc"), base_url="/user/ada/")
    made = settings["page_config_hook"](handler, {})
    assert (made["hubUser"], made[IN_ROOM]) == ("ada", "yes")
