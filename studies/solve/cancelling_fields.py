"""Places where the fields of circuits cancel, and the reference of the field error there."""

from __future__ import annotations

from functools import partial

import numpy as np

from fem.arrays import Floats
from fem.polarisation import resultant
from studies.closed_forms.lines import formula_field, line_model, of_circuit
from studies.section.parts import CrossSection
from studies.text.failures import guarded

CANCELLING = 1e-2
"""Relative errors of smaller fields refer to this share of the sum of the fields of each circuit alone. [-]

Midway between two equal feeders only the error of the mesh is left, and no mesh computes that to half a per cent.
"""


def least_field(section: CrossSection, points: Floats) -> Floats:
    """The field below which the fields of circuits cancel at points (n, 2) [m], shape (n,). [T]

    `CANCELLING` times the sum over the circuits of the resultant of their line currents, each circuit alone.
    """
    points = points.reshape(-1, 2)
    total = guarded("field of line currents", partial(_of_circuits, section, points), np.zeros(len(points)))
    return np.where(np.isfinite(total), total, 0.0)  # on the axis of a conductor


def _of_circuits(section: CrossSection, points: Floats) -> Floats:
    """`CANCELLING` times the sum over the circuits of the resultant of their line currents, each alone (n,). [T]"""
    model = line_model(section)
    circuits = dict.fromkeys(phase.circuit for phase in section.phases)
    alone = [resultant(formula_field(of_circuit(section, model, name), points)) for name in circuits]
    total: Floats = CANCELLING * np.sum(alone, axis=0)
    return total
