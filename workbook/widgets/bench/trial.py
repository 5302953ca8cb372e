"""A trial: something is wrong with the T-piece, and a learner's moves find out what."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import traitlets

from workbook.bench import Bench
from workbook.core.language import fixed
from workbook.physics import start
from workbook.trial import Scene, State, TrialError, read_trial, tables, tells
from workbook.trial.moves import LASTING
from workbook.trial.tells import bag_helps, float_at, sign_of
from workbook.widgets.bench.control import LOOK, UNSAID, BenchControl, short_tables
from workbook.widgets.bench.trial_words import WORDS
from workbook.widgets.modules import joined, styles

UNSEEN = ("benchFault", "benchView", "benchPart", "benchLung", "benchHear", "benchCompare",
          "benchEducator", "benchReplay", "bench_leak")  # fmt: skip
# Where the needle of the supply's gauge is drawn, as a share of its scale.
NEEDLE = {"supply-gone": 0.0, "supply-low": 0.1, "supply-good": 0.8}
TOLD = ("look", "part", "care", "mend", "bag", "say")  # kinds of moves that are answered in words


class TrialControl(BenchControl):
    """A trial on the bench's picture; its answer is a record of the moves.

    ``scene`` knows what is wrong: it stays in Python, and no trait names it. ``shows`` is what the
    page is given (`workbook.units.faults.case.questions`).
    """

    _esm = joined("trial.js")
    _css = styles(*LOOK, "trial.css")
    _unsaid: tuple[str, ...] = (*UNSAID, *UNSEEN)

    moves = traitlets.List().tag(sync=True)
    faults = traitlets.List().tag(sync=True)
    sure = traitlets.List().tag(sync=True)
    heart_law = traitlets.Dict().tag(sync=True)
    alarm = traitlets.Unicode().tag(sync=True)

    def __init__(
        self, question: str, label: str, *, scene: Scene, shows: Mapping[str, Any], **more: Any
    ) -> None:
        self._scene = scene
        given = {name: shows[name] for name in ("moves", "faults", "sure", "alarm", "goal")}
        super().__init__(
            question, label, bench=Bench.from_data(shows["bench"]), outlets=shows["outlets"],
            dials=[each["id"] for each in shows["moves"] if each["does"] == "dial"],
            limit=float(shows["limit"]), chest=dict(shows["chest"]),
            heart_law=_heart(shows["heart"], scene), words=fixed(WORDS), **given, **more,
        )  # fmt: skip
        begun = scene.start
        state = start(scene.circuit(begun), scene.lung(begun), outlet=scene.bench.outlet)
        # A chest is seen beside where the set PEEP would hold it: one that cannot empty stays up.
        right = scene.lung(begun).compliance * shows["wanted"]["peep"]
        self.rest = {"volume": state.volume, "pressure": state.pressure_t, "right": right}

    def problem(self, value: Any) -> str:
        """Say why a trial cannot be read, or nothing."""
        try:
            seconds = {each["id"]: each["seconds"] for each in self.moves}
            read_trial(value, self._scene.setting, seconds, self.limit)
        except TrialError as error:
            return str(self.words["wrongTrial"]).format(why=error)
        return ""

    def _hear(self, widget: Any, content: Any, buffers: Any) -> None:
        if not isinstance(content, dict) or content.get("kind") != "tell":
            super()._hear(widget, content, buffers)
        elif (told := self._told_of(content)) is not None:
            self.send({"kind": "tell", "id": content.get("id"), **told})

    def _told_of(self, asked: Mapping[str, Any]) -> dict[str, Any] | None:
        """Return what a move shows in the state after it; nothing where no page could ask so."""
        move, what, held = asked.get("move"), asked.get("what"), asked.get("held")
        kinds = {each["id"]: each["does"] for each in self.moves}
        if not isinstance(move, str) or kinds.get(move) not in TOLD or not isinstance(held, bool):
            return None
        if what is not None and what not in [each["id"] for each in self.faults]:
            return None
        try:
            before = State.read(asked.get("state"))
        except ValueError:
            return None
        after = self._scene.after(before, move, what)
        says = tells(self._scene, after, move, held=held)
        return {"says": says, "state": after.to_data(), **self._seen(after, move)}

    def _seen(self, state: State, move: str) -> dict[str, Any]:
        """Return what a picture needs of a look beside its sentence."""
        if move in ("bag", "mend", *LASTING):  # what lies between a bag and the lung may be mended
            return {"rises": bag_helps(self._scene, state)}
        if move == "look-flow":
            return {"float": float_at(self._scene, state)}
        sign = sign_of(self._scene, state, move, held=False)
        return {"share": NEEDLE[sign]} if sign in NEEDLE else {}

    def _can_stand(self, asked: Mapping[str, Any]) -> bool:
        """Return whether a page describes a setting of this trial."""
        done, wanted = asked.get("fault"), asked.get("tables")
        if not isinstance(done, str) or asked.get("lung") != "" or not isinstance(wanted, list):
            return False
        try:
            _state(asked.get("positions"), asked.get("outlet"), done)
        except ValueError:
            return False
        return all(isinstance(name, str) for name in wanted)

    def _given(self, bench: Bench) -> dict[str, Any]:
        return {"tables": self._laws(bench.positions, bench.outlet, "", "")}

    def _laws(
        self, positions: Mapping[str, int], outlet: str, lung: str, fault: str
    ) -> dict[str, Any]:
        return short_tables(tables(self._scene, _state(positions, outlet, fault)))


def _heart(law: Mapping[str, float], scene: Scene) -> dict[str, float]:
    """Return how the heart rate goes, with what an inflation has to bring (mL) to count."""
    if not law:
        return {}
    right = scene.with_fault("")
    return {**law, "enough": law["share"] * right.swing(right.start)}


def _state(positions: Any, outlet: Any, done: str) -> State:
    """Return the state that a bench's setting describes; ValueError when it is none."""
    moves = done.split(",") if done else []
    return State.read({"positions": positions, "outlet": outlet, "done": moves})
