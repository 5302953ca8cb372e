"""The bench to play with: set, with a baby on it, and nothing asked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from workbook.bench import Bench
from workbook.cases.setup_bench import set_for
from workbook.lesson import baby_of
from workbook.rules import RuleBook
from workbook.studies import lung

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
