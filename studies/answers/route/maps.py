"""Maps of the places of a cross-section by one solution or by line formulas."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fem.arrays import Floats
from fem.constants import mu_0
from fem.field import FieldProbe
from fem.solve import UnitFields
from fem.ties import Tie, membership, tie_voltages
from geometry.shapes import Tube
from studies.closed_forms.lines import formula_resistance
from studies.formulas.inductance import solid_mean_radius
from studies.formulas.line_field import line_field
from studies.formulas.line_impedance import coaxial_impedance_matrix
from studies.section.lines import SectionMaps
from studies.section.parts import CrossSection, StudyPart
from studies.section.places import parts_followed, place_of
from studies.study.parts import CONDUCTOR


def section_maps(
    section: CrossSection, fields: UnitFields, receptors: Floats | None = None, layers: Sequence[str] = ()
) -> SectionMaps:
    """The maps of a solved cross-section.

    receptors: Points where the field is asked for, shape (r, 2). [m]
    layers: Kinds of `section.places.FOLLOWED` that are followed along the run; all other metal without a given current
        is eliminated as the study's bonds say, section by section.

    The study's ties without the conductors and the followed layers are kept: the impedance is that with no net current
    in what is open, and with the metal that is tied all along closing as its bond says. Screens that the study
    cross-bonds are open where they are not followed: a route turns them from section to section.
    """
    chosen = parts_followed(section, layers)
    names = [part.name for part in chosen]
    rest = [
        Tie(left, 0j, tie.impedance)
        for tie in section.ties
        if (left := tuple(part for part in tie.parts if part not in names))
    ]
    ties = (*(Tie((name,)) for name in names), *rest)
    n = len(names)
    unit = np.eye(len(ties), n, dtype=np.complex128)
    tied = tie_voltages(fields.admittance, fields.part_names, ties, unit)
    field = None
    if receptors is not None:
        voltages = membership(fields.part_names, ties) @ tied  # parts' voltages of unit currents in the places
        probe = FieldProbe(fields)
        columns = [probe.flux_density(fields.potential(voltages[:, k]), receptors.reshape(-1, 2)) for k in range(n)]
        field = np.stack(columns, axis=-1)
    return SectionMaps(tuple(place_of(part) for part in chosen), tied[:n], field)


def formula_maps(
    section: CrossSection,
    reference_radius: complex,
    receptors: Floats | None = None,
    layers: Sequence[str] = (),
) -> SectionMaps:
    """The same by closed forms: line currents at the axes, thin tubes, IEC resistances, no tray or other metal.

    reference_radius: Distance of the far return of any net current, complex for a return through the earth. [m]
    receptors: Points where the field is asked for, shape (r, 2). [m]
    layers: Kinds of `section.places.FOLLOWED` that are followed along the run; others, and metal without a cable, are
        left out.
    """
    chosen = [part for part in parts_followed(section, layers) if part.cable is not None]
    axes, radii, ohms = [], [], []
    for part in chosen:
        assert part.cable is not None
        axes.append(part.cable.axis)
        if part.kind == CONDUCTOR:
            radii.append(float(solid_mean_radius(part.cable.layers.conductor_radius)))
            ohms.append(formula_resistance(section, part)[0])
        else:
            radii.append(_mean_radius(part))
            ohms.append(part.dc_resistance)
    impedance = coaxial_impedance_matrix(axes, radii, ohms, section.frequency, abs(reference_radius))
    impedance = impedance - section.frequency * mu_0 * np.angle(reference_radius)  # resistance of the earth
    field = None
    if receptors is not None:
        points, unit = receptors.reshape(-1, 2), np.eye(len(chosen))
        field = np.stack([line_field(points, axes, unit[k]) for k in range(len(chosen))], axis=-1)
    return SectionMaps(tuple(place_of(part) for part in chosen), impedance, field)


def phase_currents_of(section: CrossSection) -> dict[tuple[str, str], complex]:
    """Net current of each phase of each circuit of a cross-section. [A]"""
    return {(phase.circuit, phase.phase): phase.current for phase in section.phases}


def _mean_radius(part: StudyPart) -> float:
    shape = part.shape
    if not isinstance(shape, Tube):
        raise ValueError(f"{part.name} is no tube: {shape}")
    return (shape.inner_radius + shape.outer_radius) / 2
