"""Mesh of a whole section: structured solids, and unstructured air around and between them by gmsh."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass

import numpy as np

from geometry.arrays import Floats, Ints
from geometry.clearance import TOUCHING, overlaps
from geometry.loops import is_inside, signed_area
from geometry.section_mesh import SectionMesh
from geometry.shapes import AIR, Point, Section, boundary_loops, enclosing_circle
from geometry.sizing import MeshSizes, solid_block
from geometry.structured import Block
from geometry.triangulation import SYSTEM_LIBRARIES, MeshingError, triangulated

__all__ = ["SYSTEM_LIBRARIES", "MeshingError", "Plan", "mesh_planned", "mesh_section", "planned", "with_middles"]


@dataclass(frozen=True)
class Plan:
    """Input of gmsh: the meshes of the solids, the outer circle, and the growth of elements in air."""

    section: Section
    sizes: MeshSizes
    blocks: tuple[Block, ...]
    """Mesh of each region of the section, in their order."""
    circle: Floats
    """Vertices of the outer circle, anticlockwise, shape (n, 2). [m]"""
    circle_centre: Point
    circle_radius: float

    @property
    def growth(self) -> float:
        """Growth of the size of the air's elements with the distance from the nearest edge. [-]"""
        return self.sizes.air_growth / self.sizes.fineness

    def of_mesh(self) -> Hashable:
        """All that the mesh depends on; equal for sections whose skin depths ask for the same elements."""
        named = tuple((region.name, region.shape) for region in self.section.regions)
        blocks = tuple((block.vertices.tobytes(), block.triangles.tobytes()) for block in self.blocks)
        return named, blocks, self.circle.tobytes(), self.circle_centre, self.circle_radius, self.growth


def planned(section: Section, sizes: MeshSizes) -> Plan:
    """Meshes of the solids and outer circle of a section.

    Raises ValueError: If two solids touch or overlap.
    """
    named = [(region.label or region.name, region.shape) for region in section.regions]
    touching = overlaps(named, -TOUCHING)
    if touching:
        pairs = "; ".join(f"{pair.first} and {pair.second} by {max(0.0, pair.depth) * 1e3:.3g} mm" for pair in touching)
        raise ValueError(f"solids touch or overlap: {pairs}")
    centre, radius = enclosing_circle(section)
    radius *= sizes.outer_ratio
    count = round(sizes.outer_circle * sizes.fineness)
    angle = 2 * np.pi * np.arange(count) / count
    circle = np.asarray(centre) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    blocks = tuple(solid_block(section, region, sizes) for region in section.regions)
    return Plan(section, sizes, blocks, circle, centre, radius)


def mesh_section(section: Section, sizes: MeshSizes | None = None) -> SectionMesh:
    """Mesh a cross-section and the air around it, out to a circle that encloses all solids.

    section: Solids that do not touch or overlap.
    sizes: Sizes of the elements; those of the ordinary mesh if not given.
    Returns mesh: Six-node triangles; edges of round solids and of the outer circle are curved.
    Raises ValueError: If two solids touch or overlap.
    Raises MeshingError: If gmsh fails or its system libraries are missing.
    """
    return mesh_planned(planned(section, sizes or MeshSizes()))


def mesh_planned(plan: Plan) -> SectionMesh:
    """The mesh of a plan, as of `mesh_section`."""
    section = plan.section
    blocks, centre, radius = plan.blocks, plan.circle_centre, plan.circle_radius
    offsets = np.cumsum([0] + [len(block.vertices) for block in blocks])
    vertices = np.vstack([*(block.vertices for block in blocks), plan.circle])
    faces = _air_faces(section, blocks, offsets, np.arange(len(plan.circle)) + offsets[-1])
    vertices, air = triangulated(vertices, faces, "the air between the solids", plan.growth)
    triangles = [air] + [block.triangles + offset for block, offset in zip(blocks, offsets, strict=False)]
    regions = np.repeat(np.arange(len(triangles)), [len(piece) for piece in triangles])
    corners = np.vstack(triangles)
    centres = np.array([(np.nan, np.nan)] + [block.centre or (np.nan, np.nan) for block in blocks])
    points, six = with_middles(vertices, corners, centres[regions], centre, radius)
    return SectionMesh(points, six, regions, (AIR, *section.names()), centre, radius)


def _air_faces(section: Section, blocks: Sequence[Block], offsets: Ints, circle: Ints) -> list[list[Ints]]:
    """Loops of each face of air: first its outline, then the outlines of the solids in it."""
    loops = [boundary_loops(region.shape) for region in section.regions]
    pockets: list[tuple[float, Floats, list[Ints]]] = []
    for (_, inner), block, offset in zip(loops, blocks, offsets, strict=False):
        for outline, vertices in zip(inner, block.inners, strict=True):
            pockets.append((signed_area(outline), outline, [vertices + offset]))
    pockets.sort(key=lambda pocket: pocket[0])
    outside: list[Ints] = [circle]
    for (outer, _), block, offset in zip(loops, blocks, offsets, strict=False):
        size = signed_area(outer)
        homes = [face for area, outline, face in pockets if area > size and is_inside(outer[0], outline)]
        (homes[0] if homes else outside).append(block.outer + offset)
    return [outside, *(face for _, _, face in pockets)]


def with_middles(
    vertices: Floats, corners: Ints, centres: Floats, circle_centre: Point, circle_radius: float
) -> tuple[Floats, Ints]:
    """Add a node in the middle of each edge, on the arc if the edge follows a circle."""
    used, corners = np.unique(corners, return_inverse=True)
    vertices, corners = vertices[used], corners.reshape(-1, 3)
    pairs = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 2)
    # one number for both ends, as NumPy compares rows many times more slowly
    keys, inverse = np.unique(pairs.min(axis=1) * len(used) + pairs.max(axis=1), return_inverse=True)
    edges, edge_of = np.stack(np.divmod(keys, len(used)), axis=1), inverse.reshape(-1, 3)
    middles = vertices[edges].mean(axis=1)
    for k in range(3):
        curved = np.isfinite(centres[:, 0])
        ends = vertices[edges[edge_of[curved, k]]]
        middles[edge_of[curved, k]] = _polar_middle(ends, centres[curved])
    on_circle = np.abs(np.linalg.norm(vertices - circle_centre, axis=1) / circle_radius - 1) < 1e-9
    rim = on_circle[edges].all(axis=1)
    middles[rim] = _polar_middle(vertices[edges[rim]], np.tile(np.asarray(circle_centre), (int(rim.sum()), 1)))
    points: Floats = np.vstack([vertices, middles])
    six: Ints = np.hstack([corners, edge_of + len(vertices)]).astype(np.int64)
    return points, six


def _polar_middle(ends: Floats, centres: Floats) -> Floats:
    """Middle of edges (n, 2, 2) in polar coordinates about their centres; straight if one end is the centre. [m]"""
    from_centre = ends - centres[:, None]
    z = from_centre[..., 0] + 1j * from_centre[..., 1]
    radius = np.abs(z)
    at_centre = radius.min(axis=1) < 1e-9 * radius.max(axis=1)
    turn = np.angle(np.where(at_centre, 1.0, z[:, 1] / np.where(at_centre, 1.0, z[:, 0])))
    direction = np.where(at_centre, 1.0, z[:, 0] / np.where(at_centre, 1.0, radius[:, 0])) * np.exp(0.5j * turn)
    polar = radius.mean(axis=1) * direction
    middle = np.where(at_centre, z.mean(axis=1), polar)
    result: Floats = centres + np.stack([middle.real, middle.imag], axis=1)
    return result
