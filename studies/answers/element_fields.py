"""Fields on the nodes of the mesh, and the triangles of a region, ready to be drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.tri import Triangulation

from fem.arrays import Floats, Ints
from fem.mesh import gradients_at
from fem.polarisation import resultant
from studies.answers.answers import Answers

LOCAL_NODES = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.5, 0.0], [0.5, 0.5], [0.0, 0.5]])
QUARTERS = np.array([[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]])
"""The four straight triangles that a six-node triangle is drawn as."""


@dataclass(frozen=True)
class NodalField:
    """A scalar on straight triangles; nodes on an interface occur once on each side of it."""

    points: Floats
    """Shape (n, 2). [m]"""
    triangles: Ints
    """Shape (t, 3)."""
    values: Floats
    """Shape (n,)."""

    def triangulation(self, scale: float) -> Triangulation:
        """Triangles to draw; `scale` data units a metre."""
        return Triangulation(self.points[:, 0] * scale, self.points[:, 1] * scale, self.triangles)


def flux_density_near(result: Answers, low: tuple[float, float], high: tuple[float, float]) -> NodalField:
    """Resultant rms flux density on all triangles that reach into a window [m], averaged within each region. [T]"""
    mesh = result.fields.mesh
    corners = mesh.points[mesh.triangles[:, :3]]
    reach = np.all((corners.max(axis=1) >= low) & (corners.min(axis=1) <= high), axis=1)
    nodes = mesh.triangles[reach]
    nodal = result.fields.potential(result.drive.voltages)[nodes]
    places = mesh.points[nodes]
    field = np.empty((len(nodes), 6))
    for k, local in enumerate(LOCAL_NODES):
        gradients, _ = gradients_at(places, np.broadcast_to(local, (len(nodes), 2)))
        field[:, k] = resultant(np.einsum("tni,tn->ti", gradients, nodal))
    keys = nodes * len(mesh.names) + mesh.regions[reach][:, None]
    unique, first, inverse = np.unique(keys.ravel(), return_index=True, return_inverse=True)
    inverse = inverse.reshape(nodes.shape)
    sums = np.bincount(inverse.ravel(), weights=field.ravel(), minlength=len(unique))
    values = sums / np.bincount(inverse.ravel(), minlength=len(unique))
    return NodalField(mesh.points[nodes.ravel()[first]], _quarters(inverse), values)


def current_densities_of(result: Answers, parts: Sequence[str]) -> list[NodalField]:
    """Magnitude of the current density, sigma |u - j w A|, on the triangles of each of some parts. [A/m^2]"""
    fields, mesh = result.fields, result.fields.mesh
    imposed, potential = fields.imposed(result.drive.voltages), fields.potential(result.drive.voltages)
    found = []
    for part in parts:
        index = fields.part_names.index(part)
        regions = fields.part_regions[index]
        nodes = mesh.triangles[np.isin(mesh.regions, regions)]
        unique, inverse = np.unique(nodes.ravel(), return_inverse=True)
        conductivity = fields.materials[regions[0]].conductivity
        values = conductivity * np.abs(imposed[index] - 1j * fields.omega * potential[unique])
        found.append(NodalField(mesh.points[unique], _quarters(inverse.reshape(nodes.shape)), values))
    return found


def _quarters(nodes: Ints) -> Ints:
    return nodes[:, QUARTERS].reshape(-1, 3)
