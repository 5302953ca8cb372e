"""The bench to play with: set, with a baby on it, and nothing asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from workbook.bench import Bench
from workbook.cases.dials import set_for
from workbook.display.studies import lung
from workbook.rules import RuleBook

if TYPE_CHECKING:
    from workbook.widgets import BenchControl

SET = ("flow", "relief", "pip", "peep")


def bench_to_play(says: str, numbers: Mapping[str, float], book: RuleBook) -> BenchControl:
    """Return a bench whose gas flows by itself; its pressures are set, its mask seals."""
    from workbook.widgets import BenchControl

    baby = baby_of(book)
    positions = set_for({name: numbers[name] for name in SET})
    bench = Bench(positions, lung(), baby["weight"], "lung")
    return BenchControl("play", says, bench=bench, chest=baby["chest"], offers=(), plays=True)


def baby_of(book: RuleBook) -> dict[str, Any]:
    """Return the weight (kg) of the baby of a lesson's pictures, and when its chest rises."""
    low, high = book["volume.window"].band
    return {"weight": sum(book["weight.drawn"].band) / 2, "chest": {"low": low, "high": high}}
