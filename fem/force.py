"""Forces and torque per metre, from the current density and from the Maxwell stress."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.constants import mu_0
from fem.mesh import QUADRATURE_POINTS, QUADRATURE_WEIGHTS, gradients_at, shape_values
from fem.solve import UnitFields


@dataclass(frozen=True)
class Forces:
    """Force per metre on the current of each part: a mean, and an alternating force at twice the frequency.

    f(t) = mean + Re(double e^{j 2 w t}), for rms phasors.
    """

    mean: Floats
    """(Fx, Fy) of each part, shape (N, 2). [N/m]"""
    double: Complexes
    """(Fx, Fy) as phasors of the amplitude at twice the frequency, shape (N, 2). [N/m]"""


def current_forces(fields: UnitFields, voltages: Complexes) -> Forces:
    """Force J x B on the current of every part for part voltages (N,) [V/m], without the force on magnetised matter.

    F = int (-J By, J Bx); mean Re(J conj(B)), double-frequency amplitude J B, both with rms phasors.
    """
    mesh = fields.mesh
    nodal = fields.potential(voltages)[mesh.triangles]
    nodes = mesh.points[mesh.triangles]
    part = fields.part_of_region()[mesh.regions]
    sigma = np.array([material.conductivity for material in fields.materials])[mesh.regions]
    imposed = np.where(part >= 0, fields.imposed(voltages)[part], 0)
    mean, double = np.zeros((len(nodes), 2)), np.zeros((len(nodes), 2), dtype=np.complex128)
    for local, weight in zip(QUADRATURE_POINTS, QUADRATURE_WEIGHTS, strict=True):
        gradients, jacobian = gradients_at(nodes, np.broadcast_to(local, (len(nodes), 2)))
        density = sigma * (imposed - 1j * fields.omega * (nodal @ shape_values(local)))
        slope = np.einsum("tni,tn->ti", gradients, nodal)  # J x B = J grad A: (-J By, J Bx) = J (dA/dx, dA/dy)
        area = (weight * jacobian)[:, None]
        mean += area * (density[:, None] * slope.conj()).real
        double += area * density[:, None] * slope
    return Forces(fields.sum_over_parts(mean), fields.sum_over_parts(double))


def gap_torque(fields: UnitFields, nodal: Complexes, gap: str) -> float:
    """Mean torque per metre, about the origin, on the parts inside an annulus of air about it. [N]

    nodal, shape (p,): A at the nodes of the mesh. [Wb/m]
    gap: Region of air between two circles about the origin.

    The torque r^2 int Br H_theta d(theta) is the same on every circle of the gap. Its average over all of them is
    T = int r Br H_theta dS / (r2 - r1).
    """
    mesh = fields.mesh
    own = mesh.regions == mesh.names.index(gap)
    nodes, values = mesh.points[mesh.triangles[own]], nodal[mesh.triangles[own]]
    radius = np.linalg.norm(nodes, axis=2)
    total = 0.0
    for local, weight in zip(QUADRATURE_POINTS, QUADRATURE_WEIGHTS, strict=True):
        gradients, jacobian = gradients_at(nodes, np.broadcast_to(local, (len(nodes), 2)))
        slope = np.einsum("tni,tn->ti", gradients, values)
        x, y = np.einsum("n,tni->it", shape_values(local), nodes)
        # (Bx, By) = (dA/dy, -dA/dx) along e_r = (x, y)/r and e_theta = (-y, x)/r
        radial = (x * slope[:, 1] - y * slope[:, 0]) / np.hypot(x, y)
        around = (-y * slope[:, 1] - x * slope[:, 0]) / np.hypot(x, y) / mu_0
        total += float(np.sum(weight * jacobian * np.hypot(x, y) * (radial * around.conj()).real))
    return total / float(radius.max() - radius.min())
