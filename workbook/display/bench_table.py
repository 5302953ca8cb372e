"""The model beside published measurements: one table for lessons and for contributors."""

from __future__ import annotations

from collections.abc import Mapping

from workbook.core.language import N_, _, number
from workbook.display import cards
from workbook.physics.published import BenchRow, bench_rows, markdown_table

COLUMNS = (
    N_("Measured"),
    N_("Published"),
    N_("Model"),
    N_("Does it agree?"),
    N_("What this shows"),
)
STANDING = {
    "fitted": N_("fitted. Nothing: the model was fitted on it."),
    "out of sample": N_("out of sample. The most: no part of the model was fitted on it."),
    "conditional": N_("conditional. Only so much: a setting the paper leaves out was assumed."),
}


def published_table(words: Mapping[str, str]) -> cards.Shown:
    """Return every row, those the model misses too, its assumption and source in a fold."""
    rows = bench_rows()
    missed = sum(not row.agrees for row in rows)
    says = cards.note(words["misses"].format(missed=missed, rows=len(rows)))
    told = [_capital(row.text) for row in rows]
    return cards.stack(
        [
            says,
            cards.rows_table(
                words["title"], [*map(_, COLUMNS)], [cells(row) for row in rows], told
            ),
        ]
    )


def published_markdown() -> str:
    """Return the same rows for a guide in Markdown."""
    return "\n".join(markdown_table([*map(_, COLUMNS)], map(cells, bench_rows())))


def cells(row: BenchRow) -> list[str]:
    """Return a row's cells in the order of the columns."""
    agrees = _("agrees") if row.agrees else _("does not agree")
    model = f"{number(row.model, '.3g')} {row.unit} ({row.apart}\u00a0%)".replace("  ", " ")
    published = _("{value} {unit} (accepted {low} to {high})").format(
        value=number(row.published), unit=row.unit, low=number(row.low), high=number(row.high)
    )
    says, told = _capital(_(row.says)), _capital(_(STANDING[row.standing]))
    return [says, published.replace("  ", " "), model, agrees, told]


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
