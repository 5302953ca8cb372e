"""The needle drawn beside a finding: its words and its scale against figures typed here."""

from __future__ import annotations

import re

import pytest

from graders.marks.little_trace import in_words, traces
from graders.marks.verdict import Finding, Verdict

TRACE = ((2.2, 6.0), (3.0, 24.5), (3.6, 21.0), (5.8, 4.5))  # s and cmH2O


def finding(trace: tuple[tuple[float, float], ...]) -> Finding:
    """Return a finding with a trace beside it."""
    return Finding("peep", False, "PEEP was set before PIP. And more.", trace=trace)


def test_the_words_give_both_times_both_ends_and_the_highest_pressure() -> None:
    """From the first point to the last, to a whole second; the highest lies between them."""
    assert in_words(finding(TRACE)) == (
        "From 2 to 6 s the needle went from 6 cmH2O to 4.5 cmH2O; its highest was 24.5 cmH2O."
    )


@pytest.mark.parametrize(
    ("highest", "scale"), [(24.5, ["0", "15", "30"]), (30.0, ["0", "15", "30"]),
                           (30.1, ["0", "20", "40"]), (3.0, ["0", "5", "10"])]
)  # fmt: skip
def test_the_scale_ends_at_the_next_ten_with_its_half_beside_it(
    highest: float, scale: list[str]
) -> None:
    """No pressure lies above the uppermost line, and the two times stand below."""
    drawn = traces(Verdict("q", (finding(((2.2, 1.0), (3.0, highest), (5.8, 2.0))),)))
    assert re.findall(r">([^<>]+)</text>", drawn) == [*scale, "2 s", "6 s"]


def test_the_line_goes_through_the_points_in_order_of_time() -> None:
    """The first point at the left edge, the last at the right; higher pressure is further up."""
    drawn = traces(Verdict("q", (finding(TRACE),)))
    points = re.search(r'points="([^"]+)"', drawn)
    assert points is not None
    places = [tuple(map(float, one.split(","))) for one in points[1].split()]
    assert (places[0][0], places[-1][0]) == (34.0, 296.0)
    assert [x for x, _ in places] == sorted(x for x, _ in places)
    assert min(places, key=lambda place: place[1]) == places[1]
    assert places[1][1] == pytest.approx(6 + 82 * (1 - 24.5 / 30), abs=0.05)


def test_a_verdict_without_a_trace_draws_nothing() -> None:
    """No empty picture beside a finding."""
    assert traces(Verdict("q", (finding(()),))) == ""
