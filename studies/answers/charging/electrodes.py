"""The cross-section as the electric field sees it: dielectrics, conductors at a potential, and metal at earth."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem.arrays import Floats, Ints
from fem.electrostatic import UnitPotentials, nodes_of, nodes_within, solve_unit_potentials
from geometry.clearance import clearance
from geometry.meshing import mesh_section
from geometry.section_mesh import SectionMesh
from geometry.shapes import AIR, Disc, Region, Section, Shape, Tube
from geometry.sizing import MeshSizes
from studies.data.permittivities import Dielectrics
from studies.section.parts import CrossSection, PlacedCable

JOINT = 0.05
"""Gap between the meshes of insulation and jacket over the thinner of the two; it is filled with jacket. [-]"""
LEAST_STEP = 0.02
"""Share of its radius that stands for the electrical thickness of a cable with hardly any dielectric. [-]"""
TOUCHES = 1e-3
"""Share of its radius up to which the distance of a cable from another or from metal counts as none. [-]"""


@dataclass(frozen=True)
class Bodies:
    """Solids to mesh, what fills them, and where the potentials are given."""

    regions: tuple[Region, ...]
    permittivity: Mapping[str, float]
    """Of each dielectric solid. [-]"""
    joints: tuple[tuple[PlacedCable, float, float, float], ...]
    """Cable, inner and outer radius [m] of the gap between its insulation and jacket, permittivity of what fills it."""
    earthed: tuple[str, ...]
    """Solids at potential zero."""
    screens: tuple[PlacedCable, ...]
    """Cables whose outermost layer of metal is at potential zero."""
    conductors: tuple[PlacedCable, ...]
    """Cables without metal around the conductor."""
    shrunk: tuple[str, ...]
    """Labels of the cables that touch something and are drawn smaller."""


def bodies(section: CrossSection, dielectrics: Mapping[str, Dielectrics], share: float) -> Bodies:
    """Solids of a cross-section.

    share: Share of its electrical thickness by which a cable is drawn smaller that touches another or metal, above 0.
        [-]

    The electrical thickness is that of the layer of air with the capacitance of insulation and jacket: what a gap is
    to be measured by.
    """
    radii, shrunk = _outer_radii(section, dielectrics, share)
    regions: list[Region] = []
    permittivity: dict[str, float] = {}
    joints: list[tuple[PlacedCable, float, float, float]] = []
    screens, conductors = [], []
    for cable, outer in zip(section.cables, radii, strict=True):
        material = dielectrics[cable.circuit]
        jacket = material.jacket.relative_permittivity
        metal = metal_radius(cable)
        name = f"{cable.label}.dielectric"
        if metal is not None:
            screens.append(cable)
            shape: Shape = Tube(cable.axis, metal, outer) if outer > metal else Disc(cable.axis, min(metal, outer))
            regions.append(Region(name, shape))
            permittivity[name] = jacket
            continue
        conductors.append(cable)
        insulation = material.insulation.relative_permittivity
        core, over = cable.layers.conductor_radius, cable.layers.screen_inner_radius
        permittivity[name] = insulation
        if outer <= over * (1 + 1e-9) or insulation == jacket:
            regions.append(Region(name, Tube(cable.axis, core, outer)))
            continue
        start = over + JOINT * min(outer - over, over - core)
        regions.append(Region(name, Tube(cable.axis, core, over)))
        regions.append(Region(f"{cable.label}.jacket", Tube(cable.axis, start, outer)))
        permittivity[f"{cable.label}.jacket"] = jacket
        joints.append((cable, over, start, jacket))
    earthed = [part for part in section.parts if part.cable is None]
    regions += [Region(part.name, part.shape) for part in earthed]
    return Bodies(
        tuple(regions),
        permittivity,
        tuple(joints),
        tuple(part.name for part in earthed),
        tuple(screens),
        tuple(conductors),
        shrunk,
    )


def solve_bodies(solids: Bodies, fineness: float) -> UnitPotentials:
    """Potentials of one volt on each conductor in turn, all other metal at zero, on a mesh of some fineness [-]."""
    mesh = mesh_section(Section(solids.regions), MeshSizes(fineness=fineness))
    electrodes = {
        cable.label: nodes_within(mesh, cable.axis, cable.layers.conductor_radius) for cable in solids.conductors
    }
    return solve_unit_potentials(mesh, _permittivity(solids, mesh), electrodes, _earth(solids, mesh))


def solve_inside(cable: PlacedCable, materials: Dielectrics, fineness: float) -> float:
    """Capacitance between a conductor and the first layer of metal around it, at earth, on a mesh of its own. [F/m]"""
    core, over = cable.layers.conductor_radius, min(inside for inside, _ in cable.layers.tubes.values())
    centre = (0.0, 0.0)
    mesh = mesh_section(Section((Region("insulation", Tube(centre, core, over)),)), MeshSizes(fineness=fineness))
    away = np.linalg.norm(mesh.points, axis=1)
    permittivity = np.full(len(mesh.triangles), materials.insulation.relative_permittivity)
    electrodes = {cable.label: nodes_within(mesh, centre, core)}
    earth = np.flatnonzero(away >= over * (1 - 1e-9)).astype(np.int64)
    return float(solve_unit_potentials(mesh, permittivity, electrodes, earth).capacitance[0, 0])


def metal_radius(cable: PlacedCable) -> float | None:
    """Outer radius of the outermost layer of metal around a conductor; None where there is none. [m]"""
    return max((outer for _, outer in cable.layers.tubes.values()), default=None)


def _earth(solids: Bodies, mesh: SectionMesh) -> Ints:
    found = [nodes_of(mesh, solids.earthed)]
    found += [nodes_within(mesh, cable.axis, metal_radius(cable) or 0.0) for cable in solids.screens]
    return np.unique(np.concatenate(found))


def _permittivity(solids: Bodies, mesh: SectionMesh) -> Floats:
    """Of each triangle; the air between insulation and jacket is jacket."""
    of_region = np.array([solids.permittivity.get(name, 1.0) for name in mesh.names])
    found: Floats = of_region[mesh.regions]
    centres = mesh.points[mesh.triangles[:, :3]].mean(axis=1)
    in_air = mesh.regions == mesh.names.index(AIR)
    for cable, inner, outer, value in solids.joints:
        distance = np.linalg.norm(centres - np.asarray(cable.axis), axis=1)
        # chords cut into the gap's inner circle: all air beyond the middle of the insulation and under the jacket
        least = (cable.layers.conductor_radius + inner) / 2
        found[in_air & (distance > least) & (distance < outer)] = value
    return found


def electrical_thickness(cable: PlacedCable, materials: Dielectrics) -> float:
    """Thickness over permittivity of what lies between the outermost metal of a cable and its outside. [m]"""
    layers, metal = cable.layers, metal_radius(cable)
    jacket = materials.jacket.relative_permittivity
    if metal is not None:
        return (layers.outer_radius - metal) / jacket
    insulation = (layers.screen_inner_radius - layers.conductor_radius) / materials.insulation.relative_permittivity
    return insulation + (layers.outer_radius - layers.screen_inner_radius) / jacket


def step(cable: PlacedCable, materials: Dielectrics) -> float:
    """What the gaps of a cable that touches something are shares of: its electrical thickness, if it has one. [m]"""
    return max(electrical_thickness(cable, materials), LEAST_STEP * cable.layers.outer_radius)


def _outer_radii(
    section: CrossSection, dielectrics: Mapping[str, Dielectrics], share: float
) -> tuple[list[float], tuple[str, ...]]:
    """Outer radius of each cable [m], smaller where it touches something, and which those are."""
    if not 0 < share < 0.5:
        raise ValueError(f"share must lie between 0 and 0.5: {share}")
    shapes: list[Shape] = [Disc(cable.axis, cable.layers.outer_radius) for cable in section.cables]
    metal = [part.shape for part in section.parts if part.cable is None]
    radii, shrunk = [], []
    for k, cable in enumerate(section.cables):
        radius = cable.layers.outer_radius
        others = [shape for n, shape in enumerate(shapes) if n != k] + metal
        free = min((clearance(shapes[k], other) for other in others), default=np.inf)
        if free < TOUCHES * radius:
            radius -= share * step(cable, dielectrics[cable.circuit]) + max(
                0.0, -free
            )  # positions are rounded: what overlaps goes as well
            shrunk.append(cable.label)
        radii.append(radius)
    return radii, tuple(shrunk)
