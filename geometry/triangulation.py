"""Unstructured triangles of plane faces with given boundary edges, by gmsh."""

from __future__ import annotations

import contextlib
import signal
import threading
import uuid
from collections.abc import Iterator, Sequence
from types import ModuleType
from typing import cast

import numpy as np

from geometry.arrays import Flags, Floats, Ints


class MeshingError(RuntimeError):
    """The cross-section could not be meshed."""


SYSTEM_LIBRARIES = "libgl1 libglu1-mesa libgomp1 libxcursor1 libxft2 libxinerama1"
"""Debian and Ubuntu packages that gmsh's wheel needs and does not carry."""
OPTIONS = {
    "General.Terminal": 0.0,
    "Mesh.Algorithm": 6.0,
    "Mesh.MeshSizeExtendFromBoundary": 0.0,
    "Mesh.MeshSizeFromPoints": 0.0,
    "Mesh.MeshSizeMin": 0.0,
    "Mesh.MeshSizeMax": 1e22,
    "Mesh.MeshSizeFactor": 1.0,
    "Mesh.Smoothing": 1.0,
    "Mesh.RecombineAll": 0.0,
    "Mesh.SubdivisionAlgorithm": 0.0,
    "Mesh.ElementOrder": 1.0,
    "Mesh.RandomSeed": 1.0,
}
"""Options of gmsh while a mesh is made: plane frontal-Delaunay triangles (6), sized by the background field alone."""


def triangulated(vertices: Floats, faces: Sequence[Sequence[Ints]], what: str, growth: float) -> tuple[Floats, Ints]:
    """Fill faces with triangles; every edge of a loop remains one edge.

    vertices, shape (v, 2): All vertices, including those of the loops. [m]
    faces: For each face the vertices of its outline, then of the outlines of its holes.
    what: Name of the meshed space in messages.
    growth: Growth of the element size, which is the length of the nearest edge of a loop, with the distance from it.
        [-]
    Returns vertices, triangles, shapes (w, 2), (t, 3): The vertices, followed by the new ones [m], and the triangles,
        anticlockwise.
    Raises MeshingError: If gmsh fails or its system libraries are missing.
    """
    with _gmsh_model() as gmsh:
        tag_of, lines, surfaces = _describe(gmsh, vertices, faces)
        _grow_from(gmsh, lines, surfaces, growth, float(np.ptp(vertices, axis=0).max()))
        try:
            gmsh.model.mesh.generate(2)
        except Exception as error:
            raise MeshingError(f"gmsh could not mesh {what}: {error}") from error
        node_tags, coordinates, _ = gmsh.model.mesh.getNodes()
        _, corners = gmsh.model.mesh.getElementsByType(2)
        if len(corners) == 0:
            raise MeshingError(f"gmsh returned no triangles for {what}")
        node_of = dict(zip((tag for _, tag in gmsh.model.getEntities(0)), gmsh.model.mesh.getNodes(0)[0], strict=True))
        point_nodes = {v: int(node_of[tag]) for v, tag in tag_of.items()}
    index = np.full(int(node_tags.max()) + 1, -1, dtype=np.int64)  # of a node's tag: its vertex
    for v, node in point_nodes.items():
        index[node] = v
    new = index[node_tags] < 0
    index[node_tags[new]] = len(vertices) + np.arange(np.count_nonzero(new))
    vertices = np.vstack([vertices, coordinates.reshape(-1, 3)[new, :2]])
    triangles = index[corners.reshape(-1, 3).astype(np.int64)]
    turned = clockwise(vertices, triangles)
    triangles[turned] = triangles[turned][:, ::-1]
    return vertices, triangles


def clockwise(points: Floats, triangles: Ints) -> Flags:
    """Whether each triangle, corners first, of points (p, 2) has (b - a) x (c - a) below 0, shape (t,)."""
    a, b, c = (points[triangles[:, k]] for k in range(3))
    return (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0] < 0


def _describe(
    gmsh: ModuleType, vertices: Floats, faces: Sequence[Sequence[Ints]]
) -> tuple[dict[int, int], list[int], list[int]]:
    """Put faces into gmsh's model, each edge as one element: tag of each vertex, tags of the edges and of the faces."""
    geo = gmsh.model.geo
    tag_of: dict[int, int] = {}
    for loop in (loop for loops in faces for loop in loops):
        for v in loop.tolist():
            if v not in tag_of:
                tag_of[v] = geo.addPoint(*vertices[v], 0.0)
    all_lines: list[int] = []
    surfaces: list[int] = []
    for loops in faces:
        curves = []
        for loop in loops:
            tags = [tag_of[v] for v in loop.tolist()]
            lines = [geo.addLine(a, b) for a, b in zip(tags, tags[1:] + tags[:1], strict=True)]
            for line in lines:
                geo.mesh.setTransfiniteCurve(line, 2)
            curves.append(geo.addCurveLoop(lines))
            all_lines += lines
        surfaces.append(geo.addPlaneSurface(curves))
    geo.synchronize()
    return tag_of, all_lines, surfaces


def _grow_from(gmsh: ModuleType, lines: list[int], surfaces: list[int], growth: float, extent: float) -> None:
    """Let the size grow from the length of the nearest boundary edge."""
    field = gmsh.model.mesh.field.add("Extend")
    gmsh.model.mesh.field.setNumbers(field, "CurvesList", lines)
    gmsh.model.mesh.field.setNumbers(field, "SurfacesList", surfaces)
    gmsh.model.mesh.field.setNumber(field, "SizeMax", extent)
    gmsh.model.mesh.field.setNumber(field, "DistMax", extent / growth)
    gmsh.model.mesh.field.setAsBackgroundMesh(field)


def _gmsh() -> ModuleType:
    """The library, imported when it is first used."""
    try:
        import gmsh
    except (ImportError, OSError) as error:
        raise MeshingError(
            f"gmsh cannot start, it or a system library is missing ({error}). On Debian or Ubuntu install them with: "
            f"apt-get install {SYSTEM_LIBRARIES}"
        ) from error
    return cast(ModuleType, gmsh)


@contextlib.contextmanager
def _signals_kept() -> Iterator[None]:
    """Keep the handling of broken pipes, which gmsh resets so that they kill the process."""
    name = getattr(signal, "SIGPIPE", None)  # not on every system
    if name is None or threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.getsignal(name)
    try:
        yield
    finally:
        signal.signal(name, before)


@contextlib.contextmanager
def _gmsh_model() -> Iterator[ModuleType]:
    """A new gmsh model; afterwards gmsh is in its previous state, also after an exception."""
    gmsh = _gmsh()
    running = bool(gmsh.isInitialized())
    if not running:
        with _signals_kept():
            gmsh.initialize(readConfigFiles=False, interruptible=False)
    previous_model = gmsh.model.getCurrent() if running else ""
    previous = {name: gmsh.option.getNumber(name) for name in OPTIONS}
    model = f"section-{uuid.uuid4().hex}"
    try:
        for name, value in OPTIONS.items():
            gmsh.option.setNumber(name, value)
        gmsh.model.add(model)
        yield gmsh
    finally:
        if running:
            gmsh.model.setCurrent(model)
            gmsh.model.remove()
            for name, value in previous.items():
                gmsh.option.setNumber(name, value)
            with contextlib.suppress(Exception):
                gmsh.model.setCurrent(previous_model)
        else:
            gmsh.finalize()
