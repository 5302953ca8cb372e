"""The browser's needle against the model: the same hands, the same pressures."""

from __future__ import annotations

import random
from typing import Any

import pytest

from workbook.bench import DIALS, Bench, circuit_at, laws, positions_at, read_hands
from workbook.bench.baby import healthy
from workbook.bench.hands import LONGEST, MOST, Hands
from workbook.bench.laws import CLOSE, FLOOR
from workbook.physics import Circuit, Trace, start, trace_from
from workbook.physics.solver.stepper import STEP
from workbook.physics.solver.ways import PER_SECOND, outflow, upstream
from workbook.widgets import BenchControl
from workbook.widgets.modules import script

FRAME = 1 / 60
WITHIN = 0.001  # of the record's highest pressure
ENDS = {"cap": "capped", "open": "open", "connect": "lung"}
USUAL = {"flow": 16, "pip": 60, "relief": 119, "peep": 118, "leak": 0}

# Plays a record frame by frame. `tables` are there at once; else each comes `late` seconds after it
# was asked for. With `parts` the page joins each setting's tables itself, as a bench does. With
# `behind` a hand's event is heard after the frame that follows it.
PLAY = """({ given, tables, parts, lung, actions, times, late, behind }) => {
  const due = [];
  let now = 0;
  const kernel = new BenchKernel({ on() {} }, null, parts && new BenchJoined(parts));
  const joins = (key, setting) => kernel.ask(key, setting);
  if (parts) given.tables = kernel.begin(given.start, lung);
  const ask = (key) => void due.push({ key, at: now + late });
  const player = new Player({ ...given, ask: parts ? joins : ask });
  if (!late && !parts) for (const [key, laws] of Object.entries(tables)) player.learn(key, laws);
  const [seen, flows] = [[], []];
  let next = 0;
  const hear = (until) => {
    for (; next < actions.length && actions[next][0] <= until; next += 1) {
      const [time, kind, position] = actions[next];
      player.touch(kind, position, time);
    }
  };
  for (now of times) {
    for (; due.length && due[0].at <= now; ) {
      const { key } = due.shift();
      player.learn(key, tables[key]);
    }
    if (!behind) hear(now);
    player.advance(now);
    if (behind) { hear(now); player.advance(now); }
    seen.push(player.view.manometer);
    flows.push(player.view.flows);
  }
  for (const { key } of due) player.learn(key, tables[key]);
  player.advance(now);
  const { state, history } = player;
  const points = history.map(({ time, manometer }) => [time, manometer]);
  return { seen, flows, state: { ...state }, points, end: player.view, record: player.record(now) };
}"""


@pytest.fixture(scope="module")
def page(chromium):
    """Yield a page that has the player, what gives it its tables, and nothing else."""
    page = chromium.new_context().new_page()
    page.add_script_tag(content=script("bench_joined.js", "bench_kernel.js"))
    yield page
    page.context.close()


def hands(seed: int) -> tuple[Bench, Hands]:
    """Return a bench and half a minute of hands at it, every control among them."""
    draw = random.Random(seed)  # noqa: S311  hands, no secret
    lung = healthy(draw.choice([1.0, 2.0, 3.5]), draw.choice([None, 2.5, 3.0]))
    outlet = draw.choice(["capped", "lung", "open"])
    bench = Bench({**USUAL, "pip": draw.randint(30, 90)}, lung, 3.0, outlet)
    kinds = [*DIALS, *ENDS, "occlude", "release", "occlude", "release", "connect"]
    now, rows = 0.0, []
    for kind in draw.choices(kinds, k=40):
        now += draw.uniform(0.02, 0.9)
        if kind in DIALS:
            low, high = max(USUAL[kind] - 20, 4 if kind == "flow" else 0), USUAL[kind] + 30
            rows.append([round(now, 4), kind, draw.randint(low, min(high, DIALS[kind].clicks))])
        else:
            rows.append([round(now, 4), kind])
    head = {"format": "tpiece-hands", "version": 1, "duration": round(now + 1, 4)}
    return bench, read_hands({**head, "actions": rows})


def key(positions: dict[str, int], outlet: str) -> str:
    return "/".join([*(str(positions[dial]) for dial in DIALS), outlet, ""])


def played(page: Any, bench: Bench, run: Hands, **more: Any) -> dict[str, Any]:
    """Return what the page's player shows of a run, frame by frame."""
    outlets, tables = bench.outlet, {}
    for time, kind in [(0.0, ""), *((touch.time, touch.kind) for touch in run.touches)]:
        outlets = ENDS.get(kind, outlets)
        stands = positions_at(bench.positions, run.touches, time)
        tables[key(stands, outlets)] = laws(circuit_at(stands), outlets, bench.lung)
    begin = start(bench.circuit, bench.lung, outlet=bench.outlet)
    given = {
        "start": {"positions": bench.positions, "outlet": bench.outlet, "lung": ""},
        "rest": {"volume": begin.volume, "pressure": begin.pressure_t},
        "tables": tables[key(dict(bench.positions), bench.outlet)],
        "limit": LONGEST, "most": MOST,
    }  # fmt: skip
    shown: dict[str, Any] = {
        "given": given, "tables": tables, "actions": run.to_data()["actions"],
        "times": frames(run), "late": 0, "behind": False, **more,
    }  # fmt: skip
    found: dict[str, Any] = page.evaluate(PLAY, shown)
    return found


def modelled(bench: Bench, run: Hands) -> Trace:
    """Return the model's trace, with short steps: the usual ones miss as much as is allowed."""
    record = bench.record(run)
    begin = start(record.circuit, record.lung, outlet=record.outlet)
    return trace_from(begin, record.lung, record.actions, record.duration, STEP / 4)


def frames(run: Hands) -> list[float]:
    return [n * FRAME for n in range(int(run.duration / FRAME) + 1)]


@pytest.mark.parametrize("seed", range(10))
def test_the_needle_is_the_models_at_every_frame(page, seed):
    """Turns of every control, a leak, the outlet changed: within a thousandth of the peak."""
    bench, run = hands(seed)
    seen = played(page, bench, run)["seen"]
    trace = modelled(bench, run)
    model = trace.at(frames(run))
    allowed = WITHIN * max(trace.manometer)
    worst = max(zip(map(abs, map(float.__sub__, seen, model)), frames(run), strict=True))
    assert worst[0] < allowed, f"{worst[0]:.3f} cmH2O at {worst[1]:.2f} s, {allowed:.3f} allowed"


@pytest.mark.parametrize("seed", range(10))
def test_the_needle_is_the_models_with_tables_the_page_joins_itself(page, seed):
    """As a bench plays: from the laws of the parts, without a word with the kernel."""
    bench, run = hands(seed)
    control = BenchControl("run", "Work.", bench=bench, outlets=list(ENDS.values()))
    seen = played(page, bench, run, parts=control.parts, lung=control.tables)["seen"]
    trace = modelled(bench, run)
    model = trace.at(frames(run))
    allowed = WITHIN * max(trace.manometer)
    worst = max(zip(map(abs, map(float.__sub__, seen, model)), frames(run), strict=True))
    assert worst[0] < allowed, f"{worst[0]:.3f} cmH2O at {worst[1]:.2f} s, {allowed:.3f} allowed"


READ = """([parts, lung, setting, names, pressures]) => {
  const kernel = new BenchKernel({ on() {} }, null, new BenchJoined(parts));
  kernel.keep(setting, lung);
  const made = new PlayLaws(kernel.ask("one", setting));
  const read = (name) => [name, pressures.map((at) => made[name].at(at))];
  const flows = Object.fromEntries(names.map(read));
  return { flows, store: made.store, joined: made.joined };
}"""
PRESSURES = [-5.0, -0.5, 0.0, 0.004, 0.3, *(n * 0.77 for n in range(1, 120))]
LAST = {name: dial.clicks for name, dial in DIALS.items()}


def stands_anywhere(seed: int) -> dict[str, int]:
    """Return positions anywhere on the controls, the ends of each among them."""
    draw = random.Random(seed)  # noqa: S311  settings, no secret
    drawn = {name: draw.randint(0, clicks) for name, clicks in LAST.items()}
    ends = [dict.fromkeys(DIALS, 0), LAST, *({**USUAL, name: 0} for name in DIALS)]
    ends += [{**USUAL, name: clicks} for name, clicks in LAST.items()]
    return ends[seed] if seed < len(ends) else drawn


@pytest.mark.parametrize("outlet", ENDS.values())
def test_the_tables_a_page_joins_are_the_models(page, outlet):
    """Of a hundred settings, the ends of each control among them: each law at any pressure."""
    lung = healthy(2.0)
    control = BenchControl("run", "Work.", bench=Bench(USUAL, lung, 2.0, outlet))
    names = ["limb", "manometer", "relief", "aperture", "covered", "outlet"]
    for seed in range(100):
        positions = stands_anywhere(seed)
        setting = {"positions": positions, "outlet": outlet, "lung": "", "fault": ""}
        given = [control.parts, control.tables, setting, names, PRESSURES]
        found = page.evaluate(READ, given)
        circuit = circuit_at(positions)
        model = laws(circuit, outlet, lung)
        assert (found["store"], found["joined"]) == (model["store"], model["joined"])
        for n, pressure in enumerate(PRESSURES):
            wanted = modelled_at(circuit, outlet, pressure)
            for name, value in wanted.items():
                near = 3 * CLOSE * (FLOOR + circuit.flow * PER_SECOND + abs(value))
                is_now = found["flows"][name][n]
                assert is_now == pytest.approx(value, abs=near), (name, positions, pressure)


def modelled_at(circuit: Circuit, outlet: str, pressure: float) -> dict[str, float]:
    """Return what the model says at a pressure at the T: flows in mL/s, the gauge in cmH2O."""
    capped = None if outlet == "lung" else outlet == "capped"
    limb = upstream(circuit)(pressure)[0]
    manometer = pressure + circuit.limb.drop(limb / PER_SECOND)
    relief = circuit.relief_valve
    open_, leak, _, _ = outflow(circuit, held=False, capped=capped)(pressure)
    return {
        "limb": limb, "manometer": manometer, "aperture": open_, "outlet": leak,
        "relief": PER_SECOND * relief.flow(manometer) if relief else 0.0,
        "covered": outflow(circuit, held=True, capped=capped)(pressure)[0],
    }  # fmt: skip


@pytest.mark.parametrize("seed", range(6))
def test_the_gas_in_the_picture_is_the_models_at_every_frame(page, seed):
    """Into the lung and out at the outlet as in the model's trace; the same gas leaves as comes."""
    bench, run = hands(seed)
    flows, trace = played(page, bench, run)["flows"], modelled(bench, run)
    touched = [0.0, *(touch.time for touch in run.touches)]  # a jump is drawn at the next point
    still = [n for n, at in enumerate(frames(run)) if not any(0 <= at - t < 0.05 for t in touched)]
    assert len(still) > 100
    allowed = 0.02 * max(1.0, *map(abs, trace.flow_patient), *map(abs, trace.flow_leak))
    for name, channel in (("lung", "flow_patient"), ("outlet", "flow_leak")):
        model = trace.at(frames(run), channel)
        worst = max((abs(flows[n][name] - model[n]), frames(run)[n]) for n in still)
        assert worst[0] < allowed, (name, worst, allowed)


@pytest.mark.parametrize("seed", range(6))
def test_each_valve_lets_go_in_the_picture_what_the_models_valve_does(page, seed):
    """At the pressure the needle shows, by the valve's own law; all the supply is accounted for."""
    bench, run = hands(seed)
    found = played(page, bench, run)
    opened = 0
    for at, manometer, flows in zip(frames(run), found["seen"], found["flows"], strict=True):
        circuit = circuit_at(positions_at(bench.positions, run.touches, at))
        supply = circuit.flow * 1000 / 60
        gone = {"pip": circuit.pip_valve, "relief": circuit.relief_valve}
        for name, valve in gone.items():
            model = valve.flow(manometer) * 1000 / 60 if valve else 0.0
            assert flows[name] == pytest.approx(model, abs=0.01 * supply + 0.5), (name, at)
            opened += model > 1
        assert flows["supply"] == pytest.approx(supply)
        assert flows["supply"] == pytest.approx(flows["pip"] + flows["relief"] + flows["limb"])
    assert opened > 20


@pytest.mark.parametrize("seed", range(3))
def test_late_tables_end_where_early_ones_do(page, seed):
    """Whatever the kernel's delay, the player goes back and plays the turn where it was made."""
    bench, run = hands(seed)
    early = played(page, bench, run)
    late = played(page, bench, run, late=1.7)
    assert late["seen"] != early["seen"]
    assert late["end"] == early["end"]
    assert late["state"] == early["state"]
    assert late["points"] == early["points"]
    assert late["record"] == early["record"] | {"duration": late["record"]["duration"]}


@pytest.mark.parametrize("seed", range(3))
def test_an_event_heard_after_the_next_frame_is_played_at_its_own_time(page, seed):
    """A frame may be drawn between a hand and its hearing; the run is the same."""
    bench, run = hands(seed)
    prompt = played(page, bench, run)
    behind = played(page, bench, run, behind=True)
    assert behind["points"] == prompt["points"]
    assert behind["state"] == prompt["state"]


def test_the_record_is_what_the_workbook_reads(page):
    """The player's record of a run is the run."""
    bench, run = hands(1)
    record = read_hands(played(page, bench, run)["record"])
    changed = [touch for touch in record.touches if touch in run.touches]
    assert changed == list(record.touches)
    assert len(record.touches) > 20


def test_a_run_takes_no_more_than_the_record_holds(page):
    """After the last action that fits, or past the last second, nothing more is taken."""
    bench, _ = hands(2)
    begin = start(bench.circuit, bench.lung, outlet=bench.outlet)
    given = {
        "start": {"positions": bench.positions, "outlet": bench.outlet, "lung": ""},
        "rest": {"volume": begin.volume, "pressure": begin.pressure_t},
        "tables": laws(bench.circuit, bench.outlet, bench.lung), "limit": 1, "most": 3,
    }  # fmt: skip
    told = page.evaluate(
        """(given) => {
          const player = new Player(given);
          const taken = ["occlude", "occlude", "release", "occlude", "release"].map(
            (kind, n) => player.touch(kind, undefined, n));
          return { taken, record: player.record(9) };
        }""",
        given,
    )
    assert told["taken"] == [True, False, True, True, False]
    assert [row[0] for row in told["record"]["actions"]] == [0, 1, 1]
    assert told["record"]["duration"] == 1
