"""A trial at the T-piece: one hidden fault, the moves that look for it, and what each shows.

A trial is drawn (`workbook.units.faults.case.questions`), played on a page, saved as a record of
moves (`record`), and replayed on the model (`replay`). What a look or a needle shows follows from
the model with the fault in it (`scene`, `tells`); nothing is scripted per fault.
"""

from workbook.trial.moves import MOVES, Move, offered
from workbook.trial.named import FAMILIES, NAMED, UNKNOWN, Named, named_in
from workbook.trial.record import Act, Trial, TrialError, read_trial
from workbook.trial.scene import Scene, tables
from workbook.trial.state import State
from workbook.trial.tells import tells

__all__ = [
    "FAMILIES",
    "MOVES",
    "NAMED",
    "UNKNOWN",
    "Act",
    "Move",
    "Named",
    "Scene",
    "State",
    "Trial",
    "TrialError",
    "named_in",
    "offered",
    "read_trial",
    "tables",
    "tells",
]
