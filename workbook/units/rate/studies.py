"""What the model shows of a count: the gauge beat by beat, and gas that stays in a soft lung."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from workbook.cases.pace import PER_MINUTE
from workbook.core.language import _, number
from workbook.core.quantities import plain
from workbook.display.cards import shown
from workbook.display.curves import Line, Panel
from workbook.display.studies import (
    GAUGE,
    GRID,
    LUNG_PRESSURE,
    SECONDS,
    Numbers,
    Study,
    lung,
    set_up,
)
from workbook.physics import Action, Trace, settled_breath, simulate
from workbook.physics import coefficients as c
from workbook.rules import RuleBook
from workbook.units.rate.case.rhythms import count_at, rhythm

CYCLES = 2  # of the count, drawn beat by beat
SLOW_CYCLES = 3  # of the slowest rate; every other rate is drawn for as long
LEAD = 0.2  # s before the first inflation
ROOM = 1.1  # times the highest pressure: the top of every panel


def _given(rate: float, held: float, inflations: int, start: float) -> list[Action]:
    """Return the actions of a steady rhythm."""
    pairs = rhythm(rate, held, inflations, start)
    return [
        each
        for press, release in pairs
        for each in (Action(press, "occlude"), Action(release, "release"))
    ]


def beats(n: Numbers, book: RuleBook) -> Study:
    """Return the gauge over two cycles of the count, along the beats."""
    made = count_at(n["rate"], book)
    actions = _given(made.rate, made.inflation, CYCLES, 0.0)
    until = CYCLES * (made.inflation + made.release)
    columns = simulate(set_up(n), lung(), actions, until).every(GRID)
    along = [1 + time / made.beat for time in columns["time"]]
    panel = Panel(_(GAUGE), [Line(_("gauge"), along, columns["manometer"])])
    again = 1 + made.occlude_beats + made.release_beats
    along_beats = _("beats; a count begins at 1 and at {again}").format(again=number(again))
    return Study({}, along_beats, [panel])


def trapped(n: Numbers, book: RuleBook) -> Study:
    """Return the pressure in a soft lung at three rates, PIP and PEEP left alone."""
    circuit, until = set_up(n), LEAD + SLOW_CYCLES * 60 / n["rate_slow"]
    words: dict[str, str] = {}
    traces: dict[str, Trace] = {}
    for name in ("slow", "middle", "fast"):
        made = count_at(n[f"rate_{name}"], book)
        breath = settled_breath(circuit, lung(c.LUNG_SOFT), made.rate, made.inflation)
        words |= {
            f"{name}_left": shown(breath.auto_peep),
            f"{name}_taken": f"{breath.tidal_volume:.0f} mL",
            f"{name}_gauge": shown(breath.peep),
            f"{name}_rest": shown(breath.end_expiratory_alveolar),
        }
        actions = _given(made.rate, made.inflation, int(until * made.rate / 60), LEAD)
        label = plain(made.rate, PER_MINUTE)
        traces[label] = simulate(circuit, lung(c.LUNG_SOFT), actions, until)
    top = ROOM * max(max(trace.alveolar) for trace in traces.values())
    return Study(words, _(SECONDS), [_panel(name, trace, top) for name, trace in traces.items()])


def _panel(label: str, trace: Trace, top: float) -> Panel:
    columns = trace.every(GRID)
    return Panel(_(LUNG_PRESSURE), [Line(label, columns["time"], columns["alveolar"])], top=top)


RATE_STUDIES: Mapping[str, Callable[[Numbers, RuleBook], Study]] = {
    "beats": beats,
    "trapped": trapped,
}
