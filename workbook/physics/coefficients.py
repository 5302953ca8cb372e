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
LIMB = Coefficient(
    0.0375, "cmH2O/(L/min)", "resistance of the limb, from PEEP at both its ends at 8 L/min",
    "fitted on PLoS One 2013, PMID 23717652, abstract", Basis.COMPUTED,
)  # fmt: skip
PIP_LOWEST = Coefficient(
    2.0, "cmH2O", "where the PIP valve opens with its control turned right down", "an assumption",
    Basis.ASSUMPTION,
)  # fmt: skip
OPEN_OUTLET = Coefficient(
    0.001, "cmH2O/(L/min)^2", "a mask in the air: almost no resistance", "an assumption",
    Basis.ASSUMPTION,
)  # fmt: skip
COMPRESSIBLE = Coefficient(
    0.1, "mL/cmH2O", "gas the circuit takes up: 100 mL at one atmosphere", "the gas law",
    Basis.COMPUTED,
)  # fmt: skip
TUBE_LENGTH = Coefficient(
    140.0, "mm", "length of a tracheal tube with its connector", "an assumption", Basis.ASSUMPTION
)
TUBE_LOSS = Coefficient(
    2.5, "", "velocity heads lost at entrance, bend, connector and exit of a tube",
    "an assumption; two published studies of such tubes disagree", Basis.ASSUMPTION,
)  # fmt: skip
OPENING_SPREAD = Coefficient(
    2.0, "cmH2O", "over which a lung that opens comes to its full speed: not all of it opens at "
    "one pressure", "an assumption", Basis.ASSUMPTION,
)  # fmt: skip
GAS_VISCOSITY = Coefficient(
    1.85e-5, "Pa*s", "viscosity of air at room temperature", "physical tables", Basis.MEMORY
)
GAS_DENSITY = Coefficient(
    1.18, "kg/m^3", "density of air at room temperature", "physical tables", Basis.MEMORY
)

# How the bench's own controls turn. No device's scale is meant: only the gauge says what they make.
_BENCH_OWN = (
    "an assumption, so that one click moves the gauge less than the band accepted at set-up"
)
FLOW_TOP = Coefficient(
    15.0, "L/min", "the highest mark of the bench's flow meter: the flow to which pressures set at "
    "a lower one were followed. The same study opened the meter wide, far beyond its marks",
    "Hawkes 2009, abstract", Basis.PRIMARY,
)  # fmt: skip
FLOW_CLICK = Coefficient(0.5, "L/min", "one click of the flow", _BENCH_OWN, Basis.ASSUMPTION)
PRESSURE_CLICK = Coefficient(
    0.25, "cmH2O", "one click of the PIP control or the relief", _BENCH_OWN, Basis.ASSUMPTION
)
RELIEF_LOWEST = Coefficient(
    5.0, "cmH2O", "where the relief opens with its control turned right down", "an assumption",
    Basis.ASSUMPTION,
)  # fmt: skip
DIAL_TOP = Coefficient(
    62.0, "cmH2O", "where the PIP valve or the relief opens with its control turned right up",
    "an assumption", Basis.ASSUMPTION,
)  # fmt: skip
APERTURE_WIDE = Coefficient(
    0.004, "cmH2O/(L/min)^2", "the aperture turned wide open", "an assumption", Basis.ASSUMPTION
)
APERTURE_CLICK = Coefficient(
    1.025, "", "each click multiplies the aperture's resistance by this", _BENCH_OWN,
    Basis.ASSUMPTION,
)  # fmt: skip
APERTURE_CLICKS = Coefficient(
    240.0, "", "clicks from wide open to almost shut", "an assumption", Basis.ASSUMPTION
)
GAUGE_TOP = Coefficient(
    80.0, "cmH2O", "the end of the bench's gauge", "an assumption", Basis.ASSUMPTION
)
SEALS = tuple(
    Coefficient(k, "cmH2O/(L/min)^2", f"a leak of {share} at the mask", "an assumption",
                Basis.ASSUMPTION)
    for share, k in (("about two thirds", 0.6), ("about three quarters", 0.3), ("almost all", 0.1))
)  # fmt: skip

_FIRST_HOURS = "compliance of healthy newborns in their first 8 hours, n = 78, abstract"
COMPLIANCE_PER_KG = Coefficient(
    0.372, "mL/cmH2O/kg", "compliance of a healthy newborn, for each kg", _FIRST_HOURS,
    Basis.PRIMARY,
)  # fmt: skip
COMPLIANCE_BASE = Coefficient(
    1.067, "mL/cmH2O", "compliance of a healthy newborn, besides", _FIRST_HOURS, Basis.PRIMARY
)
AIRWAY = Coefficient(
    40.0, "cmH2O/(L/s)", "airway resistance of a newborn without a tube, within a textbook's "
    "20 to 40", "textbooks", Basis.MEMORY,
)  # fmt: skip

# Test lungs of one published bench study, from stiff to soft; the lessons show the same three.
_TEST_LUNGS = "Hinder 2017, doi 10.1136/archdischild-2016-311164, abstract"
LUNG_STIFF = Coefficient(0.5, "mL/cmH2O", "a stiff test lung", _TEST_LUNGS, Basis.PRIMARY)
LUNG_MIDDLE = Coefficient(
    1.0, "mL/cmH2O", "a test lung neither stiff nor soft", _TEST_LUNGS, Basis.PRIMARY
)
LUNG_SOFT = Coefficient(3.0, "mL/cmH2O", "a soft test lung", _TEST_LUNGS, Basis.PRIMARY)

_LESSON = "an assumption, for a lesson"
TURN_TIME = Coefficient(4.0, "s", "how long a hand takes to turn PIP up", _LESSON, Basis.ASSUMPTION)
CYLINDER_WATER = Coefficient(
    1.0, "L", "what a small cylinder would hold of water", _LESSON, Basis.ASSUMPTION
)
CYLINDER_GAUGE = Coefficient(
    4.4, "bar", "the gauge of a cylinder that is nearly empty", _LESSON, Basis.ASSUMPTION
)
CYLINDER_REGULATOR = Coefficient(
    4.0, "bar", "what the regulator holds until the cylinder is below it", _LESSON,
    Basis.ASSUMPTION,
)  # fmt: skip
ATMOSPHERE = Coefficient(1.01325, "bar", "one standard atmosphere", "by definition", Basis.COMPUTED)

# Faults: how large each is drawn. Nobody has measured these for this workbook.
_FAULT = "an assumption, for finding faults"
FAULT_LEAKS = tuple(
    Coefficient(k, "cmH2O/(L/min)^2", says, _FAULT, Basis.ASSUMPTION)
    for k, says in (
        (5.0, "a mask that leaks some"),
        (0.1, "a mask that leaks almost all, and a cap cracked beside the finger"),
    )
)
FAULT_CRACK = Coefficient(
    4.0, "", "a crack under the finger makes the aperture so many times as wide", _FAULT,
    Basis.ASSUMPTION,
)  # fmt: skip
FAULT_NARROW = Coefficient(
    2.0, "cmH2O/(L/min)^2", "an aperture nearly blocked by secretions", _FAULT, Basis.ASSUMPTION
)
FAULT_KINK = Coefficient(1.0, "cmH2O/(L/min)", "a hose kinked in part", _FAULT, Basis.ASSUMPTION)
FAULT_BLOCKED = Coefficient(1e5, "cmH2O/(L/min)", "a hose kinked shut", _FAULT, Basis.ASSUMPTION)
FAULT_RELIEF = Coefficient(20.0, "cmH2O", "a relief that opens too low", _FAULT, Basis.ASSUMPTION)
FAULT_RELIEF_FLOW = Coefficient(
    8.0, "L/min", "the flow at which that relief was set", _FAULT, Basis.ASSUMPTION
)
FAULT_ZERO = Coefficient(3.0, "cmH2O", "a needle off its zero", _FAULT, Basis.ASSUMPTION)
FAULT_STIFF = Coefficient(
    0.5, "", "a lung gone stiff has this share of its compliance", _FAULT, Basis.ASSUMPTION
)
FAULT_AIRWAY = Coefficient(
    1e5, "cmH2O/(L/s)", "an airway blocked by position or by pressing", _FAULT, Basis.ASSUMPTION
)
FAULT_FADING = Coefficient(
    0.375, "", "of the flow that was set, this share comes from a supply nearly empty", _FAULT,
    Basis.ASSUMPTION,
)  # fmt: skip
FAULT_FLOWS = tuple(
    Coefficient(flow, "L/min", says, _FAULT, Basis.ASSUMPTION)
    for flow, says in ((3.0, "a flow set far too low"), (15.0, "a flow set far too high"))
)
FAULT_UNDER = Coefficient(
    5.0, "cmH2O", "a relief set too low limits so far below PIP", _FAULT, Basis.ASSUMPTION
)
FAULT_VENT = Coefficient(
    1e-4, "cmH2O/(L/min)^2", "a connector from which the hose has come off", _FAULT,
    Basis.ASSUMPTION,
)  # fmt: skip
