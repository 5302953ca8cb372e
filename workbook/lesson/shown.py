"""Shows something on a lesson's page, and a table of its own numbers."""

from __future__ import annotations

from collections.abc import Sequence

from workbook.display import cards


def show(thing: cards.Shown) -> None:
    """Show something below what is there."""
    from IPython.display import display

    display(thing)


def told_table(title: str, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> cards.Shown:
    """Return rows as a table without sources; in words each row is a line."""
    html = cards.rows_table(title, columns, rows).html
    return cards.Shown(html, "\n".join([f"{title}.", *("; ".join(row) for row in rows)]))
