"""What the model shows of raising PIP on a stiff lung: held shut, and while the count goes on."""

from __future__ import annotations

from workbook.cards import Reading, shown
from workbook.cases import leaks
from workbook.curves import Line, Panel
from workbook.language import _
from workbook.physics import Action, Trace, set_pip, simulate
from workbook.physics import coefficients as c
from workbook.studies import GRID, SECONDS, Numbers, Study, lung, set_up
from workbook.units import plain


def raised(n: Numbers) -> Study:
    """PIP turned up on a stiff lung in two ways: the pressure inside the lung meanwhile."""
    circuit, turn, beat = set_up(n, "pip_from"), c.TURN_TIME.value, n["beat"]
    period = beat * (n["occlude_beats"] + n["release_beats"])
    start, begin = period / 2, period / 2 + beat
    valve = set_pip(circuit, n["pip_to"]).pip_valve
    turned = Action(begin, "pip", 0.0 if valve is None else valve.opens_at, turn)
    until, end = begin + turn + 2 * period, begin + turn
    held = [Action(start, "occlude"), turned, Action(end, "release")]
    count = [a for k in range(int(until / period)) for a in _inflation(start + k * period, beat)]
    shut, counted = _("held shut"), _("in the count")
    done = {shut: held, counted: sorted([*count, turned], key=lambda a: a.time)}
    inside = lung(c.LUNG_STIFF)
    traces = {name: simulate(circuit, inside, each, until) for name, each in done.items()}
    means = {name: t.integral("alveolar", start, end) / (end - start) for name, t in traces.items()}
    words = {
        "long": plain(round(end - start, 1), "s"),
        "short": plain(beat, "s"),
        "missed": str(sum(start < a.time < end for a in count if a.kind == "occlude")),
        "mean_held": shown(means[shut]),
        "mean_count": shown(means[counted]),
    }
    top = 1.1 * n["pip_to"]
    panels = [
        Panel(f"{name[:1].upper()}{name[1:]}, cmH2O", [_line(name, trace)], top=top)
        for name, trace in traces.items()
    ]
    return Study(words, _(SECONDS), panels)


def _inflation(at: float, beat: float) -> list[Action]:
    return [Action(at, "occlude"), Action(at + beat, "release")]


def _line(name: str, trace: Trace) -> Line:
    columns = trace.every(GRID)
    return Line(name, columns["time"], columns["alveolar"])


def hides(n: Numbers) -> Study:
    """The largest leak that the needle hardly shows, at the two ends of the usual flow."""
    rate = 60 / (n["beat"] * (n["occlude_beats"] + n["release_beats"]))
    rows, words = [], {}
    for end in ("low", "high"):
        flow = plain(n[f"{end}_flow"], "L/min")
        setting = (
            ("flow", n[f"{end}_flow"]),
            *((name, n[name]) for name in ("relief", "pip", "peep")),
        )
        most = leaks.hidden(setting, c.LUNG_MIDDLE.value, rate, n["read_to"])
        share = plain(leaks.to_nearest(most.share), "percent")
        words[f"share_{end}"] = share
        for says, stood in (
            (_("{flow}, the mask seals"), leaks.sealed(setting, c.LUNG_MIDDLE.value, rate)),
            (_("{flow}, {share} leaks"), most),
        ):
            told = says.format(flow=flow, share=share)
            rows.append(Reading(told, told, stood.top, stood.rest))
    return Study(words, rows=tuple(rows))


TARGET_STUDIES = {"raised": raised, "hides": hides}
