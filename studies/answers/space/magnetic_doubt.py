"""How far the field of a run may be off about a bend or an end of magnetic metal."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fem.arrays import Floats
from fem.filaments import Ring
from fem.polarisation import resultant
from studies.formulas.line_field import line_field

AROUND, OUTSIDE = 8, 1.2
"""Places on a circle about a cross-section, and its least radius over that of the ring of filaments. [-]"""


def magnetic_doubt(away: Floats, width: float, rings: Sequence[Ring], metal: Floats) -> Floats:
    """What magnetic metal may add about the nearest corner or end, shape (q,). [T]

    away, shape (q,): Distance from there, infinite beside a straight run. [m]
    width: Half width of the run. [m]
    rings: What stands for the metal of each cross-section that holds trays or metalwork of it.
    metal, shape (q,): Field of all metal. [T]

    Metal is magnetised along itself there, which no cross-section knows of: a doubt of first order, 2 width/away times
    the larger of the metal's field and its highest at that distance from a straight run. By the magnetisation of plates
    in three dimensions at 110 places 0.3 to 2.5 m from bends and ends below flat cables and trefoils: all within it up
    to (relative permeability - 1) x thickness = 0.6 m, 98 in 100 up to 2 m, 95 in 100 at 9 m.
    """
    near = np.isfinite(away)
    found = np.zeros(len(away))
    turns = np.exp(2j * np.pi / AROUND * np.arange(AROUND))
    for ring in rings if near.any() else ():
        middle = ring.places.mean(axis=0)
        least = OUTSIDE * np.linalg.norm(ring.places - middle, axis=1).max()
        circle = (np.maximum(away[near], least)[:, None] * turns).ravel()
        field = line_field(middle + np.column_stack([circle.real, circle.imag]), ring.places, ring.currents)
        highest = resultant(field).reshape(-1, AROUND).max(axis=1)
        found[near] = np.maximum.reduce([found[near], highest, metal[near]])
    return np.asarray(2 * np.minimum(width / np.maximum(away, 1e-9), 1.0) * found)
