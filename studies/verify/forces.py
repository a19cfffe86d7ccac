"""Short-circuit forces against IEC 61914 and against line currents."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fem.arrays import Floats
from fem.force import current_forces
from geometry.formation import flat, trefoil
from studies.formulas.forces import FLAT_MIDDLE_FACTOR_EXACT, FLAT_OUTER_FACTOR_EXACT, TREFOIL_FACTOR_EXACT
from studies.verify.checks import Checked, CheckFamily, Method, Source
from studies.verify.sources import EXACT_FORCE, IEC_FLAT_FORCE, IEC_FORCE
from studies.verify.states import MESH, MESH_REASON, balanced, elements, wires

FAMILY = CheckFamily("forces")
SPACING = 50e-3
"""Axis to axis distance of neighbours. [m]"""
RADIUS = 9e-3
"""Radius of the conductors. [m]"""
FREQUENCY = 0.5
"""So low that the current is uniform over the conductors, as the standard takes it. [Hz]"""
PRINTED = 0.5e-2
"""Half of the last of two printed digits of 0.17 and 0.16. [-]"""


@FAMILY.check("short-circuit")
def short_circuit_forces() -> Iterator[Checked]:
    """Forces in a three-phase short circuit.

    Greatest force times S/ip^2 with three balanced sinusoids of amplitude ip = 1 kA.
    """
    three, row = _greatest(trefoil(1, SPACING)), _greatest(flat(3, SPACING, 2 * RADIUS))
    rows: tuple[tuple[str, Source, float, float, float], ...] = (
        ("trefoil", IEC_FORCE, 0.17, 0.2 * TREFOIL_FACTOR_EXACT, three[0]),
        ("flat, middle", IEC_FLAT_FORCE, 0.17, 0.2 * FLAT_MIDDLE_FACTOR_EXACT, row[1]),
        ("flat, outer", IEC_FLAT_FORCE, 0.16, 0.2 * FLAT_OUTER_FACTOR_EXACT, row[0]),
    )
    for where, source, printed, exact, value in rows:
        for reference, of, tolerance, reason in (
            (printed, source, PRINTED / printed, "half of the last printed digit"),
            (exact, EXACT_FORCE, MESH, MESH_REASON),
        ):
            kind = "as printed" if of is source else "exact"
            yield Checked(
                f"F S/ip^2, {where}, {kind}", "N/kA^2", of, Method.ELEMENTS, reference, value, tolerance, reason
            )


def _greatest(axes: Floats) -> Floats:
    """Greatest force over time on each of three conductors, times S, at 1 kA amplitude, shape (3,). [N]"""
    parts = wires(axes, RADIUS, 58e6)
    state = elements(parts, FREQUENCY, balanced(("1", "2", "3"), 1000 / np.sqrt(2)))
    forces = current_forces(state.fields, state.state.voltages)
    turn = np.exp(2j * np.pi * np.arange(720) / 720)  # half a degree: the greatest is missed by 1e-5 at the most
    over_time = forces.mean[:, None] + (forces.double[:, None] * turn[None, :, None]).real
    greatest: Floats = np.linalg.norm(over_time, axis=2).max(axis=1) * SPACING
    return greatest
