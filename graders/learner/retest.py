"""When a learner is to show the skill again: dates from how fast skill is known to fade.

The times come from the rules `retest.*`, which a site's protocol may set its own way; the studies
they were inferred from are the rules `fact.fade.*`.
"""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from graders.marking.graded import Graded
from workbook.core.language import _
from workbook.core.moments import moment
from workbook.rules import RuleBook

LAST_YEAR = 9000  # of work; what an older version kept of a clock ahead leaves no day after it


class Due(StrEnum):
    """Where a learner stands towards the next test, the most pressing first."""

    OVERDUE = "Overdue"
    DUE = "Due"
    NEVER = "Not ready yet"
    LATER = "Not due yet"


@dataclass(frozen=True, slots=True)
class Retest:
    """When one learner is to show the skill again; without a day shown there is no date yet.

    ``shown`` holds the days on which it was shown, oldest first; ``due`` is the first day of the
    next test and ``latest`` its last.
    """

    learner: str
    on: date
    shown: tuple[date, ...] = ()
    due: date | None = None
    latest: date | None = None

    @property
    def state(self) -> Due:
        """Return where the learner stands on the day asked about."""
        if self.due is None or self.latest is None:
            return Due.NEVER
        if self.on < self.due:
            return Due.LATER
        return Due.DUE if self.on <= self.latest else Due.OVERDUE

    @property
    def says(self) -> str:
        """Return it in a sentence."""
        if self.due is None:
            return _("Not ready for the lab yet, so there is nothing to test again.")
        says = {
            Due.LATER: _(
                "Last shown on {day}. Not due yet: test again between {due} and {latest}."
            ),
            Due.DUE: _("Last shown on {day}. Due now: test again by {latest}."),
            Due.OVERDUE: _(
                "Last shown on {day}. Overdue: the test was to come between {due} and {latest}."
            ),
        }[self.state]
        return says.format(day=self.shown[-1], due=self.due, latest=self.latest)


def retest(
    learner: str,
    attempts: Mapping[str, Iterable[Graded]],
    book: RuleBook,
    *,
    needed: float,
    on: date,
    observed: Iterable[date] = (),
) -> Retest:
    """Return when a learner is to show the skill again.

    ``attempts`` are those at each unit of the course; the skill counts as shown on the day when
    every unit had been ready once, and again on each later day of a ready attempt or of an
    observation hands-on. Days after ``on`` have not come yet and count for nothing.
    """
    ready = {
        unit: {day for one in tries if one.ready(needed) and (day := day_of(one)) and day <= on}
        for unit, tries in attempts.items()
    }
    if not ready or not all(ready.values()):
        return Retest(learner, on)
    first = max(min(days) for days in ready.values())
    again = {*set().union(*ready.values()), *(day for day in observed if day <= on)}
    shown = (first, *sorted(day for day in again if day > first))
    return Retest(learner, on, shown, *window(shown, book))


def window(shown: Sequence[date], book: RuleBook) -> tuple[date, date]:
    """Return the first and last day of the next test after the days shown."""
    soon = book["retest.first"].quantities()
    first, last = (round(each.m_as("day")) for each in soon)
    limit = later(shown[-1], book["retest.limit"].band[1])
    if (shown[-1] - shown[0]).days < first:  # only the first showing so far
        due, latest = (shown[-1] + timedelta(days) for days in (first, last))
    else:
        due, latest = later(shown[-1], book["retest.interval"].value), limit
    return min(due, limit), min(max(due, latest), limit)


def later(day: date, months: float) -> date:
    """Return the day so many months later; a month that is too short gives its last day."""
    years, month = divmod(day.month - 1 + round(months), 12)
    year, month = day.year + years, month + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def day_of(one: Graded) -> date | None:
    """Return the day on which work was handed in; None when that is not known."""
    when = moment(one.handed_in)
    return None if when is None or when.year >= LAST_YEAR else when.date()
