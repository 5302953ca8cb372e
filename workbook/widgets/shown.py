"""What a question's data says its control shows: a figure, a metronome, a distraction."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

BEATS = ("rate", "occlude_beats", "release_beats")

Shows = Mapping[str, Any]


def figure_of(shows: Shows) -> dict[str, Any]:
    """Return the picture a question is answered from, or nothing."""
    if "strip" in shows:
        return {"kind": "strip", **shows["strip"]}
    if "gauge" in shows:
        return {"kind": "gauge", **shows["gauge"]}
    if "rhythm" in shows:
        return {"kind": "rhythm", "inflations": shows["rhythm"]}
    return dict(shows.get("figure", {}))


def taps_of(shows: Shows) -> dict[str, Any]:
    """Return what a control for tapping is made with."""
    return {
        "duration": shows["duration"],
        "metronome": _metronome(shows),
        "distraction": _distraction(shows.get("distraction") or {}),
    }


def face_of(shows: Shows) -> dict[str, Any]:
    """Return what a face to lay a mask on is made with; ``live`` True tells the whole fit."""
    live = shows.get("live", "")
    return {"face": shows["face"], "live": "fit" if live is True else live or ""}


def _metronome(shows: Shows) -> dict[str, Any]:
    """Return the beats to sound; ``metronome`` holds them, or says that there is one."""
    given = shows.get("metronome") or {}
    if given is True:
        return {name: shows[name] for name in BEATS}
    return dict(given)


def _distraction(given: Shows) -> dict[str, Any]:
    """Return an alarm, or somebody's question, as the page shows it."""
    return {"says": given["asks"], **given} if "asks" in given else dict(given)
