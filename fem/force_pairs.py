"""Forces between the currents of one solution and the field of another, on the same mesh."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes
from fem.mesh import QUADRATURE_POINTS, QUADRATURE_WEIGHTS, gradients_at, shape_values
from fem.solve import UnitFields


@dataclass(frozen=True)
class PairForces:
    """Forces per metre on the current of each part, bilinear in rms phasors 1 and 2, shape (N, 2) each. [N/m]"""

    plain: Complexes
    """int J1 x B2."""
    conjugate: Complexes
    """int J1 x conj(B2)."""


def pair_forces(first: UnitFields, of_first: Complexes, second: UnitFields, of_second: Complexes) -> PairForces:
    """Forces that the field of the second solution exerts on the currents of the first.

    first, second: Solutions on one mesh with the same parts, at any two frequencies.
    of_first, of_second, shape (N,): Voltages of the parts in each. [V/m]

    J x B = J grad A with J = sigma (u - j w A), by quadrature of order 4 over the triangles of the parts. The force on
    magnetised matter is not included.
    """
    mesh = first.mesh
    if second.mesh is not mesh or first.part_names != second.part_names:
        raise ValueError("the two solutions must be of one mesh and the same parts")
    part = first.part_of_region()[mesh.regions]
    own = np.flatnonzero(part >= 0)
    triangles = mesh.triangles[own]
    nodes = mesh.points[triangles]
    carrying = first.potential(of_first)[triangles]
    acting = second.potential(of_second)[triangles]
    sigma = np.array([material.conductivity for material in first.materials])[mesh.regions[own]]
    imposed = first.imposed(of_first)[part[own]]
    plain = np.zeros((len(own), 2), dtype=np.complex128)
    conjugate = np.zeros((len(own), 2), dtype=np.complex128)
    for local, weight in zip(QUADRATURE_POINTS, QUADRATURE_WEIGHTS, strict=True):
        gradients, jacobian = gradients_at(nodes, np.broadcast_to(local, (len(nodes), 2)))
        density = sigma * (imposed - 1j * first.omega * (carrying @ shape_values(local)))
        slope = np.einsum("tni,tn->ti", gradients, acting)
        weighted = (weight * jacobian * density)[:, None]
        plain += weighted * slope
        conjugate += weighted * slope.conj()
    count = len(first.part_names)
    forces = PairForces(np.zeros((count, 2), dtype=np.complex128), np.zeros((count, 2), dtype=np.complex128))
    np.add.at(forces.plain, part[own], plain)
    np.add.at(forces.conjugate, part[own], conjugate)
    return forces
