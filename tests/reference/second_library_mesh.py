"""Mesh of a cross-section and of all the air around it, made with Netgen's Open Cascade kernel.

Unstructured curved elements with geometric grading at sheet corners. The outside of a circle of radius R is a second
disc in the coordinates X = R^2 d/|d|^2, tied to the first along its rim.
"""

import math
from dataclasses import dataclass

import netgen.occ as occ
import ngsolve as ng
import numpy as np
from netgen.meshing import IdentificationType

from tests.reference.second_library_cases import Layout, Round, Tray

MU_0 = 4e-7 * math.pi  # [H/m]; the measured value differs by 1e-10


@dataclass(frozen=True)
class Numerics:
    """Choices that must not matter; vary them to see what the result is worth."""

    order: int = 6  # polynomial degree of the elements [-]
    size: float = 1.0  # factor on every element size [-]
    corner_levels: int = 6  # geometric refinements toward each sheet corner [-]
    disc_factor: float = 1.6  # radius of the meshed disc over that of the circle around all matter [-]


@dataclass(frozen=True)
class Disc:
    """The meshed circle and its twin, which stands for everything outside."""

    centre: tuple[float, float]  # [m]
    radius: float  # [m]
    twin: tuple[float, float]  # centre of the twin, the image of infinity [m]


def region(index: int) -> str:
    """Name of the mesh region of a part; free of the characters that mean something in a pattern."""
    return f"part{index}"


def _tray_box(tray: Tray) -> tuple[float, float, float, float]:
    """Left, bottom, width and height of the outline. [m]"""
    t = tray.thickness
    width = tray.inside_width + 2 * t
    return (
        tray.origin[0] - width / 2,
        tray.origin[1] - t,
        width,
        tray.inside_height + t * (2 if tray.closed_cover else 1),
    )


def surrounding_disc(layout: Layout, numerics: Numerics) -> Disc:
    """The circle around all parts, widened, about the middle of their bounding box."""
    boxes = [_tray_box(tray) for tray in layout.trays]
    boxes += [(r.centre[0] - r.radius, r.centre[1] - r.radius, 2 * r.radius, 2 * r.radius) for r in layout.rounds]
    low = np.min([box[:2] for box in boxes], axis=0)
    high = np.max([(box[0] + box[2], box[1] + box[3]) for box in boxes], axis=0)
    x, y = ((low + high) / 2).tolist()
    radius = numerics.disc_factor * float(np.hypot(*(high - low))) / 2
    return Disc((x, y), radius, (x + 3 * radius, y))


def _face(part: Round | Tray) -> occ.Face:
    if isinstance(part, Round):
        face = occ.Circle(part.centre, part.radius).Face()
        return face - occ.Circle(part.centre, part.inner_radius).Face() if part.inner_radius > 0 else face
    left, bottom, width, height = _tray_box(part)
    t = part.thickness
    depth = part.inside_height + (0 if part.closed_cover else t)  # an open channel: cut through the top
    hollow = occ.MoveTo(left + t, bottom + t).Rectangle(part.inside_width, depth).Face()
    face = occ.MoveTo(left, bottom).Rectangle(width, height).Face() - hollow
    for vertex in face.vertices:
        vertex.hpref = 1
    return face


def _element_size(part: Round | Tray, frequency: float) -> float:
    """Element size: shorter than a skin depth or so, and about a wall. [m]"""
    skin = 1 / math.sqrt(math.pi * frequency * MU_0 * part.relative_permeability * part.conductivity)
    if isinstance(part, Tray):
        return min(part.thickness, skin)
    return min(1.5 * skin, 2 * (part.radius - part.inner_radius) if part.inner_radius > 0 else part.radius / 2)


def mesh_layout(layout: Layout, frequency: float, disc: Disc, numerics: Numerics) -> ng.Mesh:
    """Curved mesh of all parts, the air in the disc and the twin disc, its rim tied to that of the disc."""
    faces = []
    for k, part in enumerate(layout.parts):
        face = _face(part)
        face.faces.name = region(k)
        face.faces.maxh = numerics.size * _element_size(part, frequency)
        faces.append(face)
    air = occ.Circle(disc.centre, disc.radius).Face()
    air.edges.name = "rim"
    for face in faces:
        air = air - face
    air.faces.name = "air"
    air.faces.maxh = numerics.size * disc.radius / 16
    inside = occ.Glue([air, *faces])
    outside = occ.Circle(disc.twin, disc.radius).Face()
    outside.faces.name = "outside"
    shift = occ.gp_Trsf.Translation(occ.Vec(disc.twin[0] - disc.centre[0], disc.twin[1] - disc.centre[1], 0))
    rim = next(edge for edge in inside.edges if edge.name == "rim")
    rim.Identify(outside.edges[0], "rim", IdentificationType.PERIODIC, shift)
    shape = occ.OCCGeometry(occ.Compound([inside, outside]), dim=2)
    mesh = ng.Mesh(shape.GenerateMesh(maxh=numerics.size * disc.radius / 8, grading=0.3))
    if layout.trays and numerics.corner_levels:
        mesh.RefineHP(numerics.corner_levels, 0.2)
    mesh.Curve(numerics.order)
    return mesh
