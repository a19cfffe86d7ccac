"""Forces in time: of alternating currents, and of alternating currents with a decaying offset."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, cast

import numpy as np

from fem.arrays import Complexes, Floats
from fem.force_pairs import PairForces, pair_forces
from fem.solve import UnitFields
from studies.answers.faults.currents import CYCLES, STEPS

COARSE = 120
"""Steps a cycle, and inceptions a half-turn, of the first search for a crest: 3 and 1.5 degrees. [-]"""
NEAR = 4e-3
"""Crests of the coarse search within this share of the greatest are climbed; the steps hide at most 2e-3 of one. [-]"""
MOST_CRESTS = 6
"""Crests that are climbed, the greatest first: along a level ridge there are as many as steps. [-]"""
ROUNDS = 3
"""Finer grids about a crest, each of a quarter of the step; the last misses 1e-6 of it. [-]"""
MOST_STEPS = 20
"""Grids of one step, each about the best point of the one before, until that is the best of its own. [-]"""


@dataclass(frozen=True)
class ForcePeak:
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

    def peaks(self) -> tuple[ForcePeak, ...]:
        """The greatest force of each body in a cycle."""
        angle = np.pi * np.arange(STEPS) / STEPS
        forces = self.at(angle)
        best = np.linalg.norm(forces, axis=2).argmax(axis=0)
        return tuple(
            ForcePeak((float(forces[row, k, 0]), float(forces[row, k, 1])), float(angle[row]), 0.0)
            for k, row in enumerate(best)
        )

    def peak_towards(self, body: int, direction: tuple[float, float]) -> ForcePeak:
        """The greatest force of a body among those that point to one side of it rather than to the other."""
        angle = np.pi * np.arange(STEPS) / STEPS
        force = self.at(angle)[:, body]
        row = int(np.where(force @ np.array(direction) > 0, np.linalg.norm(force, axis=1), -1.0).argmax())
        return ForcePeak((float(force[row, 0]), float(force[row, 1])), float(angle[row]), 0.0)


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

    def peaks(self) -> tuple[ForcePeak, ...]:
        """The greatest force of each body over all times and inception angles."""
        return tuple(own[0] for own in self.crests())

    def crests(self, near: float = NEAR) -> tuple[tuple[ForcePeak, ...], ...]:
        """Crests of each body's force within a share [-] of its greatest, the greatest first."""
        angles = 2 * np.pi * CYCLES * np.linspace(0.0, 1.0, int(CYCLES * COARSE) + 1)
        inceptions = np.pi * np.arange(COARSE) / COARSE
        sizes = np.array([np.linalg.norm(self.at(angles, float(psi)), axis=2) for psi in inceptions])
        return tuple(self._crests(k, sizes[:, :, k], angles, inceptions, near) for k in range(sizes.shape[2]))

    def _crests(
        self, body: int, sizes: Floats, angles: Floats, inceptions: Floats, near: float
    ) -> tuple[ForcePeak, ...]:
        """Crests of one body's force, from its size on a coarse grid (inceptions, angles)."""
        around = [np.roll(sizes, 1, 0), np.roll(sizes, -1, 0)]  # inceptions close to a ring
        padded = np.pad(sizes, ((0, 0), (1, 1)), constant_values=-1.0)
        around += [padded[:, :-2], padded[:, 2:]]
        crests = (sizes >= np.max(around, axis=0)) & (sizes >= (1 - near) * sizes.max())
        places = sorted(np.argwhere(crests).tolist(), key=lambda place: -sizes[place[0], place[1]])[:MOST_CRESTS]
        found = [self.climbed(body, float(angles[k]), float(inceptions[n])) for n, k in places]
        return tuple(sorted(found, key=lambda peak: -peak.magnitude))

    def climbed(self, body: int, angle: float, inception: float) -> ForcePeak:
        """The crest of one body's force next to w t and an inception angle. [rad]"""
        return self._only(body)._climb(angle, inception)

    def times(self, factor: float) -> OffsetForces:
        """All forces times a factor. [-]"""
        return self._of(lambda coefficient: factor * coefficient)

    def _of(self, change: Callable[[Any], Any]) -> OffsetForces:
        return replace(self, **{name: change(getattr(self, name)) for name in COEFFICIENTS})

    def _climb(self, angle: float, inception: float) -> ForcePeak:
        """The crest of the only body next to a point, on grids about it that grow finer."""
        best = ForcePeak((0.0, 0.0), angle, inception)
        step = np.array([2 * np.pi / COARSE, np.pi / COARSE])
        for _ in range(ROUNDS):
            for _ in range(MOST_STEPS):
                start = best
                times = np.clip(start.angle + step[0] * np.linspace(-1, 1, 9), 0.0, 2 * np.pi * CYCLES)
                for psi in start.inception + step[1] * np.linspace(-1, 1, 9):
                    forces = self.at(times, float(psi))[:, 0]
                    row = int(np.linalg.norm(forces, axis=1).argmax())
                    peak = ForcePeak(
                        (float(forces[row, 0]), float(forces[row, 1])), float(times[row]), float(psi % np.pi)
                    )
                    best = peak if peak.magnitude > best.magnitude else best
                if best is start:
                    break
            step = step / 4
        return best

    def _only(self, body: int) -> OffsetForces:
        return self._of(lambda coefficient: coefficient[body : body + 1])


COEFFICIENTS = ("mean_ac", "double_ac", "plain", "turned", "mean_dc", "double_dc")
"""Fields of `OffsetForces` that have a row for each body."""


def body_by_body(states: Sequence[OffsetForces]) -> OffsetForces:
    """Forces of n bodies, the first as it is in the first of n states, the second as in the second."""
    rows = {name: np.array([getattr(one, name)[k] for k, one in enumerate(states)]) for name in COEFFICIENTS}
    return replace(states[0], **cast("dict[str, Any]", rows))


@dataclass(frozen=True)
class MixedForces:
    """Forces on each of N parts of an alternating and a steady state on one mesh, and of the two on each other."""

    alternating: PairForces
    steady: PairForces
    across: PairForces
    """Of the steady field on the alternating currents."""
    back: PairForces
    """Of the alternating field on the steady currents."""

    def of_alternating(self, bodies: Floats) -> AlternatingForces:
        """Without the steady state, on bodies (n, N) that have ones for their parts."""
        return AlternatingForces(bodies @ self.alternating.conjugate.real, bodies @ self.alternating.plain)

    def of_offset(self, bodies: Floats, resistance_over_reactance: float) -> OffsetForces:
        """With an offset that decays by R/X [-], on bodies (n, N) that have ones for their parts."""
        return OffsetForces(
            bodies @ self.alternating.conjugate.real,
            bodies @ self.alternating.plain,
            bodies @ (self.across.conjugate + self.back.conjugate.conj()),
            bodies @ (self.across.plain + self.back.plain),
            bodies @ self.steady.conjugate.real,
            bodies @ self.steady.plain,
            resistance_over_reactance,
        )


def mixed_forces(alternating: tuple[UnitFields, Complexes], steady: tuple[UnitFields, Complexes]) -> MixedForces:
    """Forces of currents with an offset.

    alternating: Solution at the frequency, and rms voltages of the parts, shape (N,). [V/m]
    steady: Solution for direct currents on the same mesh, and the voltages that drive in it, for each conductor, the
        same complex current as in the alternating one, shape (N,). [V/m]
    """
    return MixedForces(
        pair_forces(*alternating, *alternating),
        pair_forces(*steady, *steady),
        pair_forces(*alternating, *steady),
        pair_forces(*steady, *alternating),
    )
