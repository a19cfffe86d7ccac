"""Flux density and potential at points: in metal, in air near and far, at the seams, and the gain of averaging."""

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.arrays import Complexes, Floats
from fem.field import FieldProbe
from fem.locate import Locator
from fem.mesh import shape_values
from fem.multipole import RoundSolution, solve_round_parts
from fem.ties import drive
from tests.fem.layouts import (
    FLAT,
    REFERENCE,
    Solution,
    balanced,
    layout_of,
    mesh_of,
    multipole_numbers,
    screened,
    solve,
    three_wires,
)

ROUNDS = screened(FLAT)
LAYOUT = layout_of(ROUNDS, balanced(), 50.0)
RNG = np.random.default_rng(20)


@pytest.fixture(scope="module")
def solution() -> Solution:
    return solve(LAYOUT, 1.5)  # the coarsest mesh that a study reports from


@pytest.fixture(scope="module")
def series() -> RoundSolution:
    return solve_round_parts(ROUNDS, LAYOUT.frequency, REFERENCE)


def test_every_point_is_found_in_a_triangle_that_holds_it() -> None:
    # coarse arcs of 2 pi/16 bow by 0.21 mm: over all layers of a screen of 0.1 mm
    mesh = mesh_of(layout_of(screened(FLAT, 1e-4), balanced(), 50.0))
    number = np.repeat(np.arange(len(mesh.triangles)), 10)
    local = 0.001 + 0.997 * RNG.dirichlet([1, 1, 1], len(number))[:, :2]
    points = np.einsum("qn,qni->qi", shape_values(local), mesh.points[mesh.triangles[number]])
    places = Locator(mesh).places(points)
    held = places.triangle >= 0
    # the sliver between the rim's chords and the circle counts as outside: the series has it
    rim = np.linalg.norm(points - mesh.circle_centre, axis=1) > mesh.circle_radius * np.cos(np.pi / 48) - 1e-9
    assert np.all(held | rim)
    back = np.einsum("qn,qni->qi", shape_values(places.local), mesh.points[mesh.triangles[places.triangle]])
    assert np.abs(back - points)[held].max() < 1e-12  # [m] rounding of Newton's method
    assert np.array_equal(places.triangle[held], number[held])


def test_corners_and_points_on_edges_are_inside(solution: Solution) -> None:
    corners = solution.mesh.points[np.unique(solution.mesh.triangles[:, :3])]
    from_centre = np.linalg.norm(corners - solution.mesh.circle_centre, axis=1)
    inside = corners[from_centre < 0.999 * solution.mesh.circle_radius]
    assert Locator(solution.mesh).places(inside).triangle.min() >= 0


def test_points_beyond_the_mesh_are_in_no_triangle(solution: Solution) -> None:
    angle = np.linspace(0, 2 * np.pi, 50)
    out = solution.mesh.circle_radius * 1.0001 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    assert Locator(solution.mesh).places(out + solution.mesh.circle_centre).triangle.max() == -1


@pytest.mark.parametrize(
    ("points", "bound"),
    [
        # air a cable's radius and more from metal: the error of A, 1e-6 of its size, over the clear distance
        (np.array([[0.028, 0.0], [0.03, 0.03], [0.0, -0.05], [0.09, 0.02]]), 2e-4),
        (np.array([[-0.056, 0.014]]), 2e-3),  # 3 mm above a screen: the same error over a shorter distance
        (np.array([[0.0, 0.0098], [-0.056 + 0.0099, 0.0]]), 5e-3),  # between conductor and screen, 1.7 mm apart
        (np.array([[0.3, 0.0], [0.0, 5.0], [-20.0, 20.0]]), 5e-6),  # beyond the mesh: the solids' fourth order
        # in metal B is the element's slope: second order, five elements to the radius
        (np.array([[0.004, 0.003], [-0.05, 0.002], [0.056, -0.007]]), 4e-2),
    ],
)
def test_the_field_is_that_of_the_series_everywhere(
    solution: Solution, series: RoundSolution, points: Floats, bound: float
) -> None:
    exact = multipole_numbers(ROUNDS, LAYOUT, points).field
    error = np.linalg.norm(solution.field(points) - exact, axis=1) / np.linalg.norm(exact, axis=1)
    assert error.max() < bound


def test_the_potential_is_that_of_the_series_everywhere(solution: Solution, series: RoundSolution) -> None:
    points = np.array([[0.0, 0.0], [0.028, 0.0], [0.0, 0.0098], [0.0, 0.0108], [0.1, 0.05], [0.2, 0.3], [5.0, 5.0]])
    state = drive(series.admittance, [part.name for part in ROUNDS], LAYOUT.ties)
    exact = series.vector_potential(state.voltages, points)
    found = FieldProbe(solution.fields).potential(solution.nodal, points)
    # third order in the size, five elements to the radius: (1/5)^3/24 of what A varies by in a conductor
    assert np.abs(found - exact).max() < 3e-4 * np.abs(exact).max()


def test_averaging_over_a_circle_beats_the_slope_of_an_element() -> None:
    layout = layout_of(three_wires(FLAT), balanced(), 50.0)
    angle = 2 * np.pi * np.arange(40) / 40
    points = np.stack([0.028 + 0.013 * np.cos(angle), 0.02 + 0.013 * np.sin(angle)], axis=1)
    exact = multipole_numbers(three_wires(FLAT), layout, points).field
    errors = []
    for fineness in (1.0, 4.0):
        solution = solve(layout, fineness)
        probe = FieldProbe(solution.fields)
        both = (probe.flux_density(solution.nodal, points), probe.flux_density_raw(solution.nodal, points))
        errors.append([np.sqrt(np.mean(np.abs(field - exact) ** 2)) for field in both])
    size = np.sqrt(np.mean(np.abs(exact) ** 2))
    (averaged, raw), (finer_averaged, finer_raw) = errors
    assert raw < 0.02 * size  # the slope is itself right to second order
    assert averaged < raw / 10
    assert finer_averaged < finer_raw / 30
    # over two halvings: slopes of quadratics are of second order; the average of A is of third, and what a circle
    # averages out comes on top. Meshes of air are not quite halved.
    assert np.log2(raw / finer_raw) / 2 == pytest.approx(2, abs=0.4)
    assert np.log2(averaged / finer_averaged) / 2 > 2.3


def test_a_map_has_the_field_of_its_points_from_half_of_the_samples(solution: Solution, monkeypatch) -> None:
    """Solids, air beside them and beyond the mesh; one circle serves many points as well as each point its own."""
    x, y = np.linspace(-0.06, 0.12, 50), np.linspace(-0.04, 0.09, 40)
    points = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    probe, sampled = FieldProbe(solution.fields), []
    potential = probe.potential

    def counted(nodal: Complexes, at: Floats) -> Complexes:
        sampled.append(len(at))
        return potential(nodal, at)

    monkeypatch.setattr(probe, "potential", counted)
    found = [probe.flux_density_of_map(solution.nodal, points), probe.flux_density(solution.nodal, points)]
    exact = multipole_numbers(ROUNDS, LAYOUT, points).field
    of_map, single = (np.linalg.norm(field - exact, axis=1) / np.linalg.norm(exact, axis=1) for field in found)
    assert np.quantile(of_map, 0.9) < 1.3 * np.quantile(single, 0.9)  # other circles, errors of one size
    assert of_map.max() < 1.1 * single.max()
    assert sum(sampled[:-1]) < sampled[-1] / 2


def test_the_field_is_one_on_both_sides_of_the_outer_circle(solution: Solution) -> None:
    angle = np.linspace(0, 2 * np.pi, 37)
    circle = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    centre, radius = solution.mesh.circle_centre, solution.mesh.circle_radius
    inside, outside = (solution.field(centre + s * radius * circle) for s in (1 - 1e-6, 1 + 1e-6))
    size = np.abs(outside).max()
    # inside the average over a circle that reaches from the mesh into the series, outside the series
    assert np.abs(inside - outside).max() < 1e-3 * size


def test_free_distances_are_those_to_the_nearest_surface(solution: Solution) -> None:
    points = np.array([[0.028, 0.0], [0.0, 0.0], [0.0, 0.0108], [0.0, 0.05], [0.0, 0.00985], [1.0, 0.0]])
    # half the gap between screens of 10.9 mm; in metal twice; above a screen; in the insulation; beyond the mesh
    expected = [0.028 - 0.0109, 0.0, 0.0, 0.05 - 0.0109, 0.00085, 1.0 - 0.056 - 0.0109]
    # measured from chords of half the edges: 24 edges to the round, arcs of 2 pi/48, stand out by r theta^2/8
    bow = 0.0109 * (2 * np.pi / 48) ** 2 / 8
    assert FieldProbe(solution.fields).free_distance(points) == pytest.approx(expected, abs=bow)
    angle = np.linspace(0, 2 * np.pi, 97)
    around = 0.0115 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    away = FieldProbe(solution.fields).free_distance(around)
    assert away == pytest.approx(np.full(97, 0.0115 - 0.0109), abs=bow)
    assert np.ptp(away) > 0.1 * bow  # chords are seen at all


def test_the_field_of_a_lone_wire_is_amperes_inside_and_out() -> None:
    wire = three_wires(FLAT)[1:2]
    layout = layout_of(wire, [], 0.01)  # so slow that the current is spread evenly
    solution = solve(layout, 2.0)
    volts = np.array([100.0 / solution.fields.admittance[0, 0]])
    radii = np.array([0.003, 0.006, 0.012, 0.05, 1.0])
    points = np.stack([radii, 0 * radii], axis=1)
    field = FieldProbe(solution.fields).flux_density(solution.fields.potential(volts), points)
    enclosed = 100 * np.minimum(radii / 0.009, 1) ** 2
    exact = mu_0 * enclosed / (2 * np.pi * radii)
    # inside the slope of bowed quadratics, second order with five elements to the radius; outside the average
    assert field[:2, 1] == pytest.approx(exact[:2], rel=1e-2)
    assert field[2:, 1] == pytest.approx(exact[2:], rel=1e-3)
    assert np.abs(field[:, 0]).max() < 1e-2 * np.abs(field).max()


def test_points_keep_their_order_however_many(solution: Solution) -> None:
    points = RNG.uniform(-0.2, 0.2, (700, 2))  # more than one chunk of the search
    together = solution.field(points)
    assert together.shape == (700, 2)
    for k in (0, 255, 256, 699):
        assert solution.field(points[k : k + 1])[0] == pytest.approx(together[k], rel=1e-12)
    assert solution.field(np.empty((0, 2))).shape == (0, 2)


def test_a_thin_screen_does_not_upset_the_search() -> None:
    mesh = mesh_of(layout_of(screened(FLAT, 1e-4), balanced(), 50.0))
    points = np.array([[0.0, 0.0107 + 5e-5], [0.056, -0.0107 - 5e-5], [0.0107 + 5e-5, 0.0]])
    places = Locator(mesh).places(points)
    assert [mesh.names[mesh.regions[t]] for t in places.triangle] == ["sb", "sc", "sb"]
