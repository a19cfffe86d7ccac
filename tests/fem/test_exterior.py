"""The exact exterior: Fourier series of known harmonic fields, far decay, and independence of its circle."""

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.arrays import Complexes, Floats
from fem.exterior import HARMONICS, exterior_of
from fem.ties import Tie
from tests.fem.layouts import (
    FLAT,
    PHASES,
    TREFOIL,
    Layout,
    balanced,
    layout_of,
    loop_impedances,
    mesh_of,
    screened,
    solve,
    three_wires,
    wire,
)

REFERENCE = 1000.0  # [m]
MESH = mesh_of(layout_of(three_wires(FLAT), balanced(), 50.0))
EXTERIOR = exterior_of(MESH, REFERENCE)
CENTRE = complex(*MESH.circle_centre)
R = MESH.circle_radius
ANGLES = np.linspace(0.1, 6.3, 23)
EDGE = 2 * np.pi / len(MESH.circle_edges())


def ring(radius: float) -> Floats:
    z = CENTRE + radius * np.exp(1j * ANGLES)
    return np.stack([z.real, z.imag], axis=1)


def lines(sources: list[tuple[complex, float]], points: Floats) -> tuple[Complexes, Complexes]:
    """A and (Bx, By) of line currents at places inside the circle. [Wb/m, T]"""
    z = points[:, 0] + 1j * points[:, 1]
    potential = np.zeros(len(z), dtype=complex)
    field = np.zeros((len(z), 2), dtype=complex)
    for place, current in sources:
        d = z - place
        potential += mu_0 * current / (2 * np.pi) * np.log(REFERENCE / np.abs(d))
        field += mu_0 * current / (2 * np.pi) * np.stack([-d.imag, d.real], axis=1) / (np.abs(d) ** 2)[:, None]
    return potential, field


@pytest.mark.parametrize("sources", [[(0.4, 1.0), (-0.4, -1.0)], [(0.3 + 0.2j, 2.0), (-0.5j, -0.5)], [(0.0, 1.0)]])
@pytest.mark.parametrize("ratio", [1.0, 1.3, 10.0])
def test_line_currents_inside_are_continued_outside(sources: list[tuple[complex, float]], ratio: float) -> None:
    places = [(CENTRE + place * R, current) for place, current in sources]
    nodal, _ = lines(places, MESH.points)
    coefficients = EXTERIOR.coefficients(nodal)
    points = ring(ratio * R)
    potential, field = lines(places, points)
    # nodal values are interpolated by quadratics over edges of 2 pi/48: (n EDGE)^3/200 of each harmonic n, which at
    # half the radius falls as 2^-n; a dipole and more
    scale = np.abs(field).max() * R
    assert np.abs(EXTERIOR.potential(coefficients, points) - potential).max() < 2e-4 * scale * ratio
    assert np.abs(EXTERIOR.field(coefficients, points) - field).max() < 1e-3 * np.abs(field).max()


def test_the_field_of_the_series_is_the_curl_of_its_potential() -> None:
    rng = np.random.default_rng(1)
    coefficients = rng.normal(size=2 * HARMONICS + 1) + 1j * rng.normal(size=2 * HARMONICS + 1)
    points, step = ring(1.4 * R), 1e-6 * R
    slopes = [
        (EXTERIOR.potential(coefficients, points + d) - EXTERIOR.potential(coefficients, points - d)) / (2 * step)
        for d in (np.array([step, 0]), np.array([0, step]))
    ]
    field = EXTERIOR.field(coefficients, points)
    # differences over 1e-6 R: rounding 1e-16/1e-6, truncation (32 x 1e-6)^2
    assert np.abs(field - np.stack([slopes[1], -slopes[0]], axis=1)).max() < 1e-8 * np.abs(field).max()


@pytest.mark.parametrize("n", [0, 1, 2, 5, 9])
def test_the_block_has_the_energy_of_each_harmonic_outside(n: int) -> None:
    place = MESH.points[EXTERIOR.nodes] - MESH.circle_centre
    wave = np.cos(n * np.arctan2(place[:, 1], place[:, 0]))
    # energy outside of cos(n theta): pi n/mu0; of 1: 2 pi/(mu0 ln(Rref/R)); interpolation costs up to (n EDGE)^4/720
    exact = np.pi * n / mu_0 if n else 2 * np.pi / (mu_0 * np.log(REFERENCE / R))
    assert wave @ EXTERIOR.block() @ wave == pytest.approx(exact, rel=(n * EDGE) ** 4 / 300 + 1e-9)
    matrix = EXTERIOR.matrix(len(MESH.points))
    full = np.zeros(len(MESH.points))
    full[EXTERIOR.nodes] = wave
    assert full @ (matrix @ full) == pytest.approx(wave @ EXTERIOR.block() @ wave, rel=1e-12)


def decay_power(layout: Layout) -> tuple[Floats, float]:
    """Local powers of the field's fall from 2 to 20 m, and the least field. [-, T]"""
    solution = solve(layout)
    distances = np.geomspace(2.0, 20.0, 6)
    sizes = []
    for r in distances:
        points = r * np.stack([np.cos(ANGLES), np.sin(ANGLES)], axis=1)
        sizes.append(np.sqrt(np.mean(np.sum(np.abs(solution.field(points)) ** 2, axis=1))))
    powers: Floats = -np.diff(np.log(sizes)) / np.diff(np.log(distances))
    return powers, float(sizes[-1])


def double_circuit(second: tuple[int, int, int]) -> Layout:
    """Two flat circuits above each other, 0.3 m apart, on one axis; phases of the second as indices."""
    parts = [wire(f"{row}{k}", x, 0.15 * (1 - 2 * row)) for row in range(2) for k, (x, _) in enumerate(FLAT)]
    phases = [0, 1, 2, *second]
    return layout_of(parts, [Tie((p.name,), 100 * PHASES[k]) for p, k in zip(parts, phases, strict=True)], 50.0)


def test_a_balanced_flat_circuit_falls_with_the_square_of_the_distance() -> None:
    powers, _ = decay_power(layout_of(three_wires(FLAT), balanced(), 50.0))
    # next term: (s/r)^2 = 8e-4 at 2 m
    assert powers == pytest.approx(2, abs=2e-3)


def test_a_net_current_falls_with_the_distance_and_has_the_field_of_a_line() -> None:
    ties = [*balanced()[:2], Tie(("c",), 100 * PHASES[2] + 5.0)]
    layout = layout_of(three_wires(((-0.002 - 0.018, 0), (0, 0), (0.02, 0))), ties, 50.0)
    powers, last = decay_power(layout)
    # the balanced rest falls faster: sqrt(3) 100 A x 0.02 m/(5 A r) at 2 m is 0.35, which adds up in squares
    assert np.all((powers > 1) & (powers < 1.15))
    assert powers[-1] == pytest.approx(1, abs=5e-3)
    assert last == pytest.approx(mu_0 * 5 / (2 * np.pi * 20), rel=(np.sqrt(3) * 20 * 0.02 / 20) ** 2)


def test_a_double_circuit_falls_with_the_square_and_in_low_reactance_order_with_the_cube() -> None:
    alike, last_alike = decay_power(double_circuit((0, 1, 2)))
    opposed, last_opposed = decay_power(double_circuit((2, 1, 0)))
    # next terms: (0.15/r)^2 = 6e-3 at 2 m, and its square
    assert alike == pytest.approx(2, abs=2e-2)
    # beneath the quadrupole lies what the dipoles of the two circuits do not cancel: the mesh error of 1e-4 of one,
    # which falls slower: 1e-4 x 20 m/0.3 m of the quadrupole at the far end
    assert opposed == pytest.approx(3, abs=3e-2)
    assert last_opposed < last_alike * 0.3 / 20 * 2


def test_with_no_net_current_the_reference_radius_does_not_matter() -> None:
    layout = layout_of(screened(TREFOIL), balanced(), 400.0)
    mesh = mesh_of(layout)
    points = np.array([[0.03, 0.03], [0.5, -0.3], [3.0, 1.0]])
    near, far = solve(layout, mesh, 1.1 * mesh.circle_radius), solve(layout, mesh, 1e6)
    # exact in the discrete system: rounding, times the condition of subtracting the common inductance
    assert np.abs(near.losses.total / far.losses.total - 1).max() < 1e-8
    assert np.abs(near.field(points) / far.field(points) - 1).max() < 1e-8
    loops = [loop_impedances(each.fields.admittance) for each in (near, far)]
    assert np.abs(loops[0] / loops[1] - 1).max() < 1e-8


def test_with_net_current_the_reference_radius_adds_its_logarithm() -> None:
    layout = layout_of([wire("a", 0.0, 0.0)], [Tie(("a",), 1.0)], 50.0)
    mesh = mesh_of(layout)
    z = [complex(1 / solve(layout, mesh, radius).fields.admittance[0, 0]) for radius in (10.0, 1000.0)]
    assert z[1] - z[0] == pytest.approx(1j * 2 * np.pi * 50 * mu_0 / (2 * np.pi) * np.log(100), rel=1e-9)


@pytest.mark.parametrize("ratio", [1.2, 2.5, 4.0])
def test_the_size_of_the_circle_changes_results_by_the_mesh_error_alone(ratio: float) -> None:
    layout = layout_of(screened(FLAT), balanced(), 50.0)
    points = np.array([[0.5, -0.3], [3.0, 1.0], [-20.0, 0.0]])
    usual, other = solve(layout), solve(layout, mesh_of(layout, outer_ratio=ratio))
    # the solids have the same meshes; the air between has others. With 1.2 the series leaves (1/1.2)^33 = 0.2 % of the
    # highest harmonics out, of which the field of three cables has next to nothing
    assert np.abs(other.losses.total / usual.losses.total - 1).max() < 3e-4
    assert np.abs(other.field(points) - usual.field(points)).max(axis=1) == pytest.approx(
        0, abs=5e-4 * np.abs(usual.field(points)).max()
    )


def test_a_reference_radius_inside_the_mesh_is_refused() -> None:
    with pytest.raises(ValueError, match="reference_radius"):
        exterior_of(MESH, MESH.circle_radius)
