"""The circuit, the lung and the two breaths that the physics tests begin with."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from hypothesis import example, given
from hypothesis import strategies as st

from workbook.physics import (
    Action,
    Circuit,
    Lung,
    Passage,
    Tube,
    set_peep,
    set_pip,
    set_relief,
)

BASE = set_peep(set_pip(set_relief(Circuit(8), 40), 20), 5.3)
LUNG = Lung(1, 40)
TWO = (Action(0.3, "occlude"), Action(0.8, "release"), Action(1.5, "occlude"), Action(2, "release"))


ANYTHING = given(
    st.floats(0, 100),
    st.floats(0.001, 100),
    st.floats(0, 1e4),
    st.floats(0, 50),
    st.sampled_from([None, 0.5, 5.0]),
    st.lists(
        st.tuples(
            st.floats(0, 1), st.sampled_from(["occlude", "release", "open", "cap", "connect"])
        ),
        max_size=8,
    ),
)
FOUND_BEFORE = (
    example(0.0, 1.0, 1e-280, 0.0, None, []),
    example(40.0, 0.001, 290.0, 0.0, None, [(1e-204, "occlude")]),
    example(0.001, 0.3, 1e4, 1e-9, 5.0, [(0.3, "release"), (0.5, "cap"), (0.7, "open")]),
)


def anything_a_hand_can_do(
    test: Callable[[Circuit, Lung, tuple[Action, ...]], None],
) -> Callable[..., None]:
    """Run a test with extreme flows, apertures and lungs, and with hands in any order."""

    def drawn(
        flow: float,
        compliance: float,
        airway: float,
        peep: float,
        tube: float | None,
        acts: Sequence[tuple[float, str]],
    ) -> None:
        test(
            replace(BASE, flow=flow, aperture=Passage(quadratic=peep)),
            Lung(compliance, airway, Tube(tube) if tube else None),
            tuple(Action(time, kind) for time, kind in sorted(acts)),
        )

    for name in ("__module__", "__name__", "__qualname__", "__doc__"):
        setattr(drawn, name, getattr(test, name))
    for each in FOUND_BEFORE:
        drawn = each(drawn)
    return ANYTHING(drawn)
