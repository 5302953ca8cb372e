"""The model beside published bench rows: what agrees, what was fitted, and what does not agree.

A row that was fitted is no test. A row whose abstract leaves out a setting is conditional: it
says what was assumed. Rows that fail stay in the table.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeVar

from workbook.core.language import N_, _, number
from workbook.physics.breaths import settled_breath
from workbook.physics.closed import PER_LITRE_A_SECOND, aperture_for
from workbook.physics.parts.circuit import Circuit
from workbook.physics.parts.lung import Lung
from workbook.physics.steady import set_peep, set_pip, set_relief, steady_reading, steady_state

Standing = Literal["fitted", "out of sample", "conditional"]
S = TypeVar("S", bound=str)
# id, what, source, unit, published, lowest and highest that agree, model, standing, note
Row = tuple[str, str, str, str, float, float, float, Callable[[], float], S, str]

HAWKES = "Hawkes 2009, Arch Dis Child Fetal Neonatal Ed 94:F461, abstract"
SCHILLEMAN = "Schilleman 2011, Resuscitation 82:920, abstract"
HINDER = "Hinder 2017, doi 10.1136/archdischild-2016-311164, abstract"
LEIDEN = "Front Pediatr 2022, doi 10.3389/fped.2022.817010, abstract"
PROXIMAL = "PLoS One 2013, PMID 23717652, abstract"
SOLEVAG = "Solevåg 2016, doi 10.3389/fped.2016.00129, abstract"


@dataclass(frozen=True, slots=True)
class PublishedRow:
    """One published number, the band that counts as agreement and what a model gives.

    ``standing`` says whether it is a test at all, ``note`` what was assumed or how it was fitted.
    """

    id: str
    says: str
    source: str
    unit: str
    published: float
    low: float
    high: float
    model: float
    standing: str
    note: str

    @property
    def error(self) -> float:
        """Return the model's error in percent of the published number."""
        return 100 * (self.model - self.published) / self.published

    @property
    def apart(self) -> str:
        """Return the error in whole percent with its sign: "+3", "-2", or "0" without one."""
        return f"{self.error:+.0f}" if abs(self.error) >= 0.5 else "0"

    @property
    def agrees(self) -> bool:
        """Return whether the model lies within the band."""
        return self.low <= self.model <= self.high


@dataclass(frozen=True, slots=True)
class BenchRow(PublishedRow):
    """A row of the bench."""

    @property
    def text(self) -> str:
        """Return the row in words."""
        says = _(
            "{what}: published {published} {unit}, model {model} ({error} %), {verdict}; "
            "{standing}. {note} {source}."
        ).format(
            what=_(self.says),
            published=number(self.published),
            unit=self.unit,
            model=number(self.model, ".3g"),
            error=self.apart,
            verdict=_("agrees") if self.agrees else _("does not agree"),
            standing=_(_STANDING[self.standing]),
            note=_(self.note),
            source=self.source,
        )
        return says.replace(" ,", ",")  # a ratio has no unit


_STANDING = {
    "fitted": N_("fitted"),
    "out of sample": N_("out of sample"),
    "conditional": N_("conditional"),
}


def _set(flow: float, relief: float, pip: float, peep: float) -> Circuit:
    return set_peep(set_pip(set_relief(Circuit(flow), relief), pip), peep)


def _flow_turned_up(flow: float, *, held: bool) -> float:
    return steady_reading(_set(5, 30, 20, 5).at(flow), held=held)


def _relief_turned_up() -> float:
    return steady_reading(set_relief(Circuit(5), 30).at(15), held=True)


def _mask_ventilation(flow: float) -> float:
    return settled_breath(_set(5, 40, 30, 5).at(flow), Lung(0.5, 50), 60, 0.4).peep


def _hinder(compliance: float, pip: float) -> tuple[float, float]:
    breath = settled_breath(_set(10, 50, pip, 5), Lung(compliance, 40), 60, 0.5)
    return breath.pip, breath.peep


def _imposed(flow: float) -> float:
    """Return the resistance (cmH2O/(L/s)) a breath meets on a PEEP of 5: aperture and limb."""
    aperture = aperture_for(5, flow)
    return 2 * aperture.quadratic * flow * PER_LITRE_A_SECOND


def _limb_drop() -> float:
    state = steady_state(_set(8, 40, 25, 5), held=False)
    return state.manometer - state.at_t


def _tidal_volume() -> float:
    return settled_breath(_set(8, 40, 20, 5), Lung(2, 40), 50, 0.6).tidal_volume


_SIZE = "PEEP 5 is assumed; the model does not explain the size."
_ABSENT = (
    "Flow, rate and inflation time are not given; 10 L/min, 60 a minute and 0.5 s are assumed."
)
_ROWS: tuple[Row[Standing], ...] = (
    ("peep-15", "PEEP at 15 L/min after setting 5 at 5 L/min", HAWKES, "cmH2O", 20, 18, 22,
     lambda: _flow_turned_up(15, held=False), "out of sample", "No parameter was fitted on it."),
    ("pip-15", "PIP at 15 L/min after setting 20 at 5 L/min", HAWKES, "cmH2O", 28, 26, 30,
     lambda: _flow_turned_up(15, held=True), "fitted", "The PIP valve was fitted on it."),
    ("relief-15", "relief at 15 L/min after setting 30 at 5 L/min", HAWKES, "cmH2O", 40, 37, 43,
     _relief_turned_up, "fitted", "The relief valve was fitted on it."),
    ("peep-85", "PEEP at 85 L/min after setting 5 at 5 L/min", HAWKES, "cmH2O", 71, 51, 91,
     lambda: _flow_turned_up(85, held=False), "fitted", "The valves were fitted on this abstract."),
    ("pip-85", "PIP at 85 L/min after setting 20 at 5 L/min", HAWKES, "cmH2O", 92, 69, 115,
     lambda: _flow_turned_up(85, held=True), "fitted", "The valves were fitted on this abstract."),
    ("mask-peep-5", "PEEP of mask ventilation at 5 L/min, 30/5", SCHILLEMAN, "cmH2O", 4.7, 3.7, 5.7,
     lambda: _mask_ventilation(5), "conditional",
     "Relief 40, a lung of 0.5 mL/cmH2O and 0.4 s are assumed."),
    ("mask-peep-15", "PEEP of mask ventilation at 15 L/min after setting 30/5 at 5 L/min",
     SCHILLEMAN, "cmH2O", 26.4, 23.8, 29.0, lambda: _mask_ventilation(15), "conditional",
     "Relief 40, a lung of 0.5 mL/cmH2O and 0.4 s are assumed."),
    ("pip-c3", "PIP delivered to a lung of 3 mL/cmH2O after setting 40", HINDER, "cmH2O",
     35.3, 32.8, 37.8, lambda: _hinder(3, 40)[0], "conditional", _ABSENT),
    ("peep-c3", "PEEP with a lung of 3 mL/cmH2O after setting 40/5", HINDER, "cmH2O", 8.2, 7.2, 9.2,
     lambda: _hinder(3, 40)[1], "conditional", _ABSENT),
    ("peep-c05", "PEEP with a lung of 0.5 mL/cmH2O after setting 20/5", HINDER, "cmH2O",
     4.9, 3.9, 5.9, lambda: _hinder(0.5, 20)[1], "conditional", _ABSENT),
    ("imposed-ratio", "imposed resistance at 8 over that at 12 L/min", LEIDEN, "", 1.57, 1.4, 1.67,
     lambda: _imposed(8) / _imposed(12), "conditional", "At one PEEP every power law gives 1.5."),
    ("imposed-8", "imposed resistance at 8 L/min", LEIDEN, "cmH2O/(L/s)", 46.4, 42.4, 50.4,
     lambda: _imposed(8), "conditional", _SIZE),
    ("imposed-12", "imposed resistance at 12 L/min", LEIDEN, "cmH2O/(L/s)", 29.6, 25.6, 33.6,
     lambda: _imposed(12), "conditional", _SIZE),
    ("limb", "PEEP at the gauge less PEEP at the baby's end", PROXIMAL, "cmH2O", 0.3, 0.2, 0.4,
     _limb_drop, "fitted", "The limb's resistance was set to it."),
    ("volume-c2", "tidal volume of a lung of 2 mL/cmH2O at 20/5", SOLEVAG, "mL", 30, 27, 33,
     _tidal_volume, "conditional",
     "Near compliance times pressure; 8 L/min, 50 a minute and 0.6 s are assumed."),
)  # fmt: skip


def markdown_table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Return a table's lines for a guide in Markdown."""
    return [f"| {' | '.join(cells)} |" for cells in (columns, ["---"] * len(columns), *rows)]


def bench_rows() -> list[BenchRow]:
    """Return every row, those that fail too, with the model's number worked out afresh."""
    return [
        BenchRow(name, says, source, unit, published, low, high, model(), standing, note)
        for name, says, source, unit, published, low, high, model, standing, note in _ROWS
    ]
