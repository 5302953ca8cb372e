"""A lung that opens: against tight integration, its order, what must hold, and who refuses it."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.physics_base import BASE, LUNG, TWO
from tests.physics_reference import integrate, opening_law
from workbook.bench.laws import laws
from workbook.physics import (
    Action,
    Effort,
    Lung,
    Record,
    RecordError,
    Recruitment,
    Tube,
    advance,
    leak_of,
    settled_breath,
    simulate,
    start,
)
from workbook.replays import replay_many

pytestmark = pytest.mark.slow

HALF = Recruitment(0.4, 12, 1.5)
RHYTHM = tuple(
    each
    for n in range(12)
    for each in (Action(n * 1.2, "occlude"), Action(n * 1.2 + 0.4, "release"))
)
SCENARIOS = {
    "half open": (BASE, Lung(1, 40, None, None, HALF), None),
    "opens at once": (BASE, Lung(1.5, 30, None, None, Recruitment(0.2, 8, 0.05)), None),
    "a large part opens fast at a trickle": (
        replace(BASE, flow=5),
        Lung(4, 60, Tube(3), None, Recruitment(0.1, 10, 0.1)),
        None,
    ),
    "with a leak": (replace(BASE, leak=leak_of(0.6)), Lung(0.8, 50, None, None, HALF), None),
    "with effort": (BASE, Lung(1, 40, None, None, HALF), Effort(6, 50, 0.4)),
}


@pytest.mark.parametrize("name", SCENARIOS)
def test_it_agrees_with_tight_integration(name):
    """Pressure within half a percent, volume and open share within 0.1 percent."""
    circuit, lung, effort = SCENARIOS[name]
    times = [n * 0.02 for n in range(126)]
    reference = integrate(
        circuit, lung, TWO, times, effort=effort, make=opening_law,
        more=[lung.recruitment.share], method="LSODA", rtol=1e-9, atol=1e-10, max_step=0.01,
    )  # fmt: skip
    trace = simulate(circuit, lung, TWO, 2.5, effort=effort)
    for row, channel, share in ((0, "pressure_t", 5e-3), (1, "volume", 1e-3)):
        ours, most = trace.at(times, channel), max(abs(reference[row]))
        worst = max(abs(a - b) for a, b in zip(ours, reference[row], strict=True))
        assert worst <= share * most, (channel, worst, most)
    assert trace.end.open_share == pytest.approx(reference[2][-1], rel=1e-3)
    assert trace.end.open_share > lung.recruitment.share


def test_halving_the_step_divides_the_error_by_three_at_least():
    """Of second order: a full lung that opens far above its opening pressure."""
    lung, ends = Lung(2, 40, None, None, Recruitment(0.5, 1, 0.5)), []
    for step in (0.008, 0.004, 0.002, 0.001, 0.0001):
        end = simulate(BASE, lung, [Action(0, "occlude")], 0.4, step, start_volume=15).end
        ends.append(end.open_share)
    errors = [abs(each - ends[-1]) for each in ends[:-1]]
    assert all(coarse / fine >= 3 for coarse, fine in pairwise(errors)), errors


def test_a_lung_wholly_open_is_one_that_does_not_open():
    """With all of it open nothing is different, to the accuracy of the method."""
    plain = simulate(BASE, LUNG, TWO, 2.5)
    whole = simulate(BASE, replace(LUNG, recruitment=Recruitment(1, 12, 1)), TWO, 2.5)
    assert whole.end.volume == pytest.approx(plain.end.volume, rel=1e-6)
    assert whole.end.open_share == 1


def test_below_its_opening_pressure_it_stays_a_stiff_lung():
    """Recoil that never comes near the opening pressure opens nothing."""
    shut = Lung(1, 40, None, None, Recruitment(0.4, 25, 1))
    trace = simulate(BASE, shut, TWO, 2.5)
    assert trace.end.open_share == 0.4
    stiff = simulate(BASE, Lung(0.4, 40), TWO, 2.5)
    assert trace.end.volume == pytest.approx(stiff.end.volume, rel=1e-6)


@settings(max_examples=15, deadline=None)
@given(st.floats(0.05, 0.9), st.floats(2, 18), st.floats(0.02, 5), st.floats(0.3, 4))
def test_it_only_ever_opens_and_takes_more_at_the_same_pressure(share, above, over, compliance):
    """The share never falls nor passes 1; a later inflation takes up no less than an earlier."""
    lung = Lung(compliance, 40, None, None, Recruitment(share, above, over))
    state, shares, taken = start(BASE, lung), [share], []
    for n in range(0, len(RHYTHM), 2):
        top = advance(state, lung, RHYTHM, RHYTHM[n + 1].time)
        taken.append(top.volume)
        state = advance(top, lung, RHYTHM, RHYTHM[n].time + 1.2)
        shares += [top.open_share, state.open_share]
    assert all(share <= one <= two <= 1 for one, two in pairwise(shares))
    assert all(two >= one - 0.02 for one, two in pairwise(taken))


def test_the_breath_that_repeats_itself_is_that_of_what_has_opened():
    """Above its opening pressure a lung goes on opening until all of it is open."""
    lung = Lung(1, 40, None, None, Recruitment(0.4, 8, 1))
    opened, whole = (settled_breath(BASE, each, 50, 0.4) for each in (lung, LUNG))
    assert opened.tidal_volume == pytest.approx(whole.tidal_volume, rel=5e-3)


def test_a_record_keeps_it_and_replays_bit_for_bit():
    """Written and read back, the same trace; nonsense is refused with its place."""
    record = Record(BASE, SCENARIOS["half open"][1], 2.5, TWO)
    data = json.loads(json.dumps(record.to_data()))
    assert Record.from_data(data).replay() == record.replay()
    data["lung"]["recruitment"]["share"] = 0
    with pytest.raises(RecordError, match=r"In lung\.recruitment: The open share"):
        Record.from_data(data)


def test_what_cannot_play_it_says_so():
    """A page's tables and the many replays hold no law of opening."""
    lung = SCENARIOS["half open"][1]
    with pytest.raises(ValueError, match="simulate it instead"):
        laws(BASE, "lung", lung)
    with pytest.raises(ValueError, match="on its own"):
        replay_many([Record(BASE, lung, 1)])
