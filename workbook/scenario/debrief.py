"""What a learner says of a case before any finding shows: kept, never marked, read with suspicion.

``{"format": "tpiece-debrief", "version": 1, "at": 65, "act": "reposition", "well": "..."}``: the
second (s after birth) from which to act otherwise, by which act, and one line on what went well.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from workbook.core.language import N_, _, number
from workbook.scenario.acts import ACTS

FORMAT, VERSION = "tpiece-debrief", 1
SAME = "same"  # nothing would be done otherwise
SAME_SAYS = N_("Nothing: I would do the same again")
LONGEST = 200  # letters of the line
KEYS = {"format", "version", "at", "act", "well"}
LEFT_OUT = ("release", "compress-stop", "t-piece")  # ends of something, no act to choose


class DebriefError(ValueError):
    """A debrief that cannot be read; the message is one sentence: what, where, what to do."""


@dataclass(frozen=True, slots=True)
class Said:
    """What a learner said; a part that is not said yet is None or empty."""

    at: float | None = None
    act: str = ""
    well: str = ""

    @property
    def whole(self) -> bool:
        """Say whether all three are there; who would do the same again need choose no second."""
        return bool(self.act and self.well.strip()) and (self.at is not None or self.act == SAME)

    def to_data(self) -> dict[str, Any]:
        """Return the same as data for JSON."""
        return {
            "format": FORMAT, "version": VERSION, "at": self.at, "act": self.act, "well": self.well,
        }  # fmt: skip


def choices() -> list[dict[str, str]]:
    """Return the acts to choose from, by their words, and last that nothing would differ."""
    acts = [{"id": id, "text": _(act.text)} for id, act in ACTS.items() if id not in LEFT_OUT]
    acts.sort(key=lambda each: each["text"])
    return [*acts, {"id": SAME, "text": _(SAME_SAYS)}]


def read_debrief(data: object, end: float) -> Said:
    """Return what a learner said of a case that went to ``end`` (s); DebriefError else."""
    if not isinstance(data, Mapping) or data.get("format") != FORMAT:
        raise DebriefError(_("this is no debrief of a case."))
    if data.get("version") != VERSION:
        raise DebriefError(_("this debrief is of a version that this workbook does not read."))
    strange = sorted(str(key) for key in set(data) - KEYS)
    if strange:
        says = _("in the debrief {key} is not known.")
        raise DebriefError(says.format(key=repr(strange[0][:20])))
    return Said(_at(data.get("at"), end), _act(data.get("act")), _well(data.get("well")))


def _at(value: object, end: float) -> float | None:
    if value is None:
        return None
    if type(value) in (int, float) and 0 <= value <= end:  # type: ignore[operator]
        return float(value)  # type: ignore[arg-type]
    raise DebriefError(
        _("the second lies outside the case: choose one from 0 to {end} s.").format(
            end=number(round(end))
        )
    )


def _act(value: object) -> str:
    if value in ("", None) or (isinstance(value, str) and value in (*ACTS, SAME)):
        return str(value or "")
    raise DebriefError(_("what you would do is none of the acts: choose one of the list."))


def _well(value: object) -> str:
    if value is None:
        return ""
    if not isinstance(value, str):
        raise DebriefError(_("what went well is no text: type a line."))
    if len(value) > LONGEST:
        says = _("what went well has {count} letters: keep it to {most}.")
        raise DebriefError(says.format(count=len(value), most=LONGEST))
    return value
