"""Forces in time: of alternating currents, and of alternating currents with a decaying offset."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.force_pairs import pair_forces
from fem.mesh import Complexes, Floats
from fem.solve import UnitFields
from studies.fault_currents import CYCLES, STEPS


@dataclass(frozen=True)
class Peak:
    """The greatest force of a body."""

    force: tuple[float, float]
    """(Fx, Fy). [N/m]"""
    angle: float
    """w t at which it is reached, from the inception. [rad]"""
    inception: float
    """Angle psi of the inception that leads to it; 0 where the currents have no offset. [rad]"""

    @property
    def magnitude(self) -> float:
        """[N/m]"""
        return float(np.hypot(*self.force))


@dataclass(frozen=True)
class AlternatingForces:
    """Forces of alternating currents on n bodies: a mean, and a part at twice the frequency."""

    mean: Floats
    """Shape (n, 2). [N/m]"""
    double: Complexes
    """Amplitude, shape (n, 2). [N/m]"""

    def at(self, angle: Floats) -> Floats:
        """Forces at angles w t (m,) [rad], shape (m, n, 2). [N/m]"""
        swing: Floats = np.real(self.double * np.exp(2j * angle)[:, None, None])
        return self.mean + swing

    def peaks(self) -> tuple[Peak, ...]:
        """The greatest force of each body in a cycle."""
        angle = np.pi * np.arange(STEPS) / STEPS
        forces = self.at(angle)
        best = np.linalg.norm(forces, axis=2).argmax(axis=0)
        return tuple(
            Peak((float(forces[row, k, 0]), float(forces[row, k, 1])), float(angle[row]), 0.0)
            for k, row in enumerate(best)
        )


@dataclass(frozen=True)
class OffsetForces:
    """Forces of currents i_k(t) = sqrt2 Re[I_k e^{j psi} (e^{j w t} - e^{-t/tau})] on n bodies, shape (n, 2) each.

    F = mean_ac + Re[double_ac e^{2j(wt + psi)}] - g Re[plain e^{jwt} + turned e^{j(wt + 2 psi)}]
        + g^2 (mean_dc + Re[double_dc e^{2j psi}]),  g = e^{-t/tau}.
    """

    mean_ac: Floats
    double_ac: Complexes
    plain: Complexes
    turned: Complexes
    mean_dc: Floats
    double_dc: Complexes
    resistance_over_reactance: float
    """1/(w tau). [-]"""

    def at(self, angle: Floats, inception: float) -> Floats:
        """Forces at angles w t (m,) [rad] after an inception at psi [rad], shape (m, n, 2). [N/m]"""
        g = np.exp(-self.resistance_over_reactance * angle)[:, None, None]
        turn, start = np.exp(1j * angle)[:, None, None], np.exp(2j * inception)
        alternating = self.mean_ac + np.real(self.double_ac * turn**2 * start)
        mixed = np.real((self.plain + self.turned * start) * turn)
        steady = self.mean_dc + np.real(self.double_dc * start)
        forces: Floats = alternating - g * mixed + g**2 * steady
        return forces

    def peaks(self) -> tuple[Peak, ...]:
        """The greatest force of each body over all times and inception angles."""
        angle = 2 * np.pi * CYCLES * np.linspace(0.0, 1.0, int(CYCLES * STEPS) + 1)
        best: list[Peak] = []
        for inception in np.pi * np.arange(STEPS) / STEPS:
            forces = self.at(angle, float(inception))
            rows = np.linalg.norm(forces, axis=2).argmax(axis=0)
            found = [
                Peak((float(forces[row, k, 0]), float(forces[row, k, 1])), float(angle[row]), float(inception))
                for k, row in enumerate(rows)
            ]
            best = [new if not best or new.magnitude > best[k].magnitude else best[k] for k, new in enumerate(found)]
        return tuple(best)


def alternating_forces(fields: UnitFields, voltages: Complexes, bodies: Floats) -> AlternatingForces:
    """Forces on bodies of parts for rms part voltages (N,) [V/m]; bodies (n, N) has ones for a body's parts."""
    own = pair_forces(fields, voltages, fields, voltages)
    return AlternatingForces(bodies @ own.conjugate.real, bodies @ own.plain)


def offset_forces(
    alternating: tuple[UnitFields, Complexes],
    steady: tuple[UnitFields, Complexes],
    bodies: Floats,
    resistance_over_reactance: float,
) -> OffsetForces:
    """Forces of currents with an offset.

    Parameters
    ----------
    alternating : (UnitFields, ndarray (N,))
        Solution at the frequency, and rms voltages of the parts. [V/m]
    steady : (UnitFields, ndarray (N,))
        Solution for direct currents on the same mesh, and the voltages that drive in it, for each conductor, the same
        complex current as in the alternating one. [V/m]
    bodies : ndarray (n, N)
        Ones for the parts of each body.
    resistance_over_reactance : float
        R/X of the path of the fault. [-]
    """
    both = pair_forces(*alternating, *alternating), pair_forces(*steady, *steady)
    across, back = pair_forces(*alternating, *steady), pair_forces(*steady, *alternating)
    return OffsetForces(
        bodies @ both[0].conjugate.real,
        bodies @ both[0].plain,
        bodies @ (across.conjugate + back.conjugate.conj()),
        bodies @ (across.plain + back.plain),
        bodies @ both[1].conjugate.real,
        bodies @ both[1].plain,
        resistance_over_reactance,
    )
