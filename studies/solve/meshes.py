"""Meshes of cross-sections: solutions of several frequencies, and variants of other currents, share theirs."""

from __future__ import annotations

from collections import deque
from collections.abc import Hashable
from functools import lru_cache

from geometry.groups import mesh_groups
from geometry.meshing import mesh_planned, planned
from geometry.section_mesh import SectionMesh
from geometry.shapes import Section
from geometry.sizing import MeshSizes

MESHES_KEPT = 4
"""Last meshes that are kept: two of a study, and two of the one that it is compared with."""

_kept: deque[tuple[Hashable, SectionMesh]] = deque(maxlen=MESHES_KEPT)


@lru_cache(MESHES_KEPT)
def mesh_of(solids: Section, fineness: float, apart: bool = False) -> SectionMesh:
    """The mesh of solids in a fineness; the same object for the same solids, or where it comes out the same.

    apart: Whether groups of solids far from each other have meshes of their own.

    Skin depths of other frequencies and materials often ask for the same mesh. What follows from it alone is then
    computed once, see `fem.kept`.
    """
    sizes, made = MeshSizes(fineness=fineness), None
    if apart:
        made = mesh_groups(solids, sizes)
        arrays = (made.points.tobytes(), made.triangles.tobytes(), made.regions.tobytes())
        key: Hashable = (*arrays, made.names, made.circle_centre, made.circle_radius)
    else:
        plan = planned(solids, sizes)
        key = plan.of_mesh()
    for known, mesh in _kept:
        if known == key:
            return mesh
    made = made or mesh_planned(plan)
    _kept.append((key, made))
    return made
