"""The force of IEC 61914 beside that of the finite elements, and why the two differ."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from studies.answers.faults.currents import Fault
from studies.answers.faults.steel import MAGNETIC
from studies.formulas.forces import (
    flat_middle_force,
    flat_outer_force,
    trefoil_force,
    two_conductor_force,
)
from studies.section.cross_section import CrossSection, PlacedCable
from studies.study.parts import CONDUCTOR

if TYPE_CHECKING:
    from studies.answers.faults.forces import CableForce, FaultForces

SAME_SPACING = 0.02
"""Spacings that differ by less than this share are one formation of the standard. [-]"""

LARGE = 0.05
"""Difference to the standard from which on it is accounted for. [-]"""
CLOSE = 4.0
"""Axis distance in diameters of the conductors below which proximity moves the force by a per cent or more. [-]"""


def standard_force(cables: tuple[PlacedCable, ...], which: int, fault: Fault) -> tuple[float | None, str]:
    """Value of IEC 61914 for one of the cables of a fault [N/m], and which of its formulas; None where it has none."""
    axes = np.array([cable.axis for cable in cables])
    if len(cables) == 2:
        return float(
            two_conductor_force(fault.peak_current, float(np.linalg.norm(axes[0] - axes[1])))
        ), "two conductors"
    if len(cables) != 3 or not fault.is_three_phase:
        return None, "parallel cables: the standard has no value"
    gaps = {pair: float(np.linalg.norm(axes[pair[0]] - axes[pair[1]])) for pair in itertools.combinations(range(3), 2)}
    short, medium, long = sorted(gaps.values())
    if long < short * (1 + SAME_SPACING):
        return float(trefoil_force(fault.peak_current, sum(gaps.values()) / 3)), "trefoil"
    if abs(long / (short + medium) - 1) < SAME_SPACING / 10 and medium < short * (1 + SAME_SPACING):
        spacing = (short + medium) / 2
        far = max(gaps, key=lambda pair: gaps[pair])
        if which in far:
            return float(flat_outer_force(fault.peak_current, spacing)), "flat, outer"
        return float(flat_middle_force(fault.peak_current, spacing)), "flat, middle"
    return None, "neither a trefoil nor evenly flat: the standard has no value"


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
