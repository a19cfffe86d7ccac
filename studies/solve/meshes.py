"""Meshes of cross-sections: solutions of several frequencies, and variants of other currents, share theirs."""

from __future__ import annotations

from collections import deque
from functools import lru_cache

import numpy as np

from geometry.groups import mesh_groups
from geometry.meshing import mesh_section
from geometry.section_mesh import SectionMesh
from geometry.shapes import Section
from geometry.sizing import MeshSizes

MESHES_KEPT = 4
"""Last meshes that are kept: two of a study, and two of the one that it is compared with."""

_kept: deque[SectionMesh] = deque(maxlen=MESHES_KEPT)


@lru_cache(MESHES_KEPT)
def mesh_of(solids: Section, fineness: float, apart: bool = False) -> SectionMesh:
    """The mesh of solids in a fineness; the same object for the same solids, or where it comes out the same.

    apart: Whether groups of solids far from each other have meshes of their own.

    Skin depths of other frequencies often ask for the same mesh. What follows from it alone is then computed once, see
    `fem.kept`.
    """
    made = (mesh_groups if apart else mesh_section)(solids, MeshSizes(fineness=fineness))
    for mesh in _kept:
        if _are_same(made, mesh):
            return mesh
    _kept.append(made)
    return made


def _are_same(one: SectionMesh, other: SectionMesh) -> bool:
    circles = [(mesh.circle_centre, mesh.circle_radius, mesh.names) for mesh in (one, other)]
    arrays = ((one.points, other.points), (one.triangles, other.triangles), (one.regions, other.regions))
    return circles[0] == circles[1] and all(np.array_equal(first, second) for first, second in arrays)
