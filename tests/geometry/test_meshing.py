"""Meshes of whole sections: conforming, nowhere turned over, of the right area, the same twice; and gmsh's manners."""

import importlib.abc
import importlib.machinery
import math
import sys
from collections.abc import Iterator, Sequence
from itertools import pairwise
from types import ModuleType

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fem.mesh import gradients_at
from geometry.arrays import Floats, Ints
from geometry.clearance import overlaps
from geometry.formation import flat, trefoil
from geometry.meshing import SYSTEM_LIBRARIES, MeshingError, mesh_section
from geometry.section_mesh import SectionMesh
from geometry.shapes import Disc, Point, Region, Section, Shape, Tube, Wall, wall_along
from geometry.sizing import MeshSizes
from tests.channels import channel

# corners, middles and the points of a quadrature of a six-node triangle
LOCAL = np.array(
    [
        *([0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5], [1 / 3, 1 / 3]),
        *([0.445948, 0.445948], [0.108103, 0.445948], [0.445948, 0.108103]),
        *([0.091576, 0.091576], [0.816848, 0.091576], [0.091576, 0.816848]),
    ]
)


def cable(
    name: str, axis: Sequence[float], radius: float = 0.009, screen: float = 0.0, depth: float = math.inf
) -> list[Region]:
    x, y = (float(value) for value in axis)
    regions = [Region(name, Disc((x, y), radius), depth)]
    if screen:
        regions.append(Region("screen " + name, Tube((x, y), radius + 0.0017, radius + 0.0017 + screen), depth))
    return regions


def cables(axes: Floats, radius: float = 0.009, screen: float = 0.0, depth: float = math.inf) -> list[Region]:
    return [region for k, axis in enumerate(axes) for region in cable(str(k), axis, radius, screen, depth)]


def tray(width: float, closed: bool = False, depth: float = 2e-3, thickness: float = 1.5e-3) -> Region:
    return Region("tray", channel(width, 0.1, thickness, closed), depth)


def grid(columns: int, rows: int, step: float) -> Floats:
    return np.vstack([flat(columns, step, step, (0.0, row * step)) for row in range(rows)])


LAYOUTS = {
    "one wire": cables(np.zeros((1, 2))),
    "flat": cables(flat(3, 0.056, 0.0245)),
    "touching trefoil": cables(trefoil(1, 0.025)),
    "trefoil 0.02 mm apart": cables(trefoil(1, 0.01802)),
    "0.05 mm insulation in a screen": [*cable("a", (0, 0), 0.02), Region("s", Tube((0, 0), 0.02005, 0.021))],
    "0.1 mm screens": cables(trefoil(1, 0.025), screen=1e-4),
    "skin depth 0.2 mm": cables(flat(3, 0.026, 0.025), screen=2e-4, depth=2e-4),
    "pipe with three screened cables": [
        *cables(trefoil(1, 0.025), screen=2e-4),
        Region("pipe", Tube((0.0, 0.02), 0.05, 0.055), 1e-3),
    ],
    "channel": [*cables(flat(3, 0.056, 0.0245)), tray(0.3)],
    "closed wall, 0.2 mm from it": [*cables(flat(3, 0.056, 0.0184)), tray(0.3, closed=True, depth=2e-4)],
    "0.1 mm sheet": [*cables(flat(3, 0.056, 0.0245)), tray(0.3, thickness=1e-4)],
    "closed walls in each other": [
        *cables(flat(2, 0.05, 0.0245)),
        tray(0.3, closed=True),
        Region("outer", wall_along([(-0.2, -0.1), (0.2, -0.1), (0.2, 0.2), (-0.2, 0.2)], 1e-3, closed=True)),
    ],
    "a small wire 2 m from a large one": [*cable("a", (0, 0), 0.001), *cable("b", (2, 0), 0.05)],
    "48 cables": [*cables(grid(24, 2, 0.025)), tray(0.7)],
}
FINEST = ("one wire", "touching trefoil", "0.1 mm screens", "skin depth 0.2 mm", "pipe with three screened cables")
CASES = [
    (name, fineness) for name in LAYOUTS for fineness in (0.5, 1.0, 1.7) if len(LAYOUTS[name]) < 40 or fineness < 1.7
]
CASES += [(name, 4.0) for name in FINEST]  # the others are too large to be worth their time


def mesh_of(regions: Sequence[Region], fineness: float = 1.0) -> SectionMesh:
    return mesh_section(Section(tuple(regions)), MeshSizes(fineness=fineness))


def edge_counts(mesh: SectionMesh) -> tuple[Ints, Ints]:
    """Edges as sorted corner pairs and the number of triangles on each."""
    corners = mesh.triangles[:, :3]
    pairs = np.stack([corners, np.roll(corners, -1, axis=1)], axis=2).reshape(-1, 2)
    edges, counts = np.unique(np.sort(pairs, axis=1), axis=0, return_counts=True)
    return edges, counts


def assert_conforming(mesh: SectionMesh, circle_edges: int) -> None:
    """Each edge has two triangles but for those of the circle, and the same middle node on both sides; one piece."""
    edges, counts = edge_counts(mesh)
    circle = mesh.circle_edges()
    assert set(counts.tolist()) == {1, 2}
    assert {tuple(e) for e in edges[counts == 1].tolist()} == {
        tuple(e) for e in np.sort(circle[:, :2], axis=1).tolist()
    }
    assert len(circle) == circle_edges
    assert np.array_equal(circle[:, 1], np.roll(circle[:, 0], -1))  # one closed loop, anticlockwise
    corners = np.unique(mesh.triangles[:, :3])
    assert len(corners) - len(edges) + len(mesh.triangles) == 1  # Euler: a disc without holes
    middles = np.unique(mesh.triangles[:, 3:])
    assert len(middles) == len(edges)
    assert not set(corners.tolist()) & set(middles.tolist())
    assert len(mesh.points) == len(corners) + len(middles)  # no node without a triangle


def least_jacobian(mesh: SectionMesh) -> float:
    """Least Jacobian over the largest in the same triangle. [-]"""
    nodes = mesh.points[mesh.triangles]
    values = np.array([gradients_at(nodes, np.broadcast_to(p, (len(nodes), 2)))[1] for p in LOCAL])
    return float((values.min(axis=0) / np.abs(values).max(axis=0)).min())


def exact_area(shape: Shape) -> float:
    if isinstance(shape, Disc):
        return math.pi * shape.radius**2
    if isinstance(shape, Tube):
        return math.pi * (shape.outer_radius**2 - shape.inner_radius**2)
    assert isinstance(shape, Wall)
    return sum(0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise((*run, run[0]))) for run in shape.runs())


@pytest.mark.parametrize(("name", "fineness"), CASES)
def test_meshes_are_conforming_and_no_triangle_is_turned_over(name: str, fineness: float) -> None:
    mesh = mesh_of(LAYOUTS[name], fineness)
    assert_conforming(mesh, round(48 * fineness))
    # 1 for a straight triangle; 0 where an edge bows as far as the triangle is wide
    assert least_jacobian(mesh) > 0.02
    # with positive Jacobians and one closed rim the triangles tile the disc: their areas add up to the curved rim's
    theta = 2 * math.pi / len(mesh.circle_edges())
    disc = math.pi * mesh.circle_radius**2 * (1 - theta**4 / 480)
    next_term = theta**6 / 10_000  # theta^4/480 again by less than theta^2/20
    assert sum(mesh.region_areas().values()) == pytest.approx(disc, rel=next_term + 1e-10)


@pytest.mark.parametrize("name", LAYOUTS)
def test_areas_are_exact_for_walls_and_to_the_bow_of_a_quadratic_arc_for_round_solids(name: str) -> None:
    mesh = mesh_of(LAYOUTS[name])
    areas = mesh.region_areas()
    for region in LAYOUTS[name]:
        exact, found = exact_area(region.shape), areas[region.name]
        if isinstance(region.shape, Wall):
            assert found == pytest.approx(exact, rel=1e-9)  # rounding of thin cells 0.1 mm in 0.3 m
            continue
        assert isinstance(region.shape, Disc | Tube)
        solid = mesh.triangles[mesh.regions == mesh.names.index(region.name)]
        outer = region.shape.radius if isinstance(region.shape, Disc) else region.shape.outer_radius
        radius = np.linalg.norm(mesh.points[np.unique(solid[:, :3])] - region.shape.centre, axis=1)
        theta = 2 * math.pi / np.count_nonzero(np.abs(radius / outer - 1) < 1e-9)
        # a parabola through both ends and the middle of an arc encloses theta^4/480 less; next term theta^2/40 of it
        assert 1 - found / exact == pytest.approx(theta**4 / 480, rel=theta**2 / 20 + 1e-3, abs=1e-9)


@given(st.data())
@settings(max_examples=25, deadline=None, derandomize=True, suppress_health_check=list(HealthCheck))
def test_random_layouts_are_meshed_without_a_fault(data: st.DataObject) -> None:
    regions: list[Region] = []
    for k in range(data.draw(st.integers(1, 5))):
        x, y = data.draw(st.floats(-0.1, 0.1)), data.draw(st.floats(-0.1, 0.1))
        radius, thickness = 10 ** data.draw(st.floats(-3, -1.3)), 10 ** data.draw(st.floats(-4, -2.3))
        kind = data.draw(st.sampled_from(["disc", "disc", "tube", "wall"]))
        shape: Shape = Disc((x, y), radius)
        if kind == "tube":
            shape = Tube((x, y), radius, radius + thickness)
        elif kind == "wall":
            path: list[Point] = [(x, y + 0.05), (x, y), (x + 0.1, y), (x + 0.1, y + 0.05)]
            shape = wall_along(path, thickness, side="right", closed=data.draw(st.booleans()))
        region = Region(str(k), shape, 10 ** data.draw(st.floats(-4, -1)))
        if not overlaps([(r.name, r.shape) for r in [*regions, region]], -2e-5):
            regions.append(region)
    mesh = mesh_of(regions)
    assert_conforming(mesh, 48)
    assert least_jacobian(mesh) > 0


def test_a_cable_on_the_axis_is_meshed_alike_in_all_four_quarters() -> None:
    mesh = mesh_of(cables(np.zeros((1, 2))))
    solid = mesh.points[np.unique(mesh.triangles[mesh.regions == 1])]
    turned = np.stack([-solid[:, 1], solid[:, 0]], axis=1)
    nearest = np.linalg.norm(solid[:, None] - turned[None], axis=2).min(axis=0)
    assert nearest.max() < 1e-12  # [m] rounding
    rim = mesh.points[mesh.circle_edges()[:, 0]] - mesh.circle_centre
    step = np.diff(np.unwrap(np.arctan2(rim[:, 1], rim[:, 0])))
    assert step == pytest.approx(2 * np.pi / 48, rel=1e-9)


@pytest.mark.parametrize("name", ["flat", "closed wall, 0.2 mm from it"])
def test_meshing_twice_gives_the_same_bytes(name: str) -> None:
    first, second = mesh_of(LAYOUTS[name]), mesh_of(LAYOUTS[name])
    assert first.points.tobytes() == second.points.tobytes()
    assert first.triangles.tobytes() == second.triangles.tobytes()
    assert first.regions.tobytes() == second.regions.tobytes()


def test_solids_that_touch_or_overlap_are_named_with_the_overlap() -> None:
    with pytest.raises(ValueError, match=r"0 and 1 by 2 mm"):
        mesh_of(cables(np.array([[0.0, 0.0], [0.016, 0.0]])))
    with pytest.raises(ValueError, match=r"0 and 1 by 0 mm"):
        mesh_of(cables(np.array([[0.0, 0.0], [0.018, 0.0]])))


@pytest.mark.parametrize("fineness", [0.0, 0.1, 100.0, math.nan])
def test_a_fineness_that_makes_no_mesh_is_refused(fineness: float) -> None:
    with pytest.raises(ValueError, match="fineness"):
        MeshSizes(fineness=fineness)


@pytest.fixture
def gmsh_in_use() -> Iterator[ModuleType]:
    """gmsh as a caller may have left it: two models with a point each, options of their own."""
    import gmsh

    assert not gmsh.isInitialized()
    gmsh.initialize(readConfigFiles=False, interruptible=False)
    try:
        gmsh.option.setNumber("General.Terminal", 0)
        gmsh.model.add("theirs")
        gmsh.model.geo.addPoint(1.0, 2.0, 3.0, tag=7)
        gmsh.model.geo.synchronize()
        gmsh.model.add("another")
        gmsh.model.setCurrent("theirs")
        yield gmsh
    finally:
        gmsh.finalize()


ODD_OPTIONS = {
    "Mesh.Algorithm": 5.0,
    "Mesh.ElementOrder": 2.0,
    "Mesh.MeshSizeMax": 0.004,
    "Mesh.MeshSizeMin": 0.05,
    "Mesh.MeshSizeFactor": 0.3,
    "Mesh.MeshSizeExtendFromBoundary": 0.0,
    "Mesh.RecombineAll": 1.0,
    "Mesh.SubdivisionAlgorithm": 1.0,
    "Mesh.Smoothing": 5.0,
}


def test_a_caller_that_uses_gmsh_keeps_model_and_options_and_gets_the_same_mesh(gmsh_in_use: ModuleType) -> None:
    gmsh = gmsh_in_use
    usual = mesh_of(LAYOUTS["flat"])
    for name, value in ODD_OPTIONS.items():
        gmsh.option.setNumber(name, value)
    mesh = mesh_of(LAYOUTS["flat"])
    assert mesh.points.tobytes() == usual.points.tobytes()
    assert gmsh.isInitialized()
    assert sorted(gmsh.model.list()) == ["", "another", "theirs"]
    assert gmsh.model.getCurrent() == "theirs"
    assert gmsh.model.getEntities() == [(0, 7)]
    assert {name: gmsh.option.getNumber(name) for name in ODD_OPTIONS} == ODD_OPTIONS


def test_after_an_ordinary_mesh_gmsh_is_left_finalised() -> None:
    import gmsh

    mesh_of(LAYOUTS["one wire"])
    assert not gmsh.isInitialized()


class _Fault(RuntimeError):
    """Something that goes wrong in the middle."""


@pytest.mark.parametrize("in_use", [False, True])
def test_an_exception_in_the_middle_leaves_gmsh_as_it_was(
    in_use: bool, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest
) -> None:
    import gmsh

    if in_use:
        request.getfixturevalue("gmsh_in_use")

    def fail(dimension: int) -> None:
        raise _Fault(f"no mesh of dimension {dimension}")

    with monkeypatch.context() as patch:
        patch.setattr(gmsh.model.mesh, "generate", fail)
        with pytest.raises(MeshingError, match="no mesh of dimension 2"):
            mesh_of(LAYOUTS["flat"])
    assert bool(gmsh.isInitialized()) is in_use
    if in_use:
        assert sorted(gmsh.model.list()) == ["", "another", "theirs"]
        assert gmsh.model.getCurrent() == "theirs"
    else:
        assert len(mesh_of(LAYOUTS["one wire"]).triangles) > 0  # and the next mesh is none the worse


@pytest.mark.parametrize(
    "error", [OSError("libGLU.so.1: cannot open shared object file"), ImportError("No module named 'gmsh'")]
)
def test_a_missing_system_library_is_named_with_the_packages_that_bring_it(
    error: Exception, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Missing(importlib.abc.MetaPathFinder):
        def find_spec(
            self, name: str, path: object = None, target: object = None
        ) -> importlib.machinery.ModuleSpec | None:
            if name == "gmsh":
                raise error
            return None

    monkeypatch.delitem(sys.modules, "gmsh", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Missing(), *sys.meta_path])
    with pytest.raises(MeshingError, match="apt-get install") as caught:
        mesh_of(LAYOUTS["one wire"])
    assert SYSTEM_LIBRARIES in str(caught.value)
    assert str(error) in str(caught.value)
    assert caught.value.__cause__ is error


def test_gmsh_without_triangles_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    import gmsh

    monkeypatch.setattr(gmsh.model.mesh, "generate", lambda dimension: None)
    with pytest.raises(MeshingError, match="no triangles"):
        mesh_of(LAYOUTS["one wire"])
