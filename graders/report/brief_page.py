"""The pages for the person who runs the lab: the brief, and the sheet of the skills checklist."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from graders.cohort.beliefs import SMALL
from graders.cohort.group import Cohort
from graders.lab.brief import Brief, Group, brief
from graders.lab.checklist import DONE, checklist
from graders.lab.faults import Family
from graders.lab.plan import Lab
from graders.report.frame import drawn, title_of
from workbook.course.settings import Course
from workbook.rules import Rule, superseded

BRIEF_PAGE = "lab-brief.html"
BRIEF_PDF = "lab-brief.pdf"
CHECKLIST_PAGE = "lab-checklist.html"
CHECKLIST_SHEET = "lab-checklist.csv"

SURE_SHOWN = 5  # pairs of faults; the rest were rarer
GROUPS_SHOWN = 12  # more would not leave the page readable; they stand in the table of groups
_RULES = ("lab.check", "lab.debrief", "lab.topic", "lab.topics", "lab.unsafe")


@dataclass(frozen=True, slots=True)
class Part:
    """A stretch of the session: its minutes and what it is for."""

    minutes: int
    says: str
    topic: int = 0  # the topic's number, from 1; 0 for what everyone does together


def brief_text(
    cohort: Cohort,
    *,
    made_at: datetime,
    version: str,
    lab: Lab | None = None,
) -> str:
    """Return the lab brief of a group as one HTML page; without a ``lab``, as the rules have it."""
    made, book = brief(cohort, lab), cohort.course.book
    return drawn(
        "brief.html.jinja",
        brief=made,
        course=cohort.course,
        edition=book.edition,
        newer=superseded(book.edition),
        protocol=book.protocol,
        made_at=made_at,
        version=version,
        says=summary(made),
        plan=plan(made),
        parts=parts(made),
        groups=[] if made.shy else made.groups[:GROUPS_SHOWN],
        more=0 if made.shy else max(0, len(made.groups) - GROUPS_SHOWN),
        small=SMALL,
        rules=sharing_rules(cohort.course),
        told=told,
        no_topic=no_topic(made),
        begins=begins,
        fault_lines=fault_lines(made),
        birth_lines=birth_lines(made),
    )


def checklist_text(course: Course, *, made_at: datetime, version: str) -> str:
    """Return the skills checklist as one HTML page to print and fill in by hand."""
    made = checklist(course.book)
    return drawn(
        "checklist.html.jinja",
        checklist=made,
        newer=superseded(course.book.edition),
        course=course,
        made_at=made_at,
        version=version,
        done=DONE,
        critical=sum(bool(item.critical) for item in made.items),
    )


def summary(made: Brief) -> str:
    """Return the group in one sentence."""
    if not made.learners:
        return "There is nobody in this course yet, so this plan shows the time alone."
    if made.shy:
        return (
            f"Fewer than {SMALL} learners: this brief names nobody, and its counts are of "
            "very few people."
        )
    return (
        f"{_count(made.learners, 'learner')}: {made.turnout.handed_in}; {_are(made.ready)} ready "
        f"for the lab; {_unsafe(made)}. {made.turnout.left_out}".strip()
    )


def _unsafe(made: Brief) -> str:
    says = "showed an unsafe act in the workbook"
    return f"{made.unsafe} {says}" if made.unsafe else made.turnout.none_of(says)


def no_topic(made: Brief) -> str:
    """Return what is said where no misconception is to be shown."""
    if not made.turnout.marked:
        return "Nothing was marked, so nothing can be said of misconceptions."
    where = " in what was marked" if made.turnout.unmarked else ""
    return f"No known misconception was recognised{where}."


def plan(made: Brief) -> str:
    """Return the plan in one sentence."""
    lab = made.lab
    stations = _count(lab.stations, "station")
    if not made.groups:
        return f"One session of {lab.minutes} min at {stations}."
    largest = max(len(group.people) for group in made.groups)
    return (
        f"{_count(made.sessions, 'session')} of {lab.minutes} min at {stations}: "
        f"{_count(len(made.groups), 'group')} of up to {largest}. "
        "Those not ready come first."
    )


def parts(made: Brief) -> Sequence[Part]:
    """Return the stretches of one session, in order; their minutes are all its minutes."""
    times = made.times
    topics = [
        Part(topic.minutes or 0, title_of(topic.misconception.id), n)
        for n, topic in enumerate(made.topics, start=1)
    ]
    whole = [Part(times.practice, "Whole set-ups by hand, against the checklist")]
    return [
        Part(times.check, "Set-up check: each group sets up its device, observed"),
        *(topics or whole),
        Part(times.debrief, "Talk it over: what moved the needle, what was unsafe"),
    ]


def fault_lines(made: Brief) -> list[str]:
    """Return what the group found in its trials: by family, confused, and sure though wrong."""
    if made.faults is None:
        return []
    shares = "; ".join(_family(one) for one in made.faults.families)
    lines = [f"Named right, and the median time to the first safe act with a baby: {shares}."]
    if made.faults.confused:
        first = made.faults.confused[0]
        lines.append(f"Most confused: {first.says} ({first.count}).")
    if made.faults.sure_wrong:
        sure = "; ".join(f"{one.says} ({one.sure})" for one in made.faults.sure_wrong[:SURE_SHOWN])
        lines.append(f"Sure and wrong: {sure}.")
    return lines


def birth_lines(made: Brief) -> list[str]:
    """Return how the group looked after its cases: when chests moved, stalls, what was unsaid."""
    found = made.births
    if found is None:
        return []
    moved = "no chest moved" if found.moved is None else f"{found.moved:g} s after birth"
    lines = [
        f"Median time to a chest that moves, in {found.of} cases of babies to ventilate: "
        f"{moved} (never in {found.never})."
    ]
    if found.stalls:
        lines.append(f"Where cases stalled, of {found.cases}: {_counted(found.stalls)}.")
    if found.unsaid:
        lines.append(f"Not said aloud: {_counted(found.unsaid)}.")
    if found.not_yet:
        lines.append(
            f"Should not lead yet: {found.not_yet}, who did what could have harmed. They come "
            "first in the groups."
        )
    return lines


def _counted(rows: Iterable[tuple[str, int]]) -> str:
    return "; ".join(f"{says} ({count})" for says, count in rows)


def _family(one: Family) -> str:
    text = one.says[:1].lower() + one.says[1:]
    time = "" if one.safe is None else f", {one.safe:g} s"
    return f"{text}, {one.right} of {one.of}{time}"


def begins(group: Group) -> str:
    """Return what a group begins with."""
    return f"Begin with {title_of(group.begins)}" if group.begins else "Topics in their order"


def sharing_rules(course: Course) -> list[Rule]:
    """Return the rules by which the minutes are shared out."""
    return [course.book[id] for id in _RULES]


def told(rule: Rule) -> str:
    """Return a rule of the plan with its number as one sentence."""
    return f"{rule.says.rstrip('.')}: {rule.text}."


def _are(count: int) -> str:
    return "nobody is" if count == 0 else "1 is" if count == 1 else f"{count} are"


def _count(n: int, what: str) -> str:
    return f"{n} {what}" if n == 1 else f"{n} {what}s"
