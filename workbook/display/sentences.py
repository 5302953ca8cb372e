"""Sentences with a number in them: what moves with that number, by the model.

A number's range comes from the rules, or from the model's own sourced coefficients; what the
sentence answers, and what the picture beside it plays, come from the model at that very number.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from workbook.bench import DIALS
from workbook.cases.inflation import leaking
from workbook.core.language import number
from workbook.display.cards import shown
from workbook.display.scene import left_by_last_user, with_relief
from workbook.display.studies import Numbers, lung, set_up
from workbook.physics import Circuit, Lung, leak_of, set_peep, set_pip, settled_breath
from workbook.physics import coefficients as c
from workbook.physics.steady import steady_reading
from workbook.rules import RuleBook

FOLLOWS = ("drag", "held", "released", "taken", "left")  # words of a sentence that move
SHARE_STEP = 10  # percent, between two shares of a leak
PACES = 16  # steps between the slowest and the fastest count
COMPLIANCE_STEP = 0.25  # mL/cmH2O, between two lungs
TIGHT, WIDE, HALVINGS = 1000.0, 0.1, 14  # cmH2O/(L/min)^2 of the leaks that are tried


@dataclass(frozen=True, slots=True)
class Standing:
    """What stands at one number: circuit and lung, and the hand's count (s)."""

    circuit: Circuit
    lung: Lung
    period: float
    held: float
    leak_share: float = 0.0  # of 1

    @property
    def positions(self) -> dict[str, float]:
        """Return where the picture's controls stand, in clicks; a mask's leak by its share."""
        pip, relief = self.circuit.pip_valve, self.circuit.relief_valve
        return {
            "flow": DIALS["flow"].nearest(self.circuit.flow),
            "pip": DIALS["pip"].nearest(None if pip is None else pip.opens_at),
            "relief": DIALS["relief"].nearest(None if relief is None else relief.opens_at),
            "peep": DIALS["peep"].nearest(self.circuit.aperture.quadratic),
            "leak": self.leak_share * DIALS["leak"].clicks,
        }


@dataclass(frozen=True, slots=True)
class Moving:
    """A number that can be moved: its unit, its values, where it starts, and what follows it."""

    unit: str
    values: tuple[float, ...]
    start: float
    standing: Callable[[float], Standing]
    answers: Callable[[float], dict[str, str]]

    @property
    def first(self) -> int:
        """Return the place of the value it starts at, or of the nearest."""
        return min(range(len(self.values)), key=lambda n: abs(self.values[n] - self.start))


def _count(book: RuleBook, rate: float | None = None) -> tuple[float, float]:
    """Return the time from one inflation to the next and the time held (s), by the count."""
    occlude, release = (book[f"count.{which}-beats"].value for which in ("occlude", "release"))
    period = book["beat.50"].value * (occlude + release) if rate is None else 60 / rate
    return period, period * occlude / (occlude + release)


def _steps(low: float, high: float, step: float) -> tuple[float, ...]:
    return tuple(low + n * step for n in range(round((high - low) / step) + 1))


def _read(circuit: Circuit) -> dict[str, str]:
    """Return what the gauge shows, the hole covered and open."""
    return {
        "held": shown(steady_reading(circuit, held=True)),
        "released": shown(steady_reading(circuit, held=False)),
    }


def flow(n: Numbers, book: RuleBook) -> Moving:
    """Return the flow, turned after the pressures were set at the usual one."""
    circuit = set_up(n)
    values = _steps(*book["flow.range"].band, DIALS["flow"].step)
    return Moving(
        "L/min", values, n["flow"],
        lambda value: Standing(circuit.at(value), lung(), *_count(book)),
        lambda value: _read(circuit.at(value)),
    )  # fmt: skip


def relief(n: Numbers, book: RuleBook) -> Moving:
    """Return the relief, turned down after PIP was set below a relief that was left high."""
    most = max(rule.band[1] for rule in book.all("relief.limit"))
    circuit = set_up({**n, "relief": most})
    values = _steps(book["pip.drawn"].band[0], most, 1)
    return Moving(
        "cmH2O", values, most,
        lambda value: Standing(with_relief(circuit, value), lung(), *_count(book)),
        lambda value: _read(with_relief(circuit, value)),
    )  # fmt: skip


def peep_first(n: Numbers, book: RuleBook) -> Moving:
    """Return PIP, turned up after PEEP was set with the PIP control turned right down."""
    down = set_peep(left_by_last_user(n["flow"], n["relief"], n["flow"]).circuit, n["peep"])
    left = steady_reading(down, held=True)
    values = (round(2 * left) / 2, *_steps(math.ceil(left), book["pip.drawn"].band[1], 1))

    def at(value: float) -> Circuit:
        return set_pip(down, value) if value > left else down

    return Moving(
        "cmH2O", tuple(sorted(set(values))), left,
        lambda value: Standing(at(value), lung(), *_count(book)),
        lambda value: _read(at(value)),
    )  # fmt: skip


def leak(n: Numbers, book: RuleBook) -> Moving:
    """Return the share of an inflation's gas that leaks at the mask."""
    circuit, count = set_up(n), _count(book)
    most = _leaks(replace(circuit, leak=leak_of(c.SEALS[-1].value)), 60 / count[0])
    values = _steps(0, SHARE_STEP * (most // SHARE_STEP), SHARE_STEP)

    def at(value: float) -> Circuit:
        return _leaking(circuit, 60 / count[0], value) if value else circuit

    def answers(value: float) -> dict[str, str]:
        breath = settled_breath(at(value), lung(), 60 / count[0], count[1])
        taken = f"{number(breath.tidal_volume, '.0f')} mL"
        return {"held": shown(breath.pip), "released": shown(breath.peep), "taken": taken}

    return Moving(
        "percent", values, 0,
        lambda value: Standing(at(value), lung(), *count, leak_share=value / 100),
        answers,
    )  # fmt: skip


def _leaks(circuit: Circuit, rate: float) -> float:
    return leaking(circuit, lung(), rate)[0]


@lru_cache(maxsize=128)
def _leaking(circuit: Circuit, rate: float, share: float) -> Circuit:
    """Return the circuit with a leak that lets this share (percent) of an inflation go."""
    tight, wide = TIGHT, WIDE
    for _ in range(HALVINGS):
        middle = (tight * wide) ** 0.5
        if _leaks(replace(circuit, leak=leak_of(middle)), rate) < share:
            tight = middle
        else:
            wide = middle
    return replace(circuit, leak=leak_of((tight * wide) ** 0.5))


def compliance(n: Numbers, book: RuleBook) -> Moving:
    """Return how much the lung takes up for each cmH2O, between the published test lungs."""
    circuit, count = set_up(n), _count(book)
    values = _steps(c.LUNG_STIFF.value, c.LUNG_SOFT.value, COMPLIANCE_STEP)

    def of(value: float) -> Lung:
        return Lung(value, c.AIRWAY.value)

    def answers(value: float) -> dict[str, str]:
        breath = settled_breath(circuit, of(value), 60 / count[0], count[1])
        return {"taken": f"{number(breath.tidal_volume, '.0f')} mL", "held": shown(breath.pip)}

    return Moving(
        "mL", values, c.LUNG_MIDDLE.value,
        lambda value: Standing(circuit, of(value), *count),
        answers,
    )  # fmt: skip


def rate(n: Numbers, book: RuleBook) -> Moving:
    """Return the pace of inflations of a soft lung."""
    circuit, soft = set_up(n), lung(c.LUNG_SOFT)
    slow, fast = book["trapped.rate"].band
    values = tuple(slow + round(n * (fast - slow) / PACES) for n in range(PACES + 1))

    def answers(value: float) -> dict[str, str]:
        breath = settled_breath(circuit, soft, value, _count(book, value)[1])
        return {
            "taken": f"{number(breath.tidal_volume, '.0f')} mL",
            "left": shown(breath.end_expiratory_alveolar),
            "released": shown(breath.peep),
        }

    return Moving(
        "1/min", values, book["count.rate"].band[0],
        lambda value: Standing(circuit, soft, *_count(book, value)),
        answers,
    )  # fmt: skip


MOVING: Mapping[str, Callable[[Numbers, RuleBook], Moving]] = {
    "flow": flow,
    "relief": relief,
    "peep-first": peep_first,
    "leak": leak,
    "compliance": compliance,
    "rate": rate,
}
