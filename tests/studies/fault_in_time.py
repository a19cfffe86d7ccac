"""Forces of a fault by time steps from rest: the reference for the sum of an alternating and a steady field, and for
steel at the crest of a force."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import numpy as np
from scipy import sparse
from scipy.sparse.linalg import splu

from fem.arrays import Complexes, Floats
from fem.force_pairs import pair_forces
from fem.magnetisation import Curve
from fem.mesh import QUADRATURE_POINTS, QUADRATURE_WEIGHTS, gradients_at, shape_values
from fem.solve import UnitFields
from studies.answers.faults.currents import ShortCircuit
from studies.answers.faults.waves import AlternatingForces
from tests.fem.time_domain import Section, march


class GivenCurrents(Section):
    """A section whose saturating regions follow their curves, with any currents of the parts over time."""

    def __init__(self, fields: UnitFields, curves: Mapping[str, Curve], given: Callable[[float], Floats]) -> None:
        """Take currents of all parts (N,) [A] as a function of time [s]."""
        super().__init__(fields, curves, np.zeros(len(fields.part_names), dtype=np.complex128))
        self._given = given

    def equations(
        self, state: Floats, rate: Floats, time: float, rate_by_state: float
    ) -> tuple[Floats, sparse.csc_matrix]:
        """As of phasors of 1/sqrt2 of these currents that have turned back to this time."""
        self._currents = self._given(time) / np.sqrt(2) * np.exp(-1j * self.omega * time)
        return super().equations(state, rate, time, rate_by_state)


def forces_with_curves(
    fields: UnitFields, curves: Mapping[str, Curve], given: Callable[[float], Floats], step: float, steps: int
) -> Floats:
    """Forces on all parts after each step of backward Euler from rest, by Newton's method, (steps, N, 2). [N/m]

    One step of years is the field at rest.
    """
    section = GivenCurrents(fields, curves, given)
    start = np.zeros(section.size + len(fields.part_names))
    return np.array(
        [
            _forces(fields, state[: section.size], rate[: section.size], state[section.size :])
            for _, state, rate in march(section, start, step, steps, 1)
        ]
    )


def forces_in_time(fields: UnitFields, currents: Floats, step: float) -> Floats:
    """Forces on all parts after each step, shape (steps, N, 2). [N/m]

    `fields`: a solution of the section with linear materials, for its mesh and matrices.
    `currents`, shape (steps, N): given current of each part at the end of each step; before the first all is at rest.
    [A]
    `step`: length of a step. [s]

    Backward Euler: K A + M A' = sum u_k p_k, sum_k p_k (u_k - A') = i_k.
    """
    mesh, assembly = fields.mesh, fields.assembly
    size, vectors = len(mesh.points), sparse.csr_matrix(assembly.part_vectors)
    stiffness = assembly.stiffness(fields.reluctivity).real + assembly.exterior.matrix(size).real
    conductance = sparse.diags(assembly.part_vectors.sum(axis=0))
    matrix = sparse.bmat([[stiffness + assembly.mass / step, -vectors], [-vectors.T, conductance * step]], format="csc")
    factors = splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.001, options={"SymmetricMode": True})
    a, result = np.zeros(size), []
    for given in currents:
        right = np.concatenate([assembly.mass @ a / step, step * given - vectors.T @ a])
        state = factors.solve(right)
        rate = (state[:size] - a) / step
        a = state[:size]
        result.append(_forces(fields, a, rate, state[size:]))
    return np.array(result)


def _forces(fields: UnitFields, a: Floats, rate: Floats, voltages: Floats) -> Floats:
    mesh = fields.mesh
    part = fields.part_of_region()[mesh.regions]
    own = np.flatnonzero(part >= 0)
    triangles = mesh.triangles[own]
    sigma = np.array([material.conductivity for material in fields.materials])[mesh.regions[own]]
    forces = np.zeros((len(own), 2))
    for local, weight in zip(QUADRATURE_POINTS, QUADRATURE_WEIGHTS, strict=True):
        gradients, jacobian = gradients_at(mesh.points[triangles], np.broadcast_to(local, (len(own), 2)))
        density = sigma * (voltages[part[own]] - rate[triangles] @ shape_values(local))
        forces += (weight * jacobian * density)[:, None] * np.einsum("tni,tn->ti", gradients, a[triangles])
    total = np.zeros((len(fields.part_names), 2))
    np.add.at(total, part[own], forces)
    return total


def currents_in_time(fault: ShortCircuit, frequency: float, times: Floats, inception: float) -> Floats:
    """Currents of the fault's phases at times (n,) [s] from the inception at an angle [rad], shape (n, phases). [A]

    i_k = (ip/kappa) Re[c_k e^{j psi} (e^{j w t} - e^{-t/tau})], tau = X/(w R), c_k of amplitude 1, kappa the exact
    factor, so that no phase exceeds ip and one at the worst inception reaches it.
    """
    turn = 2 * np.pi * frequency * times
    unit = np.array(list(fault.phasors().values())) * np.exp(1j * inception)
    shape = np.exp(1j * turn) - np.exp(-fault.resistance_over_reactance * turn)
    currents: Floats = fault.peak_current / fault.largest_factor() * (shape[:, None] * unit).real
    return currents


def alternating_forces(fields: UnitFields, voltages: Complexes, bodies: Floats) -> AlternatingForces:
    """Forces on bodies of parts for rms part voltages (N,) [V/m]; bodies (n, N) has ones for a body's parts."""
    own = pair_forces(fields, voltages, fields, voltages)
    return AlternatingForces(bodies @ own.conjugate.real, bodies @ own.plain)
