"""Highest field of a zone: in its air, where limits are judged, and apart from it in its metal."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from fem.arrays import Complexes, Floats
from fem.field import FieldProbe
from fem.materials import AIR
from fem.polarisation import resultant
from fem.solve import UnitFields
from studies.answers.limits.judged_field import JudgedField, Judgement, field_against
from studies.answers.limits.rows import ZoneResult
from studies.section.air import ZoneAir, air_of, highest_on, outline_samples
from studies.solve.accuracy import SAFETY
from studies.solve.solution import Solution
from studies.study.file import Study
from studies.study.requests import Zone
from studies.text.failures import rescued

PEAKS = 0.95
"""Peaks of the samples from this share of the highest on are followed; samples miss at most 1.5 %. [-]"""
ROUNDS = 3
"""Each sets the samples about a peak four times as close."""
MISSED = 1e-5
"""What the last of these samples miss at most, 1.5 % over 4^6 and rounding. [-]"""
EDGE_MIDDLES = np.array([[0.5, 0.0], [0.5, 0.5], [0.0, 0.5]])
"""Local coordinates of the middles of a triangle's edges."""


@dataclass(frozen=True)
class Peak:
    """The highest value of a field along the outline of a zone's air."""

    place: Floats
    """[m]"""
    value: float
    error: float
    """By which another peak may be higher, counted in."""


@dataclass(frozen=True)
class JudgedZone:
    """The air of a zone, with the highest field in it against the limit."""

    air: ZoneAir
    peak: Peak
    verdict: Judgement


def judged_zone(zone: Zone, field: JudgedField) -> JudgedZone:
    """The highest of a field in the air of a zone, against its limit; a field without sources in that air."""
    low, high = np.asarray(zone.window[0]), np.asarray(zone.window[1])
    base = field.solutions[0]
    air = air_of(base.section.cables, base.section.parts, low, high)
    if air is None:
        raise ValueError(f"zone {zone.name} has no air: cables and metal fill it")
    rings = outline_samples(air, base.solved.probe.free_distance)
    peak = highest_peak(field, rings)
    verdict = rescued(
        f"verdict at {zone.name}",
        lambda: _verdict(zone.limit, field, peak, rings),
        lambda failure: Judgement(None, f"{zone.limit}, not judged", None, None, None),
    )
    return JudgedZone(air, peak, verdict)


def zone_result(study: Study, zone: Zone, solutions: tuple[Solution, ...]) -> ZoneResult:
    """Highest field of a zone, judged in its air."""
    low, high = np.asarray(zone.window[0]), np.asarray(zone.window[1])
    found = judged_zone(zone, JudgedField(solutions))
    air, peak, verdict = found.air, found.peak, found.verdict
    metal = highest_in_metal(solutions, low, high)
    return ZoneResult(
        name=zone.name,
        x0_m=zone.window[0][0],
        y0_m=zone.window[0][1],
        x1_m=zone.window[1][0],
        y1_m=zone.window[1][1],
        x_m=float(peak.place[0]),
        y_m=float(peak.place[1]),
        where=air.where(peak.place),
        b_max_rms_t=peak.value,
        b_max_rms_error_t=peak.error,
        limit_t=verdict.limit_t,
        limit_name=verdict.limit_name,
        within_limit=verdict.within,
        exposure_index=verdict.exposure_index,
        exposure_error=verdict.exposure_error,
        within_tolerance=peak.error <= study.accuracy.tolerance * peak.value,
        solids=tuple(air.solids),
        clearance_m=air.clearance if air.solids else None,
        metal=None if metal is None else metal.part,
        metal_x_m=None if metal is None else float(metal.place[0]),
        metal_y_m=None if metal is None else float(metal.place[1]),
        metal_b_max_rms_t=None if metal is None else metal.value,
        metal_b_max_rms_error_t=None if metal is None else metal.error,
    )


def _verdict(limit: float | str | None, base: JudgedField, peak: Peak, rings: list[Floats]) -> Judgement:
    """The highest field of a zone, or the highest exposure index of several frequencies, against its limit."""
    if limit is None:
        return Judgement(None, None, None, None, None)
    field, level = field_against(limit, base)
    worst = peak if field.levels is None else highest_peak(field, rings)
    within = worst.value + worst.error <= level
    if not isinstance(limit, str):
        return Judgement(limit, None, within, None, None)
    stated = level if field.levels is None else field.levels[0]
    return Judgement(stated, limit, within, worst.value / level, worst.error / level)


def highest_peak(field: JudgedField, rings: list[Floats]) -> Peak:
    """The highest peak of a field on rings of samples; its error counts in what the other peaks may reach."""
    places, _ = highest_on(rings, field.value, PEAKS, ROUNDS)
    values, errors = field.value_and_error(places)
    best = int(values.argmax())
    error = float((values + errors).max() - values[best]) + MISSED * float(values[best])
    return Peak(places[best], float(values[best]), error)


@dataclass(frozen=True)
class MetalPeak:
    """The highest flux density in metal."""

    part: str
    place: Floats
    """[m]"""
    value: float
    """[T]"""
    error: float
    """[T]"""


def highest_in_metal(solutions: tuple[Solution, ...], low: Floats, high: Floats) -> MetalPeak | None:
    """Highest flux density in the metal of a rectangle, at the place where that of the first frequency is highest.

    At the middles of the edges of triangles, as the triangle in the metal has it. At a sharp corner of steel it grows
    with every finer mesh. The error is the largest of three: the jump to the next triangles of the same metal on the
    other side of its edges, the change of the highest value and the change of the vector from the mesh before.
    """
    first = solutions[0]
    fields, nodal = first.solved.fields, first.solved.nodal
    found = _highest_edge(fields, first.solved.probe, nodal, low, high)
    if found is None:
        return None
    triangle, edge, _ = found
    mesh = fields.mesh
    centre = mesh.points[mesh.triangles[triangle, :3]].mean(axis=0)[None]
    values, errors = [], []
    for solution in solutions:
        own, probe = solution.solved, solution.solved.probe
        here = found if solution is first else _highest_edge(own.fields, probe, own.nodal, low, high)
        before = solution.estimate
        coarse = FieldProbe(before.coarser)
        coarse_nodal = before.coarser.potential(before.before.voltages)
        there = _highest_edge(before.coarser, coarse, coarse_nodal, low, high)
        assert here is not None
        changes = [0.0 if there is None else abs(here[2] - there[2])]
        turned = probe.flux_density_raw(own.nodal, centre) - coarse.flux_density_raw(coarse_nodal, centre)
        changes.append(float(np.linalg.norm(turned)))
        values.append(here[2])
        errors.append(max(SAFETY * max(changes), _jump(own.fields, probe, own.nodal, here[0])))
    place = mesh.points[mesh.triangles[triangle, 3 + edge]]
    value = float(np.linalg.norm(values))
    share = float(np.dot(values, errors)) / value if value > 0 else float(np.linalg.norm(errors))
    return MetalPeak(mesh.names[mesh.regions[triangle]], place, value, share)


def _highest_edge(
    fields: UnitFields, probe: FieldProbe, nodal: Complexes, low: Floats, high: Floats
) -> tuple[int, int, float] | None:
    """Triangle of metal, edge and flux density [T] of the highest middle of an edge in a rectangle."""
    mesh = fields.mesh
    solid = np.flatnonzero(np.array([material != AIR for material in fields.materials])[mesh.regions])
    middles = mesh.points[mesh.triangles[solid, 3:]]
    inside = np.all((middles >= low) & (middles <= high), axis=2)
    if not inside.any():
        return None
    field = probe.flux_density_in(nodal, solid[:, None], np.broadcast_to(EDGE_MIDDLES, (len(solid), 3, 2)))
    magnitude = np.where(inside, resultant(field), -1.0)
    row, edge = np.unravel_index(int(magnitude.argmax()), magnitude.shape)
    return int(solid[row]), int(edge), float(magnitude[row, edge])


def _jump(fields: UnitFields, probe: FieldProbe, nodal: Complexes, triangle: int) -> float:
    """Largest difference of B across the edges that a triangle shares with others of the same metal. [T]"""
    mesh, found = fields.mesh, [0.0]
    for node in mesh.triangles[triangle, 3:]:
        others, there = np.nonzero(mesh.triangles[:, 3:] == node)
        own = [(t, k) for t, k in zip(others, there, strict=True) if mesh.regions[t] == mesh.regions[triangle]]
        sides = probe.flux_density_in(nodal, np.array([t for t, _ in own]), EDGE_MIDDLES[[k for _, k in own]])
        found.append(float(np.linalg.norm(sides - sides[0], axis=1).max()))
    return max(found)
