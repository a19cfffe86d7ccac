"""Reluctivity of saturating steel from the solution of one frequency, for the other frequencies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats, Ints
from fem.locate import locator_of
from fem.mesh import RegionMesh, shape_values
from fem.solve import UnitFields


@dataclass(frozen=True)
class FundamentalSteel:
    """Effective reluctivity of a solution, to be read on any mesh of the same section.

    If it varies, it is linear between the corners of the triangles; its logarithm at a corner is the mean over the
    triangles of the region around it, weighted by area. A constant in each triangle would change between two meshes by
    first order in their size, and the refinement would not converge.
    """

    fields: UnitFields

    def on(self, mesh: RegionMesh) -> Complexes:
        """Reluctivity at the middle of each triangle of a mesh, shape (t,). [m/H]"""
        own = self.fields.mesh
        middles = np.einsum("n,tni->ti", shape_values(np.full(2, 1 / 3)), mesh.points[mesh.triangles])
        reluctivity = np.empty(len(mesh.triangles), dtype=np.complex128)
        for name in mesh.names:
            here = mesh.regions == mesh.names.index(name)
            there = np.flatnonzero(own.regions == own.names.index(name))
            values = self.fields.reluctivity[there]
            if not np.any(here):
                continue
            if np.all(values == values[0]):
                reluctivity[here] = values[0]
            else:
                reluctivity[here] = self._between(middles[here], there)
        return reluctivity

    def _between(self, points: Floats, triangles: Ints) -> Complexes:
        """Reluctivity at points (q, 2) [m] in the region of these triangles of the solution's mesh. [m/H]"""
        own = self.fields.mesh
        corners = own.triangles[triangles, :3]
        edges = own.points[corners[:, 1:]] - own.points[corners[:, :1]]
        areas = np.abs(edges[:, 0, 0] * edges[:, 1, 1] - edges[:, 0, 1] * edges[:, 1, 0])
        logarithm, weight = np.zeros(len(own.points), dtype=np.complex128), np.zeros(len(own.points))
        for corner in corners.T:
            np.add.at(logarithm, corner, areas * np.log(self.fields.reluctivity[triangles]))
            np.add.at(weight, corner, areas)
        places = locator_of(own).places(points)
        triangle, local = places.triangle.copy(), np.clip(places.local, 0.0, 1.0)
        beside = np.flatnonzero(~np.isin(triangle, triangles))  # within a curved wall that the other mesh cuts short
        if len(beside):
            from scipy.spatial import cKDTree  # takes 0.1 s to load, and few solutions need it

            nearest = cKDTree(own.points[corners].mean(axis=1)).query(points[beside])[1]
            triangle[beside], local[beside] = triangles[nearest], 1 / 3
        shares = np.column_stack([1 - local.sum(axis=1), local])
        nodes = own.triangles[triangle, :3]
        result: Complexes = np.exp(np.sum(shares * logarithm[nodes] / weight[nodes], axis=1))
        return result
