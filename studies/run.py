"""Everything a study asks for: solve to the asked tolerance and set each number beside its formula."""

from __future__ import annotations

import numpy as np

from fem.mesh import Complexes, Floats
from fem.polarisation import axes, resultant
from geometry.clearance import polygon
from geometry.section_mesh import SectionMesh
from studies.accuracy import Estimate, Progress, Requested, Solved, loss_scale, solve_to_tolerance
from studies.cautions import cautions
from studies.cross_section import CrossSection, cross_section
from studies.ladder.climb import climb
from studies.line_formulas import (
    NO_FORMULA,
    LineModel,
    formula_field,
    formula_phase_impedances,
    formula_sequence_inductance,
    formula_sequence_resistance,
    line_model,
    phase_index,
)
from studies.phases import LINES
from studies.results import (
    LossResult,
    MapResult,
    PartResult,
    PhaseResult,
    ReceptorResult,
    Result,
    SequenceResult,
    TraverseResult,
)
from studies.study import Study, Traverse
from studies.window import map_window

MAP_POINTS = 60_000
"""Points of the field map."""
NEGLIGIBLE_CURRENT = 1e-6
"""Parts with less than this share of the largest current carry no net current."""


SAME_SHAPE = 0.02
"""Parts of a given mesh may differ from the study's by this share of their area and of their extent."""


class RegionsError(ValueError):
    """A given mesh that is not of the study's cross-section."""


def run(study: Study, progress: Progress | None = None, mesh: SectionMesh | None = None) -> Result:
    """Solve a study.

    Parameters
    ----------
    study : Study
        What to solve.
    progress : callable, optional
        Told in words what is being done.
    mesh : SectionMesh, optional
        A mesh of the cross-section to use; its regions must be named as the study's parts.

    Returns
    -------
    result : Result
        Every requested number with its error estimate, beside its formula.
    """
    tell = progress or (lambda message: None)
    section = cross_section(study)
    if mesh is not None:
        _require_same_parts(section, mesh)
    receptors = np.array([receptor.at for receptor in study.receptors]).reshape(-1, 2)
    traverses = tuple(traverse_points(traverse) for traverse in study.traverses)
    tolerance = study.accuracy.tolerance
    solved, estimate, accuracy = solve_to_tolerance(section, receptors, traverses, tolerance, tell, mesh)
    tell("comparing with the line formulas")
    model = line_model(section)
    at_receptors = _receptors(study, model, solved, estimate)
    losses = _losses(section, model, solved, estimate, tolerance)
    parts = _parts(section, model, solved, estimate)
    phases = _phases(section, model, solved, estimate, tolerance)
    reference_radius = solved.fields.exterior.reference_radius
    return Result(
        study=study,
        cross_section=section,
        receptors=at_receptors,
        losses=losses,
        parts=parts,
        phases=phases,
        sequence_impedance=_sequence(section, model, estimate),
        traverses=_traverses(study, model, traverses, estimate),
        map=_map(study, section, model, solved),
        ladder=climb(section, model, at_receptors, losses, parts, phases, reference_radius),
        checks=solved.checks,
        accuracy=accuracy,
        cautions=cautions(study, section, solved, accuracy),
        fields=solved.fields,
        drive=solved.drive,
        loss_fields=solved.losses,
        element_fields=solved.elements,
    )


def traverse_points(traverse: Traverse) -> Floats:
    """Points of a traverse, both ends included, shape (n, 2). [m]"""
    return np.linspace(traverse.start, traverse.end, traverse.points)


def sequence_matrix(phase_matrix: Complexes) -> Complexes:
    """Sequence impedance matrix (0, 1, 2) of a phase impedance matrix in the order L1, L2, L3, shape (3, 3). [ohm/m]

    Notes
    -----
    F^-1 Z F with F = [[1, 1, 1], [1, a^2, a], [1, a, a^2]], a = e^{+j 2 pi/3} (Fortescue).
    """
    a = np.exp(2j * np.pi / 3)
    fortescue = np.array([[1, 1, 1], [1, a**2, a], [1, a, a**2]])
    result: Complexes = np.linalg.solve(fortescue, phase_matrix @ fortescue)
    return result


def _require_same_parts(section: CrossSection, mesh: SectionMesh) -> None:
    wanted, given = {part.name for part in section.parts}, set(mesh.names[1:])
    if wanted != given:
        missing, stray = sorted(wanted - given), sorted(given - wanted)
        raise RegionsError(f"the mesh's regions are not the study's parts: missing {missing}, unknown {stray}")
    areas = mesh.region_areas()
    corners = mesh.points[mesh.triangles[:, :3]]
    for part in section.parts:
        solid = polygon(part.shape)
        own = corners[mesh.regions == mesh.names.index(part.name)].reshape(-1, 2)
        box = np.concatenate([own.min(axis=0), own.max(axis=0)])
        off = float(np.abs(box - solid.bounds).max() / np.ptp(np.reshape(solid.bounds, (2, 2)), axis=0).max())
        if abs(areas[part.name] / solid.area - 1) > SAME_SHAPE or off > SAME_SHAPE:
            raise RegionsError(f"the mesh is of another cross-section: {part.name} has another size or place there")


def _receptors(study: Study, model: LineModel, solved: Solved, estimate: Estimate) -> tuple[ReceptorResult, ...]:
    field = solved.requested.receptors
    total, (major, minor) = resultant(field), axes(field)
    errors = estimate.of_vector(lambda r: r.receptors)
    results = []
    for k, receptor in enumerate(study.receptors):
        formula = float(resultant(formula_field(model, np.array([receptor.at])))[0])
        limit = receptor.limit
        results.append(
            ReceptorResult(
                name=receptor.name,
                x_m=receptor.at[0],
                y_m=receptor.at[1],
                b_rms_t=float(total[k]),
                b_rms_error_t=float(errors[k]),
                b_major_axis_rms_t=float(major[k]),
                b_minor_axis_rms_t=float(minor[k]),
                bx_t=complex(field[k, 0]),
                by_t=complex(field[k, 1]),
                line_formula_b_rms_t=formula,
                limit_t=limit,
                within_limit=None if limit is None else bool(total[k] + errors[k] <= limit),
                within_tolerance=bool(errors[k] <= study.accuracy.tolerance * total[k]),
            )
        )
    return tuple(results)


def _losses(
    section: CrossSection, model: LineModel, solved: Solved, estimate: Estimate, tolerance: float
) -> tuple[LossResult, ...]:
    errors = estimate.of(lambda r: r.losses)
    scale = loss_scale(estimate.now)
    formulas = _formula_losses(section, model)
    return tuple(
        LossResult(
            part=part.name,
            kind=part.kind,
            phase=part.cable.phase if part.cable else None,
            loss_w_per_m=float(solved.losses.total[k]),
            loss_error_w_per_m=float(errors[k]),
            magnetic_loss_w_per_m=float(solved.losses.magnetic[k]),
            formula_loss_w_per_m=formulas.get(part.name, (None, NO_FORMULA))[0],
            formula=formulas.get(part.name, (None, NO_FORMULA))[1],
            within_tolerance=bool(errors[k] <= tolerance * scale[k]),
        )
        for k, part in enumerate(section.parts)
    )


def _formula_losses(section: CrossSection, model: LineModel) -> dict[str, tuple[float | None, str]]:
    return {
        part.name: (float(abs(current) ** 2 * resistance), method)
        for part, current, resistance, method in zip(
            model.conductors, model.currents, model.resistances, model.methods, strict=True
        )
    }


def _parts(section: CrossSection, model: LineModel, solved: Solved, estimate: Estimate) -> tuple[PartResult, ...]:
    largest = np.abs(solved.drive.currents).max(initial=0)
    loss_errors = estimate.of(lambda r: r.losses)
    formulas = {part.name: k for k, part in enumerate(model.conductors)}
    results = []
    for k, part in enumerate(section.parts):
        current = complex(solved.drive.currents[k])
        carries = abs(current) > NEGLIGIBLE_CURRENT * largest
        m = formulas.get(part.name)
        share = model.currents[m] if m is not None else 0.0
        results.append(
            PartResult(
                part=part.name,
                kind=part.kind,
                phase=part.cable.phase if part.cable else None,
                current_a=current if carries else 0j,
                voltage_v_per_m=complex(solved.drive.voltages[k]),
                r_dc_ohm_per_m=part.dc_resistance,
                r_ac_ohm_per_m=float(solved.losses.total[k]) / abs(current) ** 2 if carries else None,
                r_ac_error_ohm_per_m=float(loss_errors[k]) / abs(current) ** 2 if carries else None,
                formula_r_ac_ohm_per_m=float(model.resistances[m]) if m is not None else None,
                share_of_phase=abs(current) / abs(share) if share != 0 else None,
                resistance_source=part.source,
            )
        )
    return tuple(results)


def _phases(
    section: CrossSection, model: LineModel, solved: Solved, estimate: Estimate, tolerance: float
) -> tuple[PhaseResult, ...]:
    omega = solved.fields.omega
    formulas = formula_phase_impedances(section, model, solved.fields.exterior.reference_radius)
    names = solved.fields.part_names
    voltage_errors = estimate.of(lambda r: r.voltages)
    results = []
    for k, phase in enumerate(section.phases):
        first = names.index(section.ties[phase.tie].parts[0])
        voltage = complex(solved.drive.voltages[first])
        gmd = formula_sequence_inductance(section, model, phase.circuit)
        if phase.current == 0:
            results.append(
                PhaseResult(phase.circuit, phase.phase, 0j, voltage, None, None, None, None, None, None, True)
            )
            continue
        impedance = voltage / phase.current
        error = float(voltage_errors[first] / abs(phase.current))
        results.append(
            PhaseResult(
                circuit=phase.circuit,
                phase=phase.phase,
                current_a=phase.current,
                voltage_v_per_m=voltage,
                z_ohm_per_m=impedance,
                z_error_ohm_per_m=error,
                inductance_h_per_m=impedance.imag / omega,
                formula_z_ohm_per_m=complex(formulas[k]),
                formula_inductance_h_per_m=float(formulas[k].imag / omega),
                gmd_inductance_h_per_m=gmd if phase.phase in LINES else None,
                within_tolerance=error <= tolerance * abs(impedance),
            )
        )
    return tuple(results)


def _sequence(section: CrossSection, model: LineModel, estimate: Estimate) -> tuple[SequenceResult, ...]:
    results = []
    for circuit in dict.fromkeys(phase.circuit for phase in section.phases):
        indices = [phase_index(section, circuit, line) for line in LINES]
        ports = [k for k in indices if k is not None]
        inductance = formula_sequence_inductance(section, model, circuit)
        if len(ports) < 3 or inductance is None:
            continue
        matrix, error = _sequence_and_error(estimate, ports)
        resistance = formula_sequence_resistance(section, model, circuit)
        results.append(
            SequenceResult(
                circuit=circuit,
                z1_ohm_per_m=complex(matrix[1, 1]),
                z1_error_ohm_per_m=float(error[1, 1]),
                formula_z1_ohm_per_m=complex(resistance, 2 * np.pi * section.frequency * inductance),
                z2_ohm_per_m=complex(matrix[2, 2]),
                z21_ohm_per_m=complex(matrix[2, 1]),
                z01_ohm_per_m=complex(matrix[0, 1]),
            )
        )
    return tuple(results)


def _sequence_and_error(estimate: Estimate, ports: list[int]) -> tuple[Complexes, Floats]:
    def sequence(requested: Requested) -> Complexes:
        return sequence_matrix(requested.impedances[np.ix_(ports, ports)])

    return sequence(estimate.now), estimate.of(sequence)


def _traverses(
    study: Study, model: LineModel, points: tuple[Floats, ...], estimate: Estimate
) -> tuple[TraverseResult, ...]:
    return tuple(
        TraverseResult(
            name=traverse.name,
            points_m=line,
            distance_m=np.linalg.norm(line - line[0], axis=1),
            b_rms_t=resultant(field),
            b_rms_error_t=error,
            b_major_axis_rms_t=axes(field)[0],
            line_formula_b_rms_t=resultant(formula_field(model, line)),
        )
        for traverse, line, field, error in zip(
            study.traverses, points, estimate.now.traverses, estimate.of_traverses(), strict=True
        )
    )


def _map(study: Study, section: CrossSection, model: LineModel, solved: Solved) -> MapResult:
    (x0, y0), (x1, y1) = map_window(study, section)
    step = np.sqrt((x1 - x0) * (y1 - y0) / MAP_POINTS)
    x = np.linspace(x0, x1, max(int((x1 - x0) / step), 2))
    y = np.linspace(y0, y1, max(int((y1 - y0) / step), 2))
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    shape = (len(y), len(x))
    return MapResult(
        x,
        y,
        resultant(solved.probe.flux_density_raw(solved.nodal, points)).reshape(shape),
        resultant(formula_field(model, points)).reshape(shape),
    )
