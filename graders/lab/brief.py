"""The lab brief: what a group believes, what to show it on the real device, for how long, to whom.

Pure: from a group's picture to the plan of its lab. Same group, same plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from graders.cohort.beliefs import SMALL, Belief
from graders.cohort.group import Cohort
from graders.cohort.turnout import Turnout
from graders.course.roster import Person
from graders.lab.births import Births, births
from graders.lab.checklist import Item, checklist
from graders.lab.faults import Faults, faults
from graders.lab.plan import Lab, Times, lab_of, sizes, times
from graders.learner.standing import Status
from graders.marks.misconceptions import Misconception
from workbook.rules import RuleBook

_GRAVEST_FIRST = (
    Status.UNSAFE, Status.NOT_YET, Status.UNMARKED, Status.MISSING, Status.READY
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Topic:
    """One misconception of the group; ``minutes`` is None when the lab has no time for it.

    ``count`` has everyone whose answers fit it, ``slips`` how many of them a slip explains as well.
    """

    misconception: Misconception
    count: int
    of: int
    minutes: int | None = None
    slips: int = 0

    @property
    def unsafe(self) -> bool:
        """Say whether acting on the belief could harm a baby."""
        return self.misconception.unsafe


@dataclass(frozen=True, slots=True)
class Group:
    """Learners who share a device; ``begins`` is the id of the topic they begin with, or empty."""

    number: int
    session: int
    station: int
    people: tuple[Person, ...]
    begins: str = ""


@dataclass(frozen=True, slots=True)
class Watch:
    """A step whose breach could harm a baby, and how many here hold a belief that breaks it.

    ``slips`` of them may have slipped.
    """

    step: Item
    count: int
    slips: int = 0


@dataclass(frozen=True, slots=True)
class Brief:
    """The plan of a group's lab.

    ``shy`` says that the whole group is so small that it is named nowhere. ``unsafe`` counts the
    learners who showed an unsafe act in the workbook, ``turnout`` who handed in and was marked,
    ``faults`` is what the group found in its trials of fault finding, ``births`` how it
    looked after its cases from birth, where it did any.
    """

    lab: Lab
    times: Times
    topics: tuple[Topic, ...]
    left_out: tuple[Topic, ...]
    watch: tuple[Watch, ...]
    groups: tuple[Group, ...]
    learners: int
    ready: int
    unsafe: int
    turnout: Turnout
    faults: Faults | None = None
    births: Births | None = None

    @property
    def shy(self) -> bool:
        """Say whether the group is too small to be named."""
        return self.learners < SMALL

    @property
    def sessions(self) -> int:
        """Return how many sessions everyone needs at these stations."""
        return max((group.session for group in self.groups), default=0)


def brief(cohort: Cohort, lab: Lab | None = None) -> Brief:
    """Return the plan of a group's lab; without a ``lab`` of its own, as the rules have it."""
    book = cohort.course.book
    settled = lab or lab_of(book)
    ranked = sorted(cohort.beliefs, key=_rank)
    share = times(settled.minutes, [_weight(belief, book) for belief in ranked], book)
    given = len(share.topics)
    topics = [_topic(b, m) for b, m in zip(ranked[:given], share.topics, strict=True)]
    people = {row.learner: row.person for row in cohort.rows}
    status = cohort.statuses()
    return Brief(
        settled,
        share,
        tuple(topics),
        tuple(_topic(belief) for belief in ranked[given:]),
        _watch(ranked, book),
        grouped(people, status, ranked[:given], settled),
        learners=len(people),
        ready=sum(s is Status.READY for s in status.values()),
        unsafe=sum(s is Status.UNSAFE for s in status.values()),
        turnout=cohort.turnout,
        faults=faults([each for row in cohort.rows if row.usable for each in row.tried]),
        births=births(
            [each for row in cohort.rows if row.usable for each in row.born],
            sum(bool(row.born) and row.status is Status.UNSAFE for row in cohort.rows),
        ),
    )


def _rank(belief: Belief) -> tuple[bool, bool, float, str]:
    wrong = belief.misconception
    return (_scattered(belief), not wrong.unsafe, -belief.expected, wrong.id)


def _scattered(belief: Belief) -> bool:
    """Say whether one slip may explain it all; two people do not slip alike."""
    return belief.expected < 1


def _unsafe(belief: Belief) -> bool:
    return belief.misconception.unsafe and not _scattered(belief)


def _weight(belief: Belief, book: RuleBook) -> float:
    return belief.expected * (book["lab.unsafe"].value if _unsafe(belief) else 1.0)


def _topic(belief: Belief, minutes: int | None = None) -> Topic:
    return Topic(belief.misconception, belief.count, belief.of, minutes, len(belief.slips))


def _watch(ranked: Iterable[Belief], book: RuleBook) -> tuple[Watch, ...]:
    """Return every critical step of the checklist, those the group breaks first."""
    breakers: dict[str, set[str]] = {}
    sure: dict[str, set[str]] = {}
    for belief in filter(_unsafe, ranked):
        rule = belief.misconception.rule
        breakers.setdefault(rule, set()).update(belief.learners)
        sure.setdefault(rule, set()).update(set(belief.learners).difference(belief.slips))

    def watched(item: Item) -> Watch:
        all, named = (
            set[str]().union(*(of.get(rule, ()) for rule in item.rests_on))
            for of in (breakers, sure)
        )
        return Watch(item, len(all), len(all - named))

    found = [watched(item) for item in checklist(book).items if item.critical]
    return tuple(sorted(found, key=lambda watch: -watch.count))


def grouped(
    people: Mapping[str, Person],
    status: Mapping[str, Status],
    beliefs: Sequence[Belief],
    settled: Lab,
) -> tuple[Group, ...]:
    """Put everyone into exactly one group, those not ready first, like beliefs side by side.

    Groups are balanced; the first ones come to the first session. A group's own topic is one
    that two of it or more hold, and never one that so few hold that they could be recognised.
    """
    main = _main_topics(beliefs)
    places = {belief.misconception.id: n for n, belief in enumerate(beliefs)}

    def place(learner: str) -> tuple[bool, int, int, str]:
        topic = places.get(main.get(learner, ""), len(places))
        now = status[learner]
        return (now is Status.READY, topic, _GRAVEST_FIRST.index(now), learner)

    waiting = iter(sorted(people, key=place))
    each = sizes(len(people), settled.group)
    made = []
    for n, (session, station) in enumerate(_places(len(each), settled.stations)):
        own = [next(waiting) for _ in range(each[n])]
        begins = _begins(own, main, places)
        made.append(Group(n + 1, session, station, tuple(people[id] for id in own), begins))
    return tuple(made)


def _places(groups: int, stations: int) -> Iterator[tuple[int, int]]:
    """Yield (session, station) for each group: sessions as even as can be, the fuller first."""
    count = -(-groups // stations)
    for session in range(count):
        for station in range(groups // count + (session < groups % count)):
            yield session + 1, station + 1


def _main_topics(beliefs: Sequence[Belief]) -> dict[str, str]:
    """Return the first topic that each learner holds, among those enough learners hold."""
    found: dict[str, str] = {}
    for belief in beliefs:
        if belief.count >= SMALL:
            for learner in belief.learners:
                found.setdefault(learner, belief.misconception.id)
    return found


def _begins(own: Iterable[str], main: Mapping[str, str], places: Mapping[str, int]) -> str:
    held = Counter(main[id] for id in own if id in main)
    if not held:
        return ""
    topic = min(held, key=lambda id: (-held[id], places[id]))
    return topic if held[topic] > 1 else ""
