"""Induction machine of TEAM problem 30A at standstill: torque, winding voltage and losses."""

from __future__ import annotations

import math

import numpy as np

from fem.force import gap_torque
from fem.losses import losses
from fem.materials import Material
from fem.solve import solve_unit_voltages
from geometry.concentric import Band, concentric_mesh
from geometry.shapes import AIR
from studies.verify.checks import Checked, CheckFamily, Method
from studies.verify.sources import TEAM_30A

FAMILY = CheckFamily("machine")
FREQUENCY = 60.0
"""[Hz]"""
DENSITY = 3.1e6
"""Current density of the coils, rms. [A/m^2]"""
COIL = math.radians(45)
"""Angle of a coil. [rad]"""
COILS = tuple(f"coil {k}" for k in range(6))
"""The coils, centred at 0, 60 ... 300 degrees."""
TOLERANCE = 1e-3
"""The table and an independent solution by Fourier rings differ by up to 0.03 %, the mesh by less. [-]"""
REASON = "the table and an independent solution by Fourier rings differ by up to 0.03 % [derived]; the mesh by less"


@FAMILY.check("team-30a")
def standstill() -> tuple[Checked, ...]:
    """Induction machine at standstill, three phases, 60 Hz."""
    sectors = tuple((k * math.pi / 3 - COIL / 2, k * math.pi / 3 + COIL / 2, name) for k, name in enumerate(COILS))
    bands = (
        Band(0.020, 8, "rotor steel"),
        Band(0.030, 6, "rotor aluminium"),
        Band(0.032, 2, "gap"),
        Band(0.052, 6, "winding", sectors),
        Band(0.057, 3, "stator steel"),
        Band(0.070, 3, AIR),
    )
    mesh = concentric_mesh(bands, 144)
    materials = {
        "rotor steel": Material(1.6e6, 30.0),
        "rotor aluminium": Material(3.72e7),
        "stator steel": Material(0.0, 30.0),
    }
    fields = solve_unit_voltages(mesh, materials, FREQUENCY, sources={name: (name,) for name in COILS})
    turn = np.exp(2j * np.pi / 3)
    phases = np.array([1, -turn, turn**2, -1, turn, -(turn**2)], dtype=np.complex128)  # A, -B, C, -A, B, -C
    densities = DENSITY * phases
    shorted = np.zeros(len(fields.part_names), dtype=np.complex128)  # the rotor's currents close at its ends
    nodal = fields.potential(shorted, densities)
    linkage = fields.source_linkages(nodal)
    dissipated = dict(zip(fields.part_names, losses(fields, shorted, densities)[0].total, strict=True))
    rows = (
        ("torque", "N", 3.825857, abs(gap_torque(fields, nodal, "gap"))),
        ("voltage per turn", "V/m", 0.637157, 2 * math.pi * FREQUENCY * abs(complex(linkage[0] - linkage[3]))),
        ("rotor loss", "W/m", 1455.644, float(sum(dissipated.values()))),
        ("rotor steel loss", "W/m", 17.40541, float(dissipated["rotor steel"])),
    )
    return tuple(
        Checked(
            *(f"{name} per metre" if unit == "N" else name, unit, TEAM_30A, Method.ELEMENTS),
            *(published, computed, TOLERANCE),
            REASON,
        )
        for name, unit, published, computed in rows
    )
