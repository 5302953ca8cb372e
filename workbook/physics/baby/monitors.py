"""What each means shows of a heart and a saturation: late, wrong early, and not all the time.

The true heart rate and what is shown are two things. An oximeter reads too low early after birth;
a sensor and leads need their time after they were put on, and drop out now and then.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import exp, log
from statistics import NormalDist

from workbook.physics.baby.constants import k
from workbook.physics.baby.course import Course

Chance = Callable[[], float]  # uniform from 0 to below 1
OXIMETER, LEADS = "oximeter", "leads"


@dataclass(frozen=True, slots=True)
class Monitor:
    """One monitor's ways: seconds until it shows after it was put on, and when it drops out."""

    after: float
    drops: tuple[tuple[float, float], ...]

    def shows(self, on: float | None, time: float) -> bool:
        """Say whether it shows anything at a time (s), put on at ``on`` (s) or never."""
        if on is None or time < on + self.after:
            return False
        return not any(start <= time < end for start, end in self.drops)


def drawn_monitor(kind: str, chance: Chance, until: float) -> Monitor:
    """Return a monitor of a kind, its dropouts drawn up to a time (s)."""
    off = NormalDist().inv_cdf(0.02 + 0.96 * chance()) * k(f"{kind}.after-sd")
    after = round(max(k(f"{kind}.soonest"), k(f"{kind}.after") + off), 1)
    drops, time = list[tuple[float, float]](), 0.0
    while time < until:
        time += -k("drop.every") * log(1 - chance())
        long = min(k("drop.longest"), -k("drop.long") * log(1 - chance()))
        drops.append((round(time, 1), round(time + long, 1)))
        time += long
    return Monitor(after, tuple((a, b) for a, b in drops if b > a))


def by_oximeter(course: Course, time: float) -> tuple[int, int]:
    """Return heart rate (1/min) and saturation (percent) as an oximeter shows them."""
    early = max(0.0, time - k("oximeter.until"))
    low = k("oximeter.low") * exp(-early / k("oximeter.over"))
    lag = k("oximeter.lag")
    heart = course.late("heart", time, lag) * (1 - low)
    return round(round(heart, 2)), round(round(100 * course.late("saturation", time, lag), 2))


def by_leads(course: Course, time: float) -> int:
    """Return the heart rate (1/min) as leads show it."""
    return round(course.late("heart", time, k("leads.over")))


def heard(course: Course, start: float, window: float, phase: float = 0.0) -> list[float]:
    """Return the beats (s) heard while they are counted for a window (s) from ``start`` on.

    ``phase`` is how far in a beat the heart was at birth, so that no two counts begin alike.
    """
    return [beat for beat in course.beats(0.0, start + window, phase) if beat >= start]


def expired(compliance: float, pip: float, peep: float) -> float:
    """Return expired carbon dioxide (percent) of an inflation.

    ``compliance`` for each kg (mL/cmH2O), pressures in cmH2O.
    """
    volume = compliance * (pip - peep)
    if volume <= 0:
        return 0.0
    return k("expired.most") * max(0.0, 1 - k("dead-space") / volume)
