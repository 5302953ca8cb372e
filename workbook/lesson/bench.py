"""What a lesson with a bench is made of: predictions tried on it, and pictures by the model."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from typing import Any

from workbook.bench import DIALS, Bench, read_hands
from workbook.bench.sketch import read_sketch
from workbook.bench.story import Stretch, story
from workbook.cases.dials import set_for
from workbook.display import cards
from workbook.display.bench_table import published_table
from workbook.display.curves import curves_picture
from workbook.display.sketched import SKETCHES, Sketched
from workbook.display.studies import LUNGS, STUDIES, Study, lung
from workbook.lesson.page import Lesson, question_of
from workbook.lesson.play import baby_of

Run = Sequence[Stretch]


class BenchLesson(Lesson):
    """The lesson whose results come from the learner's own run, or from a study of the model."""

    def bench(self, id: str) -> None:
        """Give a bench to try; its check sets the run beside the prediction."""
        table = self._table("bench", id)
        made = self.prepared(table)
        question = question_of({**table, "kind": "bench", "shown": self._shown(table)}, self._fill)
        self._ask(question, lambda run: self._on_run(table, made, run), table["button"])

    def phenomenon(self, id: str) -> None:
        """Ask for a prediction, then show what the model shows, and why."""
        self.predict(id)
        self.explain(id)

    def sketch(self, id: str) -> None:
        """Have a strip sketched with a few points, then draw the model's over it; not graded."""
        table = self._table("sketch", id)
        made = SKETCHES[table["draws"]](self.scenes.numbers)
        shows = {**made.shows, "start_says": table["start"], "true_says": table["true"]}
        asks = {**table, "kind": "sketch", "shown": {"sketch": shows}}
        question = question_of(asks, lambda text: self.scenes.fill(text, (), made.words))

        def look(value: Any) -> Mapping[str, Any]:
            self._see(id, value)
            return self._drawn_over(table, made, value)

        asked = self._ask(question, look, "look")
        if self._looked(id) and asked.value is not None:
            asked.feedback = self._drawn_over(table, made, asked.value)

    def _drawn_over(
        self, table: Mapping[str, Any], made: Sketched, value: Any
    ) -> Mapping[str, Any]:
        """Return the model's strip, and in words where it and the sketch lie."""
        drawn, near = read_sketch(value, len(made.moments)), self.book[table["near"]].value
        true = [made.at(made.true, moment) for moment in made.moments]
        agrees = abs(max(drawn) - max(true)) <= near and abs(drawn[-1] - true[-1]) <= near
        said = table["agreed" if agrees else "surprise"]
        own = {"own_top": cards.shown(max(drawn)), "own_rest": cards.shown(drawn[-1])}
        heading = self.scenes.fill(f"{table['result']} {said}", (), {**made.words, **own})
        return {"heading": heading, "lines": [], "strip": dict(made.true)}

    def published(self) -> None:
        """Show the model beside published measurements, folded; those it misses too."""
        from IPython.display import display

        words = self.data["words"]["published"]
        display(cards.folded(words["title"], published_table(words)))

    def prepared(self, table: Mapping[str, Any]) -> Bench:
        """Return a bench as it stands before it is touched: set by the gauge, then turned."""
        stands = {dial: self._position(dial, at) for dial, at in table.get("stands", {}).items()}
        wanted = {name: self.scenes.numbers[name] for name in ("flow", "relief", "pip", "peep")}
        return Bench(set_for(wanted, stands), lung(), baby_of(self.book)["weight"], table["outlet"])

    def _position(self, dial: str, at: str) -> int:
        ends = {"down": 0, "open": DIALS[dial].clicks}
        return ends[at] if at in ends else DIALS[dial].nearest(self.scenes.numbers[at])

    def _shown(self, table: Mapping[str, Any]) -> dict[str, Any]:
        chest = baby_of(self.book)["chest"]
        shown = {"bench": self.prepared(table).to_data(), "chest": chest}
        room = {"educator": self._room(table)} if "lungs" in table else {}
        return shown | room | {name: table[name] for name in ("outlets", "offers")}

    def _room(self, table: Mapping[str, Any]) -> dict[str, Any]:
        """Return what an educator may change in front of a room, and what is asked first."""
        lungs = [
            {"id": name, "text": text, "compliance": LUNGS[name].value}
            for name, text in table["lungs"].items()
        ]
        return {"lungs": lungs, "ask": table["ask"]}

    def _on_run(self, table: Mapping[str, Any], bench: Bench, run: Any) -> Mapping[str, Any]:
        look = self.book["bench.look"].value
        seen = [each for each in story(bench, read_hands(run)) if each.length >= look]
        heading = [self._prediction(table), self._needle(seen)]
        lines = [self._line(SEEN[id](seen, bench), says) for id, says in table["finds"].items()]
        return {"heading": " ".join(part for part in heading if part), "lines": lines}

    def _prediction(self, table: Mapping[str, Any]) -> str:
        """Return what was expected, and open what waits for it; nothing without a prediction."""
        if "tries" not in table:
            return ""
        asked = self._table("predict", table["tries"])
        saved = self.file.sheet().latest().get(asked["id"])
        if saved is None:
            return str(self.data["words"]["unpredicted"])
        self._see(asked["id"], saved.value)
        return self._expected(question_of(asked, self._fill), saved.value)

    def _needle(self, seen: Run) -> str:
        last = {each.held: cards.shown(each.reading) for each in seen}
        words, ways = self.data["words"], {"was_held": True, "was_released": False}
        told = [words[k].format(needle=last[held]) for k, held in ways.items() if held in last]
        return " ".join(told) or str(words["unseen"])

    def _line(self, met: bool, says: Mapping[str, str]) -> dict[str, Any]:
        return {"met": met, "says": self._fill(says["met" if met else "not"]), "source": ""}

    def _fill(self, text: str) -> str:
        return self.scenes.fill(text)

    @cache  # noqa: B019  a lesson lives as long as its page
    def study(self, name: str) -> Study:
        """Return what the model shows of a phenomenon, worked out once."""
        return STUDIES[name](self.scenes.numbers)

    def _found(self, table: Mapping[str, Any]) -> str:
        played = self.scenes.play(table["scene"]) if "scene" in table else []
        more = self.study(table["study"]).words if "study" in table else {}
        return self.scenes.fill(table["result"], played, more)

    def _shows(self, table: Mapping[str, Any]) -> list[cards.Shown]:
        shown = super()._shows(table) if "scene" in table else []
        return [*shown, *self._studied(table)] if "study" in table else shown

    def _studied(self, table: Mapping[str, Any]) -> list[cards.Shown]:
        if "sentence" in table:  # it moves where a table or curves would stand
            return []
        study, title = self.study(table["study"]), self._fill(table["picture"])
        shown = [cards.readings_table(title, study.rows)] if study.rows else []
        if study.panels:
            picture = curves_picture(title, study.along, study.panels)
            shown.append(cards.Shown(picture._repr_mimebundle_()["text/html"], picture.text))
        return shown


# --- what a run shows: each is told of the stretches in which the needle could be read


def _turned(run: Run, dial: str, *, held: bool) -> bool:
    """Return whether a control was turned, and then left until the needle could be read."""
    return any(each.held == held and each.touched == dial for each in run)


def _held(run: Run, _: Bench) -> bool:
    return any(each.held for each in run)


def _released(run: Run, _: Bench) -> bool:
    first = next((n for n, each in enumerate(run) if each.held), len(run))
    return any(not each.held for each in run[first:])


def _open_pip(run: Run, _: Bench) -> bool:
    return any(each.held and each.at("pip") == DIALS["pip"].clicks for each in run)


def _hidden_relief(run: Run, bench: Bench) -> bool:
    """The relief was turned, occluded, while PIP held the needle where it was."""
    held = [each for each in run if each.at("pip") == bench.positions["pip"]]
    return _turned(held, "relief", held=True)


def _leaked(run: Run, bench: Bench) -> bool:
    return any(each.held and each.at("leak") > bench.positions["leak"] for each in run)


def _raised_then_released(run: Run, bench: Bench) -> bool:
    raised = [
        n for n, each in enumerate(run) if each.held and each.at("pip") > bench.positions["pip"]
    ]
    return bool(raised) and any(not each.held for each in run[raised[0] :])


def _sealed_again(run: Run, bench: Bench) -> bool:
    leaky = [n for n, each in enumerate(run) if each.at("leak") > bench.positions["leak"]]
    return bool(leaky) and any(each.at("leak") == 0 for each in run[leaky[0] :])


SEEN: Mapping[str, Callable[[Run, Bench], bool]] = {
    "held": _held,
    "released": _released,
    "turned-peep": lambda run, _: _turned(run, "peep", held=False),
    "hidden-relief": _hidden_relief,
    "open-pip": _open_pip,
    "held-peep": lambda run, _: _turned(run, "peep", held=True),
    "raised-pip": lambda run, bench: any(
        each.held and each.at("pip") > bench.positions["pip"] for each in run
    ),
    "released-after": _raised_then_released,
    "leaked": _leaked,
    "sealed-again": _sealed_again,
}
