"""One conductor alone, tubes and cylinders against closed forms, and identities of the whole solution."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.arrays import Floats
from fem.materials import Material
from fem.multipole import RoundPart
from fem.solve import solve_unit_voltages, with_frequency
from fem.ties import Tie
from geometry.section_mesh import SectionMesh
from studies.formulas.round_conductor import round_conductor_internal_impedance
from studies.formulas.tubular import (
    concentric_pipe_loss,
    tube_impedances,
)
from tests.fem.layouts import (
    COPPER,
    FLAT,
    REFERENCE,
    STEEL,
    Layout,
    Solution,
    balanced,
    layout_of,
    loop_impedances,
    mesh_of,
    multipole_numbers,
    screened,
    solve,
    three_wires,
    tube,
    wire,
)

RADIUS = 0.01  # [m]
ROUNDING = 1e-9  # double precision times the condition of the linear system
REACTANCE = mu_0 / (2 * np.pi)  # inductance per neper of distance [H/m]


def frequency_for(depths: float, sigma: float = COPPER) -> float:
    """Frequency at which the radius is so many skin depths. [Hz]"""
    return float(depths**2 / (np.pi * mu_0 * sigma * RADIUS**2))


def internal_impedance(solution: Solution) -> complex:
    """Impedance of a lone part about the origin without the inductance from its surface to the return. [ohm/m]"""
    outside = 1j * solution.fields.omega * REACTANCE * np.log(REFERENCE / RADIUS)
    return complex(1 / solution.fields.admittance[0, 0] - outside)


def lone_wire(depths: float, fineness: float, mu: float = 1.0) -> tuple[complex, complex]:
    """Internal impedance by finite elements and exact. [ohm/m]"""
    frequency = frequency_for(depths, COPPER * mu)
    part = replace(wire("w", 0.0, 0.0, RADIUS), relative_permeability=mu)
    found = internal_impedance(solve(layout_of([part], [], frequency), fineness))
    return found, complex(round_conductor_internal_impedance(RADIUS, COPPER, frequency, mu))


@pytest.mark.parametrize("depths", [0.2, 0.5, 1.0, 2.0, 4.0, 8.0])  # radius in skin depths
def test_a_wire_has_its_bessel_resistance_and_internal_inductance(depths: float) -> None:
    coarse, exact = lone_wire(depths, 1.0)
    # 1.2 skin depths an element at the surface and 2.5 to the radius: 0.2 % (h/delta)^4, and 5e-5 from the arcs of
    # 2 pi/16 (theta^4/480); a study never reports from this mesh, but it starts with it
    assert abs(coarse / exact - 1) < 0.002 * min(1.2, depths / 2.5) ** 4 + 5 * 5e-5
    # the coarsest mesh that a study reports from is 1.5 times finer: five times better at fourth order
    found, _ = lone_wire(depths, 1.5)
    assert found.real == pytest.approx(exact.real, rel=1e-3)
    assert found.imag == pytest.approx(exact.imag, rel=1e-3)


@pytest.mark.parametrize(("depths", "mu"), [(0.2, 1.0), (1.0, 1.0), (2.0, 1.0), (4.0, 1.0), (8.0, 1.0), (4.0, 300.0)])
def test_a_wire_tends_to_its_bessel_impedance_at_fourth_order(depths: float, mu: float) -> None:
    errors = []
    for fineness in (2.0, 4.0, 8.0):  # all sizes halve
        found, exact = lone_wire(depths, fineness, mu)
        errors.append(abs(found / exact - 1))
    # quadratic curved triangles and a quantity that is quadratic in the field: h^4. Numbers of rings are whole, so that
    # sizes do not halve exactly: half an order of slack, which third order and a stop both miss
    assert np.log2(errors[1] / errors[2]) == pytest.approx(4, abs=0.5)
    # an element of 1.2/8 skin depths and arcs of 2 pi/128: 0.002 h^4 and theta^4/480 = 1.2e-8
    assert errors[2] < 0.002 * 0.15**4 * 2 + 5 * 1.2e-8


@pytest.mark.parametrize("mu", [1.0, 300.0])
@pytest.mark.parametrize("frequency", [50.0, 2500.0])
def test_a_tube_has_the_impedance_of_its_outer_surface(frequency: float, mu: float) -> None:
    inner, sigma = 0.0085, STEEL
    part = tube("t", 0.0, 0.0, inner, RADIUS, sigma, mu)
    found = internal_impedance(solve(layout_of([part], [], frequency), 1.5))
    exact = complex(tube_impedances(inner, RADIUS, sigma, frequency, mu).outer)
    # 0.8 skin depths an element at the surfaces: 0.005 (h/delta)^4 = 2e-3; with the wall below a skin depth only the
    # arcs of 2 pi/24 are left, theta^4/480 = 1e-5
    thick = 1.5e-3 * np.sqrt(np.pi * frequency * mu_0 * mu * sigma) > 1
    assert abs(found / exact - 1) < (2e-3 if thick else 5e-5)


@pytest.mark.parametrize("mu", [1.0, 100.0])
@pytest.mark.parametrize("frequency", [50.0, 1000.0])
def test_a_cable_in_its_pipe_has_the_coaxial_impedance_and_the_pipe_its_loss(frequency: float, mu: float) -> None:
    inner, outer, sigma = 0.02, 0.022, STEEL
    parts = [wire("core", 0.0, 0.0, RADIUS), tube("pipe", 0.0, 0.0, inner, outer, sigma, mu)]
    solution = solve(layout_of(parts, [Tie(("core",), 100.0)], frequency), 2.25)
    za, zb, zab = (complex(z) for z in tube_impedances(inner, outer, sigma, frequency, mu))
    core = complex(round_conductor_internal_impedance(RADIUS, COPPER, frequency))
    reactance = 1j * solution.fields.omega * REACTANCE
    beyond = zb + reactance * np.log(REFERENCE / outer)
    coaxial = core + reactance * np.log(inner / RADIUS) + za - 2 * zab + beyond
    exact = np.array([[coaxial, beyond - zab], [beyond - zab, beyond]])
    # 0.53 skin depths an element at the surfaces: 0.005 (h/delta)^4 = 4e-4, of a part of the impedance
    assert np.abs(np.linalg.inv(solution.fields.admittance) / exact - 1).max() < 2e-4
    assert np.abs(loop_impedances(solution.fields.admittance) / (core + reactance * np.log(2) + za) - 1).max() < 4e-4
    loss = float(concentric_pipe_loss(100.0, inner, outer, sigma, frequency, mu))
    assert solution.losses.total[1] == pytest.approx(loss, rel=4e-4)


@pytest.mark.parametrize(("mu", "sigma", "frequency"), [(1.0, 3.5e7, 50.0), (1.0, 3.5e7, 400.0), (300.0, STEEL, 50.0)])
def test_a_cylinder_shields_the_field_of_a_far_line_pair_by_the_closed_form(
    mu: float, sigma: float, frequency: float
) -> None:
    radius, wall, far = 0.1, 2e-3, 1.5
    parts = [tube("s", 0, 0, radius - wall / 2, radius + wall / 2, sigma, mu), wire("l", -far, 0), wire("r", far, 0)]
    ties = [Tie(("l",), 100.0), Tie(("r",), -100.0)]
    solution = solve(layout_of(parts, ties, frequency), 1.5)
    inside = solution.field(np.array([[0.0, 0.0]]))[0]
    k = np.sqrt(2j * np.pi * frequency * mu_0 * mu * sigma)
    ratio = k * radius / mu
    # transverse field in a thin cylinder: Kaden; L. V. King, Phil. Mag. 15, 1933 [M]
    shielding = np.cosh(k * wall) + 0.5 * (ratio + 1 / ratio) * np.sinh(k * wall)
    # the form takes the wall as thin: up to 2 t/a from exact
    assert abs(inside[1] * shielding / (mu_0 * 100.0 / (np.pi * far)) - 1) < 2 * wall / radius
    layout = solution.layout
    exact = multipole_numbers(parts, layout, np.array([[0.0, 0.0]])).field[0]
    # field inside: 24 arcs of the tube, and a wall of up to two skin depths in elements of 0.8 of one
    assert np.linalg.norm(inside - exact) < 5e-4 * np.linalg.norm(exact)
    assert abs(inside[0]) < 1e-3 * abs(inside[1])  # by symmetry; the air mesh is not symmetrical


def mirrored_steel(frequency: float = 50.0) -> Layout:
    """Three screened cables and a steel pipe beside them: losses of every kind, nothing symmetrical."""
    pipe = RoundPart("pipe", (0.03, 0.06), 0.015, 0.012, STEEL, 300 - 90j)
    return layout_of([*screened(FLAT), pipe], balanced(), frequency)


def test_reciprocity_and_power_balance_hold_to_rounding() -> None:
    for frequency in (50.0, 400.0):
        solution = solve(mirrored_steel(frequency))
        assert solution.losses.magnetic[-1] > 1e-3 * solution.losses.joule[-1]  # there is hysteresis
        assert solution.checks.reciprocity < 1e-12
        # identities of the discrete system; the power is the small real part of products with X/R of 100
        assert solution.checks.power_balance < ROUNDING
        y = solution.fields.admittance
        assert np.abs(y - y.T).max() < 1e-12 * np.abs(y).max()
        # passive: no voltages draw negative power
        assert np.linalg.eigvalsh((y + y.conj().T) / 2).min() > 0


def moved(mesh: SectionMesh, turn: complex, shift: complex) -> SectionMesh:
    """The same mesh turned, stretched and moved: z -> turn z + shift."""
    z = (mesh.points[:, 0] + 1j * mesh.points[:, 1]) * turn + shift
    centre = complex(*mesh.circle_centre) * turn + shift
    return replace(
        mesh,
        points=np.stack([z.real, z.imag], axis=1),
        circle_centre=(centre.real, centre.imag),
        circle_radius=mesh.circle_radius * abs(turn),
    )


def turned(points: Floats, turn: complex, shift: complex) -> Floats:
    z = (points[:, 0] + 1j * points[:, 1]) * turn + shift
    return np.stack([z.real, z.imag], axis=1)


POINTS = np.array([[0.03, 0.03], [-0.15, 0.1], [0.5, -0.3], [3.0, 1.0]])


@pytest.mark.parametrize(("turn", "shift"), [(1j, 0.0), (np.exp(0.7j), 0.4 - 0.2j), (1.0, 3 + 7j)])
def test_turning_and_moving_the_mesh_turns_the_field_and_nothing_else(turn: complex, shift: complex) -> None:
    layout = mirrored_steel()
    first = solve(layout)
    second = solve(layout, moved(first.mesh, turn, shift))
    assert np.abs(second.fields.admittance / first.fields.admittance - 1).max() < ROUNDING
    assert second.losses.total == pytest.approx(first.losses.total, rel=ROUNDING)
    before, after = first.field(POINTS), second.field(turned(POINTS, turn, shift))
    spin = np.array([[turn.real, -turn.imag], [turn.imag, turn.real]])
    spun = before @ spin.T
    # rounding, times a few thousand for differences of potentials; the points of the averaging circle do not turn
    # with the mesh, which at other angles than a quarter makes a difference of the field's own error
    bound = 1e-6 if turn in (1j, 1.0) else 3e-4
    assert np.all(np.linalg.norm(after - spun, axis=1) < bound * np.linalg.norm(before, axis=1))


def test_meshing_a_moved_and_turned_layout_anew_changes_results_by_the_mesh_error_alone() -> None:
    places = [(x, y) for x, y in FLAT]
    upright = [(-y + 1.3, x - 0.4) for x, y in FLAT]
    first = solve(layout_of(screened(places), balanced(), 50.0))
    second = solve(layout_of(screened(upright), balanced(), 50.0))
    # the meshes of the solids are the same but for a shift of the numbering; that of the air is another
    assert second.losses.total == pytest.approx(first.losses.total, rel=2e-4)
    assert np.abs(second.drive.voltages / first.drive.voltages - 1).max() < 2e-4


@pytest.mark.parametrize("k", [10.0, 0.03])
def test_lengths_times_k_and_conductivities_over_k_squared_leave_the_admittance(k: float) -> None:
    # j w sigma mu L^2 and sigma L^2 stay: so do E, currents and, per current, B L
    layout = mirrored_steel()
    first = solve(layout)
    scaled = {
        name: Material(material.conductivity / k**2, material.relative_permeability)
        for name, material in layout.materials.items()
    }
    second = solve(replace(layout, materials=scaled), moved(first.mesh, k, 0.0), REFERENCE * k)
    assert np.abs(second.fields.admittance / first.fields.admittance - 1).max() < ROUNDING
    assert second.losses.total == pytest.approx(first.losses.total, rel=ROUNDING)
    assert np.abs(k * second.field(k * POINTS) / first.field(POINTS) - 1).max() < 1e-6


def test_frequency_times_k_and_conductivity_over_k_divide_the_admittance_by_k() -> None:
    k, layout = 8.0, mirrored_steel()
    first = solve(layout)
    scaled = {
        name: Material(material.conductivity / k, material.relative_permeability)
        for name, material in layout.materials.items()
    }
    second = solve(replace(layout, materials=scaled, frequency=k * layout.frequency), first.mesh)
    assert np.abs(k * second.fields.admittance / first.fields.admittance - 1).max() < ROUNDING


def test_fields_of_parts_add_up() -> None:
    solution = solve(layout_of(three_wires(FLAT), balanced(), 50.0))
    fields, u = solution.fields, solution.drive.voltages
    one = sum(fields.potential(np.where(np.arange(3) == k, u, 0)) for k in range(3))
    assert np.abs(one - solution.nodal).max() < 1e-12 * np.abs(solution.nodal).max()


def test_a_part_of_two_regions_is_the_sum_of_both() -> None:
    layout = layout_of(three_wires(FLAT), balanced(), 50.0)
    mesh = mesh_of(layout)
    apart = solve_unit_voltages(mesh, layout.materials, 50.0)
    joined = solve_unit_voltages(mesh, layout.materials, 50.0, {"pair": ("a", "c"), "b": ("b",)})
    member = np.array([[1.0, 0.0], [0.0, 1.0], [1.0, 0.0]])
    assert np.abs(joined.admittance / (member.T @ apart.admittance @ member) - 1).max() < ROUNDING


def test_air_is_what_no_material_is_given_for() -> None:
    mesh = mesh_of(layout_of(three_wires(FLAT), [], 50.0))
    alone = solve_unit_voltages(mesh, {"b": Material(COPPER)}, 50.0)
    assert alone.part_names == ("b",)
    internal = round_conductor_internal_impedance(0.009, COPPER, 50.0)
    exact = complex(internal) + 1j * alone.omega * REACTANCE * np.log(REFERENCE / 0.009)
    # the mesh around it is that of three cables: arcs of 2 pi/16, 5e-5 of the resistance
    assert abs(1 / alone.admittance[0, 0] / exact - 1) < 1e-4


@pytest.mark.parametrize("frequency", [0.0, -50.0, np.nan, np.inf])
def test_a_frequency_that_is_none_is_refused(frequency: float) -> None:
    mesh = mesh_of(layout_of(three_wires(FLAT), [], 50.0))
    with pytest.raises(ValueError, match="frequency"):
        solve_unit_voltages(mesh, {}, frequency)


def test_a_material_for_an_unknown_region_is_named() -> None:
    mesh = mesh_of(layout_of(three_wires(FLAT), [], 50.0))
    with pytest.raises(ValueError, match="nowhere"):
        solve_unit_voltages(mesh, {"nowhere": Material(COPPER)}, 50.0)


@pytest.mark.parametrize(
    ("conductivity", "mu", "named"),
    [(-1.0, 1.0, "conductivity"), (np.nan, 1.0, "conductivity"), (1.0, 0.0, "permeability"), (1.0, 2 + 1j, "permeab")],
)
def test_materials_that_are_not_passive_are_refused(conductivity: float, mu: complex, named: str) -> None:
    with pytest.raises(ValueError, match=named):
        Material(conductivity, mu)


def test_another_frequency_on_the_same_assembly_is_a_solve_of_its_own() -> None:
    layout = layout_of(three_wires(FLAT), [], 50.0)
    mesh, materials = mesh_of(layout), layout.materials
    first = solve_unit_voltages(mesh, materials, 50.0)
    again, own = with_frequency(first, 250.0), solve_unit_voltages(mesh, materials, 250.0)
    assert again.frequency == 250.0
    assert again.mesh is mesh
    assert again.admittance == pytest.approx(own.admittance, rel=ROUNDING, abs=ROUNDING * np.abs(own.admittance).max())
    assert np.abs(again.admittance - first.admittance).max() > 0.01 * np.abs(own.admittance).max()
    with pytest.raises(ValueError, match="frequency"):
        with_frequency(first, 0.0)
