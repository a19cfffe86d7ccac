"""Cylinders in a transverse field and about direct currents, a plate under line currents, and a pipe around one."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from scipy.special import iv, ivp, kv, kvp

from fem.arrays import Floats
from fem.constants import mu_0
from fem.field import FieldProbe
from fem.materials import Material, skin_depth
from fem.multipole import RoundPart
from fem.polarisation import resultant
from fem.round_metal import metal_of, scattering
from fem.solve import solve_unit_voltages
from fem.ties import Tie
from geometry.concentric import Band, concentric_mesh
from geometry.meshing import mesh_section
from geometry.shapes import AIR, Disc, Region, Section, wall_along
from geometry.sizing import MeshSizes
from studies.formulas.infinite_plate import plate_field, plate_loss
from studies.formulas.line_field import line_field
from studies.formulas.shielding import (
    cylinder_shielding_factor,
    static_cylinder_shielding_factor,
    thin_cylinder_shielding_factor,
)
from studies.formulas.tubular import concentric_pipe_loss
from studies.verify.checks import Checked, CheckFamily, Method
from studies.verify.sources import CYLINDER, KADEN, PIPE_LOSS, PLATE
from studies.verify.states import (
    FINE,
    FINENESS,
    MESH,
    MESH_REASON,
    ElementState,
    balanced,
    elements,
    solve_mesh,
    wires,
)

FAMILY = CheckFamily("shielding")
MEAN_RADIUS = 50e-3
"""Mean radius of the cylinders. [m]"""
CYLINDERS = (
    ("aluminium 1 mm, 50 Hz", 1e-3, 3.2e7, 1.0, 50.0),
    ("aluminium 1 mm, 1 kHz", 1e-3, 3.2e7, 1.0, 1000.0),
    ("steel 1 mm, 50 Hz", 1e-3, 6e6, 300.0, 50.0),
    ("lossless steel 2 mm", 2e-3, 0.0, 300.0, 50.0),
)
"""Name, thickness [m], conductivity [S/m], relative permeability [-] and frequency [Hz] of the cylinders."""
STATIC = 1e-9
"""Frequency at which nothing is induced. [Hz]"""
HALF_WIDTH = 3.0
"""Half width of the plate. [m]"""
HEIGHT = 50e-3
"""Height of the wires above the plate, their distance from each other, and depth of the points below it. [m]"""
NARROW = (0.5, 1.0)
"""Half widths of the plates whose factor is looked at. [m]"""
FREQUENCY = 50.0
"""Of the plates. [Hz]"""
HARDLY = 1.0
"""Conductivity that stands for none: the skin depth is metres. [S/m]"""
PLATES = (("aluminium 5 mm", 5e-3, 3.2e7, 1.0), ("steel 1.5 mm", 1.5e-3, 6e6, 300.0))
"""Name, thickness [m], conductivity [S/m] and relative permeability [-] of the plates."""
PIPES = (
    ("steel 3 mm, 50 Hz", 25e-3, 28e-3, 6e6, 300.0, 50.0),
    ("steel 0.5 mm, 50 Hz", 25e-3, 25.5e-3, 6e6, 300.0, 50.0),
    ("aluminium 3 mm, 400 Hz", 25e-3, 28e-3, 3.2e7, 1.0, 400.0),
)
"""Name, inner and outer radius [m], conductivity [S/m], relative permeability [-] and frequency [Hz] of the pipes."""


@FAMILY.check("cylinder")
def cylinders() -> Iterator[Checked]:
    """Cylinders of mean radius 50 mm in a transverse field."""
    for name, thickness, conductivity, permeability, frequency in CYLINDERS:
        inner, outer = MEAN_RADIUS - thickness / 2, MEAN_RADIUS + thickness / 2
        factor = _by_elements(inner, outer, Material(conductivity, permeability), frequency)
        metal = metal_of(RoundPart("cylinder", (0.0, 0.0), outer, inner, conductivity, permeability), frequency)
        exact = inner / outer / abs(complex(scattering(metal, 1).gamma_alpha[0]))
        rows = [("SF", CYLINDER, exact, MESH, MESH_REASON)]
        if conductivity == 0:
            static = float(static_cylinder_shielding_factor(inner, outer, permeability))
            rows.append(("SF, static form", KADEN, static, MESH, MESH_REASON))
        thin = float(cylinder_shielding_factor(MEAN_RADIUS, thickness, conductivity, frequency, permeability))
        reason = "the thin-wall form is up to 1.03 t/a above the exact solution [derived]"
        rows.append(("SF, thin-wall form", KADEN, thin, 1.03 * thickness / MEAN_RADIUS, reason))
        if permeability == 1 and frequency < 100:
            simple = float(thin_cylinder_shielding_factor(MEAN_RADIUS, thickness, conductivity, frequency))
            reason = "next order of the form, (SF - 1) t/a, and the mesh [derived]"
            accuracy = (simple - 1) * thickness / MEAN_RADIUS + MESH
            rows.append(("SF, |1 + j w mu0 sigma a t/2|", KADEN, simple, accuracy, reason))
        for what, source, published, tolerance, reason in rows:
            yield Checked(f"{what}, {name}", "-", source, Method.ELEMENTS, published, factor, tolerance, reason)


@FAMILY.check("plate")
def plates() -> Iterator[Checked]:
    """Wires in a row 50 mm over a plate 6 m wide, 50 Hz."""
    axes = np.array([[-HEIGHT, HEIGHT], [0.0, HEIGHT], [HEIGHT, HEIGHT]])
    currents = np.exp(-2j * np.pi / 3 * np.arange(3))
    frequency = FREQUENCY
    for name, thickness, conductivity, permeability in PLATES:
        three = balanced(("1", "2", "3"))
        fineness = FINE / 2  # 3e-4: the edges matter, not the mesh
        state = _over_plate(axes, three, thickness, conductivity, permeability, HALF_WIDTH, fineness)
        points = np.array([[0.0, -HEIGHT - thickness], [2 * HEIGHT, -HEIGHT - thickness]])
        exact = plate_field(points, axes, currents, thickness, conductivity, frequency, permeability).field
        published = resultant(exact)
        # what passes round the edges is at most the field of the wires there, that at the point by (2 h/W)^2, while
        # the plate lets T of it through
        unshielded = math.sqrt(3) * mu_0 * HEIGHT / (2 * math.pi * (2 * HEIGHT) ** 2)
        edges = unshielded * (2 * HEIGHT / HALF_WIDTH) ** 2 / published.min()
        loss = plate_loss(axes, currents, thickness, conductivity, frequency, permeability).loss
        reason = "the plate's edges: field of the wires there over that which passes, (2h/W)^2/T [derived]"
        for where, value, reference in zip(
            ("below the middle", "0.1 m beside"), state.magnitude(points), published, strict=True
        ):
            yield Checked(
                f"B of 1 A, {where}, {name}", "T", PLATE, Method.ELEMENTS, float(reference), float(value), edges, reason
            )
        yield Checked(f"loss at 1 A, {name}", "W/m", PLATE, Method.ELEMENTS, loss, state.loss("plate"), edges, reason)


@FAMILY.check("plate-factor")
def plate_factors() -> Iterator[Checked]:
    """Shielding factor of plates of two widths 50 mm under a pair of wires, 50 Hz."""
    axes = np.array([[-HEIGHT / 2, HEIGHT], [HEIGHT / 2, HEIGHT]])
    currents = np.array([1.0, -1.0])
    for name, thickness, conductivity, permeability in PLATES:
        point = np.array([[0.0, -HEIGHT - thickness]])
        free = float(resultant(line_field(point, axes, currents))[0])
        beyond = plate_field(point, axes, currents, thickness, conductivity, FREQUENCY, permeability).field
        exact = free / float(resultant(beyond)[0])
        ties = (Tie(("1",), 1.0), Tie(("2",), -1.0))
        narrow, wide = (
            free
            / float(_over_plate(axes, ties, thickness, conductivity, permeability, half, FINENESS).magnitude(point)[0])
            for half in NARROW
        )
        yield Checked(
            *(f"SF below the middle of {name}, {2 * NARROW[1]:g} m wide", "-", PLATE, Method.ELEMENTS),
            *(exact, wide, abs(wide - narrow) / (2 * exact) + MESH),
            f"what passes round the edges falls with the square of the width in the end, more slowly at first: half "
            f"the change from {2 * NARROW[0]:g} m [derived]; and the mesh",
        )


@FAMILY.check("cylinder-about-pair")
def cylinders_about_pairs() -> Iterator[Checked]:
    """Cylinders of mean radius 50 mm about two wires 40 mm apart, seen from 0.1 m."""
    along, out = 20e-3, 0.1
    orders = range(1, 40, 2)
    for name, thickness, conductivity, permeability, frequency in CYLINDERS:
        inner, outer = MEAN_RADIUS - thickness / 2, MEAN_RADIUS + thickness / 2
        parts = [
            *wires(np.array([[along, 0.0], [-along, 0.0]]), 1e-3, 1e5),
            RoundPart("cylinder", (0.0, 0.0), outer, inner, conductivity, permeability),
        ]
        ties = (Tie(("1",), 1.0), Tie(("2",), -1.0), *((Tie(("cylinder",)),) if conductivity else ()))
        field = float(elements(parts, frequency, ties).magnitude(np.array([[out, 0.0]]))[0])
        free = mu_0 / math.pi * along / (out**2 - along**2)
        # A of the pair is the sum of 2/n (d/r)^n cos n phi over odd n, times mu0 I/2 pi
        through = [passed(n, inner, outer, conductivity, permeability, frequency) for n in orders]
        exact = mu_0 / math.pi * abs(sum(t * along**n / out ** (n + 1) for t, n in zip(through, orders, strict=True)))
        yield Checked(f"SF, {name}", "-", CYLINDER, Method.ELEMENTS, free / exact, free / field, MESH, MESH_REASON)


def passed(n: int, a: float, b: float, conductivity: float, permeability: float, frequency: float) -> complex:
    """Share of A = r^-n cos n phi from within a cylinder of radii a and b that passes it. [-]

    Inside r^-n + c r^n, wall d I_n(kr) + e K_n(kr), outside T r^-n: A and (1/mu) dA/dr are continuous. A wall without
    conductivity has r^n and r^-n, the limit of both, here by a hardly conducting one.
    """
    k = np.sqrt(2j * np.pi * frequency * mu_0 * permeability * max(conductivity, HARDLY))
    rows = []
    for r, outside in ((a, False), (b, True)):
        scale = iv(n, k * a), kv(n, k * a)
        wall = [iv(n, k * r) / scale[0], kv(n, k * r) / scale[1]]
        slope = [k * r * ivp(n, k * r) / scale[0], k * r * kvp(n, k * r) / scale[1]]
        air = [0, (a / r) ** n] if outside else [(r / a) ** n, 0]
        turn = [0, -n * (a / r) ** n] if outside else [n * (r / a) ** n, 0]
        rows += [[*air, *(-w for w in wall)], [*turn, *(-w / permeability for w in slope)]]
    return complex(np.linalg.solve(np.array(rows), np.array([-1, n, 0, 0], dtype=complex))[1])


@FAMILY.check("pipe")
def pipes() -> Iterator[Checked]:
    """Pipe around a wire."""
    for name, inner, outer, conductivity, permeability, frequency in PIPES:
        parts = [
            RoundPart("wire", (0.0, 0.0), 5e-3, 0.0, 58e6),
            RoundPart("pipe", (0.0, 0.0), outer, inner, conductivity, permeability),
        ]
        state = elements(parts, frequency, (Tie(("wire",), 100.0), Tie(("pipe",))), FINE)
        published = float(concentric_pipe_loss(100.0, inner, outer, conductivity, frequency, permeability))
        yield Checked(
            *(f"loss at 100 A, {name}", "W/m", PIPE_LOSS, Method.ELEMENTS),
            *(published, state.loss("pipe"), MESH),
            MESH_REASON,
        )


@FAMILY.check("direct-current")
def direct_current() -> Iterator[Checked]:
    """Direct current go and return, 20 mm apart, in a tube of 100 mm."""
    inner, outer, half, away = 45e-3, 50e-3, 10e-3, 1.0
    wires = [RoundPart(f"{k}", (x, 0.0), 3e-3, 0.0, 58e6) for k, x in ((1, -half), (2, half))]
    ties = (Tie(("1",), 100.0), Tie(("2",), -100.0), Tie(("tube",)))
    lines = mu_0 * 100 * half / (math.pi * away**2)
    for name, conductivity, permeability in (("copper", 58e6, 1.0), ("steel", 6e6, 200.0)):
        tube = RoundPart("tube", (0.0, 0.0), outer, inner, conductivity, permeability)
        field = elements([*wires, tube], STATIC, ties).magnitude(np.array([[0.6, 0.8]]))[0]
        # a tube weakens the field of a dipole within it, seen from outside, as a uniform field within it
        published = lines / float(static_cylinder_shielding_factor(inner, outer, permeability))
        yield Checked(
            *(f"B at 100 A, 1 m, {name}", "T", KADEN, Method.ELEMENTS),
            *(published, float(field), (half / away) ** 2 + MESH),
            f"next term of the pair, (d/2r)^2 [derived], and the mesh: {MESH_REASON}",
        )


def _over_plate(
    axes: Floats,
    ties: Sequence[Tie],
    thickness: float,
    conductivity: float,
    permeability: float,
    half_width: float,
    fineness: float,
) -> ElementState:
    """Wires at some axes over a plate whose near face is at y = 0."""
    metal = Material(conductivity, permeability)
    regions = [Region(f"{k}", Disc((float(x), float(y)), HEIGHT / 10)) for k, (x, y) in enumerate(axes, start=1)]
    wall = wall_along([(-half_width, 0.0), (half_width, 0.0)], thickness, side="right")
    section = Section((*regions, Region("plate", wall, skin_depth(metal, FREQUENCY))))
    # wires of poor metal carry a uniform current, whose field outside of them is that of a line
    materials = {wire.name: Material(1e5) for wire in regions} | {"plate": metal}
    mesh = mesh_section(section, MeshSizes(fineness=fineness))
    return solve_mesh(mesh, materials, FREQUENCY, (*ties, Tie(("plate",))))


def _by_elements(inner: float, outer: float, metal: Material, frequency: float) -> float:
    """Shielding factor on the axis, from opposite currents in two sectors of a ring outside the cylinder.

    Only the first harmonic of a field reaches the axis, so that any field from outside serves as a uniform one.
    """
    near, far, half = 0.09, 0.11, np.pi / 12
    sectors = ((-half, half, "right"), (np.pi - half, np.pi + half, "left"))
    layers = max(4, math.ceil(4 * (outer - inner) / skin_depth(metal, frequency)))
    bands = (
        Band(inner, 10, "inside"),
        Band(outer, layers, "wall"),
        Band(near, 8, "between"),
        Band(far, 4, "ring", sectors),
        Band(0.15, 4, AIR),
    )
    mesh = concentric_mesh(bands, 96)
    parts = {"wall": ("wall",)} if metal.conductivity > 0 else {}
    sources = {"right": ("right",), "left": ("left",)}
    fields = solve_unit_voltages(mesh, {"wall": metal}, frequency, parts, sources=sources)
    nodal = fields.potential(np.zeros(len(parts), dtype=np.complex128), np.array([1.0 + 0j, -1.0 + 0j]))
    inside = resultant(FieldProbe(fields).flux_density(nodal, np.zeros((1, 2))))[0]
    # each sector of 1 A/m^2 gives (mu0/2 pi) int cos(theta) dr dtheta on the axis
    without = mu_0 / (2 * np.pi) * (far - near) * 2 * np.sin(half) * 2
    return float(without / inside)
