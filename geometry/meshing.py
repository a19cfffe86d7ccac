"""Mesh of a whole section: structured solids, and unstructured air around and between them by gmsh."""

from __future__ import annotations

import contextlib
import uuid
from collections.abc import Iterator, Sequence
from types import ModuleType

import numpy as np
from numpy.typing import NDArray

from geometry.clearance import TOUCHING, overlaps
from geometry.section_mesh import SectionMesh
from geometry.shapes import AIR, Point, Section, enclosing_circle, outlines
from geometry.sizing import MeshSizes, solid_block
from geometry.structured import Block, Floats, Ints


class MeshingError(RuntimeError):
    """The cross-section could not be meshed."""


SYSTEM_LIBRARIES = "libgl1 libglu1-mesa libgomp1 libxcursor1 libxft2 libxinerama1"
"""Debian and Ubuntu packages that gmsh's wheel needs and does not carry."""


def mesh_section(section: Section, sizes: MeshSizes | None = None) -> SectionMesh:
    """Mesh a cross-section and the air around it, out to a circle that encloses all solids.

    Parameters
    ----------
    section : Section
        Solids that neither touch nor overlap.
    sizes : MeshSizes
        How fine; the ordinary mesh if not given.

    Returns
    -------
    mesh : SectionMesh
        Six-node triangles; edges of round solids and of the outer circle are curved.

    Raises
    ------
    ValueError
        Where two solids touch or overlap.
    MeshingError
        Where gmsh fails or its system libraries are missing.
    """
    sizes = sizes or MeshSizes()
    found = overlaps([(region.label or region.name, region.shape) for region in section.regions], -TOUCHING)
    if found:
        pairs = "; ".join(f"{pair.first} and {pair.second} by {max(pair.depth, 0) * 1e3:.3g} mm" for pair in found)
        raise ValueError(f"solids touch or overlap: {pairs}")
    centre, radius = enclosing_circle(section)
    radius *= sizes.outer_ratio
    blocks = [solid_block(section, region, sizes) for region in section.regions]
    offsets = np.cumsum([0] + [len(block.vertices) for block in blocks])
    count = round(sizes.outer_circle * sizes.fineness)
    angle = 2 * np.pi * np.arange(count) / count
    circle = np.asarray(centre) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    vertices = np.vstack([*(block.vertices for block in blocks), circle])
    faces = _air_faces(section, blocks, offsets, np.arange(count) + offsets[-1])
    vertices, air = _mesh_air(vertices, faces)
    triangles = [air] + [block.triangles + offset for block, offset in zip(blocks, offsets, strict=False)]
    regions = np.repeat(np.arange(len(triangles)), [len(piece) for piece in triangles])
    corners = np.vstack(triangles)
    centres = np.array([(np.nan, np.nan)] + [block.centre or (np.nan, np.nan) for block in blocks])
    points, six = with_middles(vertices, corners, centres[regions], centre, radius)
    return SectionMesh(points, six, regions, (AIR, *section.names()), centre, radius)


def _air_faces(section: Section, blocks: Sequence[Block], offsets: Ints, circle: Ints) -> list[list[Ints]]:
    """Loops of each face of air: its outline first, then the outlines of the solids in it."""
    pockets: list[tuple[float, Floats, list[Ints]]] = []
    for region, block, offset in zip(section.regions, blocks, offsets, strict=False):
        if block.inner is not None:
            inner = outlines(region.shape)[1]
            assert inner is not None
            pockets.append((_area(inner), inner, [block.inner + offset]))
    pockets.sort(key=lambda pocket: pocket[0])
    outside: list[Ints] = [circle]
    for region, block, offset in zip(section.regions, blocks, offsets, strict=False):
        outer = outlines(region.shape)[0]
        homes = [loops for size, inner, loops in pockets if size > _area(outer) and _inside(outer[0], inner)]
        (homes[0] if homes else outside).append(block.outer + offset)
    return [outside, *(loops for _, _, loops in pockets)]


def _mesh_air(vertices: Floats, faces: list[list[Ints]]) -> tuple[Floats, Ints]:
    """Unstructured triangles of the faces of air; every edge of a loop stays one edge."""
    with _gmsh_model() as gmsh:
        geo, tag_of = gmsh.model.geo, {}
        for loop in (loop for loops in faces for loop in loops):
            for v in loop.tolist():
                if v not in tag_of:
                    tag_of[v] = geo.addPoint(*vertices[v], 0.0)
        for loops in faces:
            curves = []
            for loop in loops:
                tags = [tag_of[v] for v in loop.tolist()]
                lines = [geo.addLine(a, b) for a, b in zip(tags, tags[1:] + tags[:1], strict=True)]
                for line in lines:
                    geo.mesh.setTransfiniteCurve(line, 2)
                curves.append(geo.addCurveLoop(lines))
            geo.addPlaneSurface(curves)
        geo.synchronize()
        try:
            gmsh.model.mesh.generate(2)
        except Exception as error:
            raise MeshingError(f"gmsh could not mesh the air between the solids: {error}") from error
        node_tags, coordinates, _ = gmsh.model.mesh.getNodes()
        _, corners = gmsh.model.mesh.getElementsByType(2)
        if len(corners) == 0:
            raise MeshingError("gmsh returned no triangles for the air between the solids")
        point_nodes = {v: int(gmsh.model.mesh.getNodes(0, tag)[0][0]) for v, tag in tag_of.items()}
    index = np.full(int(node_tags.max()) + 1, -1, dtype=np.int64)
    for v, node in point_nodes.items():
        index[node] = v
    new = index[node_tags] < 0
    index[node_tags[new]] = len(vertices) + np.arange(np.count_nonzero(new))
    vertices = np.vstack([vertices, coordinates.reshape(-1, 3)[new, :2]])
    triangles = index[corners.reshape(-1, 3).astype(np.int64)]
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    turned = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0] < 0
    triangles[turned] = triangles[turned][:, ::-1]
    return vertices, triangles


@contextlib.contextmanager
def _gmsh_model() -> Iterator[ModuleType]:
    """A fresh gmsh model; afterwards gmsh is as it was found, also after an exception."""
    try:
        import gmsh
    except OSError as error:
        raise MeshingError(
            f"gmsh cannot start, a system library is missing ({error}). On Debian or Ubuntu install them with: "
            f"apt-get install {SYSTEM_LIBRARIES}"
        ) from error
    options = {
        "General.Terminal": 0.0,
        "Mesh.Algorithm": 6.0,
        "Mesh.MeshSizeExtendFromBoundary": 1.0,
        "Mesh.MeshSizeFromPoints": 0.0,
        "Mesh.ElementOrder": 1.0,
        "Mesh.RandomSeed": 1.0,
    }
    found = bool(gmsh.isInitialized())
    if not found:
        gmsh.initialize(readConfigFiles=False, interruptible=False)
    previous_model = gmsh.model.getCurrent() if found else ""
    previous = {name: gmsh.option.getNumber(name) for name in options}
    model = f"section-{uuid.uuid4().hex}"
    try:
        for name, value in options.items():
            gmsh.option.setNumber(name, value)
        gmsh.model.add(model)
        yield gmsh
    finally:
        if found:
            gmsh.model.setCurrent(model)
            gmsh.model.remove()
            for name, value in previous.items():
                gmsh.option.setNumber(name, value)
            with contextlib.suppress(Exception):
                gmsh.model.setCurrent(previous_model)
        else:
            gmsh.finalize()


def with_middles(
    vertices: Floats, corners: Ints, centres: Floats, circle_centre: Point, circle_radius: float
) -> tuple[Floats, Ints]:
    """Add a node in the middle of each edge, on the arc where the edge follows a circle."""
    used, corners = np.unique(corners, return_inverse=True)
    vertices, corners = vertices[used], corners.reshape(-1, 3)
    pairs = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 2)
    edges, inverse = np.unique(np.sort(pairs, axis=1), axis=0, return_inverse=True)
    edge_of = inverse.reshape(-1, 3)
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


def _polar_middle(ends: Floats, centres: NDArray[np.float64]) -> Floats:
    """Middle of edges (n, 2, 2) in polar coordinates about their centres; straight where an end is the centre."""
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


def _area(polygon: Floats) -> float:
    x, y = polygon[:, 0], polygon[:, 1]
    return float(abs(0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)))


def _inside(point: Floats, polygon: Floats) -> bool:
    """Whether a point lies in a polygon, by the parity of crossings to its right."""
    (x, y), (px, py) = point, polygon.T
    qx, qy = np.roll(px, -1), np.roll(py, -1)
    crosses = (py > y) != (qy > y)
    with np.errstate(divide="ignore", invalid="ignore"):
        to_right = x < px + (y - py) * (qx - px) / (qy - py)
    return bool(np.count_nonzero(crosses & to_right) % 2)
