"""Refinement until every requested number meets the asked tolerance, with an estimate of the remaining error."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np

from fem.arrays import Complexes, Flags, Floats
from fem.checks import Checks, check_solution
from fem.field import FieldProbe
from fem.losses import ElementFields, Losses, losses
from fem.mesh import RegionMesh
from fem.nonlinear import SaturatedSolution, solve_saturating
from fem.solve import UnitFields, part_places, part_radii, with_earth
from fem.ties import Drive, drive, impedance_matrix
from geometry.refinement import refined
from geometry.section_mesh import SectionMesh
from studies.section.parts import CrossSection
from studies.solve.bonding import ties_with_cross_bonds
from studies.solve.cancelling_fields import least_field
from studies.solve.error_floors import NEIGHBOURS
from studies.solve.fundamental_steel import FundamentalSteel
from studies.solve.levels import FINENESS, AccuracyResult, MeshLevel
from studies.solve.meshes import mesh_of
from studies.solve.unit_fields import unit_fields
from studies.text.failures import guarded
from studies.text.progress import Progress

MOST_UNKNOWNS = 400_000
"""Largest number of unknowns of a mesh."""
INSIDE_FINENESS = 2.25
"""Fineness from which on points inside cables and metal do not require a finer mesh.

The field there is the slope of an element, of second order in its size, and jumps from strand to insulation. Half a per
cent there would cost hundreds of times the work of half a per cent in air, in a place where nothing can be measured.
"""
IN_SOLID = 1e-3
"""Points nearer to a solid than this share of the mesh's radius count as inside. [-]"""
SAFETY = 2.0
"""Ratio of the error estimate to the change from the previous mesh."""
SMALL_LOSS = 1e-3
"""Relative errors of smaller losses refer to this share of the total."""
SMALL_VOLTAGE = 1e-2
"""Relative errors of smaller voltages of parts refer to this share of the largest."""
SMALL_FIELD = 1e-3
"""Relative errors of smaller fields of a traverse refer to this share of its largest field."""


@dataclass(frozen=True)
class Requested:
    """Every requested number of one solution, as arrays."""

    receptors: Complexes
    """(Bx, By) at the receptors, shape (r, 2). [T]"""
    traverses: tuple[Complexes, ...]
    """(Bx, By) along each traverse, shape (n, 2). [T]"""
    losses: Floats
    """Loss of each part, shape (N,). [W/m]"""
    voltages: Complexes
    """u of each part, shape (N,). [V/m]"""
    currents: Complexes
    """i of each part, shape (N,). [A]"""
    impedances: Complexes
    """Impedance matrix of the phases, shape (phases, phases). [ohm/m]"""


@dataclass(frozen=True)
class Solved:
    """One solution and its requested numbers."""

    fields: UnitFields
    probe: FieldProbe
    nodal: Complexes
    drive: Drive
    losses: Losses
    elements: ElementFields
    checks: Checks
    requested: Requested
    saturated: SaturatedSolution | None = None
    """Of a section with saturating steel."""


@dataclass(frozen=True)
class Estimate:
    """Estimates of numerical error from the requested numbers of the last two meshes."""

    now: Requested
    before: Requested
    coarser: UnitFields
    """Fields of the previous mesh, for the errors of quantities derived later."""
    displaced: Requested | None = None
    """With an earth: the fields with each part moved by its size in the integrals of the earth."""
    displaced_at: Callable[[Floats], Complexes] | None = None
    """(Bx, By) of these fields at points (q, 2) [m], shape (q, 2). [T]"""

    @cached_property
    def before_at(self) -> Callable[[Floats], Complexes]:
        """(Bx, By) of the previous mesh at points (q, 2) [m], shape (q, 2). [T]"""
        return partial(FieldProbe(self.coarser).flux_density, self.coarser.potential(self.before.voltages))

    @cached_property
    def least_relative(self) -> float:
        """No relative field estimate is below a tenth of the worst relative estimate of the losses. [-]"""
        return NEIGHBOURS * float((self.of(lambda r: r.losses) / loss_scale(self.now)).max(initial=0.0))

    def of(self, number: Callable[[Requested], Floats | Complexes]) -> Floats:
        """Error estimate of any number or array that follows from the requested ones, in its unit and shape."""
        error = SAFETY * np.abs(number(self.now) - number(self.before))
        return error if self.displaced is None else error + np.abs(number(self.displaced) - number(self.now))

    def of_losses(self) -> Floats:
        """Estimate of the error of each part's loss, shape (N,). [W/m]

        The change between two meshes may cross zero by chance: no relative estimate is below a tenth of the worst one,
        as far as the loss itself allows.
        """
        return np.maximum(self.of(lambda r: r.losses), self.least_relative * np.abs(self.now.losses))

    def of_vector(self, vector: Callable[[Requested], Complexes]) -> Floats:
        """Estimate of the error of the magnitude of vectors (..., 2) among the requested numbers, shape (...)."""
        displaced = None if self.displaced is None else vector(self.displaced)
        return self._of_field(vector(self.now), vector(self.before), displaced)

    def of_field_at(self, points: Floats, now: Complexes) -> Floats:
        """Estimate of the error of the field (q, 2) [T] at any points (q, 2) [m], shape (q,). [T]"""
        displaced = None if self.displaced_at is None else self.displaced_at(points)
        return self._of_field(now, self.before_at(points), displaced)

    def of_map(self, points: Floats, now: Complexes) -> Floats:
        """The same at the many points of a map, where `FieldProbe.flux_density_of_map` gave the field."""
        displaced = None if self.displaced_at is None else self.displaced_at(points)
        nodal = self.coarser.potential(self.before.voltages)
        return self._of_field(now, FieldProbe(self.coarser).flux_density_of_map(nodal, points), displaced)

    def _of_field(self, now: Complexes, before: Complexes, displaced: Complexes | None) -> Floats:
        """From the change of the vector, since the change of a magnitude crosses zero if the vector only turns.

        It also bounds the error along the major axis, which never exceeds the change of the vector.
        """
        change = SAFETY * np.linalg.norm(now - before, axis=-1)
        error = np.maximum(change, self.least_relative * np.linalg.norm(now, axis=-1))
        return np.asarray(error if displaced is None else error + np.linalg.norm(displaced - now, axis=-1))

    def of_traverses(self) -> tuple[Floats, ...]:
        """Estimate of the error of the field along each traverse, shape (n,) each. [T]"""
        return tuple(self.of_vector(partial(_traverse, number=k)) for k in range(len(self.now.traverses)))


def _traverse(requested: Requested, number: int) -> Complexes:
    return requested.traverses[number]


def solve_to_tolerance(
    section: CrossSection,
    receptors: Floats,
    traverses: tuple[Floats, ...],
    tolerance: float,
    progress: Progress,
    mesh: SectionMesh | None = None,
    fundamental: FundamentalSteel | None = None,
    each: Callable[[Solved], None] | None = None,
    derived: Callable[[Solved, Estimate], float] | None = None,
    finenesses: Sequence[float] = (),
) -> tuple[Solved, Estimate, AccuracyResult]:
    """Solve on finer and finer meshes until the requested numbers change by less than the tolerance.

    receptors, traverses, shapes (r, 2), tuple of (n, 2): Points where the field is requested. [m]
    tolerance: Relative tolerance of every requested number. [-]
    progress: Called with a line of progress.
    mesh: A mesh to use instead of generated ones; it is refined by splitting its triangles.
    fundamental: Reluctivity of saturating steel from the solution of another frequency.
    each: Called with the solution on every mesh, the coarsest first.
    derived: Largest relative error estimate of further numbers that follow from a solution; called once all others
        hold.
    finenesses: Of the meshes in turn, if none is given; those of a run by default.
    Returns solved, estimate, accuracy: The finest solution, its error estimate, and how the tolerance was met. Numbers
        that miss the tolerance are returned with an estimate above it; points inside cables and metal may miss it, see
        `INSIDE_FINENESS`.
    """
    levels: list[MeshLevel] = []
    least = least_field(section, receptors)
    before: Solved | None = None
    result: tuple[Solved, Estimate, AccuracyResult] | None = None
    meshes = _meshes(section, mesh, progress, finenesses or FINENESS)
    solve_on = partial(solve_once, section, receptors=receptors, traverses=traverses, fundamental=fundamental)
    solve_next = partial(_next_solved, meshes, section, solve_on, progress)
    # if a refinement fails, the result of the previous meshes is kept
    while (step := solve_next() if result is None else guarded("refinement", solve_next, None)) is not None:
        fineness, candidate, solved = step
        if each is not None:
            each(solved)
        level = MeshLevel(fineness, len(candidate.points), len(candidate.triangles), None)
        if before is None:
            before, levels = solved, [level]
            continue
        displaced = _displaced(section, solved, receptors, traverses)
        estimate = Estimate(solved.requested, before.requested, before.fields, *displaced)
        in_air = _in_air(solved, receptors, traverses) if fineness >= INSIDE_FINENESS else None
        worst, suffices = _judged(solved, estimate, least, tolerance, in_air, derived)
        levels.append(replace(level, worst_change=worst / SAFETY))
        result = solved, estimate, AccuracyResult(tolerance, worst, worst <= tolerance, tuple(levels))
        if suffices:
            break
        before = solved
    if result is None:
        raise RuntimeError("the error estimate needs two meshes")
    return result


def _next_solved(
    meshes: Iterator[tuple[float, SectionMesh]],
    section: CrossSection,
    solve_on: Callable[[SectionMesh], Solved],
    progress: Progress,
) -> tuple[float, SectionMesh, Solved] | None:
    """The next mesh with its fineness and solution, None if there is no further one."""
    for fineness, mesh in meshes:
        progress(f"solving {len(mesh.points):,} unknowns, {len(section.parts)} parts")
        return fineness, mesh, solve_on(mesh)
    return None


def _judged(
    solved: Solved,
    estimate: Estimate,
    least: Floats,
    tolerance: float,
    in_air: tuple[Flags, tuple[Flags, ...]] | None,
    derived: Callable[[Solved, Estimate], float] | None,
) -> tuple[float, bool]:
    """Largest error of all numbers, and whether no finer mesh is needed: points in air suffice, if they are given."""
    worst = worst_error(estimate, least)
    inside_alone = worst > tolerance and in_air is not None and worst_error(estimate, least, in_air) <= tolerance
    further = derived(solved, estimate) if derived is not None and (worst <= tolerance or inside_alone) else 0.0
    worst = max(worst, further)
    return worst, worst <= tolerance or (inside_alone and further <= tolerance)


def solve_once(
    section: CrossSection,
    mesh: RegionMesh,
    receptors: Floats,
    traverses: tuple[Floats, ...],
    fundamental: FundamentalSteel | None = None,
) -> Solved:
    """Solve on one mesh and evaluate every requested number; steel saturates, or keeps a given reluctivity."""
    fields, state, saturated = _fields(section, mesh, fundamental)
    loss, elements = losses(fields, state.voltages)
    checks = check_solution(fields, state, loss)
    probe = FieldProbe(fields)
    nodal = fields.potential(state.voltages)
    requested = requested_numbers(section, fields, state, loss, probe, receptors, traverses)
    return Solved(fields, probe, nodal, state, loss, elements, checks, requested, saturated)


def requested_numbers(
    section: CrossSection,
    fields: UnitFields,
    state: Drive,
    loss: Losses,
    probe: FieldProbe,
    receptors: Floats,
    traverses: tuple[Floats, ...],
) -> Requested:
    """Every requested number of a solution."""
    nodal = fields.potential(state.voltages)
    points = np.vstack([receptors.reshape(-1, 2), *traverses])
    field = probe.flux_density(nodal, points)
    pieces = np.split(field, np.cumsum([len(receptors), *(len(t) for t in traverses)])[:-1])
    phases = [phase.tie for phase in section.phases]
    return Requested(
        pieces[0],
        tuple(pieces[1:]),
        loss.total,
        state.voltages,
        state.currents,
        impedance_matrix(fields.admittance, fields.part_names, section.ties, phases),
    )


def _displaced(
    section: CrossSection, solved: Solved, receptors: Floats, traverses: tuple[Floats, ...]
) -> tuple[Requested, Callable[[Floats], Complexes]] | tuple[None, None]:
    """The numbers, and the field at points, with each part in the earth's integrals moved up by its size.

    None without an earth.
    """
    fields = displaced_fields(section, solved)
    if fields is None:
        return None, None
    state = drive(fields.admittance, fields.part_names, ties_with_cross_bonds(section, fields))
    lost, _ = losses(fields, state.voltages)
    numbers = requested_numbers(section, fields, state, lost, solved.probe, receptors, traverses)
    return numbers, partial(solved.probe.flux_density, fields.potential(state.voltages))


def displaced_fields(section: CrossSection, solved: Solved) -> UnitFields | None:
    """Unit fields with each part moved up by its size in the earth's integrals; None without an earth.

    The integrals treat a part as a point. Their error is below the change by this move: half of a part is above its
    centroid and half below it.
    """
    if section.earth is None:
        return None
    places = part_places(solved.fields)
    moved = places + np.outer(part_radii(solved.fields, places), (0.0, 1.0))
    return with_earth(solved.fields, section.earth, moved)


def _fields(
    section: CrossSection, mesh: RegionMesh, fundamental: FundamentalSteel | None
) -> tuple[UnitFields, Drive, SaturatedSolution | None]:
    """Unit fields and drive of a section."""
    steels = section.steels()
    if steels and fundamental is None:
        parts = {part.name: (part.name,) for part in section.parts}
        materials, earth = section.materials(), section.earth
        saturated = solve_saturating(mesh, materials, section.frequency, section.ties, steels, parts=parts, earth=earth)
        fields = saturated.fields
        return fields, drive(fields.admittance, fields.part_names, ties_with_cross_bonds(section, fields)), saturated
    fields = unit_fields(section, mesh, None if fundamental is None else fundamental.on(mesh))
    return fields, drive(fields.admittance, fields.part_names, ties_with_cross_bonds(section, fields)), None


def worst_error(estimate: Estimate, least: Floats, counted: tuple[Flags, tuple[Flags, ...]] | None = None) -> float:
    """Largest ratio of an error estimate to its number, with the floors of this module. [-]

    estimate: Estimates of all numbers.
    least, shape (r,): Least reference of the field at each receptor, see `studies.solve.cancelling_fields`. [T]
    counted: Which receptors (r,) and which points of each traverse (n,) count; all by default.
    """
    now = estimate.now
    receptors, traverses = counted or (
        np.ones(len(now.receptors), bool),
        tuple(np.ones(len(t), bool) for t in now.traverses),
    )
    fields = np.maximum(np.linalg.norm(now.receptors, axis=1), least)
    ratios = [_ratio(estimate.of_vector(lambda r: r.receptors)[receptors], fields[receptors], 0.0)]
    for field, error, own in zip(now.traverses, estimate.of_traverses(), traverses, strict=True):
        ratios.append(_ratio(error[own], np.linalg.norm(field, axis=1)[own], SMALL_FIELD))
    ratios.append(float((estimate.of_losses() / loss_scale(now)).max()))
    ratios.append(_ratio(estimate.of(lambda r: r.voltages), np.abs(now.voltages), SMALL_VOLTAGE))
    ratios.append(_ratio(estimate.of(lambda r: r.impedances).ravel(), np.abs(now.impedances).ravel(), 0.0))
    return max(ratios)


def _in_air(solved: Solved, receptors: Floats, traverses: tuple[Floats, ...]) -> tuple[Flags, tuple[Flags, ...]]:
    """Which receptors and which points of each traverse lie outside all solids and not on their surface."""
    least = IN_SOLID * solved.fields.exterior.least_radius
    free = [solved.probe.free_distance(points.reshape(-1, 2)) > least for points in (receptors, *traverses)]
    return free[0], tuple(free[1:])


def loss_scale(requested: Requested) -> Floats:
    """Reference of the relative error of each part's loss: the loss, or a small share of the total. [W/m]"""
    floor = max(SMALL_LOSS * float(requested.losses.sum()), np.finfo(float).tiny)
    return np.maximum(requested.losses, floor)


def _ratio(errors: Floats, values: Floats, floor: float) -> float:
    if len(values) == 0 or values.max() == 0:
        return 0.0
    return float((errors / np.maximum(values, max(floor, 1e-12) * values.max())).max())


def _meshes(
    section: CrossSection, given: SectionMesh | None, progress: Progress, finenesses: Sequence[float]
) -> Iterator[tuple[float, SectionMesh]]:
    """Meshes of rising fineness, up to the largest size."""
    if given is not None:
        for fineness in (1.0, 2.0, 4.0):
            if fineness > 2 and 4 * len(given.points) > MOST_UNKNOWNS:
                return
            if fineness > 1:
                given = refined(given)
            yield fineness, given
        return
    solids = section.section()
    count = 0.0
    for k, fineness in enumerate(finenesses):
        growth = (fineness / finenesses[k - 1]) ** 2 if k else 1.0
        if k > 1 and count * growth > MOST_UNKNOWNS:
            return
        groups = f" in {found} groups" if section.apart and (found := section.far_groups()) > 1 else ""
        progress(f"meshing {len(section.parts)} solids{groups}, fineness {fineness:g}")
        mesh = mesh_of(solids, fineness, section.apart)
        count = len(mesh.points)
        yield fineness, mesh
