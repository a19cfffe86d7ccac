"""What one solve, or the line formulas, say of the places of a cross-section."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from scipy.constants import mu_0

from fem.field import FieldProbe
from fem.mesh import Complexes, Floats
from fem.solve import UnitFields
from fem.ties import Tie, membership, tied_admittance
from geometry.shapes import Tube
from studies.cross_section import CrossSection, StudyPart
from studies.formulas.coaxial_impedance import coaxial_impedance_matrix
from studies.formulas.line_field import line_field
from studies.line_formulas import line_model
from studies.parts import CONDUCTOR
from studies.route.lines import Place, SectionMaps


def section_maps(
    section: CrossSection, fields: UnitFields, receptors: Floats | None = None, layers: Sequence[str] = ()
) -> SectionMaps:
    """The maps of a solved cross-section.

    Parameters
    ----------
    section : CrossSection
        What was solved.
    fields : UnitFields
        The solution.
    receptors : ndarray (r, 2), optional
        Points where the field is asked for. [m]
    layers : sequence of str
        Kinds of metal layers that are followed along the run, such as "screen"; all other metal without a given current
        is eliminated as the study's bonds say, section by section.

    Notes
    -----
    The study's ties without the conductors and the followed layers are kept; the inverse of the tied admittance, its
    rows and columns of the places, is the impedance with no net current in what is open. Screens that the study
    cross-bonds are open here: a route follows them as a layer, turned from section to section.
    """
    chosen = _chosen(section, layers)
    names = [part.name for part in chosen]
    rest = [
        Tie(left, 0j, tie.impedance)
        for tie in section.ties
        if (left := tuple(part for part in tie.parts if part not in names))
    ]
    ties = (*(Tie((name,)) for name in names), *rest)
    inverse = np.linalg.inv(tied_admittance(fields.admittance, fields.part_names, ties))
    whole: Complexes = inverse.astype(np.complex128)
    n = len(names)
    field = None
    if receptors is not None:
        voltages = membership(fields.part_names, ties) @ whole[:, :n]  # parts' voltages of unit currents in the places
        probe = FieldProbe(fields)
        columns = [probe.flux_density(fields.potential(voltages[:, k]), receptors.reshape(-1, 2)) for k in range(n)]
        field = np.stack(columns, axis=-1)
    return SectionMaps(tuple(_place(part) for part in chosen), whole[:n, :n], field)


def formula_maps(
    section: CrossSection,
    reference_radius: complex,
    receptors: Floats | None = None,
    layers: Sequence[str] = (),
) -> SectionMaps:
    """The same by closed forms: line currents at the axes, thin tubes, IEC resistances, no tray or other metal.

    Parameters
    ----------
    section : CrossSection
        The cross-section.
    reference_radius : complex
        Distance of the far return of any net current, complex for a return through the earth. [m]
    receptors : ndarray (r, 2), optional
        Points where the field is asked for. [m]
    layers : sequence of str
        Kinds of metal layers that are followed along the run; others are left out.
    """
    chosen = _chosen(section, layers)
    model = line_model(section)
    of_conductor = {part.name: k for k, part in enumerate(model.conductors)}
    axes, radii, ohms = [], [], []
    for part in chosen:
        assert part.cable is not None
        axes.append(part.cable.axis)
        if part.name in of_conductor:
            radii.append(float(model.mean_radii[of_conductor[part.name]]))
            ohms.append(float(model.resistances[of_conductor[part.name]]))
        else:
            radii.append(_mean_radius(part))
            ohms.append(part.dc_resistance)
    impedance = coaxial_impedance_matrix(axes, radii, ohms, section.frequency, abs(reference_radius))
    impedance = impedance - section.frequency * mu_0 * np.angle(reference_radius)  # resistance of the earth
    field = None
    if receptors is not None:
        points, unit = receptors.reshape(-1, 2), np.eye(len(chosen))
        field = np.stack([line_field(points, axes, unit[k]) for k in range(len(chosen))], axis=-1)
    return SectionMaps(tuple(_place(part) for part in chosen), impedance, field)


def phase_currents_of(section: CrossSection) -> dict[tuple[str, str], complex]:
    """Net current of each phase of each circuit of a cross-section. [A]"""
    return {(phase.circuit, phase.phase): phase.current for phase in section.phases}


def _chosen(section: CrossSection, layers: Sequence[str]) -> list[StudyPart]:
    conductors = [part for part in section.parts if part.kind == CONDUCTOR]
    return conductors + [
        part for layer in layers for part in section.parts if part.kind == layer and part.cable is not None
    ]


def _place(part: StudyPart) -> Place:
    assert part.cable is not None
    return Place(part.cable.circuit, part.cable.phase, part.cable.position, part.kind)


def _mean_radius(part: StudyPart) -> float:
    shape = part.shape
    if not isinstance(shape, Tube):
        raise ValueError(f"{part.name} is no tube: {shape}")
    return (shape.inner_radius + shape.outer_radius) / 2
