"""Steel beside the cables of a fault: what it carries at the crest of a force, and its field there."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from fem.arrays import Flags, Floats
from fem.magnetisation import NU_0, Steel
from fem.mesh import gradients_at
from fem.nonlinear import solve_saturating
from fem.solve import UnitFields, with_frequency, with_reluctivity
from fem.ties import Tie
from studies.section.parts import CrossSection
from studies.solve.two_meshes import Pair

STATIC_FREQUENCY = 1e-3
"""Frequency that stands for direct current: eddy currents of metal of any size here are below 1e-4 of their source.
[Hz]"""
MAGNETIC = 1.5
"""Relative permeability from which on metal counts as steel. [-]"""
CARRIED = 1.5
"""Flux density from which on a constant permeability is no longer believed: 1.52 T at 3.2 kA/m, where the permeability
of AISI 1010 has fallen to 380 [C], and 2 T is carried by no tray. [T]"""
EDGES = 0.01
"""Share of the steel's area that may be above it: corners always are. [-]"""
NEARLY_SATURATED = 10.0
"""Relative permeability that the search for the field at the crest begins with. [-]"""
CURVE_TOLERANCE = 1e-3
"""Largest change of the reluctivity at which that search ends; the force then changes by less than 1e-4. [-]"""


@dataclass(frozen=True)
class FaultField:
    """Fields of alternating and of direct currents on one mesh with one reluctivity."""

    alternating: UnitFields
    steady: UnitFields


@dataclass(frozen=True)
class FaultFields:
    """Fields of a cross-section on two meshes, for all its faults."""

    given: Pair[FaultField]
    """With the permeability of the study; of steel that saturates with that at low field."""
    bare: Pair[FaultField] | None
    """As if the steel were not magnetic; None where there is none."""


def fault_fields(section: CrossSection, fields: Pair[UnitFields]) -> FaultFields:
    """Fields for the faults of a cross-section, from its solution at its own frequency."""
    names = magnetic_parts(section)
    given = Pair(now=_both(fields.now), before=_both(fields.before))
    if not names:
        return FaultFields(given, None)
    return FaultFields(given, Pair(now=_bare(fields.now, names), before=_bare(fields.before, names)))


def magnetic_parts(section: CrossSection) -> tuple[str, ...]:
    """Names of the parts of steel."""
    return tuple(p.name for p in section.parts if complex(p.material.relative_permeability).real > MAGNETIC)


def at_crest(section: CrossSection, fields: UnitFields, currents: Mapping[str, float]) -> FaultField:
    """Fields with the reluctivity that saturating steel has at the crest of a force.

    currents: Current of each conductor at that instant; zero where none is given. [A]

    H(B)/B of the field of these currents at rest, by the magnetisation curve; that reluctivity then holds for the
    alternating and the direct part of the currents. At the crest itself this is the nonlinear field but for the eddy
    currents; time steps from rest with the curve gave forces 0.5 % greater to 1.4 % smaller in trays of 1.5 and 4 mm.
    """
    ties = [Tie((name,), currents.get(name, 0.0) / np.sqrt(2) + 0j) for name in fields.part_names]
    solution = solve_saturating(
        fields.mesh,
        section.materials(),
        STATIC_FREQUENCY,
        ties,
        {name: Steel(steel.curve, 0.0, NEARLY_SATURATED) for name, steel in section.steels().items()},
        rule="equal-peak",  # of a phasor of 1/sqrt2 of an instant's field: H(B)/B of that instant
        parts={name: (name,) for name in fields.part_names},
        tolerance=CURVE_TOLERANCE,
    )
    return _both(with_reluctivity(fields, solution.fields.reluctivity))


def flux_density(fields: UnitFields, nodal: Floats, names: tuple[str, ...]) -> tuple[float, float]:
    """Of an instant's potential at the nodes (p,) [Wb/m], in some regions: mean over their area [T], and the share of
    the area that is above `CARRIED` [-]."""
    mesh, own = fields.mesh, _regions(fields, names)
    nodes = mesh.points[mesh.triangles[own]]
    gradients, jacobian = gradients_at(nodes, np.full((len(nodes), 2), 1 / 3))
    size = np.linalg.norm(np.einsum("tni,tn->ti", gradients, nodal[mesh.triangles[own]]), axis=1)
    return float(np.average(size, weights=jacobian)), float(jacobian[size > CARRIED].sum() / jacobian.sum())


def _both(fields: UnitFields) -> FaultField:
    return FaultField(fields, with_frequency(fields, STATIC_FREQUENCY))


def _bare(fields: UnitFields, names: tuple[str, ...]) -> FaultField:
    reluctivity = fields.reluctivity.copy()
    reluctivity[_regions(fields, names)] = NU_0
    return _both(with_reluctivity(fields, reluctivity))


def _regions(fields: UnitFields, names: tuple[str, ...]) -> Flags:
    """Which triangles lie in parts of these names, shape (t,)."""
    mesh = fields.mesh
    return np.isin(mesh.regions, [mesh.names.index(name) for name in names])
