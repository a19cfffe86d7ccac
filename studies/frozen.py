"""Steel as one frequency left it, for the frequencies that ride on it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from fem.mesh import Complexes, RegionMesh
from fem.solve import UnitFields


@dataclass(frozen=True)
class Frozen:
    """Effective reluctivity of a solution, to be read on any mesh of the same section."""

    fields: UnitFields

    def on(self, mesh: RegionMesh) -> Complexes:
        """Reluctivity of the triangles of a mesh: that of the nearest triangle of the same region, shape (t,). [m/H]"""
        own = self.fields.mesh
        reluctivity = np.empty(len(mesh.triangles), dtype=np.complex128)
        for name in mesh.names:
            here = mesh.regions == mesh.names.index(name)
            there = own.regions == own.names.index(name)
            if not np.any(here):
                continue
            tree = cKDTree(own.points[own.triangles[there, :3]].mean(axis=1))
            nearest = tree.query(mesh.points[mesh.triangles[here, :3]].mean(axis=1))[1]
            reluctivity[here] = self.fields.reluctivity[there][nearest]
        return reluctivity
