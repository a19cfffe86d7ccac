"""Electric potentials of unit voltages on conductors, and their capacitance matrix per metre."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy import sparse

from fem.arrays import Floats, Ints
from fem.assembly import assemble
from fem.constants import epsilon_0, mu_0
from fem.mesh import RegionMesh
from fem.solve import REFERENCE_RADIUS, solve_symmetric


@dataclass(frozen=True)
class UnitPotentials:
    """Potentials for one volt on each electrode in turn, with all other electrodes and earthed metal at zero."""

    mesh: RegionMesh
    permittivity: Floats
    """Relative permittivity of each triangle, shape (t,). [-]"""
    names: tuple[str, ...]
    """Names of the N electrodes."""
    potentials: Floats
    """Potential at the nodes of the mesh, shape (p, N). [V/V]"""
    capacitance: Floats
    """Maxwell capacitance matrix: charge per metre q = C V, shape (N, N). [F/m]"""


def solve_unit_potentials(
    mesh: RegionMesh,
    permittivity: Floats,
    electrodes: Mapping[str, Ints],
    earthed: Ints | None = None,
    reference_radius: float | None = None,
) -> UnitPotentials:
    """Solve for one volt on each electrode in turn.

    mesh: Six-node triangles; beyond its circle is air to infinity.
    permittivity, shape (t,): Relative permittivity of each triangle, above 0; inside an electrode it has no effect. [-]
    electrodes: Mesh nodes of each conductor, on its surface and inside it; each conductor has one potential.
    earthed: Mesh nodes at potential zero.
    reference_radius: Radius of the far circle at potential zero, which holds the opposite of the net charge. [m]

    a(V, v) = int eps grad V . grad v + e(V, v) = 0, with the exterior of `fem.exterior` and eps0 in place of 1/mu0. The
    potentials of electrodes and earth are imposed on their nodes. C_kl = a(V_k, V_l) is an energy, so its error is of
    the order of the squared error of the field.
    """
    _check(mesh, permittivity, electrodes)
    earth = np.zeros(0, dtype=np.int64) if earthed is None else np.unique(earthed)
    imposed = _imposed(len(mesh.points), electrodes, earth)
    far = reference_radius or max(REFERENCE_RADIUS, 100 * mesh.circle_radius)
    assembly = assemble(mesh, np.zeros(len(mesh.names)), (), (), far)
    stiffness = assembly.stiffness(epsilon_0 * permittivity.astype(np.complex128))
    # the exterior's block has 1/mu0 in place of eps0
    exterior = mu_0 * epsilon_0 * assembly.exterior.matrix(len(mesh.points))
    system = sparse.csr_matrix((stiffness + exterior).real)
    potentials = _potentials(system, imposed, earth)
    capacitance = np.asarray(potentials.T @ (system @ potentials), dtype=np.float64)
    return UnitPotentials(mesh, permittivity, tuple(electrodes), potentials, capacitance)


def _check(mesh: RegionMesh, permittivity: Floats, electrodes: Mapping[str, Ints]) -> None:
    if not electrodes:
        raise ValueError("a capacitance needs at least one electrode")
    if permittivity.shape != mesh.triangles.shape[:1]:
        raise ValueError(f"permittivity must have shape ({len(mesh.triangles)},): {permittivity.shape}")
    if not (np.all(np.isfinite(permittivity)) and np.all(permittivity > 0)):
        raise ValueError(f"permittivity must be finite and above 0: {permittivity.min()} to {permittivity.max()}")


def nodes_of(mesh: RegionMesh, regions: tuple[str, ...]) -> Ints:
    """Mesh nodes of some regions, their outlines included."""
    unknown = [name for name in regions if name not in mesh.names]
    if unknown:
        raise ValueError(f"the mesh has no regions {', '.join(unknown)}")
    own = np.isin(mesh.regions, [mesh.names.index(name) for name in regions])
    return np.unique(mesh.triangles[own])


def nodes_within(mesh: RegionMesh, centre: tuple[float, float], radius: float) -> Ints:
    """Mesh nodes on a circle [m] or inside it, within the rounding of their coordinates."""
    distance = np.linalg.norm(mesh.points - np.asarray(centre), axis=1)
    return np.flatnonzero(distance <= radius * (1 + 1e-9)).astype(np.int64)


def _imposed(size: int, electrodes: Mapping[str, Ints], earth: Ints) -> Floats:
    """1 for each node of an electrode, shape (size, N); none may belong to two, or to earth as well."""
    imposed = np.zeros((size, len(electrodes)))
    for k, (name, nodes) in enumerate(electrodes.items()):
        if len(nodes) == 0:
            raise ValueError(f"electrode {name} has no nodes")
        imposed[nodes, k] = 1.0
    count = imposed.sum(axis=1)
    count[earth] += 1
    if np.any(count > 1):
        raise ValueError("electrodes and earth must have no node in common")
    return imposed


def _potentials(system: sparse.csr_matrix, imposed: Floats, earth: Ints) -> Floats:
    """Potentials of all nodes (p, N): imposed ones are kept, those of free nodes are solved for. [V/V]"""
    fixed = imposed.sum(axis=1)
    fixed[earth] = 1.0
    free = np.flatnonzero(fixed == 0)
    result = imposed.copy()
    result[free] = solve_symmetric(system[free][:, free].tocsc(), -(system[free] @ imposed))
    return result
