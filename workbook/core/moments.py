"""When work was handed in: a learner's claim, read once, in one form, or taken for no time."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta

FIRST = datetime(2000, 1, 1, tzinfo=UTC)  # no work of this kind is older
FORM = "%Y-%m-%d %H:%M:%S"
TO_THE_MINUTE = "%Y-%m-%d %H:%M"
SLACK = timedelta(minutes=5)  # clocks of two machines differ by so much without harm

# Only this: fromisoformat also takes a week for a day, and then others stumble over it.
_FORM = re.compile(
    r"(\d{4}-\d\d-\d\d)(?:[ T](\d\d:\d\d(?::\d\d(?:\.\d{1,6})?)?) ?(UTC|Z|[+-]\d\d:?\d\d)?)?"
)


def moment(text: str) -> datetime | None:
    """Return a time in UTC; None for what is no time, or lies where no work was ever done.

    A time without a zone is taken as UTC, as nbgrader writes it; a day alone as its beginning.
    """
    found = _FORM.fullmatch(text.strip())
    if found is None:
        return None
    day, hour, zone = found.groups()
    offset = "+00:00" if zone in (None, "UTC", "Z") else zone
    try:
        when = datetime.fromisoformat(f"{day}T{hour or '00:00'}{offset}").astimezone(UTC)
    except (ValueError, OverflowError):
        return None
    return when if when >= FIRST else None


def written(when: datetime) -> str:
    """Return a time as it stands in a course's files, to the microsecond where there is one."""
    there = when.astimezone(UTC)
    part = f".{there.microsecond:06d}" if there.microsecond else ""
    return f"{there.strftime(FORM)}{part} UTC"


def on_the_clock(text: str) -> str:
    """Return a time as a clock on this machine's wall has it, to the minute.

    What is no time stays as it is.
    """
    when = moment(text)
    return text if when is None else when.astimezone().strftime(TO_THE_MINUTE)


def not_ahead(when: datetime, now: datetime) -> datetime:
    """Return a time that does not lie ahead of the course's own clock."""
    return now if when > now + SLACK else when
