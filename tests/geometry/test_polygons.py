"""Free polygons: what they accept, their outlines, their mesh, and the tray loss on it."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from fem.materials import Material
from fem.ties import Tie
from geometry.clearance import clearance, distance_to, overlaps, polygon
from geometry.loops import as_points, signed_area
from geometry.meshing import mesh_section
from geometry.network import Rectangle, network_of_rectangles
from geometry.placing import placed
from geometry.polygons import Polygon
from geometry.shapes import Disc, Point, Region, Section, Shape, Tube, boundary_loops, enclosing_circle
from geometry.sizing import MeshSizes, solid_block
from tests.channels import channel
from tests.fem.layouts import COPPER, PHASES, STEEL, Layout, solve
from tests.geometry.sound_mesh import section_of, sound_mesh


def box(left: float, bottom: float, right: float, top: float) -> tuple[Point, ...]:
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def ring(centre: Point, radius: float, sides: int) -> tuple[Point, ...]:
    angle = 2 * np.pi * np.arange(sides) / sides
    return as_points(np.asarray(centre) + radius * np.stack([np.cos(angle), np.sin(angle)], axis=1))


def same_as(shape: Shape) -> Polygon:
    outer, inner = boundary_loops(shape)
    return Polygon(as_points(outer), tuple(as_points(loop) for loop in inner))


FRAME = Polygon(box(-0.1, -0.1, 0.1, 0.1), (box(-0.08, -0.08, -0.01, 0.08), ring((0.04, 0.0), 0.03, 40)))
SHEETS = network_of_rectangles([Rectangle(0.0, 0.0, 0.1, 0.002), Rectangle(0.0, 0.002, 0.002, 0.02)])
ANGLE = Polygon(((0, 0), (0.1, 0), (0.1, 0.01), (0.01, 0.01), (0.01, 0.1), (0, 0.1)))


@pytest.mark.parametrize(
    ("outer", "holes", "words"),
    [
        (((0, 0), (1, 0)), (), "outline .* three finite corners"),
        (((0, 0), (1, 0), (math.nan, 1)), (), "three finite corners"),
        ((*box(0, 0, 1, 1), (0, 0)), (), r"\(0, 0\) twice in a row"),
        (((0, 0), (1, 1), (1, 0), (0, 1)), (), "outline .* cross or touch itself"),
        (box(0, 0, 1, 1), (((0.2, 0.2), (0.4, 0.4), (0.4, 0.2), (0.2, 0.4)),), "hole 1 .* cross or touch itself"),
        (box(0, 0, 1, 1), (box(0.5, 0.5, 1.5, 0.8),), "inside its outline"),
        (box(0, 0, 1, 1), (box(2, 2, 3, 3),), "inside its outline"),
        (box(0, 0, 1, 1), (box(0.5, 0.5, 1.0, 0.8),), "touch neither it"),
        (box(0, 0, 1, 1), (((0.5, 0), (0.6, 0.5), (0.4, 0.5)),), "touch neither it"),  # at one point
        (box(0, 0, 1, 1), (box(0.1, 0.1, 0.6, 0.6), box(0.5, 0.5, 0.9, 0.9)), "nor each other"),
    ],
)
def test_loops_that_make_no_solid_are_refused(outer, holes, words: str):
    with pytest.raises(ValueError, match=words):
        Polygon(outer, holes)


@pytest.mark.parametrize("step", [1, -1])
def test_the_sense_of_the_loops_does_not_matter(step: int):
    turned = Polygon(FRAME.outer[::step], tuple(hole[::step] for hole in FRAME.holes))
    outer, inner = boundary_loops(turned)
    assert signed_area(outer) == pytest.approx(0.04, rel=1e-12)
    assert [signed_area(loop) > 0 for loop in inner] == [True, True]
    solid = solid_block(section_of({"F": turned}), section_of({"F": turned}).regions[0], MeshSizes())
    assert len(solid.inners) == 2
    sound_mesh(section_of({"F": turned}))


@pytest.mark.parametrize("fineness", [1.0, 1.6])
@pytest.mark.parametrize("angle", [0.0, 1.0])
def test_meshes_with_solids_in_the_holes_are_sound(angle: float, fineness: float):
    solids: dict[str, Shape] = {
        "frame": FRAME,
        "wire": Disc((0.04, 0.0), 0.012),
        "pipe": Tube((-0.045, 0.04), 0.015, 0.016),
        "in the pipe": Disc((-0.045, 0.04), 0.01),
        "rod": Polygon(ring((-0.045, -0.04), 0.02, 6)),
        "sheets": placed(
            network_of_rectangles([Rectangle(0, 0, 0.1, 0.002), Rectangle(0, 0.002, 0.002, 0.02)]), (0, -0.2)
        ),
        "angle": placed(ANGLE, (0.15, 0.0)),
    }
    turned = {name: placed(shape, (0.3, 0.1), angle) for name, shape in solids.items()}
    sound_mesh(section_of(turned), fineness)


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        (FRAME, Disc((0.04, 0.0), 0.012), 0.03 * math.cos(math.pi / 40) - 0.012),  # in the round hole
        (FRAME, Disc((-0.045, 0.04), 0.03), 0.005),
        (FRAME, Disc((-0.045, 0.04), 0.04), -0.005),
        (FRAME, Tube((0.0, 0.0), 0.2, 0.21), 0.2 - 0.1 * math.sqrt(2)),  # around it
        (FRAME, Polygon(box(-0.07, -0.05, -0.02, 0.0)), 0.01),  # in the rectangular hole
        (FRAME, Polygon(box(0.11, 0.13, 0.2, 0.2)), math.hypot(0.01, 0.03)),
        (FRAME, Polygon(box(0.09, -0.05, 0.2, 0.05)), -math.sqrt(0.01 * 0.1)),
    ],
)
def test_clearance_of_polygons_has_the_hand_value(a: Shape, b: Shape, expected: float):
    assert clearance(a, b) == pytest.approx(expected, abs=1e-12)
    assert clearance(b, a) == pytest.approx(expected, abs=1e-12)
    assert bool(overlaps([("a", a), ("b", b)])) == (expected < 0)


def test_distance_and_enclosing_circle_are_those_of_the_metal():
    points = np.array([[-0.045, 0.0], [0.09, 0.09], [0.13, 0.14]])
    assert distance_to(FRAME, points) == pytest.approx([0.035, 0.0, 0.05], abs=1e-12)
    _, radius = enclosing_circle(section_of({"F": FRAME}))
    assert 0.1 * math.sqrt(2) <= radius < 1.02 * 0.1 * math.sqrt(2)


def test_a_mesh_that_touches_is_refused_by_name():
    with pytest.raises(ValueError, match="F and wire by 2 mm"):
        mesh_section(section_of({"F": FRAME, "wire": Disc((-0.045, 0.04), 0.037)}))


def sizes_inside(shape: Polygon, depth: float, fineness: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """Distance from the surface [m] and root of the area [m] of each triangle of a polygon."""
    region = Region("P", shape, depth)
    block = solid_block(Section((region,)), region, MeshSizes(fineness=fineness))
    corners = block.vertices[block.triangles]
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    areas = (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2
    distance = shapely.distance(polygon(shape).boundary, shapely.points(corners.mean(axis=1)))
    return np.asarray(distance), np.sqrt(areas)


def test_elements_follow_the_skin_depth_at_the_surface_and_grow_inward():
    depth = 1e-3
    distance, size = sizes_inside(Polygon(box(0, 0, 0.08, 0.05)), depth)
    # a triangle of equal sides h has sqrt(area) = 0.66 h; h at the surface is at most 1.2 depths
    assert size[distance < depth].max() < 1.2 * depth
    # growth 0.5 from there: h = 1.2 + 0.5 * 20 = 11 depths at a depth of 20, if it is reached before the far side
    assert size[distance > 20 * depth].min() > 3 * depth
    assert len(size) < 3000  # 20 000 and more if it did not grow


@pytest.mark.parametrize("fineness", [1.0, 2.0])
def test_thin_places_have_two_elements_across(fineness: float):
    # a bar 20 mm thick with a tongue of 2 mm, which is thin against the skin depth
    shape = Polygon(
        ((0, 0), (0.05, 0), (0.05, 0.009), (0.1, 0.009), (0.1, 0.011), (0.05, 0.011), (0.05, 0.02), (0, 0.02))
    )
    region = Region("P", shape, math.inf)
    block = solid_block(Section((region,)), region, MeshSizes(fineness=fineness))
    inside = block.vertices[len(block.outer) :]
    tongue = inside[(inside[:, 0] > 0.06) & (inside[:, 0] < 0.09)]
    # one row of nodes at least between the faces, nowhere further apart than the thickness
    assert np.all(np.diff(np.sort(tongue[:, 0])) < 0.002)
    edges = block.vertices[block.outer]
    on_face = edges[np.isclose(edges[:, 1], 0.011) & (edges[:, 0] > 0.05)]
    assert np.abs(np.diff(np.sort(on_face[:, 0]))).max() <= 0.001 / fineness


def test_counts_follow_the_fineness():
    counts = [len(sizes_inside(FRAME, 2e-3, fineness)[1]) for fineness in (1.0, 2.0, 4.0)]
    # free meshes have no exact counts: four times as many within a fifth
    assert counts[1] / counts[0] == pytest.approx(4, rel=0.2)
    assert counts[2] / counts[1] == pytest.approx(4, rel=0.2)


@pytest.mark.parametrize("depth", [1e-4, math.inf])
def test_a_thin_wide_sheet_is_meshed_with_a_bounded_number_of_elements(depth: float):
    mesh = sound_mesh(section_of({"P": Polygon(box(-0.5, 0, 0.5, 0.5e-3))}, depth))
    assert np.count_nonzero(mesh.regions == 1) < 6_000  # at most 2000 edges along the outline, two or three for each
    assert len(mesh.points) < 70_000


def test_a_curve_of_short_edges_keeps_them_and_no_more_where_they_are_fine_enough():
    shape = Polygon(ring((0, 0), 0.05, 400))
    region = Region("P", shape, math.inf)
    block = solid_block(Section((region,)), region, MeshSizes())
    assert len(block.outer) == 400  # no corner of the polyline is taken for a sharp one


@settings(max_examples=8, deadline=None)
@given(st.lists(st.floats(0.02, 0.1), min_size=3, max_size=12), st.floats(1e-4, 1e-2))
def test_any_star_is_meshed_soundly(radii: list[float], depth: float):
    angle = 2 * np.pi * np.arange(len(radii)) / len(radii)
    corners = np.array(radii)[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    sound_mesh(section_of({"P": Polygon(as_points(corners)), "c": Disc((0.2, 0.0), 0.01)}, depth))


def tray_loss(shape: Shape, fineness: float) -> float:
    """Loss in open steel under three conductors with 400 A at 50 Hz. [W/m]"""
    cables = {f"c{k}": Disc((0.056 * (k - 1), 0.0145), 0.00874) for k in range(3)}
    section = section_of({**cables, "T": shape})
    materials = {**dict.fromkeys(cables, Material(COPPER)), "T": Material(STEEL, 300.0)}
    ties = (*(Tie((name,), 400 * phase) for name, phase in zip(cables, PHASES, strict=True)), Tie(("T",)))
    solution = solve(Layout(section, materials, ties, 50.0), fineness)
    return float(solution.losses.total[solution.fields.part_names.index("T")])


@pytest.mark.parametrize("covered", [False, True])
def test_a_channel_drawn_as_a_polygon_loses_what_the_structured_one_does(covered: bool):
    wall = channel(0.2, 0.06, 3e-3, covered)
    # the wall has its loss to 1e-4 at fineness 2, the free mesh to about 4e-4 at fineness 1
    assert tray_loss(same_as(wall), 1.0) == pytest.approx(tray_loss(wall, 2.0), rel=1e-3)


def test_the_loss_of_a_thick_bar_converges_under_refinement():
    bar = Polygon(box(-0.1, -0.04, 0.1, -0.01))
    *losses, finest = (tray_loss(bar, fineness) for fineness in (0.5, 1.0, 1.4, 2.0))
    errors = [abs(loss / finest - 1) for loss in losses]
    # second order at the least in a smooth field, less at corners: half at the most each time
    assert errors[1] < 0.5 * errors[0]
    assert errors[2] < 0.5 * errors[1]
    assert errors[2] < 5e-4
