"""Identities that hold whatever the numbers are: power balance, reciprocity, Ampere's law."""

from __future__ import annotations

import numpy as np

from fem.checks import check_solution
from fem.losses import losses
from fem.materials import Material, skin_depth
from fem.multipole import RoundPart
from fem.solve import solve_unit_voltages
from fem.ties import Tie, drive
from geometry.formation import trefoil
from geometry.meshing import mesh_section
from geometry.shapes import Region, Section, wall_along
from geometry.sizing import MeshSizes
from studies.verify.checks import Checked, CheckFamily, Method
from studies.verify.sources import IDENTITY
from studies.verify.states import FINENESS, balanced, round_regions, series

FAMILY = CheckFamily("identities")
FREQUENCY = 50.0
"""[Hz]"""
COPPER = 58e6
"""[S/m]"""
SHEET = Material(6e6, 300 - 30j)
"""Steel with hysteresis."""
ROUNDING = 1e-9
"""Identities of the discrete system: rounding only, amplified by the condition of the matrix. [-]"""
ROUNDING_REASON = "an identity of the discrete system: rounding only"
SURFACE = 0.02
"""The field of quadratic elements at a surface is second order in their size, one over ten of the arc. [-]"""


@FAMILY.check("identities")
def identities() -> tuple[Checked, ...]:
    """Screened cables on a steel sheet with hysteresis."""
    axes = [(float(x), float(y)) for x, y in trefoil(1, 30e-3) + np.array([0.0, 5e-3])]
    rounds = []
    for k, centre in enumerate(axes, start=1):
        rounds.append(RoundPart(f"c{k}", centre, 9e-3, 0.0, COPPER))
        rounds.append(RoundPart(f"s{k}", centre, 12.5e-3, 12e-3, COPPER))
    cables = (*balanced(("c1", "c2", "c3"), 400.0), Tie(("s1", "s2", "s3")))
    materials = {part.name: Material(COPPER) for part in rounds} | {"sheet": SHEET}
    wall = wall_along([(-0.15, 0.0), (0.15, 0.0)], 1.5e-3, side="right")
    section = Section(
        (*round_regions(rounds, materials, FREQUENCY), Region("sheet", wall, skin_depth(SHEET, FREQUENCY)))
    )
    fields = solve_unit_voltages(mesh_section(section, MeshSizes(fineness=FINENESS)), materials, FREQUENCY)
    state = drive(fields.admittance, fields.part_names, (*cables, Tie(("sheet",))))
    found = check_solution(fields, state, losses(fields, state.voltages)[0])
    exact = series(rounds, FREQUENCY, cables)
    power = float(np.sum(exact.state.voltages * exact.state.currents.conj()).real)
    surface = "field of quadratic elements at the surfaces of the parts: second order in their size, 2 %"
    rows = (
        ("power balance: losses over Re sum u i*, less 1", Method.ELEMENTS, found.power_balance, ROUNDING, None),
        ("reciprocity: Y less its transpose", Method.ELEMENTS, found.reciprocity, ROUNDING, None),
        ("Ampere's law: circulation of H less current", Method.ELEMENTS, found.ampere_law, SURFACE, surface),
        (
            "power balance: losses over Re sum u i*, less 1",
            Method.SERIES,
            float(exact.losses.sum()) / power - 1,
            1e-8,
            "the order at which the series is cut off",
        ),
    )
    return tuple(
        Checked(name, "-", IDENTITY, method, 0.0, value, tolerance, reason or ROUNDING_REASON)
        for name, method, value, tolerance, reason in rows
    )
