"""Saturating steel: an effective reluctivity at each point, iterated until field and reluctivity agree."""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from fem.arrays import Complexes, Floats, Ints
from fem.earth import EarthReturn
from fem.effective import DEFAULT_RULE, EffectiveReluctivity, effective_reluctivity, rule_gap
from fem.magnetisation import Steel
from fem.materials import AIR, Material
from fem.mesh import RegionMesh, gradients_at, shape_values
from fem.mixing import Mixing
from fem.polarisation import axes
from fem.solve import SolveError, UnitFields, solve_unit_voltages, with_reluctivity
from fem.ties import Drive, Tie, drive

LOAD_LINE = 0.6
"""Assumed -d ln B/d ln nu of steel that its surroundings drive: 0 for a given flux, 1 for a given field. [-]"""
EXACT = 1e-12
"""Change of the reluctivity below which the curve is linear, up to rounding. [-]"""


class NotConverged(SolveError):
    """The iteration of field and reluctivity of saturating steel did not converge."""


def loss_angle(relative_permeability: complex) -> float:
    """Angle by which B lags H for a permeability mu' - j mu'' over mu0. [rad]"""
    return -cmath.phase(relative_permeability)


@dataclass(frozen=True)
class Change:
    """Disagreement between the field of a solve and the reluctivity used in it."""

    reluctivity: float
    """int |nu of the field - nu of the solve| B^2 / int nu B^2 over the steel. [-]"""
    loss: float
    """Relative change of the loss of the steel from the solve before; 1 for the first solve. [-]"""

    def suffices(self, tolerance: float) -> bool:
        """Whether both are below the tolerance; the reluctivity alone tells of a linear curve at the first solve."""
        return self.reluctivity < EXACT or (self.reluctivity < tolerance and self.loss < tolerance)


@dataclass(frozen=True)
class Peak:
    """Peak of B over the cycle in a region, by the rule of the solution."""

    largest: float
    """Largest of all triangles; grows without bound as the mesh of a sharp corner is refined. [T]"""
    mean: float
    """Mean over the area. [T]"""


@dataclass(frozen=True)
class SaturatedSolution:
    """The converged solution and the linear one."""

    fields: UnitFields
    """Fields with the effective reluctivity of these currents, its mean over each triangle weighted by |B|^2."""
    drive: Drive
    linear_fields: UnitFields
    linear_drive: Drive
    rule: str
    """Name of the effective rule."""
    changes: tuple[Change, ...]
    """Change of each solve in turn; the first solve is the linear one."""
    peaks: Mapping[str, Peak]
    """Peak flux density of each steel region."""
    triangle_peaks: Floats
    """Peak flux density of each triangle, root mean square over it, 0 outside steel, shape (t,). [T]"""
    rule_gaps: Mapping[str, float]
    """Gap of two effective rules in each steel region, mean weighted by its loss; see `fem.effective`. [-]"""

    @property
    def solves(self) -> int:
        """Number of field solves, including the linear one. [-]"""
        return len(self.changes)


def solve_saturating(
    mesh: RegionMesh,
    materials: Mapping[str, Material],
    frequency: float,
    ties: Sequence[Tie],
    steels: Mapping[str, Steel],
    *,
    rule: str = DEFAULT_RULE,
    parts: Mapping[str, tuple[str, ...]] | None = None,
    reference_radius: float | None = None,
    earth: EarthReturn | None = None,
    tolerance: float = 1e-4,
    most_solves: int = 40,
) -> SaturatedSolution:
    """Solve for given currents with saturating steel.

    mesh, materials, frequency, parts, reference_radius, earth: As for `fem.solve.solve_unit_voltages`; frequency in
        [Hz], radius in [m]. The permeability of a steel's material is not used.
    ties: Ties of all parts, with their currents.
    steels: Steel of each saturating region.
    rule: One of `fem.effective.RULES`.
    tolerance: `Change` of reluctivity and of loss below which the iteration ends. [-]
    most_solves: Largest number of solves. [-]
    Raises NotConverged: If the solves do not suffice.

    The unknowns are ln nu at the quadrature points of the steel: a constant reluctivity in each triangle would be one
    order less accurate than the quadratic elements. The amplitude there is sqrt(2) times the rms of B along the
    major axis of its ellipse. A step leads to the point at which the table meets an assumed load line; Anderson mixing
    accelerates these steps.
    """
    _check(mesh, steels, tolerance, most_solves)
    as_linear = _linear_materials(materials, steels)
    linear = solve_unit_voltages(mesh, as_linear, frequency, parts, reference_radius, earth=earth)
    steel = _SteelTriangles(linear, steels, rule)
    mixing, reluctivity = Mixing(), np.repeat(linear.reluctivity[:, None], steel.weights.shape[1], axis=1)
    first = now = _iterate(linear, ties, steel, reluctivity)
    changes = [Change(now.mismatch, 1.0)]
    while not changes[-1].suffices(tolerance):
        if len(changes) >= most_solves:
            raise NotConverged(_advice(changes, tolerance))
        step = mixing.step(now.used.ravel(), now.towards_load_line(steel).ravel(), now.weights.ravel())
        reluctivity[steel.triangles] *= np.exp(step).reshape(now.used.shape)
        last, now = now, _iterate(with_reluctivity(now.fields, reluctivity), ties, steel, reluctivity)
        changes.append(Change(now.mismatch, _relative_change(now.loss, last.loss)))
    peaks, loss_density = steel.triangle_peaks(mesh, now.amplitude), now.loss_density(steel, reluctivity)
    return SaturatedSolution(
        fields=steel.averaged(now.fields, reluctivity, now.slopes),
        drive=now.state,
        linear_fields=linear,
        linear_drive=first.state,
        rule=rule,
        changes=tuple(changes),
        peaks={name: steel.peak_of(mesh, name, peaks) for name in steels},
        triangle_peaks=peaks,
        rule_gaps=steel.rule_gaps(steels, now.amplitude, loss_density),
    )


def _linear_materials(materials: Mapping[str, Material], steels: Mapping[str, Steel]) -> dict[str, Material]:
    """Materials of the linear solution: each steel with its linear permeability."""
    linear = {
        name: replace(materials.get(name, AIR), relative_permeability=steel.linear_permeability)
        for name, steel in steels.items()
    }
    return {**materials, **linear}


@dataclass(frozen=True)
class _Iterate:
    """A solve with given reluctivities, and the disagreement of its field with them."""

    fields: UnitFields
    state: Drive
    slopes: Complexes
    """Gradient of A at the points of the steel, shape (n, q, 2). [T]"""
    amplitude: Floats
    """Peak of the phasor B there, shape (n, q). [T]"""
    used: Floats
    """ln nu of the solve, shape (n, q)."""
    weights: Floats
    """nu B^2 of each point over its sum, shape (n, q). [-]"""
    mismatch: float
    """int |nu of the field - nu of the solve| B^2 / int nu B^2. [-]"""
    loss: float
    """Loss of the steel. [W/m]"""

    def loss_density(self, steel: _SteelTriangles, reluctivity: Complexes) -> Floats:
        """Joule and magnetic loss at each point of the steel, shape (n, q). [W/m^3]"""
        return steel.loss_density(self.fields, self.state, reluctivity, self.slopes)

    def towards_load_line(self, steel: _SteelTriangles) -> Floats:
        """ln nu at which the table meets the load line, minus ln nu of the solve, shape (n, q)."""
        return np.log(steel.on_load_line(self.amplitude, np.exp(self.used))) - self.used


def _iterate(fields: UnitFields, ties: Sequence[Tie], steel: _SteelTriangles, reluctivity: Complexes) -> _Iterate:
    """State of a solve with reluctivities (t, q) [m/H]."""
    state = drive(fields.admittance, fields.part_names, ties)
    slopes = steel.slopes(fields.potential(state.voltages))
    amplitude = steel.amplitudes(slopes)
    used, of_field = np.log(np.abs(reluctivity[steel.triangles])), np.log(steel.reluctivity(amplitude))
    weights = steel.weights * amplitude**2 * np.exp(used)
    weights /= max(float(weights.sum()), np.finfo(np.float64).tiny)
    mismatch = float(np.sum(weights * np.abs(np.expm1(of_field - used))))
    loss = steel.loss(fields, state, reluctivity, slopes)
    return _Iterate(fields, state, slopes, amplitude, used, weights, mismatch, loss)


def _relative_change(now: float, before: float) -> float:
    return abs(now - before) / now if now > 0 else 0.0


class _SteelTriangles:
    """The triangles of the steel, at their n quadrature points: amplitudes, loss and effective reluctivity."""

    def __init__(self, fields: UnitFields, steels: Mapping[str, Steel], rule: str) -> None:
        mesh, assembly = fields.mesh, fields.assembly
        regions = [mesh.names.index(name) for name in steels]
        self.triangles: Ints = np.flatnonzero(np.isin(mesh.regions, regions))
        self._tables: list[tuple[Ints, EffectiveReluctivity]] = [
            (np.flatnonzero(mesh.regions[self.triangles] == region), effective_reluctivity(steel.curve, rule))
            for region, steel in zip(regions, steels.values(), strict=True)
        ]
        self._nodes = mesh.triangles[self.triangles]
        local = assembly.abscissae  # the points at which the stiffness is integrated
        self._values = shape_values(local)
        at = np.broadcast_to(local, (len(self._nodes), *local.shape))
        self._gradients, _ = gradients_at(mesh.points[self._nodes][:, None], at)
        self.weights: Floats = assembly.weights[self.triangles]
        self._areas: Floats = self.weights.sum(axis=1)
        sigma = np.array([material.conductivity for material in fields.materials])
        self._conductivity = sigma[mesh.regions[self.triangles]]
        self._part = fields.part_of_region()[mesh.regions[self.triangles]]

    def slopes(self, nodal: Complexes) -> Complexes:
        """Gradient of A, which is B turned by a right angle, for rms A at the nodes, shape (n, q, 2). [T]"""
        slopes: Complexes = np.einsum("tqni,tn->tqi", self._gradients, nodal[self._nodes])
        return slopes

    def amplitudes(self, slopes: Complexes) -> Floats:
        """Peak of the phasor B along the major axis of its ellipse, shape (n, q). [T]"""
        return math.sqrt(2) * axes(slopes)[0]

    def loss(self, fields: UnitFields, state: Drive, reluctivity: Complexes, slopes: Complexes) -> float:
        """Joule and magnetic loss of the steel. [W/m]"""
        return float(np.sum(self.weights * self.loss_density(fields, state, reluctivity, slopes)))

    def loss_density(self, fields: UnitFields, state: Drive, reluctivity: Complexes, slopes: Complexes) -> Floats:
        """Joule and magnetic loss at each point, shape (n, q). [W/m^3]"""
        nodal = fields.potential(state.voltages)[self._nodes]
        imposed = np.where(self._part >= 0, fields.imposed(state.voltages)[self._part], 0)
        electric = imposed[:, None] - 1j * fields.omega * nodal @ self._values.T
        magnetic = fields.omega * reluctivity[self.triangles].imag * np.sum(np.abs(slopes) ** 2, axis=2)
        density: Floats = self._conductivity[:, None] * np.abs(electric) ** 2 + magnetic
        return density

    def rule_gaps(self, steels: Mapping[str, Steel], amplitude: Floats, density: Floats) -> dict[str, float]:
        """Gap of two rules in each region of steel, mean weighted by its loss. [-]"""
        gaps = {}
        for (own, _), (name, steel) in zip(self._tables, steels.items(), strict=True):
            weights = self.weights[own] * density[own]
            total = float(weights.sum())
            gaps[name] = float(np.sum(weights * rule_gap(steel.curve, amplitude[own]))) / total if total > 0 else 0.0
        return gaps

    def averaged(self, fields: UnitFields, reluctivity: Complexes, slopes: Complexes) -> UnitFields:
        """The solution with the mean reluctivity of each triangle of steel."""
        means = fields.reluctivity.copy()
        means[self.triangles] = self._mean_reluctivity(reluctivity, slopes)
        return replace(fields, reluctivity=means)

    def peak_of(self, mesh: RegionMesh, name: str, peaks: Floats) -> Peak:
        """Peak of B in one region, from the peaks of all triangles (t,) [T]."""
        own = mesh.regions == mesh.names.index(name)
        mean = np.average(peaks[own], weights=self._areas[own[self.triangles]])
        return Peak(float(peaks[own].max()), float(mean))

    def _mean_reluctivity(self, reluctivity: Complexes, slopes: Complexes) -> Complexes:
        """Mean over each triangle, weighted by |B|^2 so that energy and magnetic loss are kept, shape (n,). [m/H]"""
        squared = np.sum(np.abs(slopes) ** 2, axis=2)
        squared /= max(float(squared.max()), np.finfo(np.float64).tiny)
        weights = self.weights * (squared + 1e-30)  # without a field, the mean over the area
        return np.average(reluctivity[self.triangles], axis=1, weights=weights)

    def peaks(self, amplitude: Floats) -> Floats:
        """Peak of B over the cycle for amplitudes (n, q), root mean square over each triangle, shape (n,). [T]"""
        peak = self._of_curves(amplitude, EffectiveReluctivity.peak)
        return np.sqrt(np.average(peak**2, axis=1, weights=self.weights))

    def triangle_peaks(self, mesh: RegionMesh, amplitude: Floats) -> Floats:
        """`peaks` of all triangles of the mesh, 0 outside steel, shape (t,). [T]"""
        found = np.zeros(len(mesh.triangles))
        found[self.triangles] = self.peaks(amplitude)
        return found

    def reluctivity(self, amplitude: Floats) -> Floats:
        """Effective reluctivity for amplitudes, shape (n, q). [m/H]"""
        return self._of_curves(amplitude, EffectiveReluctivity.reluctivity)

    def on_load_line(self, amplitude: Floats, used: Floats) -> Floats:
        """Reluctivity at which the table meets the load line through an amplitude and a reluctivity, (n, q). [m/H]"""
        result = np.empty(amplitude.shape)
        for own, table in self._tables:
            result[own] = table.on_load_line(amplitude[own], used[own], LOAD_LINE)
        return result

    def _of_curves(self, amplitude: Floats, function: Callable[[EffectiveReluctivity, Floats], Floats]) -> Floats:
        """A function of the table of each steel for amplitudes, shape (n, q)."""
        result = np.empty(amplitude.shape)
        for own, table in self._tables:
            result[own] = function(table, amplitude[own])
        return result


def _check(mesh: RegionMesh, steels: Mapping[str, Steel], tolerance: float, most_solves: int) -> None:
    unknown = [name for name in steels if name not in mesh.names]
    if not steels:
        raise ValueError("steels must be given for one region of the mesh at least: none is given")
    if unknown:
        raise ValueError(f"steels must be given for regions of the mesh; it has no {', '.join(unknown)}")
    if not 0 < tolerance < 1:
        raise ValueError(f"tolerance must lie between 0 and 1: {tolerance}")
    if most_solves < 2:
        raise ValueError(f"most_solves must be 2 or above: {most_solves}")


def _advice(changes: Sequence[Change], tolerance: float) -> str:
    """Message of an iteration that did not converge."""
    best = min(change.reluctivity for change in changes)
    return (
        f"saturating steel: after {len(changes)} solves the reluctivity still changes by "
        f"{changes[-1].reluctivity:.2g} and the loss by {changes[-1].loss:.2g} (tolerance {tolerance:.2g}, best so far "
        f"{best:.2g}); allow more solves, ask for a larger tolerance, or check the units of the currents and of the "
        "magnetisation curve"
    )
