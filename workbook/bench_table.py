"""The model beside published measurements: one table for lessons and for contributors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from workbook import cards
from workbook.physics.published import BenchRow, bench_rows

COLUMNS = ("Measured", "Published", "Model", "Does it agree?", "What this shows")
STANDING = {
    "fitted": "Nothing: the model was fitted on it.",
    "out of sample": "The most: no part of the model was fitted on it.",
    "conditional": "Only so much: a setting the paper leaves out was assumed.",
}


def published_table(words: Mapping[str, str]) -> cards.Shown:
    """Return every row, those the model misses too, its assumption and source in a fold."""
    rows = bench_rows()
    missed = sum(not row.agrees for row in rows)
    says = cards.note(words["misses"].format(missed=missed, rows=len(rows)))
    told = [row.text for row in rows]
    return cards.stack(
        [says, cards.rows_table(words["title"], COLUMNS, [cells(row) for row in rows], told)]
    )


def published_markdown() -> str:
    """Return the same rows for a guide in Markdown."""
    lines = [_line(COLUMNS), _line(["---"] * len(COLUMNS))]
    return "\n".join([*lines, *(_line(cells(row)) for row in bench_rows())])


def cells(row: BenchRow) -> list[str]:
    """Return a row's cells in the order of the columns."""
    agrees = "agrees" if row.agrees else "does not agree"
    apart = f"{row.error:+.0f}" if abs(row.error) >= 0.5 else "0"
    model = f"{row.model:.3g} {row.unit} ({apart}\u00a0%)".replace("  ", " ")
    published = f"{row.published:g} {row.unit} (accepted {row.low:g} to {row.high:g})"
    says = row.says[0].upper() + row.says[1:]
    told = f"{row.standing}. {STANDING[row.standing]}"
    return [says, published.replace("  ", " "), model, agrees, told[0].upper() + told[1:]]


def _line(parts: Sequence[str]) -> str:
    return f"| {' | '.join(parts)} |"
