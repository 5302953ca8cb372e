"""The stepper: exact linear solutions, tight integration, gas balance and what must always hold."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.physics_base import BASE, LUNG, TWO, anything_a_hand_can_do
from tests.physics_reference import integrate, linear_emptying, linear_regimes
from workbook.core.quantities import quantity
from workbook.physics import (
    Action,
    Circuit,
    Effort,
    LimitValve,
    Lung,
    Passage,
    Stiffening,
    Tube,
    advance,
    leak_of,
    set_peep,
    set_pip,
    set_relief,
    settled_breath,
    simulate,
    simulate_many,
    start,
    trace_from,
)
from workbook.physics.closed import orifice_emptying

pytestmark = pytest.mark.slow

HELD = ((0.3, 0.8), (1.5, 2.0))


def linear(flow: float = 8, leak: float | None = None) -> Circuit:
    """Return a circuit of linear parts that takes up no gas."""
    return Circuit(
        flow,
        LimitValve(14.0, 0.75),
        None,
        Passage(0.625),
        limb=Passage(),
        leak=Passage(leak) if leak else None,
        compressible=0.0,
    )


@pytest.mark.parametrize("leak", [None, 4.0])
@pytest.mark.parametrize("lung", [Lung(1, 40), Lung(3, 20), Lung(0.4, 60)])
def test_a_linear_circuit_follows_its_exact_solution(lung, leak):
    """Volume within 2e-4 and pressure within 5e-4 of the exact regimes at the default step."""
    circuit = linear(leak=leak)
    trace = simulate(circuit, lung, TWO, 2.5)
    exact = linear_regimes(circuit, lung, HELD, trace.time[1:])
    most = max(volume for volume, _ in exact)
    for i, (volume, pressure) in enumerate(exact, start=1):
        assert abs(trace.volume[i] - volume) <= 2e-4 * most
        assert abs(trace.pressure_t[i] - pressure) <= 5e-4 * 20


def test_halving_the_step_divides_the_error_by_three_at_least():
    """The method is of second order where no valve turns: a sealed lung emptying."""
    circuit, lung = linear(), Lung(2, 40)
    errors = []
    for step in (0.004, 0.002, 0.001, 0.0005):
        trace = simulate(circuit, lung, (), 0.6, step, start_volume=30)
        exact = linear_emptying(circuit, lung, 30, trace.time)
        errors.append(max(abs(a - b) for a, b in zip(trace.volume, exact, strict=True)))
    assert all(coarse / fine >= 3 for coarse, fine in pairwise(errors)), errors


SCENARIOS = {
    "base": (BASE, LUNG, None),
    "stiff": (BASE, Lung(0.5, 50), None),
    "leak": (replace(BASE, leak=leak_of(0.3)), LUNG, None),
    "leak that opens": (replace(BASE, leak=leak_of(0.2, 12)), LUNG, None),
    "tube": (BASE, Lung(3, 40, Tube(3)), None),
    "narrow tube": (BASE, Lung(1.5, 30, Tube(2)), None),
    "both valves": (set_peep(set_pip(set_relief(Circuit(8), 25), 25), 5), LUNG, None),
    "curved limb": (replace(BASE, limb=Passage(0.03, 0.002)), LUNG, None),
    "stiffening": (BASE, Lung(1, 40, None, Stiffening(0.05, 10)), None),
    "effort": (BASE, LUNG, Effort(6, 50, 0.4)),
    "much gas in the circuit": (replace(BASE, compressible=0.5), LUNG, None),
}


@pytest.mark.parametrize("name", SCENARIOS)
def test_every_scenario_agrees_with_tight_integration(name):
    """Within half a percent everywhere; the volume within 0.1 percent."""
    circuit, lung, effort = SCENARIOS[name]
    times = [n * 0.02 for n in range(126)]
    reference = integrate(
        circuit, lung, TWO, times, effort=effort, method="LSODA", rtol=1e-9, atol=1e-10
    )
    trace = simulate(circuit, lung, TWO, 2.5, effort=effort)
    for row, channel, share in ((0, "pressure_t", 5e-3), (1, "volume", 1e-3)):
        ours, most = trace.at(times, channel), max(abs(reference[row]))
        worst = max(abs(a - b) for a, b in zip(ours, reference[row], strict=True))
        assert worst <= share * most, (channel, worst, most)


@pytest.mark.parametrize("name", SCENARIOS)
def test_no_gas_is_lost_or_made(name):
    """What is supplied is vented, escapes, leaks, fills the lung or is taken up, to 1e-9."""
    circuit, lung, effort = SCENARIOS[name]
    trace = simulate(circuit, lung, TWO, 2.5, effort=effort)
    gas, last = trace.end.gas, trace.end
    kept = circuit.compressible * (last.pressure_t - trace.start.pressure_t)
    assert gas.supplied == pytest.approx(8000 / 60 * 2.5, rel=1e-12)
    assert abs(gas.kept - kept) <= 1e-9 * gas.supplied
    assert abs(gas.to_lung - (last.volume - trace.start.volume)) <= 1e-9 * gas.supplied


def test_emptying_through_a_sharp_aperture_takes_the_exact_time():
    """The closed form of emptying with its logarithm: 18 to 6 cmH2O, within 5e-4 of the time."""
    circuit = Circuit(8, None, None, Passage(quadratic=0.08), limb=Passage(), compressible=0.0)
    trace = simulate(circuit, LUNG, (), 1.5, start_volume=18)
    wanted = orifice_emptying(LUNG, circuit.aperture, 8, 18, 6)
    assert trace.at([wanted], "alveolar")[0] == pytest.approx(6, rel=1e-3)


def test_events_are_met_at_their_exact_times():
    """Each action's time is a point of the trace, to the last bit."""
    odd = (Action(math.pi / 10, "occlude"), Action(0.777777, "release"))
    times = set(simulate(BASE, LUNG, odd, 1.2).time)
    assert {math.pi / 10, 0.777777, 1.2} <= times


def test_the_output_grid_has_no_say():
    """Asking for another grid gives the same values where the grids meet."""
    trace = simulate(BASE, LUNG, TWO, 2.5)
    coarse, fine = trace.every(0.1), trace.every(0.01)
    assert coarse["volume"] == pytest.approx(fine["volume"][::10], rel=1e-9)


def test_between_its_points_a_trace_never_overshoots():
    """A value asked for lies between the two points around it: nothing is drawn that was not."""
    trace = simulate(BASE, LUNG, TWO, 2.5)
    for i, (begin, end) in enumerate(pairwise(trace.time)):
        pair = sorted(trace.manometer[i : i + 2])
        for value in trace.at([begin + (end - begin) * x for x in (0.2, 0.5, 0.8)]):
            assert pair[0] - 1e-9 <= value <= pair[1] + 1e-9


def test_going_on_in_pieces_ends_where_one_run_ends():
    """A live bench advances frame by frame; it ends within the method's accuracy of a replay."""
    state = start(BASE, LUNG)
    for n in range(1, 151):
        state = advance(state, LUNG, TWO, n / 60)
    whole = simulate(BASE, LUNG, TWO, 2.5).end
    assert state.volume == pytest.approx(whole.volume, rel=1e-3)
    assert state.pressure_t == pytest.approx(whole.pressure_t, rel=1e-3)
    assert state.gas.supplied == pytest.approx(whole.gas.supplied, rel=1e-9)


def test_at_rest_nothing_moves():
    """Released and left alone the gauge stays at PEEP."""
    trace = simulate(BASE, LUNG, (), 5)
    assert max(trace.manometer) - min(trace.manometer) < 1e-6
    assert trace.manometer[-1] == pytest.approx(5.3, abs=1e-6)


FLOWS, PEEPS = st.floats(5, 15), st.floats(3, 8)

COMPLIANCES, AIRWAYS = st.floats(0.3, 3), st.floats(10, 80)

QUICK = settings(max_examples=15, deadline=None)


@QUICK
@given(FLOWS, PEEPS, COMPLIANCES, AIRWAYS, st.sampled_from([None, 0.6, 0.2, 0.05]))
def test_pressures_stay_between_nothing_and_the_relief(flow, peep, compliance, airway, k):
    """Without effort nothing at the T is below zero, nothing at the gauge above the relief."""
    circuit = set_peep(set_pip(set_relief(Circuit(flow), 30), 20), peep)
    trace = simulate(
        replace(circuit, leak=leak_of(k) if k else None), Lung(compliance, airway), TWO, 2.5
    )
    assert min(trace.pressure_t) >= -1e-6
    assert max(trace.manometer) <= 20 * (1 + 1e-3)


@QUICK
@given(COMPLIANCES, COMPLIANCES, st.floats(0.2, 0.6), st.floats(0.2, 0.6))
def test_volume_grows_with_compliance_and_inflation_time(one, two, short, long):
    """A softer lung or a longer inflation from rest never takes up less."""
    soft, times = sorted((one, two)), sorted((short, long))

    def volume(compliance: float, time: float) -> float:
        actions = (Action(0, "occlude"), Action(time, "release"))
        trace = simulate(BASE, Lung(compliance, 40), actions, time + 0.1)
        return max(trace.volume) - trace.volume[0]

    assert volume(soft[0], times[0]) <= volume(soft[1], times[0]) + 5e-3
    assert volume(soft[0], times[0]) <= volume(soft[0], times[1]) + 5e-3


@QUICK
@given(st.floats(0.05, 2), st.floats(0.05, 2))
def test_a_larger_leak_never_raises_pip(one, two):
    """PIP falls or stays as the leak grows (its k falls)."""
    large, small = sorted((one, two))
    needles = [
        max(simulate(replace(BASE, leak=leak_of(k)), LUNG, TWO, 1).manometer)
        for k in (large, small)
    ]
    assert needles[0] <= needles[1] + 5e-3


@QUICK
@given(st.floats(0, 60))
def test_the_settled_breath_forgets_where_it_began(volume):
    """The twelfth inflation is the same from an empty and from a full lung."""
    actions = [
        each
        for n in range(12)
        for each in (Action(n * 1.2, "occlude"), Action(n * 1.2 + 0.5, "release"))
    ]
    end = simulate(BASE, LUNG, actions, 14.4, start_volume=volume).end
    assert end.volume == pytest.approx(simulate(BASE, LUNG, actions, 14.4).end.volume, rel=1e-3)


@settings(max_examples=60, deadline=None)
@anything_a_hand_can_do
def test_nothing_a_hand_can_do_breaks_the_stepper(circuit, lung, actions):
    """Extreme lungs, flows and orders of actions still end in finite numbers."""
    trace = simulate(circuit, lung, actions, 1, start_volume=5)
    end = trace.end
    assert math.isfinite(end.volume)
    assert math.isfinite(end.pressure_t)
    assert end.time == 1
    assert len(trace) <= 40_000


@pytest.mark.parametrize(
    "nonsense",
    [
        lambda: simulate(BASE, LUNG, (), -1),
        lambda: simulate(BASE, LUNG, (), math.nan),
        lambda: simulate(BASE, LUNG, (), 1, dt=0),
        lambda: simulate(BASE, LUNG, (), 1, start_volume=-5),
        lambda: simulate(BASE, LUNG, (), quantity(3, "cmH2O")),
        lambda: Lung(0, 40),
        lambda: Lung(1, -1),
        lambda: Tube(0),
        lambda: Effort(5, 0, 0.4),
        lambda: Action(0, "occlude", 3),
        lambda: Action(0, "pip", None, 2),
        lambda: Action(math.inf, "occlude"),
        lambda: settled_breath(BASE, LUNG, 60, 1.5),
        lambda: simulate_many([BASE], [LUNG], [50], []),
        lambda: start(Circuit(8, aperture=Passage(quadratic=1e6)), LUNG),
        lambda: trace_from(advance(start(BASE, LUNG), LUNG, (), 1), LUNG, (), 0.5),
        lambda: simulate(BASE, LUNG, (), 1).at([0.5], "colour"),
        lambda: simulate(replace(BASE, pip_valve=None), LUNG, [Action(0, "pip", 20, 1)], 1),
    ],
)
def test_nonsense_is_refused_in_a_sentence(nonsense):
    """Negative, endless, wrong or impossible values raise ValueError."""
    with pytest.raises(ValueError, match=r"\.$"):
        nonsense()


def test_quantities_are_converted_at_the_border():
    """The same circuit and lung in other units give the same trace."""
    circuit = replace(BASE, flow=quantity(8000 / 60, "mL/s"))
    lung = Lung(quantity(1, "mL") / quantity(98.0665, "mbar") * 100, 40)
    assert circuit.flow == pytest.approx(8)
    assert lung.compliance == pytest.approx(1, rel=1e-9)
    trace = simulate(BASE, LUNG, [Action(quantity(0.01, "min"), "occlude")], quantity(1, "s"))
    assert 0.6 in trace.time
    often, long = quantity(45, "1/min"), quantity(0.01, "min")
    assert settled_breath(BASE, LUNG, often, long) == settled_breath(BASE, LUNG, 45, 0.6)
