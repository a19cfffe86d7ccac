"""Run-time checks of a solution: power balance, reciprocity and Ampere's law."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.losses import Losses
from fem.mesh import gradients_at, shape_gradients
from fem.solve import UnitFields
from fem.ties import Drive


@dataclass(frozen=True)
class Checks:
    """Relative residuals of identities that hold for an exact solution."""

    power_balance: float
    """|Re sum u conj(i) - losses| / losses: an identity of the discrete system, rounding only. [-]"""
    reciprocity: float
    """max |Y - Y^T| / max |Y|: rounding only. [-]"""
    ampere_law: float
    """max over parts |circulation of H around it - i| / max |i|: error of the field at the parts' surfaces. [-]"""


def check_solution(fields: UnitFields, drive: Drive, losses: Losses) -> Checks:
    """Residuals of a solution for the state and the losses of its parts."""
    power = float(np.sum(drive.voltages * drive.currents.conj()).real)
    dissipated = float(losses.total.sum()) + losses.elsewhere + fields.earth_loss(drive.currents)
    circulation = circulations(fields, fields.potential(drive.voltages))
    largest = np.abs(drive.currents).max()
    y = fields.admittance
    return Checks(
        power_balance=abs(power - dissipated) / dissipated if dissipated > 0 else abs(power),
        reciprocity=float(np.abs(y - y.T).max() / np.abs(y).max()),
        ampere_law=float(np.abs(circulation - drive.currents).max() / largest) if largest > 0 else 0.0,
    )


def circulations(fields: UnitFields, nodal: Complexes) -> Complexes:
    """Circulation of H around each part, integrated in the triangles just outside its surface, shape (N,). [A]

    The integral runs over all surfaces of a part. For a part that encloses others (a tube, a closed wall) these are the
    outer and the inner surface, and the circulation is the current of that part alone.
    """
    mesh = fields.mesh
    part = fields.part_of_region()[mesh.regions]
    reluctivity = fields.reluctivity
    owner = np.full(len(mesh.points), -2, dtype=np.int64)  # part to which the mid-edge node of each edge belongs
    for k in range(3):
        middle = mesh.triangles[:, 3 + k]
        np.maximum.at(owner, middle, part)
    result = np.zeros(len(fields.part_names), dtype=np.complex128)
    ends = (((0.0, 0.0), (1.0, 0.0)), ((1.0, 0.0), (0.0, 1.0)), ((0.0, 1.0), (0.0, 0.0)))
    abscissae, weights = np.polynomial.legendre.leggauss(3)
    for k, (start, end) in enumerate(ends):
        middle = mesh.triangles[:, 3 + k]
        outside = (owner[middle] >= 0) & (part < 0)  # this triangle is outside a part, its neighbour in it
        nodes = mesh.points[mesh.triangles[outside]]
        values = nodal[mesh.triangles[outside]]
        step = np.subtract(end, start)
        for x, weight in zip((abscissae + 1) / 2, weights / 2, strict=True):
            local = np.broadcast_to(np.asarray(start) + x * step, (len(nodes), 2))
            gradients, _ = gradients_at(nodes, local)
            slope = np.einsum("tni,tn->ti", gradients, values)
            along = _tangent(nodes, local, step)
            # H . dl with H = nu (dA/dy, -dA/dx)
            magnetic = reluctivity[outside] * (slope[:, 1] * along[:, 0] - slope[:, 0] * along[:, 1])
            # the triangle outside runs along its edge anticlockwise, which is clockwise around the part
            np.add.at(result, owner[middle[outside]], -weight * magnetic)
    return result


def _tangent(nodes: Floats, local: Floats, step: Floats) -> Floats:
    """Tangent of an edge over its local step, shape (t, 2). [m]"""
    tangent: Floats = np.einsum("tni,tnl,l->ti", nodes, shape_gradients(local), step)
    return tangent
