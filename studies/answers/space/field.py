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
from studies.answers.space.legs import Leg
from studies.answers.space.magnetic_doubt import magnetic_doubt
from studies.formulas.line_field import line_field
from studies.section.course import Frames, half_width
from studies.section.enclosure import is_magnetic
from studies.section.parts import CrossSection
from studies.section.twist import Bundle, other_bundle, other_currents, own_twists
from studies.solve.accuracy import SAFETY
from studies.solve.bonding import ties_with_cross_bonds
from studies.solve.solution import combined_error, root_sum_square
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


def space_run(course: Course, sections: Sequence[CrossSection], frames: Frames) -> SpaceRun:
    """The run of a course with its cross-sections."""
    section = sections[0]
    others = tuple(
        (run.name, other_bundle(run), other_currents(run), run.frequency or section.frequency)
        for run in course.other_runs
    )
    return SpaceRun(frames, max(map(half_width, sections)), own_twists(course, frames, section), others)


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
class LegModel:
    """One section of the run."""

    flat: Swept
    """All of the cross-section."""
    swept: Swept
    """What follows the path as it lies: all, or all without the circuits that are twisted."""
    places: Floats
    """Of the cables' parts that go on into the next section, shape (m, 2). [m]"""
    currents: Complexes
    """Shape (m,). [A]"""
    magnetic: bool
    """Whether it holds trays or metalwork of magnetic metal."""


@dataclass(frozen=True)
class RunModel:
    """One frequency of a run on one mesh."""

    run: SpaceRun
    legs: tuple[LegModel, ...]
    twisted: tuple[Complexes, ...]
    """Currents of each twisted circuit, shape (m,). [A]"""
    frequency: float
    """[Hz]"""

    def cables(self, points: Floats) -> Complexes:
        """Field of the run's cables as lines, piece by piece, shape (q, 3, n). [T]"""
        frames = self.run.frames
        found = self._along([(leg.swept.axes, leg.swept.currents) for leg in self.legs], points)
        for border, before, after in self._borders():
            starts, ends = frames.lines(before.places)[:, border], frames.lines(after.places)[:, border]
            across = _joined(starts, ends, before.currents, points)
            found[..., border - 1] += across - _across(ends, after.currents - before.currents, points)
        return self.turned(points) - found

    def _along(self, lines: Sequence[tuple[Floats, Complexes]], points: Floats) -> Complexes:
        """Field of lines of each section along its pieces, shape (q, 3, n); places (m, 2) [m]. [T]"""
        frames = self.run.frames
        found = np.zeros((len(points), 3, len(frames.along)), dtype=np.complex128)
        for k in np.unique(frames.of_route):
            own = np.flatnonzero(frames.of_route == k)
            places, currents = lines[k]
            corners = frames.lines(places)[:, own[0] : own[-1] + 2]
            found[..., own] = polyline_field(corners, currents, points)
        return found

    def _borders(self) -> list[tuple[int, LegModel, LegModel]]:
        """Number of the corner, section before and section after where two meet."""
        of = self.run.frames.of_route
        return [(k, self.legs[of[k - 1]], self.legs[of[k]]) for k in range(1, len(of)) if of[k] != of[k - 1]]

    def turned(self, points: Floats) -> Complexes:
        """Of it that of the circuits that are twisted, shape (q, 3, n). [T]"""
        count = len(self.run.frames.along)
        found = np.zeros((len(points), 3, count), dtype=np.complex128)
        for bundle, currents in zip(self.run.twists, self.twisted, strict=True):
            found -= bundle_field(bundle.lines, currents, bundle.pieces, count, points)
        return found

    def metal(self, points: Floats) -> Complexes:
        """Field of all else, piece by piece, shape (q, 3, n). [T]

        At an end of the run and where sections meet its currents turn back across it: from each filament to their
        middle, by which the first moment of what flows there is right, however it flows.
        Near a piece the difference of finite elements and filaments is added: beside a straight run the sum is exact.
        """
        frames, rings = self.run.frames, [leg.swept.ring for leg in self.legs]
        found = -self._along([(ring.places, ring.currents) for ring in rings], points)
        of, last = frames.of_route, len(frames.along)
        meet = [k for k in range(1, last) if of[k] != of[k - 1]]
        starts = [*([] if frames.starts_far else [0]), *meet]
        ends = [*meet, *([] if frames.ends_far else [last])]
        for sign, corners, shift in ((1, starts, 0), (-1, ends, 1)):
            for corner in corners:
                ring = rings[of[corner - shift]]
                eddies = ring.currents - ring.currents.mean()
                found[..., corner - shift] += sign * _across(frames.lines(ring.places)[:, corner], eddies, points)
        piece, distance, beside = frames.nearest(points)
        radii = np.array([leg.swept.fields.exterior.radius for leg in self.legs])
        close = beside & (distance < NEAR * radii[of[piece]])
        for k in np.unique(piece[close]):
            swept = self.legs[of[k]].swept
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
    return _joined(places, np.tile(places.mean(axis=0), (len(places), 1)), currents, points)


def _joined(starts: Floats, ends: Floats, currents: Complexes, points: Floats) -> Complexes:
    """Field of straight currents (m,) [A] from some places (m, 3) [m] to others, shape (q, 3). [T]"""
    apart = np.linalg.norm(ends - starts, axis=1) > 1e-9
    if not np.any(apart):
        return np.zeros((len(points), 3), dtype=np.complex128)
    lines = np.stack([starts[apart], ends[apart]], axis=1)
    found: Complexes = polyline_field(lines, currents[apart], points)[..., 0]
    return found


def run_model(run: SpaceRun, legs: Sequence[Leg], coarser: bool = False) -> RunModel:
    """The model of the sections of a run on the finest mesh or the one before.

    The currents of conductors, screens, sheaths and armour lie on the axis of their cable. Seen along the path, the
    currents of the cross-section flow towards the eye, against the path. What a twisted circuit induces in metal is
    left out: the metal is that of the other circuits.
    """
    models, twisted = zip(*(_leg_model(run, leg, coarser) for leg in legs), strict=True)
    return RunModel(run, models, twisted[0], legs[0].solution.frequency)


def _leg_model(run: SpaceRun, leg: Leg, coarser: bool) -> tuple[LegModel, tuple[Complexes, ...]]:
    """A section, and the currents of each twisted circuit in it."""
    solution = leg.solution
    fields, voltages, probe = solution.solved.fields, leg.voltages.now, solution.solved.probe
    if coarser:
        fields, voltages = solution.estimate.coarser, leg.voltages.before
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
    metal = [part for part in solution.section.parts if part.cable is None]
    magnetic = any(is_magnetic(part) or part.steel is not None for part in metal)
    return LegModel(flat, swept, leg.places, leg.currents.before if coarser else leg.currents.now, magnetic), twisted


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


def space_field(run: SpaceRun, solutions: Sequence[Sequence[Leg]], points: Floats) -> SpaceField:
    """Field of a run with its errors at points (q, 3). [m]

    `solutions`: for each frequency the sections of the run, first that of the study's own.
    `points`, shape (q, 3). [m]

    The error is the numerical one and the larger of two doubts of the model: the difference to the second combination,
    and (half width/distance to the nearest corner or end)^2 of the metal's part, as a cross-section knows nothing of
    the second moment of its currents. Nearer than the half width the second is the whole of that part. Where metal is
    magnetic, its doubt is `magnetic_doubt` if that is the larger. What twisted
    cables induce in metal is left out: it turns with them and falls off much as their own field. Where it is the larger
    doubt, the error is the share of that field which metal adds beside straight cables; above a plate, by loops of
    current in three dimensions, 0.4 of it or less was missed at lay lengths of 0.4 to 1.6 m.
    """
    ones = [_of_frequency(run, legs, points) for legs in solutions]
    solved = [legs[0].solution.frequency for legs in solutions]
    ones += [_of_others(run, frequency, points) for frequency in run.frequencies(solved)[len(solved) :]]
    doubt = np.minimum(run.width / np.maximum(run.frames.joint_distance(points), 1e-9), 1.0) ** 2
    errors = []
    for one in ones:
        apart = np.where(np.isfinite(one.second), np.abs(one.second - one.magnitude), 0.0)
        errors.append(one.numerical + np.maximum.reduce([apart, doubt * one.metal, one.untwisted, one.magnetised]))
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
    magnetised: Floats
    """What magnetic metal may add about a corner or an end. [T]"""
    projections: Floats
    """Field of each piece along the whole, times the whole, shape (q, n). [T^2]"""


def _of_others(run: SpaceRun, frequency: float, points: Floats) -> _OneFrequency:
    """Of a frequency that other runs alone have: line currents, without error."""
    beside, none = run.beside(frequency, points), np.zeros(len(points))
    whole = beside.sum(axis=2)
    along = np.einsum("qin,qi->qn", beside, whole.conj()).real
    projections = np.concatenate([np.zeros((len(points), len(run.frames.sections))), along], axis=1)
    magnitude = resultant(whole)
    return _OneFrequency(magnitude, none, magnitude, magnitude, none, none, none, none, projections)


def _of_frequency(run: SpaceRun, legs: Sequence[Leg], points: Floats) -> _OneFrequency:
    now = run_model(run, legs)
    before = run_model(run, legs, coarser=True)
    cables, metal, beside = now.cables(points), now.metal(points), run.beside(now.frequency, points)
    parts = np.concatenate([cables + metal, beside], axis=2)
    whole, in_air, others = parts.sum(axis=2), cables.sum(axis=2), beside.sum(axis=2)
    magnitude = resultant(whole)
    change = SAFETY * np.linalg.norm(whole - before.whole(points), axis=1)
    flat = _beside_nearest(now, points, lambda leg, local: leg.flat.field(local))
    lines = _beside_nearest(now, points, lambda leg, local: leg.flat.of_lines(local))
    least = max(leg.solution.estimate.least_relative for leg in legs)
    with np.errstate(invalid="ignore", divide="ignore"):
        factor = np.where(lines > 0, flat / lines, np.nan)
    of_metal, rings = resultant(metal.sum(axis=2)), [leg.swept.ring for leg in now.legs if leg.magnetic]
    return _OneFrequency(
        magnitude,
        np.maximum(change, least * magnitude),
        resultant(factor[:, None] * in_air + others),
        resultant(in_air + others),
        of_metal,
        flat,
        _untwisted(now, points),
        magnetic_doubt(now.run.frames.joint_distance(points), now.run.width, rings, of_metal),
        np.einsum("qin,qi->qn", parts, whole.conj()).real,
    )


def _untwisted(model: RunModel, points: Floats) -> Floats:
    """Field of twisted circuits times what metal adds to it beside straight cables, over theirs, shape (q,). [T]"""
    if not model.run.twists:
        return np.zeros(len(points))

    def lines(leg: LegModel, local: Floats) -> Complexes:
        return leg.flat.of_lines(local) - leg.swept.of_lines(local)

    def metal(leg: LegModel, local: Floats) -> Complexes:
        return leg.flat.field(local) - leg.swept.field(local) - lines(leg, local)

    alone, added = (_beside_nearest(model, points, field) for field in (lines, metal))
    turned = resultant(model.turned(points).sum(axis=2))
    return np.asarray(turned * np.divide(added, alone, out=np.zeros(len(points)), where=alone > 0))


def _beside_nearest(model: RunModel, points: Floats, field: Callable[[LegModel, Floats], Complexes]) -> Floats:
    """Magnitude of a field of the cross-section of the piece nearest to each point, shape (q,). [T]"""
    frames = model.run.frames
    piece, _, _ = frames.nearest(points)
    found = np.zeros(len(points))
    for k in np.unique(piece):
        own = np.flatnonzero(piece == k)
        found[own] = resultant(field(model.legs[frames.of_route[k]], frames.local(int(k), points[own])))
    return found
