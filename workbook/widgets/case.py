"""A case from birth to stabilised: a learner plays it live, and the kernel steps the baby."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import traitlets

from workbook.bench import Bench
from workbook.bench.baby import healthy
from workbook.bench.parts import part_laws
from workbook.core.language import _, fixed
from workbook.rules import RuleBook
from workbook.scenario import LINES, Case, ScenarioError, offered, read_scenario, seconds
from workbook.scenario.changes import DIALLED
from workbook.scenario.helper import answers
from workbook.scenario.live import Live
from workbook.scenario.prompts import FADED, GUIDED, prompt
from workbook.widgets.bench import LOOK, UNSAID, BenchControl, short_parts, short_tables
from workbook.widgets.case_words import WORDS
from workbook.widgets.modules import joined, styles

LIVE, PRACTICE = "live", "practice"
UNSEEN = ("benchFault", "benchView", "benchPart", "benchLung", "benchHear", "benchCompare",
          "benchEducator", "benchReplay", "bench_leak")  # fmt: skip
KEPT = 3  # runs whose state is kept: a page steps one, another view may step another


class CaseControl(BenchControl):
    """A case that is played live; its answer is a record (`workbook.scenario.record`).

    The baby is stepped here: what is hidden in ``case`` stays in Python, and no trait names it.
    ``mode`` is ``live`` or ``practice`` (pause, slow motion, again); ``prompts`` nothing,
    ``guided`` or ``faded``. With a ``record`` the same baby begins again from second ``start``.
    One that ``arrives`` takes the place of what had the focus, and takes the focus too.
    """

    _esm = joined("case.js")
    _css = styles(*LOOK, "trial.css", "case.css")
    _unsaid: tuple[str, ...] = (*UNSAID, *UNSEEN)

    told = traitlets.Dict().tag(sync=True)
    acts = traitlets.List().tag(sync=True)
    lines = traitlets.List().tag(sync=True)
    mode = traitlets.Unicode(LIVE).tag(sync=True)
    begins = traitlets.Dict().tag(sync=True)
    arrives = traitlets.Bool(False).tag(sync=True)
    window = traitlets.Float().tag(sync=True)

    def __init__(
        self,
        question: str,
        label: str,
        *,
        case: Case,
        book: RuleBook,
        mode: str = LIVE,
        prompts: str = "",
        record: Mapping[str, Any] | None = None,
        start: float = 0.0,
        **more: Any,
    ) -> None:
        if mode not in (LIVE, PRACTICE) or prompts not in ("", GUIDED, FADED):
            raise ValueError("A case is live or practice, with guided or faded prompts or none.")
        self._case, self._book, self._prompts = case, book, prompts
        self._takes, self._limit = seconds(book), book["scenario.limit"].value
        self._runs: dict[str, Live] = {}
        low, high = book["volume.window"].band
        bench = Bench(dict(case.positions), healthy(case.kg), case.kg, "open")
        super().__init__(
            question, label, bench=bench, outlets=("open", "lung"), dials=DIALLED,
            limit=self._limit, chest={"low": low, "high": high}, words=fixed(WORDS),
            told=case.told(), acts=offered(book), mode=mode, begins=self._begins(record, start),
            lines=[{"id": id, "text": _(text)} for id, text in LINES.items()],
            window=book["scenario.time.listen"].value, **more,
        )  # fmt: skip

    def _begins(self, record: Mapping[str, Any] | None, start: float) -> dict[str, Any]:
        """Return what was done up to a second of a record; ScenarioError where it is none."""
        if record is None:
            return {"acts": [], "at": 0}
        played = read_scenario(record, self._case.id, self._takes, self._limit)
        at = round(1000 * min(start, played.duration))
        rows = [row for row in played.to_data()["acts"] if row[0] <= at]
        held = [row for row in rows if row[1] in ("occlude", "release")]
        if held and held[-1][1] == "occlude":
            rows.append([at, "release"])
        return {"acts": rows, "at": at}

    def problem(self, value: Any) -> str:
        """Say why a record cannot be read, or nothing."""
        try:
            read_scenario(value, self._case.id, self._takes, self._limit)
        except ScenarioError as error:
            return str(self.words["wrongCase"]).format(why=error)
        return ""

    def _hear(self, widget: Any, content: Any, buffers: Any) -> None:
        if not isinstance(content, dict) or content.get("kind") != "case":
            super()._hear(widget, content, buffers)
            return
        with self._one_by_one:
            told = self._stepped(content)
        if told is not None:
            self.send({"kind": "case", "id": content.get("id"), "run": content["run"], **told})

    def _stepped(self, asked: Mapping[str, Any]) -> dict[str, Any] | None:
        """Take in what was done, go on to the page's clock; None where no page asks so."""
        run, rows, known, clock = (asked.get(name) for name in ("run", "acts", "from", "clock"))
        if not isinstance(run, str) or not isinstance(rows, list):
            return None
        if type(known) is not int or type(clock) is not int or known < 0:
            return None
        live = self._run(run)
        if known > len(live.done):
            return {"again": True}  # it was played in a kernel that is gone: all of it, please
        try:
            live.do(rows[len(live.done) - known :])
        except ScenarioError as error:
            return {"refused": str(error)}
        live.go(clock / 1000)
        return self._told_now(live, asked)

    def _run(self, run: str) -> Live:
        if run not in self._runs:
            self._runs[run] = Live(self._case, self._book)
            for old in list(self._runs)[:-KEPT]:
                del self._runs[old]
        return self._runs[run]

    def _told_now(self, live: Live, asked: Mapping[str, Any]) -> dict[str, Any]:
        soft, heard = asked.get("soft"), asked.get("heard")
        now = live.now()
        stand = now.stand(soft if isinstance(soft, float) else 0.0)
        if "tables" in stand:
            stand = {**stand, "tables": short_tables(stand["tables"])}
        says = answers(self._case, live.done)[heard if type(heard) is int else 0 :]
        seen = now.seen()
        return {
            "have": len(live.done), "clock": round(1000 * live.time), "seen": seen, "stand": stand,
            "says": [[round(1000 * one.time), one.says] for one in says],
            "prompt": prompt(now.made, seen, self._book, self._prompts),
        }  # fmt: skip

    def _can_stand(self, asked: Mapping[str, Any]) -> bool:
        """Say that a page asks for no tables of its own: they come with each step."""
        return False

    def _given(self, bench: Bench) -> dict[str, Any]:
        made = self._laws(bench.positions, bench.outlet, "", "")
        behind = {name: made[name] for name in ("outlet", "patient", "recoil", "store", "joined")}
        return {"parts": short_parts(part_laws()), "tables": behind}
