"""The note that a team writes on a case: read with suspicion, and held to what happened.

``{"format": "tpiece-note", "version": 1, "begun": 48, "heart-10": "unknown"}``: each entry is a
number, `UNKNOWN`, or `NONE` for what was not done; one that is left out is blank.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from workbook.core.language import N_, _
from workbook.core.quantities import plain
from workbook.rules import RuleBook
from workbook.scenario.acts import NEW_AIRWAYS
from workbook.scenario.again import MASK
from workbook.scenario.changes import DIALLED
from workbook.scenario.looks import MINUTE, Looks, looks
from workbook.scenario.replay import PERCENT, Replay, rest_of

FORMAT, VERSION = "tpiece-note", 1
UNKNOWN, NONE = "unknown", "none"
NOTE_FIELDS: Mapping[str, str] = {
    "times": N_("Times"),
    "pressures": N_("Highest pressures"),
    "oxygen": N_("Highest oxygen"),
    "interface": N_("Interface"),
    "heart": N_("Heart rate"),
}
INTERFACES: Mapping[str, str] = {
    MASK: N_("mask"),
    "laryngeal-mask": N_("laryngeal mask"),
    "tube": N_("tracheal tube"),
    NONE: N_("none was used"),
}
ABSURD = 1000  # beyond it a number is no reading of anything here


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry: its field, its words, its unit, and whether it may say that it was not done."""

    field: str
    text: str
    unit: str
    none: bool = False
    minute: int = 0


ENTRIES: Mapping[str, Entry] = {
    "begun": Entry("times", N_("Ventilation began at"), "s", none=True),
    "moved": Entry("times", N_("The chest first moved at"), "s", none=True),
    "pip": Entry("pressures", N_("Highest PIP"), "cmH2O", none=True),
    "peep": Entry("pressures", N_("Highest PEEP"), "cmH2O", none=True),
    "oxygen": Entry("oxygen", N_("Highest oxygen"), "percent"),
    "interface": Entry("interface", N_("What was on the airway"), ""),
    **{
        f"heart-{m}": Entry("heart", N_("Heart rate at {minute} min"), "1/min", minute=m)
        for m in (1, 5, 10)
    },
}


class NoteError(ValueError):
    """A note that cannot be read; the message is one sentence: what, where, what to do."""


@dataclass(frozen=True, slots=True)
class Note:
    """A note as it was written: numbers by entry, `UNKNOWN` or `NONE`; blank ones are not there."""

    entries: Mapping[str, float | str]

    def to_data(self) -> dict[str, Any]:
        """Return the note as data for JSON."""
        return {"format": FORMAT, "version": VERSION, **self.entries}


def named(id: str) -> str:
    """Return the words of an entry."""
    return _(ENTRIES[id].text).format(minute=ENTRIES[id].minute)


def read_note(data: object) -> Note:
    """Return the note that an answer holds; NoteError with one sentence when it cannot be one."""
    if not isinstance(data, Mapping) or data.get("format") != FORMAT:
        raise NoteError(_("this is no note on a case."))
    if data.get("version") != VERSION:
        raise NoteError(_("this note is of a version that this workbook does not read."))
    given = {str(key): value for key, value in data.items() if key not in ("format", "version")}
    for id in given:
        if id not in ENTRIES:
            says = _("the note has no entry {entry}.")
            raise NoteError(says.format(entry=repr(id[:20])))
    return Note(MappingProxyType({id: _read(id, value) for id, value in given.items()}))


def _read(id: str, value: object) -> float | str:
    entry = ENTRIES[id]
    if id == "interface":
        if isinstance(value, str) and value in (*INTERFACES, UNKNOWN):
            return value
        raise NoteError(_("{entry}: choose one of the interfaces.").format(entry=named(id)))
    if value == UNKNOWN or (value == NONE and entry.none):
        return str(value)
    if type(value) not in (int, float) or value != value:
        says = _("{entry}: type a number, or choose “not known”.")
        raise NoteError(says.format(entry=named(id)))
    if not 0 <= value <= (PERCENT if entry.unit == "percent" else ABSURD):  # type: ignore[operator]
        says = _("{entry}: {given} cannot be. Look at it again.")
        raise NoteError(says.format(entry=named(id), given=str(value)[:20]))
    return float(value)  # type: ignore[arg-type]


# --- what happened


@dataclass(frozen=True, slots=True)
class Line:
    """One entry held to what happened: whether it agrees, and a sentence that says both."""

    field: str
    entry: str
    agrees: bool
    says: str


def happened(made: Replay) -> dict[str, float | str]:
    """Return what a right note says of a replayed case, by entry; `NONE` for what was not done.

    Heart rates are left out: a note says what was looked at (`compared`).
    """
    oxygen = [float(one.what) for one in made.played.done if one.act == "oxygen"]
    tops = [one.top for one in made.inflations if one.top > 0]
    begun = [one.start for one in made.inflations] + [start for start, _end in made.bagged]
    moved = [one.start for one in made.inflations if one.chest == "moves"]
    moved += [start for start, _end in made.bagged]
    return {
        "begun": min(begun, default=NONE),
        "moved": min(moved, default=NONE),
        "pip": max(tops, default=NONE),
        "peep": _highest_peep(made),
        "oxygen": max([made.case.oxygen, *oxygen]),
        "interface": _interface(made),
    }


def _highest_peep(made: Replay) -> float | str:
    """Return the highest PEEP (cmH2O) that the T-piece was set to while it was on a face."""
    at, on, found = dict(made.case.positions), False, list[float]()
    for one in made.played.done:
        if one.act in DIALLED:
            at[one.act] = one.what
        elif one.act in ("connect", "t-piece", "open", "bag"):
            on = one.act in ("connect", "t-piece")
        if on:
            found.append(rest_of(at))
    return max(found, default=NONE)


def _interface(made: Replay) -> str:
    """Return the last way that gas reached the baby by."""
    used = (*NEW_AIRWAYS, "connect", "t-piece", "bag")
    on = [one.act for one in made.played.done if one.act in used]
    new = [act for act in on if act in NEW_AIRWAYS]
    return new[-1] if new else MASK if on else NONE


def compared(note: Note, made: Replay, book: RuleBook) -> tuple[Line, ...]:
    """Return each entry of a note beside what happened, in the order of the fields.

    What nobody looked at is rightly not known; what was to be seen and is not written is missing.
    """
    truth, seen, found = happened(made), looks(made, book), list[Line]()
    most = book["scenario.limit"].value
    for id, entry in ENTRIES.items():
        given = note.entries.get(id)
        if given is None and MINUTE * entry.minute > most:
            continue  # a minute that no case reaches, and that no page asks for
        if entry.minute:
            agrees, was = _of_heart(given, entry.minute, made, seen, book)
        else:
            agrees, was = _agrees(id, given, truth[id], book), told(id, truth[id])
        wrote = told(id, given)
        says = _("{entry}: you wrote {given}. {was}").format(
            entry=named(id), given=wrote, was=_say_so(agrees, wrote, was)
        )
        found.append(Line(entry.field, id, agrees, says))
    return tuple(found)


def _say_so(agrees: bool, given: str, was: str) -> str:
    """Say whether what was written is so: near enough is not the same."""
    says = _("It was: {was}.") if not agrees else _("Near enough; it was: {was}.")
    exact = agrees and (given == was or not given[:1].isdigit())
    return _("That is so.") if exact else says.format(was=was)


def told(id: str, value: float | str | None) -> str:
    """Return what an entry says, in words."""
    if value is None:
        return _("nothing")
    if value == UNKNOWN:
        return _("not known")
    if id == "interface":
        return _(INTERFACES[str(value)])
    if isinstance(value, str):
        return _("that it was not done")
    return plain(round(value), ENTRIES[id].unit)


def _agrees(id: str, given: float | str | None, was: float | str, book: RuleBook) -> bool:
    if isinstance(given, str) or isinstance(was, str) or given is None:
        return given == was
    spare = {
        "times": book["scenario.note.time"].band[1],
        "pressures": book["pip.accept" if id == "pip" else "peep.accept"].value,
    }
    return abs(given - round(was)) <= spare.get(ENTRIES[id].field, 0.0)


def _of_heart(
    given: float | str | None, minute: int, made: Replay, seen: Looks, book: RuleBook
) -> tuple[bool, str]:
    """Say whether a heart rate is one that was seen around a minute, and what was seen."""
    at, near = MINUTE * minute, book["scenario.note.heart"].band[1]
    found = seen.near(at, near)
    if at > made.played.duration:  # left blank, such a minute says the same
        return given in (UNKNOWN, None), _("not known: the case ended before")
    if not found:
        return given == UNKNOWN, _("not known: nobody looked around then")
    spare = book["scenario.note.time"].band[1]
    # Beats that were counted around then tell more than a monitor that lags behind the heart.
    counted = [one for one in found if one.by == "listen" and abs(one.time - at) <= spare]
    closest = min(counted or found, key=lambda one: abs(one.time - at))
    was, apart = plain(round(closest.rate), "1/min"), abs(closest.time - at)
    if isinstance(given, str) or given is None:
        return given == UNKNOWN and apart > spare, was
    # A look of half a minute later is not that minute's where somebody looked nearer to it.
    off, nearest = book["scenario.heart.near"].value, max(apart, spare)
    looked = [one for one in found if abs(one.time - at) <= nearest]
    return any(abs(given - one.rate) <= off for one in looked), was
