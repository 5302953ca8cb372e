"""The bench's ground: controls in clicks, the hands' record, the tables a page plays, the story."""

from __future__ import annotations

from bisect import bisect_right

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.test_setup_bench import runs
from workbook.bench import DIALS, Bench, circuit_at, laws, read_hands
from workbook.bench.baby import healthy
from workbook.bench.laws import CLOSE, FLOOR
from workbook.bench.story import needle, story
from workbook.cases.dials import set_for
from workbook.cases.inflation import leaking
from workbook.physics import Circuit, Lung, Record, Tube, set_peep, set_pip, set_relief
from workbook.physics.solver.ways import outflow, upstream
from workbook.rules import rulebook
from workbook.widgets.bench.words import WORDS

BOOK = rulebook("aha-2020")
START = {"flow": 16, "pip": 50, "relief": 119, "peep": 118, "leak": 0}
FEW = 4  # clicks of the flow; with less the needle takes longer to settle when shut in
BENCH = Bench(START, Lung(1, 40), 3.0, "capped")


@pytest.mark.parametrize("name", DIALS)
def test_each_position_of_a_control_is_the_nearest_to_its_own_value(name):
    """Turning to a value and reading where the control stands agree."""
    dial = DIALS[name]
    assert [dial.nearest(dial.value(n)) for n in range(dial.clicks + 1)] == list(
        range(dial.clicks + 1)
    )


def test_one_click_moves_the_gauge_less_than_the_band_that_counts_as_set():
    """A hand can always stop inside the accepted band, at any flow in use."""
    low, high = BOOK["flow.usual"].band
    for flow in (low, high):
        for peep in BOOK["peep.drawn"].band:
            click = peep * (DIALS["peep"].step - 1)
            assert click < BOOK["peep.accept"].value, flow
    assert DIALS["pip"].step < BOOK["pip.accept"].value


@pytest.mark.parametrize("flow", [5, 8, 10])
def test_controls_set_by_the_gauge_show_what_is_wanted(flow):
    """The positions found for a PIP, PEEP and relief read within the accepted bands."""
    wanted = {"flow": flow, "relief": 40, "pip": 25, "peep": 6}
    bench = Bench(set_for(wanted), Lung(1, 40), 3.0, "capped")
    hands = read_hands(hand([1, "occlude"], [3, "release"], until=5))
    held, released = bench.record(hands).replay().at([2.9, 4.9])
    assert held == pytest.approx(25, abs=BOOK["pip.accept"].value)
    assert released == pytest.approx(6, abs=BOOK["peep.accept"].value)


def hand(*rows, until=10.0):
    return {"format": "tpiece-hands", "version": 1, "duration": until, "actions": list(rows)}


@settings(max_examples=60, deadline=None)
@given(runs())
def test_the_story_reads_what_the_stepper_shows(answer):
    """Off the baby and after a moment's rest, the closed form is the needle to 0.02 cmH2O."""
    hands = read_hands(answer)
    trace = BENCH.record(hands).replay()
    for stretch in story(BENCH, hands):
        slow = stretch.held and stretch.at("flow") < FEW
        if stretch.length > 0.6 and stretch.outlet != "lung" and not slow:
            shown = trace.at([stretch.end - 0.01])[0]
            assert shown == pytest.approx(stretch.reading, abs=0.02, rel=1e-3)


@settings(max_examples=30, deadline=None)
@given(runs(), st.floats(0, 30))
def test_the_little_trace_is_the_replay_around_its_moment(answer, moment):
    """Off the baby the window shows what the whole replay shows, once the gauge has settled."""
    hands = read_hands(answer)
    moment = min(moment, hands.duration)
    stretches = story(BENCH, hands)
    if any(s.outlet == "lung" for s in stretches):
        return
    trace = BENCH.record(hands).replay()
    for time, pressure in needle(BENCH, hands, moment):
        stretch = next(s for s in reversed(stretches) if s.start <= time)
        slow = stretch.held and stretch.at("flow") < FEW  # shut all round it fills slowly
        edge = any(abs(time - s.start) <= 0.01 for s in stretches)  # its times are rounded to this
        if time - stretch.start > 0.6 and not slow and not edge:
            assert pressure == pytest.approx(trace.at([time])[0], abs=0.1, rel=2e-3)


def test_hands_survive_as_data_and_replay_bit_for_bit():
    """Written and read again, the same hands give the same trace to the last bit."""
    hands = read_hands(hand([1, "occlude"], [1.4, "release"], [2, "pip", 70], [3, "connect"]))
    again = read_hands(hands.to_data())
    assert again == hands
    one = BENCH.record(hands)
    two = Record.from_data(Bench.from_data(BENCH.to_data()).record(again).to_data())
    assert one.replay() == two.replay()


def at(table, x):
    xs, ys = table
    i = min(max(bisect_right(xs, x), 1), len(xs) - 1)
    share = (x - xs[i - 1]) / (xs[i] - xs[i - 1])
    return ys[i - 1] + share * (ys[i] - ys[i - 1])


@settings(max_examples=60)
@given(
    st.sampled_from([5, 8, 10, 15]), st.floats(10, 35), st.floats(3, 9), st.floats(0, 80),
    st.sampled_from(["lung", "capped", "open"]),
)  # fmt: skip
def test_the_tables_follow_the_laws(flow, pip, peep, pressure, outlet):
    """Between two points a table misses its law by no more than the share it was made with."""
    circuit = set_peep(set_pip(set_relief(Circuit(flow), 40), pip), peep)
    made = laws(circuit, outlet, Lung(1, 40, Tube(3)))
    capped = {"lung": None, "capped": True, "open": False}[outlet]
    aperture, leak, _, _ = outflow(circuit, held=False, capped=capped)(pressure)
    wanted = {"limb": upstream(circuit)(pressure)[0], "aperture": aperture, "outlet": leak}
    for name, flow_there in wanted.items():
        close = 2 * CLOSE * (FLOOR + abs(flow_there))
        assert at(made[name], pressure) == pytest.approx(flow_there, abs=close)


def test_each_step_of_the_leak_is_named_by_the_share_that_leaks():
    """On a small baby's lung, at both ends of the usual flow, by the model; positions stay."""
    shares = {
        "about two thirds of the gas": (58, 72),
        "about three quarters": (68, 80),
        "almost all of it": (85, 100),
    }
    names = [WORDS[f"bench_leak_{n}"] for n in range(1, DIALS["leak"].clicks + 1)]
    assert names == list(shares)
    for flow in BOOK["flow.usual"].band:
        stands = set_for({"flow": flow, "relief": 30, "pip": 25, "peep": 5})
        for n, (low, high) in enumerate(shares.values(), start=1):
            share, _top, _rest = leaking(circuit_at({**stands, "leak": n}), Lung(1, 40), 50)
            assert low < share < high, (flow, n)


def test_a_healthy_newborn_has_the_published_compliance():
    """3 kg: 2.18 mL/cmH2O by the published line (0.372 a kg and 1.067)."""
    assert healthy(3.0).compliance == pytest.approx(2.18, abs=0.005)
    assert healthy(1.0).compliance == pytest.approx(1.44, abs=0.005)


def test_a_circuit_at_its_first_positions_can_be_played():
    """Every control turned right down is still a circuit."""
    lowest = circuit_at(dict.fromkeys(DIALS, 0))
    assert laws(lowest, "open", Lung(1, 40))["store"] > 0
