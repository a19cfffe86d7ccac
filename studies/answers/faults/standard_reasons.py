"""Why the force of IEC 61914 differs from that of the finite elements."""

from __future__ import annotations

import numpy as np

from studies.answers.faults.forces import CableForce, FaultForces
from studies.answers.faults.steel import MAGNETIC
from studies.section.parts import CrossSection
from studies.study.parts import CONDUCTOR

LARGE = 0.05
"""Difference to the standard from which on it is accounted for. [-]"""
CLOSE = 4.0
"""Axis distance in diameters of the conductors below which proximity moves the force by a per cent or more. [-]"""


def standard_reasons(section: CrossSection, found: FaultForces, entry: CableForce) -> tuple[str, ...]:
    """Why IEC 61914 differs from the force of the same sinusoids on a cable; nothing where it differs by little."""
    if entry.standard_force is None or abs(entry.standard_force / entry.alternating.magnitude - 1) < LARGE:
        return ()
    reasons = []
    fault = found.fault
    metal = [part for part in section.parts if part.cable is None]
    steel = [part.name for part in metal if complex(part.material.relative_permeability).real > MAGNETIC]
    other = [part.name for part in metal if part.name not in steel]
    if steel:
        reasons.append(f"steel beside the cables ({', '.join(steel)}) draws them and carries their field")
    if other:
        reasons.append(f"eddy currents in metal beside the cables ({', '.join(other)}) push them off")
    layers = sorted({part.kind for part in section.parts if part.cable is not None and part.kind != CONDUCTOR})
    if layers:
        reasons.append(f"currents in {' and '.join(layers)} of the cables take a part of the field")
    axes = np.array([one.cable.axis for one in found.cables])
    away = np.linalg.norm(axes - np.array(entry.cable.axis), axis=1)
    nearest = float(away[away > 0].min()) / (2 * entry.cable.layers.conductor_radius)
    if nearest < CLOSE:
        reasons.append(
            f"conductors {nearest:.2g} diameters apart: the currents move within them (proximity), which line currents "
            "do not"
        )
    if fault.is_three_phase:
        reasons.append("the standard's factors are rounded down by 1 % to 2 %")
    return tuple(reasons)
