"""The force of IEC 61914 beside that of the finite elements, and why the two differ."""

from __future__ import annotations

import itertools

import numpy as np

from studies.answers.faults.currents import ShortCircuit
from studies.formulas.forces import (
    flat_middle_force,
    flat_outer_force,
    trefoil_force,
    two_conductor_force,
)
from studies.section.parts import PlacedCable

SAME_SPACING = 0.02
"""Spacings that differ by less than this share are one formation of the standard. [-]"""


def standard_force(cables: tuple[PlacedCable, ...], which: int, fault: ShortCircuit) -> tuple[float | None, str]:
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
