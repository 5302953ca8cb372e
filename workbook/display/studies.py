"""What the model shows of one phenomenon: words for a lesson, rows of a table, a picture's lines.

Numbers come from the rules (``numbers``, in the units a lesson's table of numbers gives) and from
the model's own coefficients; each study is worked out when it is first looked at.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from workbook.core.language import N_, _, number
from workbook.core.quantities import plain
from workbook.display.cards import Reading, shown
from workbook.display.curves import Line, Panel, Point
from workbook.physics import (
    Action,
    Circuit,
    Lung,
    Trace,
    Tube,
    leak_of,
    set_peep,
    set_pip,
    set_relief,
    settled_breath,
    simulate,
    steady_reading,
)
from workbook.physics import coefficients as c
from workbook.physics.parts.supply import Cylinder
from workbook.rules import Basis
from workbook.rules.files import file

Numbers = Mapping[str, float]
GRID = 0.02  # s, between two points of a curve
FULL = 0.63  # one time constant of a filling: one less 1/e
SEALED = N_("The mask seals.")
# A leak that hardly moves the needle: at the lessons' numbers it stays within one of PIP.
SLIGHT = c.Coefficient(
    10.0, "cmH2O/(L/min)^2", "a leak behind a needle that looks full", "an assumption",
    Basis.ASSUMPTION,
)  # fmt: skip
SEALS = (None, SLIGHT.value, *(seal.value for seal in c.SEALS))
GAUGE, LUNG_PRESSURE = N_("Gauge, cmH2O"), N_("Pressure in the lung, cmH2O")
VOLUME, SECONDS = N_("Volume in the lung, mL"), N_("time in seconds")


@dataclass(frozen=True, slots=True)
class Study:
    """What came out: ``words`` to fill in, ``rows`` of readings, ``panels`` of a picture."""

    words: Mapping[str, str]
    along: str = ""
    panels: Sequence[Panel] = ()
    rows: Sequence[Reading] = field(default_factory=tuple)


def set_up(n: Numbers, pip: str = "pip") -> Circuit:
    """Return the circuit set in the right order, at the lesson's numbers."""
    limited = set_relief(Circuit(n["flow"]), n["relief"])
    return set_peep(set_pip(limited, n[pip]), n["peep"])


def lung(compliance: c.Coefficient = c.LUNG_MIDDLE, tube: float | None = None) -> Lung:
    """Return one of the lessons' lungs, perhaps behind a tube (mm)."""
    return Lung(compliance.value, c.AIRWAY.value, None if tube is None else Tube(tube))


def in_rhythm(n: Numbers, until: float, period: float) -> list[Action]:
    """Return inflations in three beats, one occluded, from the first period on."""
    held = period * n["occlude_beats"] / (n["occlude_beats"] + n["release_beats"])
    made: list[Action] = []
    for start in (period * (k + 0.5) for k in range(int(until / period))):
        made += [Action(start, "occlude"), Action(start + held, "release")]
    return made


def breath_time(n: Numbers) -> float:
    """Return how long one breath of the count lasts (s)."""
    return n["beat"] * (n["occlude_beats"] + n["release_beats"])


def _lines(named: Mapping[str, Trace], channel: str, grid: float = GRID) -> list[Line]:
    made = []
    for label, trace in named.items():
        columns = trace.every(grid)
        made.append(Line(label, columns["time"], columns[channel]))
    return made


def fall(n: Numbers) -> Study:
    """Two inflations: the needle falls to PEEP, and the lung keeps what PEEP holds in it."""
    period, circuit, inside = breath_time(n), set_up(n), lung()
    trace = simulate(circuit, inside, in_rhythm(n, 2 * period, period), 2.5 * period)
    kept, most = trace.volume[0], max(trace.volume)
    words = {
        "released": shown(steady_reading(circuit, held=False)),
        "held": shown(max(trace.manometer)),
        "kept": f"{number(kept, '.0f')} mL",
        "taken": f"{number(most - kept, '.0f')} mL",
    }
    panels = [
        Panel(_(GAUGE), _lines({_("gauge"): trace}, "manometer")),
        Panel(_(VOLUME), _lines({_("volume"): trace}, "volume")),
    ]
    return Study(words, _(SECONDS), panels)


def flow(n: Numbers) -> Study:
    """PIP and PEEP by flow, every control left alone, with the published points."""
    before = {"flow": n["flow_before"], "relief": n["relief_before"], "pip": n["pip_before"],
              "peep": n["peep_before"]}  # fmt: skip
    circuit, most = set_up(before), n["flow_after"]
    flows = [most * k / 60 for k in range(1, 61)]
    lines = [
        Line(
            _("{name}, model").format(name=name),
            flows,
            [steady_reading(circuit.at(q), held=held) for q in flows],
        )
        for name, held in (("PIP", True), ("PEEP", False))
    ]
    points = [
        Point(
            _("{name}, published").format(name=name),
            most,
            *(n[f"{key}_after{end}"] for end in ("", "_low", "_high")),
        )
        for name, key in (("PIP", "pip"), ("PEEP", "peep"))
    ]
    return Study({}, _("flow in L/min"), [Panel(_(GAUGE), lines, points)])


def hold(n: Numbers) -> Study:
    """PIP turned up with the aperture held, and turned up while the rhythm goes on."""
    circuit, turn, period = set_up(n, "pip_from"), c.TURN_TIME.value, breath_time(n)
    start, until = period / 2, turn + 3 * period
    end = start + n["beat"] + turn
    turned = Action(start + n["beat"], "pip", _opens_at(circuit, n["pip_to"]), turn)
    held = [Action(start, "occlude"), turned, Action(end, "release")]
    beat = sorted([*in_rhythm(n, until, period), turned], key=lambda each: each.time)
    shut, beaten = _("held"), _("in rhythm")
    traces = {name: simulate(circuit, lung(), done, until)
              for name, done in ((shut, held), (beaten, beat))}  # fmt: skip
    means = {name: t.integral("alveolar", start, end) / (end - start) for name, t in traces.items()}
    words = {
        "long": plain(round(end - start, 1), "s"),
        "short": plain(n["beat"] * n["occlude_beats"], "s"),
        "mean_held": shown(means[shut]),
        "mean_rhythm": shown(means[beaten]),
    }
    says = _("{how}: gauge, cmH2O")
    panels = [
        Panel(says.format(how=name[:1].upper() + name[1:]), _lines({name: trace}, "manometer"))
        for name, trace in traces.items()
    ]
    return Study(words, _(SECONDS), panels)


def _opens_at(circuit: Circuit, reading: float) -> float:
    valve = set_pip(circuit, reading).pip_valve
    return 0.0 if valve is None else valve.opens_at


def leak(n: Numbers) -> Study:
    """Seals from good to poor: what the needle still reaches, and what the lung still takes."""
    circuit, held = set_up(n), n["beat"] * n["occlude_beats"]
    made = [circuit if k is None else replace(circuit, leak=leak_of(k)) for k in SEALS]
    breaths = [settled_breath(each, lung(), 60 / breath_time(n), held) for each in made]
    shares = [plain(5 * round(breath.leak_percent / 5), "percent") for breath in breaths]
    rows = []
    for k, breath, share in zip(SEALS, breaths, shares, strict=True):
        leaks = _("{share} of the gas of an inflation leaks.").format(share=share)
        says = _(SEALED) if k is None else leaks
        rows.append(Reading(says, says, breath.pip, breath.peep))
    taken = [f"{number(breath.tidal_volume, '.0f')} mL" for breath in breaths]
    words = {
        "slight_held": shown(rows[1].held), "slight_share": shares[1],
        "held": shown(rows[2].held), "released": shown(rows[2].released), "share": shares[2],
        "sealed": taken[0], "taken": taken[2],
        "poor": shown(rows[-1].held), "poor_taken": taken[-1],
    }  # fmt: skip
    return Study(words, rows=tuple(rows))


LUNGS = {"stiff": c.LUNG_STIFF, "middle": c.LUNG_MIDDLE, "soft": c.LUNG_SOFT}
LUNG_NAMES = {"stiff": N_("stiff lung"), "middle": N_("middle lung"), "soft": N_("soft lung")}


def lungs(n: Numbers) -> Study:
    """The same settings on three lungs: what each takes up, and what the gauge shows."""
    circuit, period = set_up(n), breath_time(n)
    held = n["beat"] * n["occlude_beats"]
    breaths = {name: settled_breath(circuit, lung(each), 60 / period, held)
               for name, each in LUNGS.items()}  # fmt: skip
    done = in_rhythm(n, period, period)
    traces = {_(LUNG_NAMES[name]): simulate(circuit, lung(each), done, 1.5 * period)
              for name, each in LUNGS.items()}  # fmt: skip
    words = {
        f"{name}_taken": f"{number(breath.tidal_volume, '.0f')} mL"
        for name, breath in breaths.items()
    }
    words |= {f"{name}_pip": shown(breath.pip) for name, breath in breaths.items()}
    panels = [
        Panel(_(GAUGE), _lines(traces, "manometer")),
        Panel(_(VOLUME), _lines(traces, "volume")),
    ]
    return Study(words, _(SECONDS), panels)


def rate(n: Numbers) -> Study:
    """A soft lung at a slow and at a fast count: what stays in it at the end of expiration."""
    circuit, share, until = set_up(n), n["occlude_beats"], 2.2 * breath_time(n)
    share /= n["occlude_beats"] + n["release_beats"]
    words: dict[str, str] = {}
    traces: dict[str, Trace] = {}
    for name in ("slow", "fast"):
        often = n[f"rate_{name}"]
        breath = settled_breath(circuit, lung(c.LUNG_SOFT), often, share * 60 / often)
        words |= {
            f"{name}_rest": shown(breath.end_expiratory_alveolar),
            f"{name}_taken": f"{number(breath.tidal_volume, '.0f')} mL",
            f"{name}_gauge": shown(breath.peep),
        }
        done = in_rhythm(n, 2 * until, 60 / often)
        traces[plain(often, "1/min")] = simulate(circuit, lung(c.LUNG_SOFT), done, 2 * until)
    top = 1.1 * max(max(trace.alveolar) for trace in traces.values())
    panels = [
        Panel(_(LUNG_PRESSURE), _lines({name: trace}, "alveolar"), top=top)
        for name, trace in traces.items()
    ]
    return Study(words, _(SECONDS), panels)


def tube_sizes() -> list[float]:
    """Return the inside diameters (mm) the sizes by weight name, the widest first."""
    named = {r.value for r in file("sizes") if r.id == "tube.weight" and r.low == r.high}
    return sorted(named, reverse=True)


def tube(n: Numbers) -> Study:
    """One inflation by mask and by tubes: how fast the lung fills."""
    circuit, until = set_up(n), n["beat"]
    mask = _("mask")
    full = [(mask, None), *((plain(size, "mm"), size) for size in tube_sizes())]
    traces = {name: simulate(circuit, lung(tube=size), [Action(0.0, "occlude")], until)
              for name, size in full}  # fmt: skip
    times = {name: _filled(trace, n) for name, trace in traces.items()}
    names = list(times)
    words = {
        "wide": names[1], "narrow": names[-1], "mask_time": f"{number(times[mask], '.2f')} s",
        "wide_time": f"{number(times[names[1]], '.2f')} s",
        "narrow_time": f"{number(times[names[-1]], '.2f')} s",
    }  # fmt: skip
    ends = {name: traces[name] for name in (names[0], names[1], names[-1])}
    panels = [
        Panel(axis, _lines(ends, channel, GRID / 5))
        for axis, channel in ((_(GAUGE), "manometer"), (_(VOLUME), "volume"))
    ]
    return Study(words, _(SECONDS), panels)


def _filled(trace: Trace, n: Numbers) -> float:
    """Return when (s) the lung has taken up the share of one time constant."""
    begin = trace.volume[0]
    goal = begin + FULL * (c.LUNG_MIDDLE.value * n["pip"] - begin)
    return next(t for t, v in zip(trace.time, trace.volume, strict=True) if v >= goal)


def cylinder(n: Numbers) -> Study:
    """A cylinder that runs out: PIP and PEEP as the flow fades."""
    circuit, gas = set_up(n), Cylinder()
    steady, fades = gas.steady_for(n["flow"]), gas.fades_with(n["flow"])
    until = steady + fades
    times = [until * 1.5 * k / 60 for k in range(61)]
    faded = [circuit.at(gas.flow(n["flow"], t)) for t in times]
    lines = [Line(name, times, [steady_reading(each, held=held) for each in faded])
             for name, held in (("PIP", True), ("PEEP", False))]  # fmt: skip
    late = circuit.at(gas.flow(n["flow"], until))
    words = {
        "seconds": plain(round(until), "s"),
        "held": shown(steady_reading(late, held=True)),
        "released": shown(steady_reading(late, held=False)),
        "steady": plain(round(steady), "s"),
        "flow_late": plain(round(late.flow, 1), "L/min"),
    }
    return Study(words, _(SECONDS), [Panel(_(GAUGE), lines)])


STUDIES: Mapping[str, Callable[[Numbers], Study]] = {
    "fall": fall,
    "flow": flow,
    "hold": hold,
    "leak": leak,
    "lungs": lungs,
    "rate": rate,
    "tube": tube,
    "cylinder": cylinder,
}
