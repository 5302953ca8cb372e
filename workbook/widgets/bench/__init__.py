"""The bench to operate and its kinds: to play with, to break, to show a room, to find a fault on.

`control` is the bench, `broken` one that a learner breaks, `trial` one with a hidden fault. Their
JavaScript and styles lie in the folder above: modules that a page loads import those beside them.
"""

from workbook.widgets.bench.control import (
    LOOK,
    TURN,
    UNSAID,
    BenchControl,
    ComparedBench,
    RoomBench,
    bench_kind,
    bench_of,
    short_parts,
    short_tables,
)

__all__ = [
    "LOOK",
    "TURN",
    "UNSAID",
    "BenchControl",
    "ComparedBench",
    "RoomBench",
    "bench_kind",
    "bench_of",
    "short_parts",
    "short_tables",
]
