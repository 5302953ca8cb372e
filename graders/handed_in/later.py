"""Which of two pieces of one learner's work is the later one."""

from __future__ import annotations

from datetime import UTC, datetime

from workbook.core.answer_sheet import AnswerFileError, AnswerSheet, answer_sheet
from workbook.core.moments import FIRST, moment, written
from workbook.core.plainfile import in_utf8


def adds_to(new: bytes, old: bytes) -> bool:
    """Say whether work goes on from what is there: a file is only ever added to."""
    return in_utf8(new).startswith(in_utf8(old).rstrip(b"\r\n"))


def no_newer(
    new: bytes, sheet: AnswerSheet, old: bytes, received: str, name: str, most: int | None
) -> str:
    """Return why work that is there stays; empty when the new, read as ``sheet``, is later work.

    A file is only ever added to, so that one that goes on from another is later whatever a clock
    said; else a later attempt is, and within one the last saves tell, none of them later than it
    came in (``received``). ``most`` is how many attempts count.
    """
    if adds_to(new, old):
        return ""
    if adds_to(old, new):
        return "left out, for later work is there already."
    try:
        kept = answer_sheet(old, name)
    except AnswerFileError:
        return ""  # what is there cannot be used
    if sheet.counted(most) != kept.counted(most):
        return later_attempt(sheet, old, name, most)
    now = datetime.now(UTC)
    came = moment(received) or now
    before, after = last_saved(kept, min(came, now)), last_saved(sheet, now)
    if after <= before:
        return (
            "left out, for later work is there already (last saved "
            f"{written(before[0]) if before[0] > FIRST else 'never'})."
        )
    return ""


def later_attempt(sheet: AnswerSheet, old: bytes, name: str, most: int | None) -> str:
    """Return that a later attempt is there, which no earlier one replaces; else nothing."""
    try:
        kept = answer_sheet(old, name)
    except AnswerFileError:
        return ""
    there = kept.counted(most)
    later = there > sheet.counted(most)
    return f"left out, for attempt {there} is there already." if later else ""


def last_saved(sheet: AnswerSheet, now: datetime) -> tuple[datetime, int]:
    """Return when work was last saved, not ahead of now, and how many saves it holds."""
    times = (moment(answer.at) for answer in sheet.answers)
    moments = [min(when, now) for when in times if when is not None]
    return max(moments, default=FIRST), len(sheet.answers)
