"""Networks of runs: what they accept, their outlines, their structured mesh, and the tray loss on it."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fem.materials import Material
from fem.ties import Tie
from geometry.clearance import clearance, distance_to, overlaps, polygon
from geometry.loops import Point, as_points, signed_area
from geometry.network import Network, Rectangle, network_loops, network_of_rectangles
from geometry.network_mesh import bundles, network_block
from geometry.placing import placed
from geometry.polygons import Polygon
from geometry.shapes import Disc, Shape, Tube, boundary_loops, enclosing_circle
from tests.channels import channel
from tests.fem.layouts import COPPER, PHASES, STEEL, Layout, Solution, solve
from tests.geometry.sound_mesh import section_of, sound_mesh

SQUARE = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
T = 2e-3  # sheet thickness [m]


def upright(x: float, bottom: float, top: float) -> Rectangle:
    return Rectangle(x - T / 2, bottom, x + T / 2, top)


def tee() -> Network:
    return network_of_rectangles([Rectangle(-0.1, -T, 0.1, 0.0), upright(0.02, 0.0, 0.05)])


def grid(columns: int, rows: int) -> Network:
    """Box of compartments 30 mm wide and 20 mm high between walls 2 mm thick."""
    right = columns * 0.03 + T / 2
    shelves = [Rectangle(-T / 2, r * 0.02 - T / 2, right, r * 0.02 + T / 2) for r in range(rows + 1)]
    walls = [
        upright(c * 0.03, r * 0.02 + T / 2, (r + 1) * 0.02 - T / 2) for c in range(columns + 1) for r in range(rows)
    ]
    return network_of_rectangles([*shelves, *walls])


def test_rectangles_are_cut_only_where_a_corner_meets_a_side():
    network = tee()
    # a floor in three, a junction block among them, and the upright in one piece
    assert len(network.quads) == 4
    assert polygon(network).area == pytest.approx(0.2 * T + 0.05 * T, rel=1e-12)
    assert len(network_loops(network)) == 1
    assert len(boundary_loops(network)[0]) == 10  # two of the corners lie in the middle of the floor's underside


def test_cuts_pass_through_everything_that_lies_on_top_of_each_other():
    stack = network_of_rectangles([Rectangle(0, 0, 3, 1), Rectangle(0, 1, 3, 2), Rectangle(1, 2, 2, 3)])
    assert len(stack.quads) == 3 + 3 + 1


def test_sides_that_differ_by_rounding_are_one():
    # 0.1 + 0.2 is not 0.3 in binary
    network = network_of_rectangles([Rectangle(0, 0, 0.1 + 0.2, 1), Rectangle(0.3, 0, 1, 1)])
    assert len(network.quads) == 2
    assert len(network.corners) == 6


@pytest.mark.parametrize(("columns", "rows"), [(1, 1), (3, 1), (2, 3)])
def test_every_compartment_is_a_pocket_of_the_area_it_should_have(columns: int, rows: int):
    outer, pockets = boundary_loops(grid(columns, rows))
    assert len(pockets) == columns * rows
    for pocket in pockets:
        assert signed_area(pocket) == pytest.approx((0.03 - T) * (0.02 - T), rel=1e-12)
    assert signed_area(outer) == pytest.approx((columns * 0.03 + T) * (rows * 0.02 + T), rel=1e-12)


@pytest.mark.parametrize(
    ("corners", "quads", "words"),
    [
        (SQUARE, (), "at least one run"),
        (SQUARE, ((0, 3, 2, 1),), "anticlockwise"),
        (((0, 0), (1, 0), (0.2, 0.2), (0, 1)), ((0, 1, 2, 3),), "convex"),
        ((*SQUARE, (2, 2)), ((0, 1, 2, 3),), "every corner"),
        (SQUARE, ((0, 1, 2, 4),), "every corner"),
        ((*SQUARE, (3, 0), (4, 0), (4, 1), (3, 1)), ((0, 1, 2, 3), (4, 5, 6, 7)), "2 pieces"),
        ((*SQUARE, (2, 1), (2, 2), (1, 2)), ((0, 1, 2, 3), (2, 4, 5, 6)), r"only at a corner, at \(1, 1\)"),
        ((*SQUARE, (2, 0), (2, 1)), ((0, 1, 2, 3), (0, 4, 5, 3)), "same side|overlap"),
        (SQUARE, ((0, 1, 2, 3), (0, 1, 2, 3)), "same side"),
    ],
)
def test_runs_that_make_no_solid_are_refused(corners, quads, words: str):
    with pytest.raises(ValueError, match=words):
        Network(corners, quads)


def test_rectangles_that_overlap_or_do_not_touch_are_refused():
    with pytest.raises(ValueError, match="overlap"):
        network_of_rectangles([Rectangle(0, 0, 1, 1), Rectangle(0.5, 0.5, 2, 2)])
    with pytest.raises(ValueError, match="2 pieces"):
        network_of_rectangles([Rectangle(0, 0, 1, 1), Rectangle(1.5, 0, 2, 1)])
    with pytest.raises(ValueError, match="only at a corner"):
        network_of_rectangles([Rectangle(0, 0, 1, 1), Rectangle(1, 1, 2, 2)])
    with pytest.raises(ValueError, match="left < right"):
        Rectangle(1, 0, 0, 1)


@given(st.lists(st.floats(1e-3, 1.0), min_size=1, max_size=6), st.data())
def test_a_comb_of_any_widths_is_one_solid_of_the_area_of_its_rectangles(widths: list[float], data: st.DataObject):
    edges = [0.0, *itertools.accumulate(widths)]
    heights = [data.draw(st.sampled_from([0.0, 0.3, 0.7])) for _ in widths]
    heights[1:] = [0.0 if before == here else here for before, here in itertools.pairwise(heights)]
    teeth = [Rectangle(x, 0, y, h) for (x, y), h in zip(itertools.pairwise(edges), heights, strict=True) if h > 0]
    back = Rectangle(edges[0], -0.1, edges[-1], 0.0)
    network = network_of_rectangles([back, *teeth])
    expected = 0.1 * edges[-1] + sum((r.right - r.left) * r.top for r in teeth)
    assert polygon(network).area == pytest.approx(expected, rel=1e-9)


def test_a_bundle_holds_the_edges_that_must_be_divided_alike():
    # the tee: layers of the floor through three runs, layers of the upright through two, three lengths
    found = bundles(tee())
    assert sorted(len(bundle.edges) for bundle in found) == [2, 2, 2, 3, 4]
    assert sum(len(bundle.edges) for bundle in found) == 13  # 4 runs of 4 edges, 3 of them shared


def test_a_block_has_the_cells_its_stations_ask_for_and_the_outlines_of_the_network():
    network = grid(2, 1)
    counts = [2 + k % 3 for k in range(len(bundles(network)))]
    block = network_block(network, [np.linspace(0, 1, count + 1) ** 1.5 for count in counts])
    corners = block.vertices[block.triangles]
    u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    areas = (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2
    assert areas.min() > 0
    assert areas.sum() == pytest.approx(polygon(network).area, rel=1e-12)
    outer, pockets = boundary_loops(network)
    for own, whole in zip((block.outer, *block.inners), (outer, *pockets), strict=True):
        assert signed_area(block.vertices[own]) == pytest.approx(signed_area(whole), rel=1e-12)
    cells = sum(math.prod(counts[b] for b in crossing(network, k)) for k in range(len(network.quads)))
    assert len(block.triangles) == 2 * cells


def crossing(network: Network, quad: int) -> list[int]:
    return [b for b, bundle in enumerate(bundles(network)) if quad in bundle.quads]


@pytest.mark.parametrize("angle", [0.0, 0.5 * math.pi, 0.3])
@pytest.mark.parametrize("fineness", [1.0, 1.7])
def test_meshes_with_cables_in_the_pockets_are_sound(angle: float, fineness: float):
    cables = {f"c{k}": Disc((0.015 + 0.03 * k, 0.01), 0.006) for k in range(3)}
    solids: dict[str, Shape] = {**cables, "pipe": Tube((0.045, 0.05), 0.006, 0.007), "box": grid(3, 2), "tee": tee()}
    solids["tee"] = placed(solids["tee"], (0.05, -0.08))
    turned = {name: placed(shape, (0.2, -0.1), angle) for name, shape in solids.items()}
    mesh = sound_mesh(section_of(turned), fineness)
    assert mesh.names[1:] == tuple(turned)


@pytest.mark.parametrize("gap", [5e-5, 5e-4])
def test_a_cable_close_to_the_walls_of_a_pocket_turns_no_triangle_over(gap: float):
    radius = 0.01 - T / 2 - gap  # between two shelves
    for shape in (grid(2, 1), Polygon(as_points(boundary_loops(grid(2, 1))[0]), pockets_of(grid(2, 1)))):
        sound_mesh(section_of({"box": shape, "c": Disc((0.015, 0.01), radius)}))


def pockets_of(network: Network) -> tuple[tuple[Point, ...], ...]:
    return tuple(as_points(pocket) for pocket in boundary_loops(network)[1])


@pytest.mark.parametrize(("thickness", "depth"), [(0.5e-3, 0.1e-3), (0.5e-3, math.inf), (30e-3, 0.1e-3), (30e-3, 1.0)])
def test_extreme_proportions_are_meshed_soundly_with_few_nodes(thickness: float, depth: float):
    half = thickness / 2
    network = network_of_rectangles([Rectangle(-0.5, -thickness, 0.5, 0.0), Rectangle(-half, 0.0, half, 0.2)])
    mesh = sound_mesh(section_of({"T": network}, depth))
    assert len(mesh.points) < 30_000
    own = mesh.points[mesh.triangles[mesh.regions == 1][:, :3]]
    # across the floor far from the junction: at least two layers, and the outermost as fine as the skin depth asks;
    # an element of size 1.2 depth + 0.5 x, x from the surface, ends where int dx/size is 1: 2.4 (e^0.5 - 1) depth
    levels = np.unique(np.round(own[np.abs(own[..., 0] - 0.25) < 0.2][:, 1] / thickness, 9))
    levels = levels[levels < 1e-9] * thickness
    assert len(levels) >= 3
    assert np.diff(levels)[-1] < 2.4 * math.expm1(0.5) * depth


def test_counts_follow_the_fineness():
    section = section_of({"box": grid(2, 2)})
    few, many = (np.count_nonzero(sound_mesh(section, f).regions == 1) for f in (1.0, 2.0))
    assert many == 4 * few


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        (grid(2, 1), Disc((0.015, 0.01), 0.006), 0.003),  # in a pocket: 9 mm from its axis to the shelves
        (grid(2, 1), Disc((0.015, 0.01), 0.010), -0.001),
        (grid(2, 1), Disc((0.030, 0.01), 0.006), -0.007),  # its axis in the wall between: 1 mm to the face
        (grid(2, 1), Tube((0.03, 0.01), 0.05, 0.06), 0.05 - math.hypot(0.031, 0.011)),  # a pipe around the box
        # shared: 62 x 1 mm of both floors, and where the upright crosses the shelves 2 x 1 and 2 x 2 mm
        (grid(2, 1), tee(), -math.sqrt(68e-6)),
        (grid(2, 1), placed(tee(), (0.0, 0.05)), 0.05 - T - 0.021),
        (tee(), channel(0.3, 0.1, T, covered=True, origin=(0.0, -0.02)), 0.02 - T),  # inside a closed wall
    ],
)
def test_clearance_of_networks_has_the_hand_value(a: Shape, b: Shape, expected: float):
    assert clearance(a, b) == pytest.approx(expected, abs=1e-12)
    assert clearance(b, a) == pytest.approx(expected, abs=1e-12)
    assert bool(overlaps([("a", a), ("b", b)])) == (expected < 0)


def test_a_point_in_an_opening_has_its_distance_from_the_metal():
    points = np.array([[0.015, 0.01], [0.03, 0.01], [0.03, 0.05], [-0.004, -0.005]])
    assert distance_to(grid(2, 1), points) == pytest.approx([0.009, 0.0, 0.029, 0.005], abs=1e-12)


def test_the_enclosing_circle_holds_every_corner():
    box = grid(3, 2)
    centre, radius = enclosing_circle(section_of({"box": box}))
    reach = np.linalg.norm(np.array(box.corners) - centre, axis=1).max()
    smallest = math.hypot(0.09 + T, 0.04 + T) / 2
    assert reach <= radius * (1 + 1e-12)
    assert smallest <= radius < 1.02 * smallest


def tray_loss(shape: Shape, fineness: float) -> float:
    """Loss in an open steel tray under three conductors with 400 A at 50 Hz. [W/m]"""
    cables = {f"c{k}": Disc((0.056 * (k - 1), 0.0145), 0.00874) for k in range(3)}
    section = section_of({**cables, "T": shape})
    materials = {**dict.fromkeys(cables, Material(COPPER)), "T": Material(STEEL, 300.0)}
    ties = (*(Tie((name,), 400 * phase) for name, phase in zip(cables, PHASES, strict=True)), Tie(("T",)))
    solution: Solution = solve(Layout(section, materials, ties, 50.0), fineness)
    return float(solution.losses.total[solution.fields.part_names.index("T")])


@pytest.mark.parametrize("covered", [False, True])
def test_a_channel_of_rectangles_loses_what_the_mitred_one_does(covered: bool):
    wall = channel(0.3, 0.1, T, covered)
    sheets = [
        Rectangle(-0.15 - T, -T, 0.15 + T, 0),
        Rectangle(-0.15 - T, 0, -0.15, 0.1),
        Rectangle(0.15, 0, 0.15 + T, 0.1),
    ]
    if covered:
        sheets.append(Rectangle(-0.15 - T, 0.1, 0.15 + T, 0.1 + T))
    # two meshes of one solid: each has the loss to about 3e-5 at fineness 2
    assert tray_loss(network_of_rectangles(sheets), 2.0) == pytest.approx(tray_loss(wall, 2.0), rel=1e-4)


def test_the_loss_of_a_branching_tray_converges_under_refinement():
    channel = [
        Rectangle(-0.15 - T, -T, 0.15 + T, 0),
        Rectangle(-0.15 - T, 0, -0.15, 0.1),
        Rectangle(0.15, 0, 0.15 + T, 0.1),
    ]
    network = network_of_rectangles([*channel, upright(-0.028, 0.0, 0.08), upright(0.028, 0.0, 0.08)])
    *losses, finest = (tray_loss(network, fineness) for fineness in (0.5, 1.0, 2.0, 3.0))
    errors = [abs(loss / finest - 1) for loss in losses]
    # the singular field at the corners, to which the mesh is graded, leaves first to second order: half at the most
    # each time; the sizes come in whole elements and the errors of opposite sign, so that no order is to be seen
    assert errors[1] < 0.5 * errors[0]
    assert errors[2] < 0.5 * errors[1]
    assert errors[2] < 1e-4
