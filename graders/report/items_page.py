"""The page on the questions: one HTML file, no network, one script, which only sorts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import accumulate
from pathlib import Path

from graders.cohort.beliefs import SMALL
from graders.course.coursefolder import Person
from graders.items.draws import Observed, observed
from graders.items.flags import Flag, Sign, flags, reliability, strength
from graders.items.forms import FormStudy, sample
from graders.items.gains import Gain, GainSummary, summary
from graders.items.intervals import Estimate
from graders.items.quality import ItemStatistics, ScoreStatistics, statistics
from graders.items.scores import ItemScores, UnitScores
from graders.report.frame import drawn
from graders.report.items_plot import CENT, Plot, lowest_of, plot
from workbook.cases import Case, case, exercises
from workbook.course.settings import Course
from workbook.rules import RuleBook

PAGE = "items.html"
SAMPLED = 200  # learners whose cases are drawn anew to compare draws: seconds, and power enough
LISTED = 200  # rows of a table of gains; of more learners, those who gained least
BINS = 10
GRAVE = (Sign.MISLEADS, Sign.PULLS)
RULES = (
    *("item.confidence", "item.few", "item.discrimination.acceptable", "item.discrimination.good"),
    *("item.difficulty", "item.pull", "item.reliability", "form.group", "form.level"),
)


@dataclass(frozen=True, slots=True)
class ItemView:
    """One row of a unit's table of questions."""

    item: ItemStatistics
    asked: str
    word: str
    left_open: int
    flags: tuple[Flag, ...]

    @property
    def first(self) -> tuple[Flag, ...]:
        """Return what makes a question one to look at before all others."""
        return tuple(f for f in self.flags if f.sign in (*GRAVE, Sign.MAY))

    @property
    def grave(self) -> bool:
        """Say whether more than chance speaks against the question."""
        return any(f.sign in GRAVE for f in self.flags)


@dataclass(frozen=True, slots=True)
class Spread:
    """How the totals lie, as shares: ends, quarters and middle, and learners by tenth."""

    low: float
    lower: float
    middle: float
    upper: float
    high: float
    bins: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class GainView:
    """The gains of a unit: the group's, and the rows shown of each learner's, least first."""

    summary: GainSummary
    rows: tuple[Gain, ...]
    more: int


@dataclass(frozen=True, slots=True)
class UnitView:
    """All that the page says of one unit; ``stats`` is None where too few handed in."""

    id: str
    scores: UnitScores
    stats: ScoreStatistics | None
    items: tuple[ItemView, ...]
    says: tuple[str, ...]
    plot: Plot | None
    spread: Spread | None
    study: FormStudy | None
    draws: Observed | None
    gains: GainView | None


def items_text(
    scores: ItemScores,
    course: Course,
    *,
    made_at: datetime,
    version: str,
    studies: Sequence[FormStudy] = (),
    gains: Iterable[Gain] = (),
    people: Mapping[str, Person] | None = None,
    sampled: int = SAMPLED,
) -> str:
    """Return the whole page as HTML.

    ``studies`` come from forms.simulate, ``gains`` from gains.gains, ``people`` from the roster.
    The cases of at most ``sampled`` learners of each unit are drawn anew to compare draws.
    """
    views = _views(scores, course, studies, gains, sampled)
    book = course.book
    return drawn(
        "items.html.jinja",
        course=course,
        made_at=made_at,
        version=version,
        units=views,
        says=_summary(views),
        first=_first(views),
        rules=[book[id] for id in RULES],
        unequal=lambda view: view.draws.unequal(book) if view.draws else (),
        person=lambda id: (people or {}).get(id, Person(id)),
        level=f"{book['item.confidence'].value:g} %",
        group=f"{book['form.group'].value:g}",
        small=SMALL,
        percent=percent,
        figure=figure,
        signed=signed,
        script=Path(__file__).with_name("items_sort.js").read_text(encoding="utf-8"),
        names_people=any(view.gains for view in views),
    )


def _views(
    scores: ItemScores,
    course: Course,
    studies: Sequence[FormStudy],
    gains: Iterable[Gain],
    sampled: int,
) -> list[UnitView]:
    """Return each unit of the course, then each other that was handed in."""
    by_unit: dict[str, list[Gain]] = {}
    for gain in gains:
        by_unit.setdefault(gain.unit, []).append(gain)
    study_of = {study.unit: study for study in studies}
    names, book = dict.fromkeys((*course.units, *scores.units)), course.book
    return [
        _unit(scores.unit(id), course, book, study_of.get(id), by_unit.get(id, []), sampled)
        for id in names
    ]


def _unit(
    scores: UnitScores,
    course: Course,
    book: RuleBook,
    study: FormStudy | None,
    gains: Sequence[Gain],
    sampled: int,
) -> UnitView:
    sure = book["item.confidence"].value / 100
    gained = _gains(scores.unit, gains, sure)
    if len(scores.learners) < SMALL:
        return UnitView(scores.unit, scores, None, (), (), None, None, study, None, gained)
    cases = _cases(scores, course, book, sampled)
    stats = statistics(scores.scores, scores.questions, sure, scores.maxima)
    rows = _rows(stats, scores, _asked(cases.values()), book)
    acceptable = book["item.discrimination.acceptable"].value
    named = [bool(row.first) for row in rows]
    return UnitView(
        scores.unit,
        scores,
        stats,
        rows,
        reliability(stats, book),
        plot(stats.items, named, acceptable, lowest_of(stats.items)),
        _spread(stats),
        study,
        observed(scores, cases, book),
        gained,
    )


def _cases(scores: UnitScores, course: Course, book: RuleBook, most: int) -> dict[str, Case]:
    if scores.unit not in exercises():
        return {}
    drawn = sample(scores.learners, most)
    attempts = scores.attempts
    return {id: case(course.id, scores.unit, id, book, attempts.get(id, 1)) for id in drawn}


def _asked(cases: Iterable[Case]) -> dict[str, str]:
    """Return what each question asks; nothing where it asks different learners differently."""
    labels: dict[str, set[str]] = {}
    for each in cases:
        for question in each.questions:
            labels.setdefault(question.id, set()).add(question.label)
    return {id: next(iter(says)) for id, says in labels.items() if len(says) == 1}


def _rows(
    stats: ScoreStatistics, scores: UnitScores, asked: Mapping[str, str], book: RuleBook
) -> tuple[ItemView, ...]:
    return tuple(
        ItemView(
            item,
            asked.get(item.id, "It asks learners different things."),
            strength(item.corrected, book),
            scores.left_open.get(item.id, 0),
            flags(item, scores.pulls.get(item.id, {}), book),
        )
        for item in stats.items
    )


def _spread(stats: ScoreStatistics) -> Spread | None:
    """Return how the totals lie; the quarters are totals that somebody has."""
    if not stats.learners:
        return None
    shares = [total / stats.possible for total in stats.totals]
    upto = list(accumulate(stats.totals.values()))
    bins = [0] * BINS
    for share, count in zip(shares, stats.totals.values(), strict=True):
        bins[min(BINS - 1, int(share * BINS + 1e-9))] += count

    def at(part: float) -> float:
        return next(s for s, n in zip(shares, upto, strict=True) if n >= part * stats.learners)

    return Spread(shares[0], at(0.25), at(0.5), at(0.75), shares[-1], tuple(bins))


def _gains(unit: str, found: Sequence[Gain], confidence: float) -> GainView | None:
    if not found:
        return None
    rows = sorted(found, key=lambda g: (g.change, g.learner))
    return GainView(summary(unit, found, confidence), tuple(rows[:LISTED]), len(rows[LISTED:]))


def _summary(views: Sequence[UnitView]) -> str:
    """Return the page in one sentence."""
    counted = [view for view in views if view.stats]
    if not counted:
        return "There are too few answers to say anything of the questions yet."
    first = _first(views)
    grave = sum(row.grave for _, row in first)
    total = sum(len(view.items) for view in counted)
    of = f"{total} questions of {len(counted)} unit{'s' if len(counted) > 1 else ''}"
    says = f"{grave or 'None'} of {of} {'misleads or lets' if grave < 2 else 'mislead or let'} one "
    says += "belief draw many"
    maybe = len(first) - grave
    more = "more may" if grave else "may"
    return says + (f"; {maybe} {more} mislead, or it is chance." if maybe else ".")


def _first(views: Sequence[UnitView]) -> list[tuple[UnitView, ItemView]]:
    """Return the questions to look at before all others, those first that chance cannot explain."""
    found = [(view, row) for view in views for row in view.items if row.first]
    return sorted(found, key=lambda pair: not pair[1].grave)


def percent(found: Estimate) -> str:
    """Return a share in whole per cent, with its interval; nothing where there is none."""
    if found.value is None:
        return ""
    return _plain(100 * found.value, 0) + CENT + _ends(found, lambda x: _plain(100 * x, 0))


def signed(share: float) -> str:
    """Return a change in whole per cent, with its sign."""
    said = _plain(100 * share, 0)
    return (
        f"+{said}\N{NO-BREAK SPACE}%" if share > 0 and said != "0" else f"{said}\N{NO-BREAK SPACE}%"
    )


def figure(found: Estimate, digits: int = 2) -> str:
    """Return a figure with its interval; nothing where there is none."""
    if found.value is None:
        return ""
    return f"{_plain(found.value, digits)}{_ends(found, lambda x: _plain(x, digits))}"


def _plain(value: float, digits: int) -> str:
    """Return a number with a true minus, and no minus before nothing."""
    said = f"{value:.{digits}f}"
    return said.replace("-", "" if float(said) == 0 else "\N{MINUS SIGN}")


def _ends(found: Estimate, say: Callable[[float], str]) -> str:
    if found.low is None or found.high is None:
        return ""
    return f" ({say(found.low)} to {say(found.high)})"
