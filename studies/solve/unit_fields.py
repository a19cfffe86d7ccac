"""Unit fields of the last cross-sections: cases of other currents share them, of other frequencies an assembly."""

from __future__ import annotations

from collections import deque

from fem.arrays import Complexes
from fem.mesh import RegionMesh
from fem.solve import UnitFields, solve_unit_voltages, with_frequency
from studies.section.parts import CrossSection

FIELDS_KEPT, MOST_KEPT = 4, 1_000_000
"""Last unit fields that are kept, two meshes of a case and of the one before, and the most potentials of each."""

_kept: deque[tuple[tuple[object, ...], UnitFields]] = deque(maxlen=FIELDS_KEPT)


def unit_fields(section: CrossSection, mesh: RegionMesh, reluctivity: Complexes | None = None) -> UnitFields:
    """Fields of one volt per metre on each part of a section in turn, on a mesh that does not change.

    `reluctivity`, shape (t,): of each triangle, instead of that of its material [m/H]; with it nothing is kept.
    """
    parts = {part.name: (part.name,) for part in section.parts}
    materials, earth = section.materials(), section.earth
    if reluctivity is not None or len(mesh.points) * len(parts) > MOST_KEPT:
        return solve_unit_voltages(mesh, materials, section.frequency, parts, reluctivity=reluctivity, earth=earth)
    key = (tuple(materials.items()), earth)
    same = [own for kept, own in _kept if own.mesh is mesh and kept == key]
    for own in same:
        if own.frequency == section.frequency:
            return own
    if same:
        found = with_frequency(same[-1], section.frequency)
    else:
        found = solve_unit_voltages(mesh, materials, section.frequency, parts, earth=earth)
    _kept.append((key, found))
    return found
