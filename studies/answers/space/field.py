"""The field of a run in space: cables as polylines, all else of each piece as filaments from its cross-section."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.field import FieldProbe
from fem.filaments import polyline_field, ring_of
from fem.polarisation import resultant
from fem.solve import UnitFields
from studies.formulas.line_field import line_field
from studies.section.course import Frames
from studies.solve.accuracy import SAFETY
from studies.solve.solution import Solution, combined_error, root_sum_square

NEAR = 3.0
"""Radii of the mesh up to which what the ring of filaments misses is added; beyond, it misses less than 1e-16. [-]"""


@dataclass(frozen=True)
class RunModel:
    """One solution of a cross-section, swept along a run."""

    frames: Frames
    fields: UnitFields
    nodal: Complexes
    probe: FieldProbe
    axes: Floats
    """Axes of the cables' round parts, shape (m, 2). [m]"""
    currents: Complexes
    """Computed currents of these, shape (m,). [A]"""
    ring_places: Floats
    ring_currents: Complexes

    def cables(self, points: Floats) -> Complexes:
        """Field of the cables as lines, piece by piece, shape (q, 3, n). [T]"""
        return -polyline_field(self.frames.lines(self.axes), self.currents, points)

    def metal(self, points: Floats) -> Complexes:
        """Field of all else, piece by piece, shape (q, 3, n). [T]

        Near a piece the difference of finite elements and filaments is added: beside a straight run the sum is exact.
        """
        found = -polyline_field(self.frames.lines(self.ring_places), self.ring_currents, points)
        piece, distance, beside = self.frames.nearest(points)
        radius = self.fields.exterior.radius
        close = beside & (distance < NEAR * radius)
        for k in np.unique(piece[close]):
            own = np.flatnonzero(close & (piece == k))
            local = self.frames.local(int(k), points[own])
            missed = self.nearest_field(local) - self.line_field(local)
            missed -= line_field(local, self.ring_places, self.ring_currents)
            found[own, :, k] += self.frames.in_space(int(k), missed)
        return found

    def whole(self, points: Floats) -> Complexes:
        """Field of the run, shape (q, 3). [T]"""
        found: Complexes = (self.cables(points) + self.metal(points)).sum(axis=2)
        return found

    def nearest_field(self, local: Floats) -> Complexes:
        """Field (q, 2) of the cross-section alone at points (q, 2) of it. [T]"""
        return self.probe.flux_density(self.nodal, local)

    def line_field(self, local: Floats) -> Complexes:
        """Field (q, 2) of the cables alone as straight lines at points (q, 2) of the cross-section. [T]"""
        return line_field(local, self.axes, self.currents)


def run_model(frames: Frames, solution: Solution, coarser: bool = False) -> RunModel:
    """The model of a solution on its finest mesh or the one before.

    The currents of conductors, screens, sheaths and armour lie on the axis of their cable. Seen along the path, the
    currents of the cross-section flow towards the eye, against the path.
    """
    solved, estimate = solution.solved, solution.estimate
    fields, voltages, probe = solved.fields, estimate.now.voltages, solved.probe
    if coarser:
        fields, voltages = estimate.coarser, estimate.before.voltages
        probe = FieldProbe(fields)
    currents = fields.admittance @ voltages
    round_parts = [part for part in solution.section.parts if part.cable is not None]
    of = [fields.part_names.index(part.name) for part in round_parts]
    axes = np.array([part.cable.axis for part in round_parts if part.cable])
    nodal = fields.potential(voltages)
    ring = ring_of(fields.exterior, fields.exterior.coefficients(nodal), complex(currents.sum()), axes, currents[of])
    return RunModel(frames, fields, nodal, probe, axes, currents[of], ring.places, ring.currents)


@dataclass(frozen=True)
class SpaceField:
    """Field of a run in space at points, of all frequencies together; shapes (q,) unless told."""

    magnitudes: tuple[Floats, ...]
    """At each frequency. [T]"""
    errors: tuple[Floats, ...]
    total: Floats
    error: Floats
    numerical: Floats
    second: Floats
    cables: Floats
    metal: Floats
    nearest: Floats
    shares: Floats
    """Of each piece, shape (q, n). [-]"""


def space_field(frames: Frames, solutions: Sequence[Solution], width: float, points: Floats) -> SpaceField:
    """Field of a run with its errors at points (q, 3). [m]

    Parameters
    ----------
    frames : Frames
        The run.
    solutions : sequence of Solution
        One for each frequency.
    width : float
        Half width of the run. [m]
    points : ndarray, shape (q, 3)
        [m]

    Notes
    -----
    The error is the numerical one and the larger of two doubts of the model: the difference to the second combination,
    and (half width/distance to the nearest corner or end)^2 of the metal's part, as a cross-section knows nothing of
    the second moment of its currents. Nearer than the half width the second is the whole of that part.
    """
    ones = [_of_frequency(frames, solution, points) for solution in solutions]
    doubt = np.minimum(width / np.maximum(frames.joint_distance(points), 1e-9), 1.0) ** 2
    errors = []
    for one in ones:
        apart = np.where(np.isfinite(one.second), np.abs(one.second - one.magnitude), 0.0)
        errors.append(one.numerical + np.maximum(apart, doubt * one.metal))
    magnitudes = [one.magnitude for one in ones]
    total = root_sum_square(magnitudes)
    with np.errstate(invalid="ignore", divide="ignore"):
        shares = sum(one.projections for one in ones) / (total**2)[:, None]
    return SpaceField(
        tuple(magnitudes),
        tuple(errors),
        total,
        combined_error(magnitudes, errors),
        combined_error(magnitudes, [one.numerical for one in ones]),
        root_sum_square([one.second for one in ones]),
        root_sum_square([one.cables for one in ones]),
        root_sum_square([one.metal for one in ones]),
        root_sum_square([one.nearest for one in ones]),
        np.asarray(shares),
    )


@dataclass(frozen=True)
class _OneFrequency:
    magnitude: Floats
    numerical: Floats
    second: Floats
    cables: Floats
    metal: Floats
    nearest: Floats
    projections: Floats
    """Field of each piece along the whole, times the whole, shape (q, n). [T^2]"""


def _of_frequency(frames: Frames, solution: Solution, points: Floats) -> _OneFrequency:
    now, before = run_model(frames, solution), run_model(frames, solution, coarser=True)
    cables, metal = now.cables(points), now.metal(points)
    whole = (cables + metal).sum(axis=2)
    change = whole - before.whole(points)
    magnitude = resultant(whole)
    numerical = np.maximum(SAFETY * np.linalg.norm(change, axis=1), solution.estimate.least_relative * magnitude)
    flat, lines = _beside_nearest(frames, points, now.nearest_field), _beside_nearest(frames, points, now.line_field)
    in_air = resultant(cables.sum(axis=2))
    with np.errstate(invalid="ignore", divide="ignore"):
        second = np.where(lines > 0, in_air * flat / lines, np.nan)
    projections = np.einsum("qin,qi->qn", cables + metal, whole.conj()).real
    return _OneFrequency(magnitude, numerical, second, in_air, resultant(metal.sum(axis=2)), flat, projections)


def _beside_nearest(frames: Frames, points: Floats, field: Callable[[Floats], Complexes]) -> Floats:
    """Magnitude of a field of the cross-section of the piece nearest to each point, shape (q,). [T]"""
    piece, _, _ = frames.nearest(points)
    found = np.zeros(len(points))
    for k in np.unique(piece):
        own = np.flatnonzero(piece == k)
        found[own] = resultant(field(frames.local(int(k), points[own])))
    return found
