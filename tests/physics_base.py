"""The circuit, the lung and the two breaths that the physics tests begin with."""

from __future__ import annotations

from workbook.physics import Action, Circuit, Lung, set_peep, set_pip, set_relief

BASE = set_peep(set_pip(set_relief(Circuit(8), 40), 20), 5.3)
LUNG = Lung(1, 40)
TWO = (Action(0.3, "occlude"), Action(0.8, "release"), Action(1.5, "occlude"), Action(2, "release"))
