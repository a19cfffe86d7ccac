"""The fields of net currents, superposed on those of the phase currents of their frequency."""

from __future__ import annotations

import cmath
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Complexes, Floats
from fem.field import FieldProbe
from fem.losses import losses
from fem.polarisation import resultant
from fem.solve import UnitFields, part_places
from fem.ties import drive
from fem.worst_phases import gram, worst_phases
from studies.answers.limits.judged_field import JudgedField
from studies.solve.accuracy import SAFETY, displaced_fields
from studies.solve.bonding import ties_with_cross_bonds
from studies.solve.solution import Solution

Currents = Mapping[int, complex]
"""Current of each tie that carries a net current or its return, by the index of the tie. [A]"""


@dataclass(frozen=True)
class Term:
    """A net current of a frequency."""

    number: int
    """Among the net currents of the study."""
    currents: Currents
    """At angle zero."""
    angle: float | None
    """As stated [rad], None for the worst."""


@dataclass(frozen=True)
class Mesh:
    """The unit fields of one mesh with the voltages of the phase currents and of each term at its angle or zero."""

    fields: UnitFields
    probe: FieldProbe
    voltages: tuple[Complexes, ...]
    """Shape (N,) each. [V/m]"""

    def vectors(self, points: Floats) -> Complexes:
        """(Bx, By) of each at points (q, 2) [m], shape (terms + 1, q, 2). [T]"""
        return np.stack([self.probe.flux_density(nodal, points) for nodal in self.nodals()])

    def nodals(self) -> list[Complexes]:
        """Potentials of each at the nodes of the mesh."""
        return [self.fields.potential(u) for u in self.voltages]

    def of_map(self, points: Floats) -> Complexes:
        """`vectors` at many points close together."""
        return np.stack([self.probe.flux_density_of_map(nodal, points) for nodal in self.nodals()])

    def currents(self) -> Complexes:
        """Current of each part, shape (terms + 1, N). [A]"""
        return np.stack([self.fields.admittance @ u for u in self.voltages])

    def linkages(self, first: Floats, second: Floats) -> Complexes:
        """Flux of each per metre between lines through points (q, 2) [m] each, shape (terms + 1, q). [Wb/m]"""
        return np.stack([self.probe.linkage(nodal, first, second) for nodal in self.nodals()])

    def loss_products(self) -> Complexes:
        """The quadratic form of each part's loss, shape (N, terms + 1, terms + 1). [W/m]"""
        own = [losses(self.fields, u)[0].total for u in self.voltages]
        size = len(own)
        products = np.zeros((len(own[0]), size, size), dtype=np.complex128)
        for k in range(size):
            products[:, k, k] = own[k]
            for m in range(k + 1, size):  # P(u + v) = P(u) + P(v) + 2 Re c, P(u + j v) = P(u) + P(v) - 2 Im c
                one = losses(self.fields, self.voltages[k] + self.voltages[m])[0].total - own[k] - own[m]
                turned = losses(self.fields, self.voltages[k] + 1j * self.voltages[m])[0].total - own[k] - own[m]
                products[:, k, m] = (one - 1j * turned) / 2
                products[:, m, k] = products[:, k, m].conj()
        return products


class Superposed:
    """A solution with the net currents of its frequency; all are rms phasors."""

    def __init__(self, solution: Solution, terms: Sequence[Term]) -> None:
        self.solution, self.terms = solution, tuple(terms)
        self.free = [1 + k for k, term in enumerate(terms) if term.angle is None]
        """Columns of unknown phase."""
        solved, estimate = solution.solved, solution.estimate
        self.now = self._mesh(solved.fields, solved.probe, solved.drive.voltages)
        coarser = estimate.coarser
        self.coarser = self._mesh(coarser, FieldProbe(coarser), estimate.before.voltages)
        moved = displaced_fields(solution.section, solved)
        self.moved = None if moved is None else self._mesh(moved, FieldProbe(moved), self._driven(moved, None))

    def _mesh(self, fields: UnitFields, probe: FieldProbe, phases: Complexes) -> Mesh:
        turned = [cmath.exp(1j * (term.angle or 0.0)) for term in self.terms]
        own = [turn * self._driven(fields, term.currents) for turn, term in zip(turned, self.terms, strict=True)]
        return Mesh(fields, probe, (phases, *own))

    def _driven(self, fields: UnitFields, currents: Currents | None) -> Complexes:
        """Voltages of the parts for some currents of the ties alone, or for those of the phases. [V/m]"""
        section = self.solution.section
        if currents is not None:
            ties = (replace(tie, current=currents.get(k, 0j)) for k, tie in enumerate(section.ties))
            section = replace(section, ties=tuple(ties))
        return drive(fields.admittance, fields.part_names, ties_with_cross_bonds(section, fields)).voltages

    def lines(self, term: Term) -> tuple[Floats, Complexes]:
        """A term as lines at conductor axes and in the middle of the metal of its return: places [m], currents [A]."""
        section, model, fields = self.solution.section, self.solution.model, self.now.fields
        axes = dict(zip((part.name for part in model.conductors), model.axes, strict=True))
        places = dict(zip(fields.part_names, part_places(fields), strict=True))
        at, currents = [], []
        for tie, current in term.currents.items():
            parts = section.ties[tie].parts
            at += [axes.get(part, places[part]) for part in parts]
            currents += [current * np.exp(1j * (term.angle or 0.0)) / len(parts)] * len(parts)
        return np.array(at), np.array(currents)

    def split(self, values: Complexes) -> tuple[Complexes, Complexes]:
        """Of values (terms + 1, ...) the sum of those of known phase (...), and those of unknown phase (k, ...)."""
        fixed = [k for k in range(len(values)) if k not in self.free]
        return values[fixed].sum(axis=0), values[self.free]

    def together(self, vectors: Complexes) -> tuple[Floats, Floats]:
        """Magnitude (q,) of fields (terms + 1, q, 2) [T] at the worst phases, and the angle of each term (q, terms)."""
        fixed, free = self.split(vectors)
        squares, phases = worst_phases(gram(np.stack([fixed, *free])))
        return np.sqrt(squares), self._angles(phases)

    def _angles(self, phases: Floats) -> Floats:
        angles = np.tile([term.angle or 0.0 for term in self.terms], (len(phases), 1))
        angles[:, [k - 1 for k in self.free]] = phases
        return angles

    def at_points(self, points: Floats) -> NetAtPoints:
        """The fields of the terms alone at points (q, 2). [m]"""
        vectors = self.now.vectors(points)
        fixed, free = self.split(vectors)
        alone, _ = worst_phases(gram(free)) if len(free) else (np.zeros(len(points)), None)
        return NetAtPoints(fixed - vectors[0], free, alone)

    def magnitude(self, points: Floats) -> Floats:
        """Resultant at points (q, 2) [m], shape (q,). [T]"""
        return self.together(self.now.vectors(points))[0]

    def magnitude_and_error(self, points: Floats) -> tuple[Floats, Floats]:
        """The same with its error estimate: the changes of all vectors add, whatever their phases."""
        now = self.now.vectors(points)
        moved = None if self.moved is None else self.moved.vectors(points)
        return self.together(now)[0], self._error(now, self.coarser.vectors(points), moved)

    def of_map(self, points: Floats) -> tuple[Complexes, Floats]:
        """(Bx, By) (q, 2) at the worst phases at many points (q, 2) [m] close together, and the error, (q,). [T]"""
        now = self.now.of_map(points)
        moved = None if self.moved is None else self.moved.of_map(points)
        angles = self.together(now)[1]
        fixed, free = self.split(now)
        turned = (np.exp(1j * angles[:, k - 1, None]) * own for k, own in zip(self.free, free, strict=True))
        return sum(turned, fixed), self._error(now, self.coarser.of_map(points), moved)

    def _error(self, now: Complexes, before: Complexes, moved: Complexes | None) -> Floats:
        change = np.maximum(SAFETY * resultant(now - before), self.solution.estimate.least_relative * resultant(now))
        if moved is not None:
            change = change + resultant(moved - now)
        return np.asarray(change.sum(axis=0))

    def losses(self) -> tuple[Floats, Floats, Floats]:
        """What the terms add to each part's loss and to that of all, its error, both (N + 1,) [W/m], and the angles."""
        now, before = self.now.loss_products(), self.coarser.loss_products()
        now, before = (np.concatenate([one, one.sum(axis=0)[None]]) for one in (now, before))
        squares, angles = self._worst_loss(now)
        coarse, _ = self._worst_loss(before)
        added, of_coarser = squares - now[:, 0, 0].real, coarse - before[:, 0, 0].real
        error = SAFETY * np.abs(added - of_coarser)
        return added, np.maximum(error, self.solution.estimate.least_relative * np.abs(added)), angles

    def _worst_loss(self, products: Complexes) -> tuple[Floats, Floats]:
        size = products.shape[1]
        fixed = [k for k in range(size) if k not in self.free]
        gather = np.zeros((size, 1 + len(self.free)))
        gather[fixed, 0] = 1.0
        gather[self.free, 1 + np.arange(len(self.free))] = 1.0
        squares, phases = worst_phases(gather.T @ products @ gather)
        return squares, self._angles(phases)


@dataclass(frozen=True)
class NetAtPoints:
    """The fields of the net currents of a frequency at points, to be added to other fields there."""

    fixed: Complexes
    """Sum of those of stated angle, shape (q, 2). [T]"""
    free: Complexes
    """Those of unknown phase, shape (k, q, 2). [T]"""
    alone: Floats
    """Largest square of the sum of the latter, shape (q,). [T^2]"""

    def squared(self, field: Complexes) -> Floats:
        """|B|^2 of fields (..., q, 2) [T] with the net currents, shape (..., q). [T^2]

        At the worst phase of one unknown; of several, at the worst phases to the field and to each other, a bound.
        """
        own = field + self.fixed
        found = (np.abs(own) ** 2).sum(axis=-1) + self.alone
        for one in self.free:
            found += 2 * np.abs((own.conj() * one).sum(axis=-1))
        return np.asarray(found)


@dataclass(frozen=True)
class FieldWithNet(JudgedField):
    """The field of a study with its net currents at the worst phases of each point."""

    superposed: tuple[Superposed | None, ...] = ()
    """One for each solution, None at a frequency without a net current."""

    def magnitudes(self, points: Floats) -> list[Floats]:
        """Resultant of each frequency at points (q, 2) [m], shape (q,) each. [T]"""
        plain = zip(self.solutions, self.superposed, strict=True)
        return [
            JudgedField((one,)).magnitudes(points)[0] if own is None else own.magnitude(points) for one, own in plain
        ]

    def sampled(self, points: Floats) -> Floats:
        """`value`, which a map of the solutions alone does not give."""
        return self.value(points)

    def magnitudes_and_errors(self, points: Floats) -> tuple[list[Floats], list[Floats]]:
        """The same with their error estimates."""
        magnitudes, errors = [], []
        for solution, own in zip(self.solutions, self.superposed, strict=True):
            if own is not None:
                magnitude, error = own.magnitude_and_error(points)
            else:
                (magnitude,), (error,) = JudgedField((solution,)).magnitudes_and_errors(points)
            magnitudes.append(magnitude)
            errors.append(error)
        return magnitudes, errors
