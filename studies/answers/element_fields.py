"""Fields on the nodes of the mesh, and the triangles of a region, ready to be drawn."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.tri import Triangulation

from fem.arrays import Complexes, Floats, Ints
from fem.mesh import RegionMesh, gradients_at
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


def flux_density_near(
    result: Answers, low: tuple[float, float], high: tuple[float, float], pixel: float = 0.0
) -> NodalField:
    """Resultant rms flux density on all triangles that reach into a window [m], averaged within each region. [T]

    pixel: Triangles no wider and no higher than this are drawn by their corners alone. [m]
    """
    mesh = result.fields.mesh
    corners = mesh.points[mesh.triangles[:, :3]]
    reach = np.all((corners.max(axis=1) >= low) & (corners.min(axis=1) <= high), axis=1)
    small = reach & (np.ptp(corners, axis=1).max(axis=1) <= pixel)
    potential = result.fields.potential(result.drive.voltages)
    nodes = [mesh.triangles[reach & ~small], mesh.triangles[small]]
    field = [_field_at_nodes(mesh, potential, *pair).ravel() for pair in zip(nodes, (6, 3), strict=True)]
    nodes[1] = nodes[1][:, :3]
    regions = [mesh.regions[reach & ~small], mesh.regions[small]]
    keys = [(own * len(mesh.names) + region[:, None]).ravel() for own, region in zip(nodes, regions, strict=True)]
    unique, inverse = np.unique(np.concatenate(keys), return_inverse=True)
    sums = np.bincount(inverse, weights=np.concatenate(field), minlength=len(unique))
    values = sums / np.bincount(inverse, minlength=len(unique))
    whole, corner = np.split(inverse, [nodes[0].size])
    triangles = np.vstack([_quarters(whole.reshape(-1, 6)), corner.reshape(-1, 3)])
    return NodalField(mesh.points[unique // len(mesh.names)], triangles, values)


def _field_at_nodes(mesh: RegionMesh, potential: Complexes, nodes: Ints, count: int) -> Floats:
    """Resultant of B at the first nodes of triangles (t, 6), shape (t, count). [T]"""
    places, nodal, field = mesh.points[nodes], potential[nodes], np.empty((len(nodes), count))
    for k, local in enumerate(LOCAL_NODES[:count]):
        gradients, _ = gradients_at(places, np.broadcast_to(local, (len(nodes), 2)))
        field[:, k] = resultant(np.einsum("tni,tn->ti", gradients, nodal))
    return field


def current_densities_of(result: Answers, parts: Sequence[str]) -> list[NodalField]:
    """Magnitude of the current density, sigma |u - j w A|, on the triangles of each of some parts. [A/m^2]"""
    fields, mesh = result.fields, result.fields.mesh
    imposed, potential = fields.imposed(result.drive.voltages), fields.potential(result.drive.voltages)
    order = np.argsort(mesh.regions, kind="stable")
    starts = np.searchsorted(mesh.regions[order], np.arange(len(mesh.names) + 1))
    found = []
    for part in parts:
        index = fields.part_names.index(part)
        regions = fields.part_regions[index]
        nodes = mesh.triangles[np.concatenate([order[starts[k] : starts[k + 1]] for k in regions])]
        unique, inverse = np.unique(nodes.ravel(), return_inverse=True)
        conductivity = fields.materials[regions[0]].conductivity
        values = conductivity * np.abs(imposed[index] - 1j * fields.omega * potential[unique])
        found.append(NodalField(mesh.points[unique], _quarters(inverse.reshape(nodes.shape)), values))
    return found


def _quarters(nodes: Ints) -> Ints:
    return nodes[:, QUARTERS].reshape(-1, 3)
