"""Babies as published studies met them: middle ones and drawn ones, and what the model gives.

Times in s after birth; saturations in percent, heart rates in 1/min.
"""

from __future__ import annotations

import random
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cache
from statistics import median

from workbook.physics.baby.constants import k
from workbook.physics.baby.course import Course
from workbook.physics.baby.courses import KINDS, drawn, first_breath, varied
from workbook.physics.baby.model import Drive, State, advance, born, inflations
from workbook.physics.baby.monitors import Chance, by_oximeter, expired
from workbook.physics.baby.nature import Nature, healthy, preterm, term

COUNT = 301  # drawn babies of a cohort
DRAWS = 5  # what is drawn of each: four in `varied`, and the first breath
WIDE = 3.0  # standard deviations: a cohort is not cut off as drawn cases are
TERM, SMALL = 3.3, 1.1  # kg; everything else is for each kg
SUPPORTED = 45.0  # s after birth, in a cohort below 32 weeks; an assumption
VENTILATED = 60.0  # s after birth; an assumption
SLOWER = (0.835, 676.0)  # shunt at birth and time of the vessels (s), refitted on 61 and 80 %
CARBON = 1.33  # percent, 10 mmHg of expired carbon dioxide
PAIR, SMALL_PAIR = (30.0, 5.0, 40.0, 0.5), (25.0, 6.0, 40.0, 0.5)  # PIP, PEEP, rate, time

Part = tuple[float, Drive]


def course(nature: Nature, parts: Sequence[Part]) -> Course:
    """Return how it goes with a baby: each part lasts until a time (s)."""
    states = [born(nature)]
    for until, drive in parts:
        advance(nature, states[-1], drive, until, states.append)
    return Course(states)


def _air() -> Drive:
    return Drive(oxygen=k("air"))


def _still() -> Drive:
    return replace(_air(), effort=0.0)


@cache
def _healthy() -> Course:
    return course(healthy(TERM), [(900.0, _air())])


def saturation(time: float) -> float:
    """Return the saturation of the middle term baby who breathes, in air."""
    return 100 * _healthy().saturation(time)


def heart(time: float) -> float:
    """Return the same baby's heart rate, as leads would show it."""
    return _healthy().heart(time)


def shown(time: float) -> float:
    """Return the same baby's heart rate as an oximeter would show it."""
    return float(by_oximeter(_healthy(), time)[0])


def reaches(share: float) -> float:
    """Return when the same baby's saturation passes a share (min)."""
    return _first(_healthy(), lambda state: state.saturation >= share) / 60


def _first(made: Course, holds: Callable[[State], bool], since: float = 0.0) -> float:
    """Return the first time (s) from ``since`` on at which a state holds; the end if none does."""
    return next((s.time for s in made.states if s.time >= since and holds(s)), made.end)


@cache
def _small(oxygen: float) -> Course:
    """Return the middle baby below 32 weeks, breathing a little and supported."""
    nature = preterm(SMALL, breath=k("breath.first-preterm"))
    drive = inflations(*SMALL_PAIR, oxygen)
    return course(nature, [(SUPPORTED, Drive(oxygen=oxygen)), (600.0, drive)])


def preterm_saturation(oxygen: float, time: float) -> float:
    """Return the saturation of the middle baby below 32 weeks at a share of oxygen."""
    return 100 * _small(oxygen).saturation(time)


@cache
def rise(depth: float) -> tuple[float, float]:
    """Return after how long of ventilation a slow heart rises (s), and how long it then takes."""
    nature = term(TERM, depth=depth)
    drive = replace(inflations(*PAIR, k("air")), effort=0.0)
    made = course(nature, [(VENTILATED, _still()), (300.0, drive)])
    slow = made.heart(VENTILATED)
    begins = _first(made, lambda s: s.heart >= slow + 10, VENTILATED)
    most = slow + 0.9 * (made.heart(made.end) - slow)
    done = _first(made, lambda s: s.heart >= most, VENTILATED)
    return begins - VENTILATED, done - begins


def _spread(seed: str) -> list[Chance]:
    """Return the chances of each baby, spread evenly over a cohort: a Latin square.

    With independent draws a centile of so few babies would depend on the seed.
    """
    chance = random.Random(seed).random  # noqa: S311 (drawn babies, no secret)
    places = [(n + 0.5) / COUNT for n in range(COUNT)]
    columns = [sorted(places, key=lambda _: chance()) for _ in range(DRAWS)]
    return [iter(row).__next__ for row in zip(*columns, strict=True)]


@cache
def _cohort() -> list[Course]:
    made = list[Course]()
    for chance in _spread("healthy"):
        nature = varied(healthy(TERM), chance, WIDE)
        breath = first_breath(chance, k("breath.first"), WIDE)
        made.append(course(replace(nature, breath=breath), [(300.0, _air())]))
    return made


@cache
def _small_cohort(oxygen: float) -> list[Course]:
    drive = inflations(*SMALL_PAIR, oxygen)
    made = list[Course]()
    for chance in _spread("small"):
        nature = varied(preterm(SMALL), chance, WIDE)
        breath = first_breath(chance, k("breath.first-preterm"), WIDE)
        parts = [(SUPPORTED, Drive(oxygen=oxygen)), (600.0, drive)]
        made.append(course(replace(nature, breath=breath), parts))
    return made


def _share(courses: Sequence[Course], time: float, percent: float) -> float:
    values = sorted(made.saturation(time) for made in courses)
    return 100 * values[round(percent / 100 * (len(values) - 1))]


def centile(time: float, percent: float) -> float:
    """Return a centile of the saturation of drawn healthy babies."""
    return _share(_cohort(), time, percent)


def preterm_centile(oxygen: float, time: float, percent: float) -> float:
    """Return the same of drawn babies below 32 weeks with a share of oxygen."""
    return _share(_small_cohort(oxygen), time, percent)


def not_at(oxygen: float, share: float, time: float) -> float:
    """Return how many of them in a hundred are not at a saturation (a share) by a time."""
    values = sorted(made.saturation(time) for made in _small_cohort(oxygen))
    return 100 * bisect_left(values, share) / len(values)


@cache
def _slower() -> Course:
    shunt, vessels = SLOWER
    return course(replace(healthy(TERM), shunt=shunt, vessels=vessels), [(900.0, _air())])


def slower(time: float) -> float:
    """Return the saturation of a baby below 35 weeks: shunt and vessels refitted."""
    return 100 * _slower().saturation(time)


def carbon_first(oxygen: float) -> float:
    """Return how long (s) expired carbon dioxide comes before a heart above 100 a minute."""
    nature = preterm(SMALL)
    drive = replace(inflations(*SMALL_PAIR, oxygen), effort=0.0)
    made = course(nature, [(SUPPORTED, _still()), (420.0, drive)])

    def shows(state: State) -> bool:
        return expired(nature.taken(state.aerated), *SMALL_PAIR[:2]) >= CARBON

    carbon = _first(made, shows, SUPPORTED)
    return _first(made, lambda s: s.heart >= 100, carbon) - carbon


@cache
def apnoea() -> tuple[float, float]:
    """Return after how long of apnoea saturation falls by 2 points and the heart by 5 beats (s)."""
    begins = 600.0
    drive = Drive(peep=PAIR[1], oxygen=k("air"), effort=0.0)
    parts = [(begins, _air()), *((begins + n / 4, drive) for n in range(1, 240))]
    made = course(healthy(TERM), parts)
    was = made.at(begins)
    falls = _first(made, lambda s: s.saturation <= was.saturation - 0.02, begins)
    slows = _first(made, lambda s: s.heart <= was.heart - 5, begins)
    return falls - begins, slows - begins


def without_peep() -> float:
    """Return how much later (s) a heart is above 100 a minute without PEEP."""
    times = []
    for peep in (PAIR[1], 0.0):
        drive = replace(inflations(PAIR[0], peep, *PAIR[2:], k("air")), effort=0.0)
        made = course(term(TERM), [(VENTILATED, _still()), (300.0, drive)])
        times.append(_first(made, lambda s: s.heart >= 100, VENTILATED))
    return times[1] - times[0]


@cache
def _ventilated(oxygen: float) -> Course:
    drive = replace(inflations(*SMALL_PAIR, oxygen), effort=0.0)
    return course(preterm(SMALL), [(VENTILATED, _still()), (600.0, drive)])


def ventilated_until(oxygen: float, rate: float) -> float:
    """Return how long (s) a slow baby below 30 weeks is ventilated until this is shown."""
    made = _ventilated(oxygen)
    seconds = range(int(VENTILATED), int(made.end))
    return next(n for n in seconds if by_oximeter(made, n)[0] > rate) - VENTILATED


def first_heart(time: float) -> float:
    """Return the median heart rate at a time of drawn babies who do not breathe."""
    chance = random.Random("first").random  # noqa: S311 (drawn babies, no secret)
    ids = [id for id, kind in KINDS.items() if not kind.breathes]
    natures = [drawn(ids[n % len(ids)], TERM, PAIR[0], chance).nature for n in range(COUNT)]
    return median(course(nature, [(time, _still())]).heart(time) for nature in natures)


def delay(kind: str) -> float:
    """Return how long (s) a monitor needs, as a middle, from put on to a first value."""
    return k(f"{kind}.after")
