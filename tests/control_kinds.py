"""Every kind of control: what it asks for, and answers that bring to light what it has to say.

A new control is one row here; what works through pages asks this table and knows none by name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from workbook.bench.sketch import answer as drawn
from workbook.cases import Kind
from workbook.face.fit import answer as laid
from workbook.face.fit import best_place
from workbook.face.mask import Face as Drawn
from workbook.taps.reading import steady
from workbook.widgets import (
    BenchControl,
    Choice,
    Control,
    Face,
    Number,
    Sequence,
    Sketch,
    Taps,
    TrialControl,
)
from workbook.widgets.case import CaseControl
from workbook.widgets.note import NoteControl

NUMBERS = ("1,5", "12.5", "30")
RUNS = [
    {"format": "tpiece-hands", "version": 1, "duration": 20.0, "actions": actions}
    for actions in (
        [[1.0, "occlude"], [6.0, "release"]],
        [[1.0, "occlude"], [6.0, "pip", 90], [12.0, "release"]],
    )
]
TRIALS = [
    {"format": "tpiece-trial", "version": 1, "duration": 40_000, "moves": moves}
    for moves in (
        [[1_000, "call"], [9_000, "name", "no-gas"], [9_000, "sure", "guess"], [9_000, "mend"]],
        [[1_000, "bag"], [9_000, "name", "unknown"], [9_000, "sure", "sure"]],
    )
]


BIRTHS = (
    [[1_000, "dry"], [20_000, "connect"], [24_000, "occlude"], [25_000, "release"]],
    [[1_000, "call"], [9_000, "say", "heart-please"]],
)


@dataclass(frozen=True)
class ControlKind:
    """One kind of control, the kind of question it answers, and answers to it."""

    control: type[Control]
    kind: Callable[[Any], Kind]
    answers: Callable[[Any], Iterator[Any]]


def _choices(control: Choice) -> Iterator[Any]:
    options = [option["id"] for option in control.options]
    yield from ([[option] for option in options] if control.many else options)


def _numbers(control: Number) -> Iterator[Any]:
    yield from ({"text": text, "unit": unit} for unit in control.units for text in NUMBERS)


def _orders(control: Sequence) -> Iterator[Any]:
    yield from (list(control.start), list(reversed(control.start)))


def _taps(control: Taps) -> Iterator[Any]:
    for rate, held in ((40, 0.4), (90, 0.2), (20, 2.0)):
        yield steady(rate, held, control.duration)


def _masks(control: Face) -> Iterator[Any]:
    length, sizes = control.face["length"], control.face["masks"]
    yield from (laid(best_place(Drawn(length), size)) for size in (sizes[0], sizes[-1]))


def _sketches(control: Sketch) -> Iterator[Any]:
    yield from (drawn(list(control.sketch["first"])), drawn([0.0] * len(control.sketch["times"])))


def _births(control: CaseControl) -> Iterator[Any]:
    head = {"format": "tpiece-scenario", "version": 1, "case": control.told["case"]}
    yield from ({**head, "duration": 40_000, "ended": "whole", "acts": rows} for rows in BIRTHS)


def _notes(control: NoteControl) -> Iterator[Any]:
    yield from (
        {**control.head, "begun": 48, "heart-1": "unknown"},
        {**control.head, "pip": "none"},
    )


KINDS = (
    ControlKind(Choice, lambda asked: Kind.CHOICES if asked.many else Kind.CHOICE, _choices),
    ControlKind(Number, lambda asked: Kind.NUMBER, _numbers),
    ControlKind(Sequence, lambda asked: Kind.SEQUENCE, _orders),
    ControlKind(Taps, lambda asked: Kind.TAPS, _taps),
    ControlKind(Face, lambda asked: Kind.FACE, _masks),
    ControlKind(Sketch, lambda asked: Kind.SKETCH, _sketches),
    ControlKind(TrialControl, lambda asked: Kind.TRIAL, lambda asked: iter(TRIALS)),
    ControlKind(CaseControl, lambda asked: Kind.CASE, _births),
    ControlKind(NoteControl, lambda asked: Kind.NOTE, _notes),
    # Last: a trial and a case are benches, too.
    ControlKind(BenchControl, lambda asked: Kind.BENCH, lambda asked: iter(RUNS)),
)


def _of(control: Control) -> ControlKind:
    return next(each for each in KINDS if isinstance(control, each.control))


def kind_of(control: Control) -> Kind:
    """Return the kind of question that a control answers."""
    return _of(control).kind(control)


def values(control: Control) -> Iterator[Any]:
    """Return answers that bring to light what a control has to say."""
    return _of(control).answers(control)
