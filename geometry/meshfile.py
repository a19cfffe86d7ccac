"""Section meshes written to files and read from files, through meshio."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np

from geometry.arrays import Floats, Ints
from geometry.section_mesh import SectionMesh
from geometry.shapes import AIR
from geometry.triangulation import clockwise

FORMAT = ".msh"
"""Extension of gmsh's format, which keeps region names; written in version 2.2, read in any that meshio reads."""


class MeshFileError(ValueError):
    """A mesh file that cannot be used."""


def write_mesh(mesh: SectionMesh, path: Path | str) -> None:
    """Write a mesh with its region names to a .msh file; lengths in metres."""
    import meshio

    path = _checked(path)
    numbers = mesh.regions + 1
    meshio.Mesh(
        np.column_stack([mesh.points, np.zeros(len(mesh.points))]),
        [("triangle6", mesh.triangles)],
        cell_data={"gmsh:physical": [numbers.astype(np.int32)], "gmsh:geometrical": [numbers.astype(np.int32)]},
        field_data={name: np.array([k + 1, 2]) for k, name in enumerate(mesh.names)},
    ).write(path, file_format="gmsh22", binary=True)


def read_mesh(path: Path | str) -> SectionMesh:
    """Read a mesh of six-node triangles with named physical groups from a .msh file; lengths in metres.

    Raises MeshFileError: If the file is missing, is no such mesh, has triangles in no named group, or is not bounded by
        a circle.

    One group must be named "air" and hold everything outside the solids. The mesh must end on a circle, with the nodes
    of its outermost edges on it.
    """
    import meshio

    path = _checked(path)
    if not path.is_file():
        raise MeshFileError(f"{path}: there is no such mesh file")
    try:
        read = meshio.read(path, file_format="gmsh")  # named, or meshio tries other formats and reports those
    except (Exception, SystemExit) as error:  # meshio raises SystemExit on a file that it cannot read
        raise MeshFileError(f"{path}: not a mesh that meshio can read: {error}") from error
    triangles, regions, names = _named_triangles(path, read)
    return _bounded(path, read.points[:, :2].astype(float), triangles, regions, names)


def _named_triangles(path: Path, read: Any) -> tuple[Ints, Ints, tuple[str, ...]]:
    """Nodes (t, 6) and region (t,) of the triangles of a file, and the names of the regions, air first."""
    blocks = [k for k, cells in enumerate(read.cells) if cells.type == "triangle6"]
    others = sorted({cells.type for cells in read.cells if cells.type.startswith(("triangle", "quad"))} - {"triangle6"})
    if not blocks or others:
        present = ", ".join(others) or "no triangles"
        raise MeshFileError(f"{path}: needs six-node (second-order) triangles alone, found {present}")
    names = {int(number): name for name, (number, dimension) in read.field_data.items() if int(dimension) == 2}
    triangles = np.vstack([read.cells[k].data for k in blocks]).astype(np.int64)
    physical = read.cell_data.get("gmsh:physical")
    numbers = np.concatenate([physical[k] for k in blocks]) if physical else np.zeros(len(triangles), dtype=int)
    nameless = sorted(set(numbers.tolist()) - set(names))
    if nameless:
        raise MeshFileError(f"{path}: triangles in physical groups without a name: {nameless}")
    if AIR not in names.values():
        raise MeshFileError(f"{path}: no physical group is named {AIR!r}; found {', '.join(sorted(names.values()))}")
    ordered = (AIR, *(name for _, name in sorted(names.items()) if name != AIR))
    index = {number: ordered.index(name) for number, name in names.items()}
    return triangles, np.array([index[number] for number in numbers.tolist()], dtype=np.int64), ordered


def _bounded(path: Path, points: Floats, triangles: Ints, regions: Ints, names: tuple[str, ...]) -> SectionMesh:
    """Mesh of the nodes in use, with anticlockwise triangles and its outermost nodes exactly on a circle."""
    used, index = np.unique(triangles, return_inverse=True)
    points, triangles = points[used], index.reshape(-1, 6).astype(np.int64)
    if not np.all(np.isfinite(points)):
        raise MeshFileError(f"{path}: nodes with coordinates that are not finite: {int(np.sum(~np.isfinite(points)))}")
    turned = clockwise(points, triangles)
    triangles[turned] = triangles[turned][:, [0, 2, 1, 5, 4, 3]]
    middles, count = np.unique(triangles[:, 3:], return_counts=True)
    cx, cy, radius = _fitted_circle(path, points[middles[count == 1]])
    edge = np.isin(np.arange(len(points)), _rim_nodes(triangles))
    z = (points[edge, 0] - cx) + 1j * (points[edge, 1] - cy)
    z = z / np.abs(z) * radius
    points[edge] = np.column_stack([cx + z.real, cy + z.imag])
    mesh = SectionMesh(points, triangles, regions, names, (cx, cy), radius)
    empty = [name for name, area in mesh.region_areas().items() if not area > 0]
    if empty:
        listing = ", ".join(empty)
        raise MeshFileError(f"{path}: no triangles, or their nodes in another order than gmsh's, in: {listing}")
    return mesh


def _fitted_circle(path: Path, rim: Floats) -> tuple[float, float, float]:
    """Centre and radius [m] of the circle through the outermost nodes (n, 2) [m]."""
    # the circle through the outermost nodes, by linear least squares on x^2 + y^2 = 2 x cx + 2 y cy + k
    system = np.column_stack([2 * rim, np.ones(len(rim))])
    (cx, cy, k), *_ = np.linalg.lstsq(system, np.sum(rim**2, axis=1), rcond=None)
    radius = float(np.sqrt(k + cx**2 + cy**2))
    off = float(np.abs(np.hypot(rim[:, 0] - cx, rim[:, 1] - cy) / radius - 1).max())
    if off > 1e-4:
        raise MeshFileError(
            f"{path}: the outermost nodes must lie on a circle; they are off by {off:.1%} of its radius"
        )
    return float(cx), float(cy), radius


def _rim_nodes(triangles: Ints) -> Ints:
    """Nodes of the edges that belong to one triangle alone."""
    middles, count = np.unique(triangles[:, 3:], return_counts=True)
    outer = np.isin(triangles[:, 3:], middles[count == 1])
    nodes = [triangles[outer[:, k]][:, [k, (k + 1) % 3, 3 + k]].ravel() for k in range(3)]
    return np.unique(np.concatenate(nodes))


def _checked(path: Path | str) -> Path:
    path = Path(path)
    if path.suffix != FORMAT:
        raise MeshFileError(f"{path}: a mesh file must end in {FORMAT}, the format that keeps the names of regions")
    return path
