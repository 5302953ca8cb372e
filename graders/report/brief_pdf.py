"""The lab brief as a PDF for a printer: the same words as the page, in black and white."""

from __future__ import annotations

from datetime import datetime

from graders.cohort.beliefs import SMALL
from graders.cohort.group import Cohort
from graders.course.roster import Person
from graders.lab.brief import Brief, Group, Topic, Watch, brief
from graders.lab.plan import Lab, LabError
from graders.report.brief_page import (
    GROUPS_SHOWN,
    Part,
    begins,
    birth_lines,
    fault_lines,
    no_topic,
    parts,
    plan,
    sharing_rules,
    summary,
    told,
)
from graders.report.frame import perhaps, title_of
from graders.report.paper import INK, PAPERS, SOFT, Paper, breakable, drawable, undrawable
from workbook.course.settings import Course
from workbook.rules import superseded

_SAFE_USE = (
    "Use a manikin or a test lung, never a baby. What is seen in the lab is recorded as observed "
    "hands-on; neither this sheet nor the workbook says that anybody is competent."
)
_GAP = 6.0  # mm between columns
_PAGES = 2  # the two sides of one sheet
_RESERVED = 36.0  # mm kept free at the end of the last page for what comes after the groups
_NARROW = 11.0  # mm; a stretch that short is named by its number alone; the words stand below
_INSET = 2.0  # mm between a box and what stands in it


def brief_pdf(
    cohort: Cohort,
    *,
    made_at: datetime,
    version: str,
    lab: Lab | None = None,
    paper: str = "a4",
) -> bytes:
    """Return the lab brief of a group as a PDF on A4 or Letter.

    A name in letters the fonts have not, or that run from right to left, is given by its id.
    Raises LabError when the paper is another.
    """
    if paper not in PAPERS:
        raise LabError(f"There is no paper {paper!r}; choose {' or '.join(PAPERS)}.")
    made = brief(cohort, lab)
    course = cohort.course
    sheet = Paper(paper, f"Lab brief: {_title(course)}", made_at)
    sheet.add_page()
    _head(sheet, made, course, made_at)
    _time(sheet, made)
    _topics(sheet, made)
    _faults(sheet, made)
    _births(sheet, made)
    _watch(sheet, made)
    _groups(sheet, made)
    _how(sheet, course, version)
    return sheet.data()


def _title(course: Course) -> str:
    return course.title if drawable(course.title) else course.id


def _head(sheet: Paper, made: Brief, course: Course, made_at: datetime) -> None:
    book = course.book
    kicker = "Lab brief, for the person who runs the hands-on lab"
    sheet.write_at(7.5, f"{kicker}. Made {made_at:%Y-%m-%d %H:%M}", grey=SOFT)
    sheet.ln(0.8)
    sheet.write_at(19, _title(course), serif=True, lead=1.15)
    sheet.ln(1.2)
    sheet.write_at(9.5, f"{summary(made)} {plan(made)}")
    site = book.protocol if drawable(book.protocol) else "the site's own"
    newer = superseded(book.edition)
    local = f" {newer}" if newer else ""
    local += f" Local protocol: {site}." if book.protocol else ""
    sheet.ln(0.6)
    sheet.write_at(8, f"Edition asked about: {book.edition.title}.{local} {_SAFE_USE}", grey=SOFT)


def _time(sheet: Paper, made: Brief) -> None:
    """Draw the session as one bar, each stretch as wide as it is long."""
    each = ", each session" if made.sessions > 1 else ""
    sheet.heading(f"{made.lab.minutes} minutes{each}", keep=24)
    every = parts(made)
    total = sum(part.minutes for part in every) or 1
    left, top = sheet.l_margin, sheet.y
    wide = [sheet.epw * part.minutes / total for part in every]
    said = [_short(part) for part in every]
    high = 6.5 + max(
        sheet.height(6.4, text, w - 1.5 * _INSET)
        for text, w in zip(said, wide, strict=True)
        if w > _NARROW
    )
    for part, text, width in zip(every, said, wide, strict=True):
        sheet.box(left, top, width, high, shade=not part.topic)
        if width > _NARROW:
            sheet.set_xy(left + _INSET, top + 1)
            sheet.write_at(8.5, f"{part.minutes} min", bold=True, width=width)
            sheet.write_at(6.4, text, width=width - 1.5 * _INSET)
        else:
            sheet.set_xy(left, top + 1)
            sheet.write_at(7, str(part.topic), width=width, align="C")
        left += width
    sheet.set_xy(sheet.l_margin, top + high)


def _short(part: Part) -> str:
    return f"{part.topic} {part.says}" if part.topic else part.says.partition(":")[0]


def _topics(sheet: Paper, made: Brief) -> None:
    sheet.heading("What to show on the real device", keep=30)
    for n, topic in enumerate(made.topics, start=1):
        _topic(sheet, n, topic)
    if not made.topics:
        sheet.write_at(
            8.5,
            f"{no_topic(made)} Let each learner do whole set-ups by hand, against the checklist.",
        )
    if made.left_out:
        names = "; ".join(
            f"{title_of(t.misconception.id)} ({t.count}{perhaps(t.slips)})" for t in made.left_out
        )
        sheet.ln(1)
        sheet.write_at(7.5, f"Also seen, without time of their own: {names}.", grey=SOFT)


def _topic(sheet: Paper, n: int, topic: Topic) -> None:
    wrong, left = topic.misconception, sheet.l_margin + 15
    half = (sheet.epw - 15 - _GAP) / 2
    believes, true = f"They believe: {wrong.believes}", f"True is: {wrong.true}"
    body = max(sheet.height(8.5, text, half) for text in (believes, true))
    show = f"Show: {wrong.lab}"
    need = 7.5 + body + sheet.height(8.6, show, sheet.epw - 15, bold=True) + 2.5
    if sheet.y + need > sheet.page_break_trigger:
        sheet.add_page()
    top = sheet.y
    sheet.rule()
    sheet.set_xy(sheet.l_margin, top + 1.4)
    sheet.write_at(15, str(n), serif=True, width=14, lead=1.1)
    sheet.write_at(7.5, f"{topic.minutes} min", grey=SOFT, width=15)
    sheet.set_xy(left, top + 1.6)
    _topic_title(sheet, topic)
    sheet.set_xy(left, top + 7.2)
    sheet.write_at(8.5, believes, width=half)
    sheet.set_xy(left + half + _GAP, top + 7.2)
    sheet.write_at(8.5, true, width=half)
    sheet.set_xy(left, top + 7.2 + body + 0.6)
    sheet.write_at(8.6, show, bold=True)
    sheet.set_xy(sheet.l_margin, sheet.y + 1.6)


def _topic_title(sheet: Paper, topic: Topic) -> None:
    """Set title, count and, where it is unsafe, a framed word on one line."""
    title, top = title_of(topic.misconception.id), sheet.y
    sheet.write_at(10, title, serif=True)
    after = sheet.l_margin + 15 + sheet.get_string_width(title) + 4
    sheet.set_xy(after, top + 0.5)
    count = f"{topic.count} of {topic.of}{perhaps(topic.slips)}"
    sheet.write_at(8, count, grey=SOFT)
    if topic.unsafe:
        after += sheet.get_string_width(count) + 5
        sheet.set_xy(after, top + 0.6)
        sheet.write_at(7, "Unsafe if acted on", bold=True)
        wide = sheet.get_string_width("Unsafe if acted on") + _INSET
        sheet.box(after - _INSET / 2, top + 0.3, wide, 4, shade=False)


def _faults(sheet: Paper, made: Brief) -> None:
    """Set the two faults to build, and what the group found in its trials."""
    if made.faults is None:
        return
    sheet.heading("Two faults to find on the real device", keep=30)
    for n, plant in enumerate(made.faults.plants, start=1):
        counted = f"named right in {plant.right} of {plant.of} trials"
        sheet.write_at(8.6, f"{n}. {plant.says} ({counted})", bold=True)
        sheet.write_at(8, f"Build it: {plant.build} Watch for: {plant.watch}")
    sheet.write_at(7.2, " ".join([made.faults.safely, *fault_lines(made)]), grey=SOFT)


def _births(sheet: Paper, made: Brief) -> None:
    """Set the three cases to run live, and how the group looked after its own."""
    if made.births is None:
        return
    sheet.heading("Three cases to run live, as a team", keep=30)
    for n, live in enumerate(made.births.live, start=1):
        counted = f" (stalled in {live.stalled} of {live.of} cases)" if live.of else ""
        sheet.write_at(8.6, f"{n}. {live.run}{counted}", bold=True)
        sheet.write_at(8, f"Watch for: {live.watch}")
    sheet.write_at(7.2, " ".join([made.births.helper, *birth_lines(made)]), grey=SOFT)


def _watch(sheet: Paper, made: Brief) -> None:
    """Set the critical steps in two columns, row by row."""
    half = (sheet.epw - _GAP) / 2
    pairs = [made.watch[n : n + 2] for n in range(0, len(made.watch), 2)]
    highs = [max(_watch_height(sheet, watch, half) for watch in pair) for pair in pairs]
    sheet.heading(
        "Stop the exercise when you see one of these left out", keep=sum(highs) + 1.3 * len(highs)
    )
    for pair, high in zip(pairs, highs, strict=True):
        top = sheet.y
        for k, watch in enumerate(pair):
            sheet.set_xy(sheet.l_margin + k * (half + _GAP), top)
            sheet.write_at(8.4, _watch_says(watch), bold=bool(watch.count), width=half)
            sheet.write_at(7.6, watch.step.critical, grey=SOFT, width=half)
        sheet.set_xy(sheet.l_margin, top + high + 1.3)


def _watch_says(watch: Watch) -> str:
    if not watch.count:
        return watch.step.says
    verb = "believes" if watch.count == 1 else "believe"
    return f"{watch.step.says} ({watch.count} here {verb} otherwise{perhaps(watch.slips)})"


def _watch_height(sheet: Paper, watch: Watch, width: float) -> float:
    says = sheet.height(8.4, _watch_says(watch), width, bold=bool(watch.count))
    return says + sheet.height(7.6, watch.step.critical, width)


def _groups(sheet: Paper, made: Brief) -> None:
    sheet.heading("Stations and groups", keep=30)
    shown = () if made.shy else made.groups[:GROUPS_SHOWN]
    if not shown:
        few = f"Fewer than {SMALL} learners could be recognised, so they are not named here."
        nobody = "Nobody is on the roster and nobody has handed in."
        sheet.write_at(8.5, few if made.learners else nobody)
        return
    sheet.write_at(
        8,
        "Learners who share a belief work together; a group begins with its own topic, then takes "
        "the others in order. Those not ready come first, so this sheet is for the person who "
        "runs the lab, not for the wall.",
    )
    sheet.ln(1.5)
    drawn = 0
    while drawn < len(shown) and _row_of_groups(sheet, shown[drawn : drawn + 3]):
        drawn += 3
    _after_groups(sheet, len(made.groups) - min(drawn, len(shown)), _unset(shown[:drawn]))


def _after_groups(sheet: Paper, more: int, unset: int) -> None:
    if more:
        rest = "1 more group stands" if more == 1 else f"{more} more groups stand"
        sheet.write_at(8, f"{rest} in lab-groups.csv, beside this sheet.")
    if unset:
        whose = "1 name is" if unset == 1 else f"{unset} names are"
        sheet.write_at(
            7.5,
            f"{whose} written in letters this sheet cannot set; the id stands alone there. "
            "The HTML page shows every name.",
            grey=SOFT,
        )


def _unset(groups: tuple[Group, ...]) -> int:
    return undrawable(person.name for group in groups for person in group.people)


def _row_of_groups(sheet: Paper, groups: tuple[Group, ...]) -> bool:
    """Draw a row of groups; False where the last page has no room for it."""
    width = (sheet.epw - 2 * 3) / 3
    said = [[_named(person) for person in group.people] for group in groups]
    high = 11.5 + max(
        sum(sheet.height(8, name, width - 2 * _INSET) for name in names) for names in said
    )
    last = sheet.page_no() >= _PAGES
    if sheet.y + high > sheet.page_break_trigger - (_RESERVED if last else 0):
        if last:
            return False
        sheet.add_page()
    top = sheet.y
    for n, (group, names) in enumerate(zip(groups, said, strict=True)):
        left = sheet.l_margin + n * (width + 3)
        sheet.box(left, top, width, high, shade=False)
        sheet.set_xy(left + _INSET, top + 1.4)
        where = f"Session {group.session}, station {group.station}"
        sheet.write_at(8.5, where, bold=True, width=width - 2 * _INSET)
        says = f"Group {group.number}. {begins(group)}"
        sheet.write_at(7.2, says, grey=SOFT, width=width - 2 * _INSET)
        sheet.y = top + 10
        for name in names:
            sheet.write_at(8, name, width=width - 2 * _INSET)
    sheet.set_xy(sheet.l_margin, top + high + 2.5)
    return True


def _named(person: Person) -> str:
    if person.name and drawable(person.name):
        return f"{breakable(person.name)} ({person.learner})"
    return person.learner


def _how(sheet: Paper, course: Course, version: str) -> None:
    sheet.heading("How the minutes were shared out", keep=16)
    rules = " ".join(told(rule) for rule in sharing_rules(course))
    sheet.write_at(
        7.2,
        "Unsafe beliefs come first, then the commonest. Set-up check and talk have a fixed share; "
        "each topic first gets the least a topic may have, and what is left goes by how many "
        f"believe it. Who perhaps slipped weighs less. {rules} These are assumptions made "
        f"for teaching. Rules and marking {version}.",
        grey=INK,
    )
