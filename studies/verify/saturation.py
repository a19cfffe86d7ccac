"""Saturating steel: the limit of a rectangular curve, and a tray that was solved over time."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from fem.constants import mu_0
from fem.curve_data import CURVES
from fem.field import FieldProbe
from fem.losses import losses
from fem.magnetisation import Curve, Steel, TabulatedCurve
from fem.materials import Material, skin_depth
from fem.nonlinear import solve_saturating
from fem.polarisation import resultant
from fem.ties import Tie
from geometry.concentric import Band, concentric_mesh
from geometry.meshing import mesh_section
from geometry.profiles.channel import ChannelTray
from geometry.shapes import AIR, Disc, Region, Section
from geometry.sizing import MeshSizes
from studies.formulas.pierced_plate import pierced_plate_loss, saturated_pierced_plate_loss
from studies.formulas.shielding import saturated_depth, saturated_plate_loss
from studies.verify.checks import Checked, CheckFamily, Method
from studies.verify.sources import LIMITING_CURVE, OVER_TIME, ROUND_PLATE
from studies.verify.states import balanced

FAMILY = CheckFamily("saturation")
FREQUENCY = 50.0
STEEL = 6e6
"""Conductivity of the tray. [S/m]"""
PLATE_STEEL, PLATE_SATURATION, SURFACE_FIELD = 5e6, 1.5, 5000.0
"""Conductivity [S/m] and saturation [T] of the plate, and peak field at its surface. [A/m]"""
KNEE = 200.0
"""Field at which the nearly rectangular curve is saturated. [A/m]"""
BORE = 0.5
"""Radius of the pipe that stands for a plate. [m]"""
RADIUS = math.sqrt(240e-6 / math.pi)
"""Of the tray's conductors. [m]"""
POINT = (2.0, 0.0)
"""Where the field beside the tray is compared. [m]"""
TRAYS = (("benchmark-steel-curve", 1600.0, 57.26, 4.314e-6), ("sheet-steel-dc01-curve", 400.0, 3.558, 1.3182e-6))
"""Curve, current [A], loss of the tray [W/m] and fundamental of the field at `POINT` [T], solved over time."""


@FAMILY.check("limiting-plate")
def limiting_plate() -> tuple[Checked, ...]:
    """Thick plate far above the knee of its curve, 50 Hz."""
    plate = (SURFACE_FIELD, PLATE_STEEL, FREQUENCY, PLATE_SATURATION)
    depth, exact = float(saturated_depth(*plate)), float(saturated_plate_loss(*plate))
    share_b, share_h = (0.0, 0.9, 0.99, 1.0), (0.0, 0.3, 1.0, 4.0)
    curve = TabulatedCurve(
        tuple(PLATE_SATURATION * value for value in share_b), tuple(KNEE * value for value in share_h)
    )
    wall = BORE + 2 * depth
    bands = (Band(0.1, 2, "wire"), Band(BORE, 3, "bore"), Band(wall, 30, "pipe"), Band(1.2 * wall, 2, AIR))
    mesh = concentric_mesh(bands, 16)
    materials = {"wire": Material(1e5), "pipe": Material(PLATE_STEEL)}
    current = 2 * math.pi * BORE * SURFACE_FIELD / math.sqrt(2)
    ties = (Tie(("wire",), current), Tie(("pipe",), -current))  # no field beyond the pipe
    found = solve_saturating(mesh, materials, FREQUENCY, ties, {"pipe": Steel(curve)}, tolerance=5e-3, most_solves=80)
    lost = losses(found.fields, found.drive.voltages)[0].total[found.fields.part_names.index("pipe")]
    reason = "one permeability for the whole cycle is 9 % below the limit [derived]; mesh, bend and knee 1 %"
    per_area = float(lost) / (2 * math.pi * BORE)
    what = "loss, nearly rectangular curve"
    return (Checked(what, "W/m^2", LIMITING_CURVE, Method.ELEMENTS, exact, per_area, 0.1, reason),)


@FAMILY.check("pierced-plate")
def pierced_plate() -> Iterator[Checked]:
    """Thick round plate about one cable, 50 Hz."""
    current, hole, edge, thick = 400.0, 0.02, 0.15, 0.05
    depth = 1 / math.sqrt(math.pi * FREQUENCY * mu_0 * 300 * STEEL)
    linear = current**2 / (math.pi * STEEL * depth) * math.log(edge / hole)
    found = float(pierced_plate_loss(current, hole, edge, thick, STEEL, FREQUENCY, 300.0))
    what, reason = "loss, 400 A, hole of 20 mm radius, out to 150 mm", "quadrature over the radius, rounding"
    yield Checked(f"{what}, permeability 300", "W", ROUND_PLATE, Method.FORMULA, linear, found, 1e-6, reason)
    front = math.sqrt(2 * math.pi * FREQUENCY * PLATE_SATURATION / (math.pi * STEEL))
    limit = 2**4.75 / (3 * math.pi) * front * current**1.5 * (math.sqrt(edge) - math.sqrt(hole))
    found = float(saturated_pierced_plate_loss(current, hole, edge, thick, STEEL, FREQUENCY, PLATE_SATURATION))
    yield Checked(f"{what}, saturated at 1.5 T", "W", ROUND_PLATE, Method.FORMULA, limit, found, 1e-6, reason)


@FAMILY.check("saturated-tray")
def trays() -> Iterator[Checked]:
    """Three cables in a saturated steel channel, 50 Hz."""
    copper = Material(4.62e7)
    cables = [
        Region(name, Disc((x, RADIUS + 3.5e-3), RADIUS), skin_depth(copper, FREQUENCY))
        for name, x in zip("abc", (-0.056, 0.0, 0.056), strict=True)
    ]
    wall = ChannelTray(0.3, 0.1, 1.5e-3).solids()[""]
    depth = skin_depth(Material(STEEL, 300.0), FREQUENCY)
    mesh = mesh_section(Section((*cables, Region("tray", wall, depth))), MeshSizes(fineness=0.6))
    materials = {"a": copper, "b": copper, "c": copper, "tray": Material(STEEL)}
    for name, current, loss, field in TRAYS:
        curve: Curve = CURVES[name].curve
        ties = (*balanced(("a", "b", "c"), current), Tie(("tray",)))
        solution = solve_saturating(mesh, materials, FREQUENCY, ties, {"tray": Steel(curve)})
        voltages = solution.drive.voltages
        lost = float(losses(solution.fields, voltages)[0].total[solution.fields.part_names.index("tray")])
        nodal = solution.fields.potential(voltages)
        beside = float(resultant(FieldProbe(solution.fields).flux_density(nodal, np.array([POINT])))[0])
        what = f"{name}, {current:g} A"
        reason = "largest error of the effective rule in all cases solved over time [derived]"
        yield from [
            Checked(f"loss, {what}", "W/m", OVER_TIME, Method.ELEMENTS, loss, lost, 0.075, reason),
            Checked(f"field 2 m beside, {what}", "T", OVER_TIME, Method.ELEMENTS, field, beside, 0.03, reason),
        ]
