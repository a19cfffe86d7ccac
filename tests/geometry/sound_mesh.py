"""What every mesh of a section must be, for the checks of the shapes."""

from collections.abc import Mapping

import numpy as np

from fem.mesh import gradients_at
from geometry.clearance import polygon
from geometry.meshing import mesh_section
from geometry.section_mesh import SectionMesh
from geometry.shapes import Disc, Region, Section, Shape, Tube
from geometry.sizing import MeshSizes

NODES = np.array([[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]])  # local coordinates
ROUNDING = 1e-11  # relative; areas of slender parts of sums of some thousand triangles


def section_of(solids: Mapping[str, Shape], depth: float = 1.7e-3) -> Section:
    """Solids of one skin depth [m]; 1.7 mm is that of mild steel at 50 Hz, and some sheet metal's thickness."""
    return Section(tuple(Region(name, shape, depth) for name, shape in solids.items()))


def sound_mesh(section: Section, fineness: float = 1.0) -> SectionMesh:
    """Mesh of a section, checked: no hole, no fold, nothing turned over, every straight-edged solid of exact area."""
    mesh = mesh_section(section, MeshSizes(fineness=fineness))
    nodes = mesh.points[mesh.triangles]
    for (
        place
    ) in NODES:  # the Jacobian of a curved triangle is quadratic; above 0 at all six nodes, nothing is turned over
        assert gradients_at(nodes, np.broadcast_to(place, (len(nodes), 2)))[1].min() > 0
    pairs = np.stack([mesh.triangles[:, :3], np.roll(mesh.triangles[:, :3], -1, axis=1)], axis=2).reshape(-1, 2)
    directed = np.unique(pairs, axis=0)
    assert len(directed) == len(pairs)  # no edge twice in one sense: no fold
    _, count = np.unique(np.sort(pairs, axis=1), axis=0, return_counts=True)
    assert np.count_nonzero(count == 1) == len(mesh.circle_edges())  # open edges only on the outer circle: no hole
    areas = mesh.region_areas()
    for region in section.regions:
        if not isinstance(region.shape, Disc | Tube):
            assert abs(areas[region.name] / polygon(region.shape).area - 1) < ROUNDING
    # corners of a quadratic arc of angle t leave t^4/480 of the circle's area, at 48 edges 6.1e-7
    assert abs(sum(areas.values()) / (np.pi * mesh.circle_radius**2) - 1) < 1e-6 / fineness**4
    return mesh
