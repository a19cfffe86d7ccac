"""Groups of solids far from each other, each meshed in a circle of its own with nothing between the circles."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from geometry.arrays import Floats, Ints
from geometry.meshing import mesh_section
from geometry.placing import placed
from geometry.section_mesh import SectionMesh
from geometry.shapes import AIR, Disc, Point, Section, Tube, boundary_loops, enclosing_circle
from geometry.sizing import MeshSizes

APART = 1.5
"""Distance of the centres of two groups over the sum of the radii of their circles, from which they stay apart. [-]"""
EQUAL = 1e-9
"""Distance up to which solids of two groups count as equal. [m]"""


@dataclass(frozen=True)
class MeshGroup:
    """The mesh of one group about the origin, and its place."""

    mesh: SectionMesh
    """About the middle of its solids; groups of equal ones share it."""
    origin: Point
    """Place of that middle. [m]"""
    reach: float
    """Radius of the circle, with the centre of the mesh's, that holds all solids. [m]"""
    regions: Ints
    """Number of each of its regions in the whole mesh, air first."""


@dataclass(frozen=True)
class GroupedMesh(SectionMesh):
    """Meshes of groups side by side; its circle holds all of their circles, and no mesh lies between them."""

    groups: tuple[MeshGroup, ...]
    """In the order of the points and triangles."""


@dataclass(frozen=True)
class PlacedGroup:
    """Solids of one group about the origin, and their place."""

    solids: Section
    """About the middle of them; groups of equal solids share those of the first."""
    origin: Point
    """Place of that middle. [m]"""
    numbers: tuple[int, ...]
    """Of the solids in the section."""


@lru_cache(8)
def placed_groups(section: Section, outer_ratio: float = MeshSizes.outer_ratio) -> tuple[PlacedGroup, ...]:
    """Groups of solids far apart, each about the origin."""
    found: list[PlacedGroup] = []
    shapes: list[tuple[list[object], Floats]] = []
    for numbers in far_groups(section, outer_ratio):
        own = [section.regions[k] for k in numbers]
        corners = np.vstack([boundary_loops(region.shape)[0] for region in own])
        x, y = ((corners.min(axis=0) + corners.max(axis=0)) / 2).tolist()
        solids = Section(tuple(replace(region, shape=placed(region.shape, (-x, -y))) for region in own))
        shapes.append(_shapes(solids))
        equal = next(
            (other.solids for other, own in zip(found, shapes, strict=False) if _alike(own, shapes[-1])), solids
        )
        found.append(PlacedGroup(equal, (x, y), numbers))
    return tuple(found)


def far_groups(section: Section, outer_ratio: float = MeshSizes.outer_ratio) -> list[tuple[int, ...]]:
    """Indices of the regions of each group: solids whose circles come near each other are of one group.

    Each solid begins as a group; groups that are not `APART` become one, until none are left.
    """
    groups: list[tuple[int, ...]] = [(k,) for k in range(len(section.regions))]
    circles = [_circle(section, group) for group in groups]
    while (joined := _joined(circles, outer_ratio * APART)) is not None:
        circles = [
            circles[own[0]] if len(own) == 1 else _circle(section, tuple(k for g in own for k in groups[g]))
            for own in joined
        ]
        groups = [tuple(sorted(k for g in own for k in groups[g])) for own in joined]
    return sorted(groups)


def _circle(section: Section, group: tuple[int, ...]) -> tuple[Point, float]:
    """A circle that holds some solids. [m]"""
    shapes = [section.regions[k].shape for k in group]
    match shapes:
        case [Disc(centre, radius)] | [Tube(centre, _, radius)]:
            return centre, radius
    return enclosing_circle(Section(tuple(section.regions[k] for k in group)))


def _joined(circles: list[tuple[Point, float]], ratio: float) -> list[list[int]] | None:
    """Sets of circles that come near each other, directly or through others; None if none do."""
    from scipy.sparse import csr_matrix
    from scipy.sparse.csgraph import connected_components

    centres, radii = np.array([centre for centre, _ in circles]), np.array([radius for _, radius in circles])
    apart = np.linalg.norm(centres[:, None] - centres, axis=2)
    count, label = connected_components(csr_matrix(apart < ratio * (radii[:, None] + radii)), directed=False)
    return None if count == len(circles) else [np.flatnonzero(label == k).tolist() for k in range(count)]


def mesh_groups(section: Section, sizes: MeshSizes | None = None) -> SectionMesh:
    """Mesh groups of solids that lie far apart, each in its own circle; one mesh if all solids are of one group.

    section: Solids that do not touch or overlap.
    sizes: Sizes of the elements; those of the ordinary mesh if not given.
    Raises ValueError: If two solids touch or overlap.
    Raises MeshingError: If gmsh fails or its system libraries are missing.
    """
    sizes = sizes or MeshSizes()
    groups = placed_groups(section, sizes.outer_ratio)
    if len(groups) == 1:
        return mesh_section(section, sizes)
    meshes: dict[int, SectionMesh] = {}
    members = []
    for group in groups:
        if id(group.solids) not in meshes:
            meshes[id(group.solids)] = mesh_section(group.solids, sizes)
        mesh = meshes[id(group.solids)]
        regions = np.array([0, *(k + 1 for k in group.numbers)], dtype=np.int64)
        members.append(MeshGroup(mesh, group.origin, mesh.circle_radius / sizes.outer_ratio, regions))
    return _side_by_side((AIR, *section.names()), tuple(members))


def moved_groups(mesh: GroupedMesh, moves: Floats) -> GroupedMesh:
    """The groups of a mesh moved by (G, 2) [m]; their meshes stay the same objects.

    Raises ValueError: If two circles then overlap.
    """
    groups = tuple(
        replace(group, origin=(group.origin[0] + float(x), group.origin[1] + float(y)))
        for group, (x, y) in zip(mesh.groups, moves, strict=True)
    )
    moved = _side_by_side(mesh.names, groups)
    centres = np.array([np.add(group.origin, group.mesh.circle_centre) for group in groups])
    radii = np.array([group.mesh.circle_radius for group in groups])
    apart = np.linalg.norm(centres[:, None] - centres, axis=2) - radii[:, None] - radii
    np.fill_diagonal(apart, 0.0)
    if np.any(apart < 0):
        raise ValueError(f"the circles of two groups overlap by {-apart.min():.3g} m")
    return moved


def _side_by_side(names: tuple[str, ...], groups: tuple[MeshGroup, ...]) -> GroupedMesh:
    """The meshes of groups as one."""
    meshes = [group.mesh for group in groups]
    starts = np.cumsum([0, *(len(mesh.points) for mesh in meshes)])
    centres = np.array([np.add(group.origin, group.mesh.circle_centre) for group in groups])
    middle = (centres.min(axis=0) + centres.max(axis=0)) / 2
    radii = np.array([mesh.circle_radius for mesh in meshes])
    return GroupedMesh(
        np.vstack([mesh.points + group.origin for mesh, group in zip(meshes, groups, strict=True)]),
        np.vstack([mesh.triangles + start for mesh, start in zip(meshes, starts, strict=False)]),
        np.concatenate([group.regions[group.mesh.regions] for group in groups]),
        names,
        (float(middle[0]), float(middle[1])),
        float((np.linalg.norm(centres - middle, axis=1) + radii).max()),
        groups,
    )


def _shapes(solids: Section) -> tuple[list[object], Floats]:
    """Kinds and skin depths of the solids of a group, and all their coordinates and sizes [m]."""
    kinds: list[object] = [(type(region.shape), region.depth) for region in solids.regions]
    return kinds, np.array([x for region in solids.regions for x in _numbers(region.shape)])


def _alike(one: tuple[list[object], Floats], other: tuple[list[object], Floats]) -> bool:
    """Whether the solids of two groups are equal up to rounding of their places."""
    alike = one[0] == other[0] and one[1].shape == other[1].shape
    return alike and bool(np.all(np.abs(one[1] - other[1]) <= EQUAL))


def _numbers(value: object) -> Iterator[float]:
    """All numbers of a solid, in the order of its fields."""
    if dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from _numbers(getattr(value, field.name))
    elif isinstance(value, tuple):
        for each in value:
            yield from _numbers(each)
    elif isinstance(value, int | float):
        yield float(value)
