"""The model's own numbers: what each is, how it was got, and how far to trust it.

The valve coefficients belong to one kind of device (five devices in one published bench test);
they are for teaching what a circuit does, never for choosing settings for a patient.
"""

from __future__ import annotations

from dataclasses import dataclass

from workbook.rules import Basis

_BENCH = "fitted on Hawkes 2009, Arch Dis Child Fetal Neonatal Ed 94:F461, abstract"


@dataclass(frozen=True, slots=True)
class Coefficient:
    """A number of the model with its unit, what it is and where it comes from."""

    value: float
    unit: str
    says: str
    source: str
    basis: Basis


PIP_LINEAR = Coefficient(
    0.47, "cmH2O/(L/min)", "rise of PIP with flow, linear part", _BENCH, Basis.COMPUTED
)
PIP_QUADRATIC = Coefficient(
    0.028, "cmH2O/(L/min)^2", "rise of PIP with flow, quadratic part", _BENCH, Basis.COMPUTED
)
RELIEF_LINEAR = Coefficient(
    0.44, "cmH2O/(L/min)", "rise of the relief with flow, linear part", _BENCH, Basis.COMPUTED
)
RELIEF_QUADRATIC = Coefficient(
    0.028, "cmH2O/(L/min)^2", "rise of the relief with flow, quadratic part", _BENCH, Basis.COMPUTED
)
LIMB = Coefficient(0.0375, "cmH2O/(L/min)", "resistance of the limb", _BENCH, Basis.COMPUTED)
PIP_LOWEST = Coefficient(
    2.0, "cmH2O", "where the PIP valve opens with its control turned right down", "an assumption",
    Basis.PRACTICE,
)  # fmt: skip
OPEN_OUTLET = Coefficient(
    0.001, "cmH2O/(L/min)^2", "a mask in the air: almost no resistance", "an assumption",
    Basis.PRACTICE,
)  # fmt: skip
COMPRESSIBLE = Coefficient(
    0.1, "mL/cmH2O", "gas the circuit takes up: 100 mL at one atmosphere", "the gas law",
    Basis.COMPUTED,
)  # fmt: skip
TUBE_LENGTH = Coefficient(
    140.0, "mm", "length of a tracheal tube with its connector", "an assumption", Basis.PRACTICE
)
TUBE_LOSS = Coefficient(
    2.5, "", "velocity heads lost at entrance, bend, connector and exit of a tube",
    "an assumption; two published studies of such tubes disagree", Basis.PRACTICE,
)  # fmt: skip
GAS_VISCOSITY = Coefficient(
    1.85e-5, "Pa*s", "viscosity of air at room temperature", "physical tables", Basis.MEMORY
)
GAS_DENSITY = Coefficient(
    1.18, "kg/m^3", "density of air at room temperature", "physical tables", Basis.MEMORY
)
