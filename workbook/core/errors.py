"""Errors a user can cause: one sentence each, shown as that sentence and nothing else."""

from __future__ import annotations


class PlainError(Exception):
    """An error whose message says what is wrong, where, and what to do."""

    def _render_traceback_(self) -> list[str]:
        """Show the sentence alone in a notebook; IPython asks for this."""
        return [str(self)]
