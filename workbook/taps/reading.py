"""What a hand tapped: presses and releases read from an answer.

An answer is ``{"format": "tpiece-taps", "version": 1, "duration": 30.0, "events": [[0.8,
"press"], [1.2, "release"], ...]}``: seconds since the counting began, in the order they happened.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeGuard

from workbook.core.errors import PlainError
from workbook.core.language import _, number

FORMAT = "tpiece-taps"
VERSION = 1
KINDS = ("press", "release", "blur")
MOST_EVENTS = 5000
LONGEST = 120.0  # s
LATE = 1.0  # s; what a busy browser may add after the end of the counting


class TapsError(PlainError, ValueError):
    """A record of taps that cannot be read; the message says what is wrong and what to do."""


@dataclass(frozen=True, slots=True)
class Inflation:
    """One press and its release in seconds; ``release`` is None when the counting ended first."""

    press: float
    release: float | None


@dataclass(frozen=True, slots=True)
class Taps:
    """The inflations a hand gave within ``duration`` seconds.

    ``repeats`` are presses without a release between them, as a held key sends; ``strays`` are
    releases without a press. Both are left out. ``blurs`` are the times at which the page lost
    the focus; ``cut`` counts the presses that ended there and are not counted.
    """

    duration: float
    inflations: tuple[Inflation, ...]
    blurs: tuple[float, ...] = ()
    repeats: int = 0
    strays: int = 0
    cut: int = 0
    answered: str = ""
    answered_at: float | None = None

    @property
    def presses(self) -> tuple[float, ...]:
        """Return when each inflation began."""
        return tuple(each.press for each in self.inflations)

    @property
    def says(self) -> str:
        """Return the record in a few words."""
        count = len(self.inflations)
        says = (
            _("{count} inflation in {seconds} seconds") if count == 1
            else _("{count} inflations in {seconds} seconds")
        )  # fmt: skip
        return says.format(count=count, seconds=number(self.duration))


def read_taps(data: Any) -> Taps:
    """Return the taps of an answer; TapsError with one sentence when it cannot be read."""
    if not isinstance(data, Mapping) or data.get("format") != FORMAT:
        raise TapsError(_("This is not a record of taps. Tap again and save."))
    if data.get("version") != VERSION:
        raise TapsError(
            _("This record of taps has a version the workbook does not know. Tap again.")
        )
    duration = data.get("duration")
    if not _is_number(duration) or not 0 < duration <= LONGEST:
        raise TapsError(
            _(
                "A counting lasts from 0 to {most} seconds; this record says {given}. Tap again."
            ).format(most=number(LONGEST), given=_shown(duration))
        )
    events = _events(data.get("events"), float(duration))
    return _paired(float(duration), events, *_answer(data, float(duration)))


def _answer(data: Mapping[str, Any], duration: float) -> tuple[str, float | None]:
    answered, at = data.get("answered"), data.get("answered_at")
    if answered is None or answered == "":
        return "", None
    if not isinstance(answered, str) or len(answered) > 100:
        raise TapsError(_("The choice made while tapping is not one of the choices. Tap again."))
    if at is not None and (not _is_number(at) or not 0 <= at <= duration + LATE):
        raise TapsError(_("The time of the choice lies outside the counting. Tap again."))
    return answered, None if at is None else float(at)


def _events(events: Any, duration: float) -> list[tuple[float, str]]:
    if not isinstance(events, list):
        raise TapsError(_("The record holds no list of taps. Tap again."))
    if len(events) > MOST_EVENTS:
        raise TapsError(
            _(
                "The record has {count} events; a hand makes no more than {most} in "
                "{seconds} seconds. Tap again."
            ).format(count=len(events), most=MOST_EVENTS, seconds=number(LONGEST))
        )
    made: list[tuple[float, str]] = []
    for n, event in enumerate(events, start=1):
        made.append(_event(n, event, made[-1][0] if made else 0.0, duration))
    return made


def _event(n: int, event: Any, before: float, duration: float) -> tuple[float, str]:
    if not isinstance(event, list) or len(event) != 2 or event[1] not in KINDS:
        raise _refused(_("Event {n} is not a time with press, release or blur. Tap again."), n)
    time = event[0]
    if not _is_number(time):
        raise _refused(_("Event {n} has no time in seconds. Tap again."), n)
    if not 0 <= time <= duration + LATE:
        outside = _("Event {n} at {time} s lies outside the counting. Tap again.")
        raise _refused(outside, n, time)
    if time < before:
        early = _("Event {n} at {time} s lies before the event ahead of it. Tap again.")
        raise _refused(early, n, time)
    return float(time), event[1]


def _refused(says: str, n: int, time: Any = 0.0) -> TapsError:
    return TapsError(says.format(n=n, time=_shown(time)))


def _is_number(value: Any) -> TypeGuard[float]:
    return type(value) in (int, float) and abs(value) < float("inf")


def _shown(value: Any) -> str:
    usable = _is_number(value) and abs(value) < 1e9
    return number(value) if usable else _("no usable number")


def _paired(
    duration: float, events: Iterable[tuple[float, str]], answered: str, at: float | None
) -> Taps:
    made: list[Inflation] = []
    blurs: list[float] = []
    repeats = strays = cut = 0
    open_since: float | None = None
    for time, kind in events:
        if kind == "press":
            repeats += open_since is not None
            open_since = time if open_since is None else open_since
            continue
        if kind == "blur":
            blurs.append(time)
            cut += open_since is not None
        elif open_since is None:
            strays += 1
        else:
            made.append(Inflation(open_since, time))
        open_since = None
    if open_since is not None:
        made.append(Inflation(open_since, None))
    return Taps(duration, tuple(made), tuple(blurs), repeats, strays, cut, answered, at)


def steady(
    rate: float, held: float, duration: float, *, start: float = 0.5, answered: str = ""
) -> dict[str, Any]:
    """Return the record of a perfectly steady hand.

    ``rate`` is in inflations a minute; ``held`` (s) is how long each inflation lasts.
    """
    period, events, time = 60 / rate, [], start
    while time + held <= duration:
        events += [[round(time, 4), "press"], [round(time + held, 4), "release"]]
        time += period
    made: dict[str, Any] = {
        "format": FORMAT, "version": VERSION, "duration": duration, "events": events,
    }  # fmt: skip
    if answered:
        made |= {"answered": answered, "answered_at": round(duration / 2, 4)}
    return made
