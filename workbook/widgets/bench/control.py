"""The live bench: a circuit a learner operates; the answer is what the hands did."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import traitlets

from workbook.bench import DIALS, Bench, Dial, HandsError, circuit_at, laws, read_hands
from workbook.bench.hands import LONGEST, MOST
from workbook.bench.parts import part_laws
from workbook.core.language import fixed
from workbook.physics import Lung, start
from workbook.physics import coefficients as c
from workbook.physics.faults import FAULTS, NONE, comes
from workbook.physics.record import OUTLETS
from workbook.widgets.bench.words import WORDS
from workbook.widgets.control import Control
from workbook.widgets.modules import joined, styles

LOOK = ("shared.css", "bench.css", "bench_controls.css")
# Words of other controls, and those that a bench gets with its dials.
UNSAID = ("alarm", "gauge", "ghost", "interval", "metronome", "needle", "rhythm", "sentence",
          "strip", "taps", "bench_")  # fmt: skip
# Clicks of one whole turn of a control, as it is drawn; a leak has no control that turns.
TURN = dict(zip(("flow", "pip", "relief", "peep", "leak"), (10, 20, 20, 20, 1), strict=True))
OFFERS = ("volume", "numbers", "log", "slow", "replay")
SIGNIFICANT = 7  # digits of a table's numbers on their way to the page
TEST_LUNGS = {"Stiff": c.LUNG_STIFF, "Middle": c.LUNG_MIDDLE, "Soft": c.LUNG_SOFT}


class BenchControl(Control):
    """A bench to operate; its answer is a record of the hands.

    ``outlets`` are those it offers, ``offers`` what is shown on request (of ``OFFERS``), ``chest``
    the band in mL/kg between which a chest rises, ``goal`` a sentence that stays in sight.
    ``educator`` is for a `RoomBench` alone, and feedback that compares for a `ComparedBench`.
    ``plays`` asks nothing: its gas flows by itself, its run is no answer.
    """

    # A bench is its own picture: it carries nothing of those that other questions show, nor what
    # only its own kinds below use.
    _esm = joined("bench.js")
    _css = styles(*LOOK)
    _unsaid: tuple[str, ...] = (*UNSAID, "benchFault_")

    start = traitlets.Dict().tag(sync=True)
    dials = traitlets.Dict().tag(sync=True)
    outlets = traitlets.List().tag(sync=True)
    parts = traitlets.Dict().tag(sync=True)
    tables = traitlets.Dict().tag(sync=True)
    rest = traitlets.Dict().tag(sync=True)
    gauge_top = traitlets.Float(c.GAUGE_TOP.value).tag(sync=True)
    chest = traitlets.Dict().tag(sync=True)
    offers = traitlets.List().tag(sync=True)
    goal = traitlets.Unicode().tag(sync=True)
    educator = traitlets.Dict().tag(sync=True)
    plays = traitlets.Bool(False).tag(sync=True)
    limit = traitlets.Float(LONGEST).tag(sync=True)
    most = traitlets.Int(MOST).tag(sync=True)

    def __init__(
        self,
        question: str,
        label: str,
        *,
        bench: Bench,
        outlets: Sequence[str] = (),
        offers: Sequence[str] = OFFERS,
        dials: Sequence[str] = (),
        educator: Mapping[str, Any] | bool = False,
        words: Mapping[str, str] | None = None,
        **more: Any,
    ) -> None:
        if more.get("figure"):
            raise ValueError("A bench shows no figure beside itself.")
        if educator and not isinstance(self, RoomBench):
            raise ValueError("Only a RoomBench carries what an educator uses.")
        said = {**fixed(WORDS), **(words or {})}
        if bench.lung.tube is not None:
            said = {**said, "benchMaskOn": said["benchTubeIn"]}
        self._bench = bench
        self._outlets = tuple(outlets) or (bench.outlet,)
        room = _room(educator, said)
        self._lungs = {"": bench.lung}
        self._lungs |= {one["id"]: _lung(bench.lung, one) for one in room.get("lungs", [])}
        shown: dict[str, Any] = {
            "start": bench.to_data(), "outlets": [_outlet(o, bench, said) for o in self._outlets],
            "dials": _dials(dials or _useful(self._outlets), bench, said), "educator": room,
            "offers": [each for each in OFFERS if each in offers], "rest": _rest(bench),
            **self._given(bench),
        }  # fmt: skip
        super().__init__(question, label, words=said, **shown, **more)

    def problem(self, value: Any) -> str:
        """Say why a run cannot be read, or nothing."""
        try:
            read_hands(value)
        except HandsError as error:
            return str(self.words["wrongRun"]).format(why=error)
        return ""

    def _hear(self, widget: Any, content: Any, buffers: Any) -> None:
        if not isinstance(content, dict) or content.get("kind") != "laws":
            super()._hear(widget, content, buffers)
        elif self._can_stand(content):
            self.send(self._told(content))

    def _told(self, asked: Mapping[str, Any]) -> dict[str, Any]:
        """Return the tables a page asked for, of the setting it described."""
        positions, outlet, lung = asked["positions"], asked["outlet"], asked["lung"]
        fault = asked.get("fault", "")
        made = self._laws(positions, outlet, lung, fault)
        wanted = {*asked["tables"], "store", "joined"}
        tables = {name: table for name, table in made.items() if name in wanted}
        key = _key(positions, outlet, lung, fault)
        return {"kind": "laws", "id": asked.get("id"), "key": key, "tables": tables}

    def _can_stand(self, asked: Mapping[str, Any]) -> bool:
        """Return whether a page describes a setting of this bench."""
        positions, tables = asked.get("positions"), asked.get("tables")
        if not isinstance(positions, dict) or set(positions) != set(DIALS):
            return False
        if not all(type(at) is int and 0 <= at <= DIALS[d].clicks for d, at in positions.items()):
            return False
        if not isinstance(tables, list) or not all(isinstance(name, str) for name in tables):
            return False
        lung, fault = asked.get("lung"), asked.get("fault", "")
        if not isinstance(lung, str) or not isinstance(fault, str):
            return False
        may = {"", *(one["id"] for one in self.educator.get("faults", ()))}
        return asked.get("outlet") in OUTLETS and lung in self._lungs and fault in may

    def _given(self, bench: Bench) -> dict[str, Any]:
        """Return the laws a page begins with: the circuit's parts', and the lung's tables."""
        made = self._laws(bench.positions, bench.outlet, "", "")
        lung = {name: made[name] for name in ("patient", "recoil", "store", "joined")}
        return {"parts": short_parts(part_laws()), "tables": lung}

    def _laws(
        self, positions: Mapping[str, int], outlet: str, lung: str, fault: str
    ) -> dict[str, Any]:
        wrong, circuit = FAULTS.get(fault, NONE), circuit_at(positions)
        made, behind = wrong.circuit(circuit), wrong.lung(self._lungs[lung])
        return short_tables(laws(made, outlet, behind, wrong.gauge(circuit)))


class RoomBench(BenchControl):
    """A bench for an educator in front of a room.

    ``educator`` is True, or {"lungs": [{"id", "text", "compliance"}], "ask": a question}. An
    educator may also plant what is wrong (`workbook.physics.faults`).
    """

    _esm = joined("bench_room.js")
    _css = styles(*LOOK, "bench_educator.css")
    _unsaid = UNSAID


class ComparedBench(BenchControl):
    """A bench whose feedback may lay a run beside an expert's (`workbook.display.compared`)."""

    _esm = joined("bench_compare.js")
    _css = styles(*LOOK, "bench_compare.css")


def bench_kind(shows: Mapping[str, Any], *, feedback: bool) -> type[BenchControl]:
    """Return which bench a question's data asks for, with feedback on its runs or without."""
    if shows.get("educator"):
        return RoomBench
    return ComparedBench if feedback else BenchControl


def bench_of(shows: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a bench is made with, from what a question's data says its control shows."""
    taken = ("outlets", "offers", "dials", "chest", "goal", "educator", "limit")
    return {"bench": Bench.from_data(shows["bench"]), **{n: shows[n] for n in taken if n in shows}}


def _key(positions: Mapping[str, int], outlet: str, lung: str, fault: str) -> str:
    """Return the name of a setting, as the page makes it."""
    room = [lung, fault] if fault else [lung]
    return "/".join([*(str(positions[dial]) for dial in DIALS), outlet, *room])


def short_tables(made: Mapping[str, Any]) -> dict[str, Any]:
    """Return tables with as many digits as a page needs."""
    return {
        name: [_short(part) for part in table] if isinstance(table, tuple) else table
        for name, table in made.items()
    }


def short_parts(made: Any) -> Any:
    """Return the laws of parts with as many digits as a page needs."""
    if isinstance(made, dict):
        return {name: short_parts(part) for name, part in made.items()}
    if isinstance(made, list | tuple):
        return [short_parts(part) for part in made]
    return float(f"{made:.{SIGNIFICANT}g}") if isinstance(made, float) else made


def _short(numbers: Sequence[float]) -> list[float]:
    return [float(f"{number:.{SIGNIFICANT}g}") for number in numbers]


def _rest(bench: Bench) -> dict[str, float]:
    state = start(bench.circuit, bench.lung, outlet=bench.outlet)
    return {"volume": state.volume, "pressure": state.pressure_t}


def _room(educator: Mapping[str, Any] | bool, words: Mapping[str, str]) -> dict[str, Any]:
    """Return what an educator may change: by default the published test lungs; any fault."""
    if not educator:
        return {}
    lungs = [
        {"id": name.lower(), "text": words[f"benchLung{name}"], "compliance": lung.value}
        for name, lung in TEST_LUNGS.items()
    ]
    faults = [
        {"id": id, "text": words[f"benchFault_{id}"], "comes": comes(fault)}
        for id, fault in FAULTS.items()
    ]
    return {"faults": faults, **({"lungs": lungs} if educator is True else educator)}


def _lung(drawn: Lung, one: Mapping[str, Any]) -> Lung:
    return replace(drawn, compliance=one["compliance"], airway=one.get("airway", drawn.airway))


def _useful(outlets: Sequence[str]) -> list[str]:
    """Return the controls that do something: a leak only where there is a face."""
    return [dial for dial in DIALS if dial != "leak" or "lung" in outlets]


def _outlet(outlet: str, bench: Bench, words: Mapping[str, str]) -> dict[str, str]:
    tube = outlet == "lung" and bench.lung.tube is not None
    return {"id": outlet, "text": words[f"benchOutlet_{'tube' if tube else outlet}"]}


def _dials(names: Sequence[str], bench: Bench, words: Mapping[str, str]) -> dict[str, Any]:
    tube = bench.lung.tube is not None
    return {name: _dial(name, DIALS[name], words, tube=tube) for name in names}


def _scale(name: str, dial: Dial) -> dict[str, float]:
    """Return how a position becomes a value: told of the flow meter alone."""
    return {"first": dial.first, "step": dial.step} if name == "flow" else {"first": 0, "step": 1}


def _dial(name: str, dial: Dial, words: Mapping[str, str], *, tube: bool) -> dict[str, Any]:
    """Return a control as the page shows it."""
    own = "bench_leak_tube" if tube and name == "leak" else f"bench_{name}"
    ends = {0: words[f"bench_{name}_0"], dial.clicks: words.get(f"bench_{name}_top", "")}
    between = {n: words.get(f"bench_{name}_{n}", "") for n in range(1, min(dial.clicks, 4))}
    says = {str(at): text for at, text in {**between, **ends}.items() if text}
    if name == "leak":
        says[str(dial.clicks)] = words[f"bench_leak_{dial.clicks}"]
    return {
        "clicks": dial.clicks, "turn": TURN[name], "short": words[f"bench_{name}_short"],
        "label": words[own], "help": words[f"{own}_help"], "says": says,
        "each": words.get(f"bench_{name}_each", words["bench_each"]), **_scale(name, dial),
    }  # fmt: skip
