"""A case from birth to stabilised: what a team sees, what it can do, and how it went by replay.

A drawn case (`case`) hides a baby of one of nine courses; a team sees what a team would (`seen`),
acts (`acts`), and its record (`record`) is replayed to a course (`replay`), by what the course's
edition asks (`demands`). A teaching model, no forecast; nothing here chooses a setting for a
patient, and no case ends in death.
"""

from workbook.scenario.acts import ACTS, LINES, offered, seconds
from workbook.scenario.case import Case
from workbook.scenario.demands import Demands, demands
from workbook.scenario.record import Done, Played, ScenarioError, read_scenario
from workbook.scenario.replay import Inflation, Replay, replay, timed
from workbook.scenario.seen import seen

__all__ = [
    "ACTS",
    "LINES",
    "Case",
    "Demands",
    "Done",
    "Inflation",
    "Played",
    "Replay",
    "ScenarioError",
    "demands",
    "offered",
    "read_scenario",
    "replay",
    "seconds",
    "seen",
    "timed",
]
