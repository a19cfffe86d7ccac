"""The field of a run in space: cables as polylines, all else of each piece as filaments from its cross-section."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Complexes, Floats
from fem.field import FieldProbe
from fem.filaments import Ring, bundle_field, polyline_field, ring_of
from fem.polarisation import resultant
from fem.solve import UnitFields
from fem.ties import drive
from studies.formulas.line_field import line_field
from studies.section.course import Frames, half_width
from studies.section.parts import CrossSection
from studies.section.twist import Bundle, other_bundle, other_currents, own_twists
from studies.solve.accuracy import SAFETY
from studies.solve.bonding import ties_with_cross_bonds
from studies.solve.solution import Solution, combined_error, root_sum_square
from studies.study.course import Course

NEAR = 3.0
"""Radii of the mesh up to which what the ring of filaments misses is added; beyond, it misses less than 1e-16. [-]"""


@dataclass(frozen=True)
class SpaceRun:
    """A run in space with what is beside it."""

    frames: Frames
    width: float
    """Half width of the run. [m]"""
    twists: tuple[Bundle, ...] = ()
    """The study's own circuits that are twisted."""
    others: tuple[tuple[str, Bundle, Complexes, float], ...] = ()
    """Other runs: name, cables, currents along their path [A], frequency [Hz]."""

    @property
    def sections(self) -> tuple[str, ...]:
        """What each column of its fields belongs to: the pieces, then the other runs."""
        return (*self.frames.sections, *(name for name, *_ in self.others))

    def frequencies(self, solved: Sequence[float]) -> tuple[float, ...]:
        """Frequencies of its field: those that are solved, then those of other runs alone. [Hz]"""
        found = list(solved)
        found += [one for *_, one in self.others if not np.any(np.isclose(one, found))]
        return tuple(dict.fromkeys(found))

    def beside(self, frequency: float, points: Floats) -> Complexes:
        """Field of each other run at a frequency, shape (q, 3, runs). [T]"""
        found = np.zeros((len(points), 3, len(self.others)), dtype=np.complex128)
        for k, (_, bundle, currents, own) in enumerate(self.others):
            if np.isclose(own, frequency):
                one = bundle_field(bundle.lines, currents, np.zeros_like(bundle.pieces), 1, points)
                found[..., k] = -one[..., 0]  # as the currents of the cross-section, towards the eye
        return found


def space_run(course: Course, section: CrossSection, frames: Frames) -> SpaceRun:
    """The run of a course with the cross-section of a study."""
    others = tuple(
        (run.name, other_bundle(run), other_currents(run), run.frequency or section.frequency)
        for run in course.other_runs
    )
    return SpaceRun(frames, half_width(section), own_twists(course, frames, section), others)


@dataclass(frozen=True)
class Swept:
    """A state of a cross-section, as lines and a ring of filaments."""

    fields: UnitFields
    nodal: Complexes
    probe: FieldProbe
    axes: Floats
    """Axes of the cables' round parts, shape (m, 2). [m]"""
    currents: Complexes
    """Computed currents of these, shape (m,). [A]"""
    ring: Ring

    def field(self, local: Floats) -> Complexes:
        """Field (q, 2) of the cross-section alone at points (q, 2) of it. [T]"""
        return self.probe.flux_density(self.nodal, local)

    def of_lines(self, local: Floats) -> Complexes:
        """Field (q, 2) of the cables alone as straight lines at points (q, 2) of the cross-section. [T]"""
        return line_field(local, self.axes, self.currents)


@dataclass(frozen=True)
class RunModel:
    """One solution of a cross-section, swept along a run."""

    run: SpaceRun
    flat: Swept
    """All of the cross-section."""
    swept: Swept
    """What follows the path as it lies: all, or all without the circuits that are twisted."""
    twisted: tuple[Complexes, ...]
    """Currents of each twisted circuit, shape (m,). [A]"""
    frequency: float
    """[Hz]"""

    def cables(self, points: Floats) -> Complexes:
        """Field of the run's cables as lines, piece by piece, shape (q, 3, n). [T]"""
        frames = self.run.frames
        found = polyline_field(frames.lines(self.swept.axes), self.swept.currents, points)
        return self.turned(points) - found

    def turned(self, points: Floats) -> Complexes:
        """Of it that of the circuits that are twisted, shape (q, 3, n). [T]"""
        count = len(self.run.frames.along)
        found = np.zeros((len(points), 3, count), dtype=np.complex128)
        for bundle, currents in zip(self.run.twists, self.twisted, strict=True):
            found -= bundle_field(bundle.lines, currents, bundle.pieces, count, points)
        return found

    def metal(self, points: Floats) -> Complexes:
        """Field of all else, piece by piece, shape (q, 3, n). [T]

        At an end of the run its currents turn back across it: from each filament to their middle, by which the first
        moment of what flows there is right, however it flows.
        Near a piece the difference of finite elements and filaments is added: beside a straight run the sum is exact.
        """
        frames, swept = self.run.frames, self.swept
        lines = frames.lines(swept.ring.places)
        found = -polyline_field(lines, swept.ring.currents, points)
        eddies = swept.ring.currents - swept.ring.currents.mean()
        if not frames.starts_far:
            found[..., 0] += _across(lines[:, 0], eddies, points)
        if not frames.ends_far:
            found[..., -1] -= _across(lines[:, -1], eddies, points)
        piece, distance, beside = frames.nearest(points)
        close = beside & (distance < NEAR * swept.fields.exterior.radius)
        for k in np.unique(piece[close]):
            own = np.flatnonzero(close & (piece == k))
            local = frames.local(int(k), points[own])
            missed = swept.field(local) - swept.of_lines(local)
            missed -= line_field(local, swept.ring.places, swept.ring.currents)
            found[own, :, k] += frames.in_space(int(k), missed)
        return found

    def whole(self, points: Floats) -> Complexes:
        """Field of all runs, shape (q, 3). [T]"""
        own = (self.cables(points) + self.metal(points)).sum(axis=2)
        found: Complexes = own + self.run.beside(self.frequency, points).sum(axis=2)
        return found


def _across(places: Floats, currents: Complexes, points: Floats) -> Complexes:
    """Field of currents (m,) [A] from places (m, 3) [m] to their middle, shape (q, 3). [T]"""
    middle = np.tile(places.mean(axis=0), (len(places), 1))
    found: Complexes = polyline_field(np.stack([places, middle], axis=1), currents, points)[..., 0]
    return found


def run_model(run: SpaceRun, solution: Solution, coarser: bool = False) -> RunModel:
    """The model of a solution on its finest mesh or the one before.

    The currents of conductors, screens, sheaths and armour lie on the axis of their cable. Seen along the path, the
    currents of the cross-section flow towards the eye, against the path. What a twisted circuit induces in metal is
    left out: the metal is that of the other circuits.
    """
    solved, estimate = solution.solved, solution.estimate
    fields, voltages, probe = solved.fields, estimate.now.voltages, solved.probe
    if coarser:
        fields, voltages = estimate.coarser, estimate.before.voltages
        probe = FieldProbe(fields)
    flat = _swept(solution.section, fields, voltages, probe)
    names = [bundle.names for bundle in run.twists]
    currents = dict(zip(fields.part_names, fields.admittance @ voltages, strict=True))
    swept = flat
    if names:
        turned = {name for own in names for name in own}
        ties = ties_with_cross_bonds(solution.section, fields)
        ties = tuple(replace(tie, current=0j) if turned & set(tie.parts) else tie for tie in ties)
        swept = _swept(solution.section, fields, drive(fields.admittance, fields.part_names, ties).voltages, probe)
    twisted = tuple(np.array([currents[name] for name in own]) for own in names)
    return RunModel(run, flat, swept, twisted, solution.frequency)


def _swept(section: CrossSection, fields: UnitFields, voltages: Complexes, probe: FieldProbe) -> Swept:
    currents = fields.admittance @ voltages
    round_parts = [part for part in section.parts if part.cable is not None]
    of = [fields.part_names.index(part.name) for part in round_parts]
    axes = np.array([part.cable.axis for part in round_parts if part.cable])
    nodal = fields.potential(voltages)
    ring = ring_of(fields.exterior, fields.exterior.coefficients(nodal), complex(currents.sum()), axes, currents[of])
    return Swept(fields, nodal, probe, axes, currents[of], ring)


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


def space_field(run: SpaceRun, solutions: Sequence[Solution], points: Floats) -> SpaceField:
    """Field of a run with its errors at points (q, 3). [m]

    `solutions`: one for each frequency, first that of the study's own.
    `points`, shape (q, 3). [m]

    The error is the numerical one and the larger of two doubts of the model: the difference to the second combination,
    and (half width/distance to the nearest corner or end)^2 of the metal's part, as a cross-section knows nothing of
    the second moment of its currents. Nearer than the half width the second is the whole of that part. What twisted
    cables induce in metal is left out: it turns with them and falls off much as their own field. Where it is the larger
    doubt, the error is the share of that field which metal adds beside straight cables; above a plate, by loops of
    current in three dimensions, 0.4 of it or less was missed at lay lengths of 0.4 to 1.6 m.
    """
    ones = [_of_frequency(run, solution, points) for solution in solutions]
    solved = [solution.frequency for solution in solutions]
    ones += [_of_others(run, frequency, points) for frequency in run.frequencies(solved)[len(solved) :]]
    doubt = np.minimum(run.width / np.maximum(run.frames.joint_distance(points), 1e-9), 1.0) ** 2
    errors = []
    for one in ones:
        apart = np.where(np.isfinite(one.second), np.abs(one.second - one.magnitude), 0.0)
        errors.append(one.numerical + np.maximum(np.maximum(apart, doubt * one.metal), one.untwisted))
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
    untwisted: Floats
    """What twisted circuits would induce in metal, at most. [T]"""
    projections: Floats
    """Field of each piece along the whole, times the whole, shape (q, n). [T^2]"""


def _of_others(run: SpaceRun, frequency: float, points: Floats) -> _OneFrequency:
    """Of a frequency that other runs alone have: line currents, without error."""
    beside, none = run.beside(frequency, points), np.zeros(len(points))
    whole = beside.sum(axis=2)
    along = np.einsum("qin,qi->qn", beside, whole.conj()).real
    projections = np.concatenate([np.zeros((len(points), len(run.frames.sections))), along], axis=1)
    magnitude = resultant(whole)
    return _OneFrequency(magnitude, none, magnitude, magnitude, none, none, none, projections)


def _of_frequency(run: SpaceRun, solution: Solution, points: Floats) -> _OneFrequency:
    now = run_model(run, solution)
    before = run_model(run, solution, coarser=True)
    cables, metal, beside = now.cables(points), now.metal(points), run.beside(now.frequency, points)
    parts = np.concatenate([cables + metal, beside], axis=2)
    whole, in_air, others = parts.sum(axis=2), cables.sum(axis=2), beside.sum(axis=2)
    magnitude = resultant(whole)
    change = SAFETY * np.linalg.norm(whole - before.whole(points), axis=1)
    flat, lines = (_beside_nearest(run.frames, points, field) for field in (now.flat.field, now.flat.of_lines))
    with np.errstate(invalid="ignore", divide="ignore"):
        factor = np.where(lines > 0, flat / lines, np.nan)
    return _OneFrequency(
        magnitude,
        np.maximum(change, solution.estimate.least_relative * magnitude),
        resultant(factor[:, None] * in_air + others),
        resultant(in_air + others),
        resultant(metal.sum(axis=2)),
        flat,
        _untwisted(now, points),
        np.einsum("qin,qi->qn", parts, whole.conj()).real,
    )


def _untwisted(model: RunModel, points: Floats) -> Floats:
    """Field of twisted circuits times what metal adds to it beside straight cables, over theirs, shape (q,). [T]"""
    if not model.run.twists:
        return np.zeros(len(points))
    flat, rest = model.flat, model.swept

    def lines(local: Floats) -> Complexes:
        return flat.of_lines(local) - rest.of_lines(local)

    def metal(local: Floats) -> Complexes:
        return flat.field(local) - rest.field(local) - lines(local)

    alone, added = (_beside_nearest(model.run.frames, points, field) for field in (lines, metal))
    turned = resultant(model.turned(points).sum(axis=2))
    return np.asarray(turned * np.divide(added, alone, out=np.zeros(len(points)), where=alone > 0))


def _beside_nearest(frames: Frames, points: Floats, field: Callable[[Floats], Complexes]) -> Floats:
    """Magnitude of a field of the cross-section of the piece nearest to each point, shape (q,). [T]"""
    piece, _, _ = frames.nearest(points)
    found = np.zeros(len(points))
    for k in np.unique(piece):
        own = np.flatnonzero(piece == k)
        found[own] = resultant(field(frames.local(int(k), points[own])))
    return found
