"""Groups on meshes of their own against the exact series, one joint mesh and one joint system of equations."""

from dataclasses import replace

import numpy as np
import pytest

from fem.curve_data import CURVES
from fem.field import FieldProbe
from fem.groups import GroupedAssembly, GroupedExterior, coupling_order
from fem.losses import losses
from fem.magnetisation import Steel
from fem.materials import Material
from fem.multipole import RoundPart
from fem.nonlinear import solve_saturating
from fem.solve import solve_symmetric, solve_unit_voltages, with_groups_at, with_reluctivity
from fem.ties import Tie
from geometry.groups import GroupedMesh, far_groups, mesh_groups, moved_groups
from geometry.meshing import mesh_section
from geometry.shapes import Disc, Region, Section, wall_along
from geometry.sizing import MeshSizes
from tests.fem.layouts import (
    REFERENCE,
    STEEL,
    Layout,
    Solution,
    balanced,
    differences,
    layout_of,
    multipole_numbers,
    numbers,
    solve,
    wire,
)

POINTS = np.array([(0.4, 0.2), (0.05, 0.06), (1.3, -0.8), (-0.7, 0.1), (0.79, 0.36)])
"""Between, beside and beyond the groups, two of them within a circle."""
ROUNDS = (
    *(wire(name, 0.06 * k, 0.0, 0.012) for k, name in enumerate(("a", "b", "c"))),
    wire("p", 0.8, 0.3, 0.015),
    replace(wire("q", 0.85, 0.31, 0.01, STEEL), relative_permeability=100.0),
)
"""Three loaded wires, and two of copper and steel far from them that form a loop."""


def trays(places: tuple[tuple[float, float], ...]) -> Layout:
    """Two wires over a steel channel at each place, the first with the largest current."""
    wires: list[RoundPart] = []
    walls = []
    ties: list[Tie] = []
    for g, (x, y) in enumerate(places):
        wires += [wire(f"{k}{g}", x + dx, y, 0.012) for k, dx in (("a", -0.04), ("b", 0.03))]
        path = [(x - 0.08, y + 0.03), (x - 0.08, y - 0.02), (x + 0.08, y - 0.02), (x + 0.08, y + 0.03)]
        walls.append((f"t{g}", wall_along(path, 0.003), Material(STEEL, 200.0)))
        current = 400.0 - 100.0j * g
        ties += [Tie((f"a{g}",), current), Tie((f"b{g}",), -current)]
    return layout_of(wires, ties, 50.0, walls)


def grouped(layout: Layout, fineness: float) -> Solution:
    mesh = mesh_groups(layout.section, MeshSizes(fineness=fineness))
    assert isinstance(mesh, GroupedMesh)
    return solve(layout, mesh)


def test_round_parts_in_two_groups_have_the_numbers_of_the_exact_series() -> None:
    layout = layout_of(ROUNDS, [*balanced(), Tie(("p", "q"))], 50.0)
    found = grouped(layout, 2.0)
    far = differences(numbers(found, POINTS), multipole_numbers(ROUNDS, layout, POINTS))
    # as one mesh of this fineness, see test_second_method; the joined wires carry what the loaded ones induce
    assert max(far.values()) < 1e-3, far
    assert found.checks.power_balance < 1e-9
    assert found.checks.reciprocity < 1e-9


def test_groups_and_one_joint_mesh_agree_in_currents_losses_and_field() -> None:
    layout = trays(((0.0, 0.0), (0.6, 0.1), (0.1, 0.7)))
    found, joint = grouped(layout, 1.5), solve(layout, 1.5)
    one, other = numbers(found, POINTS), numbers(joint, POINTS)
    assert np.abs(one.currents - other.currents).max() < 1e-4 * np.abs(other.currents).max()
    # an error of the metal's mesh is common to both; what is left is that of the air, a few 1e-5
    assert np.abs(one.losses / other.losses - 1).max() < 1e-4
    assert differences(one, other)["impedance"] < 1e-4
    assert np.linalg.norm(one.field - other.field, axis=1) == pytest.approx(
        np.zeros(len(POINTS)), abs=3e-4 * np.linalg.norm(other.field, axis=1).max()
    )


@pytest.fixture(scope="module")
def coarse() -> Solution:
    return grouped(trays(((0.0, 0.0), (0.55, 0.1), (0.1, 0.7))), 0.6)


def test_group_by_group_is_the_solution_of_the_joint_equations(coarse: Solution) -> None:
    fields = coarse.fields
    assembly, omega = fields.assembly, fields.omega
    assert isinstance(assembly, GroupedAssembly)
    exterior = assembly.exterior.matrix(len(fields.mesh.points))
    assert abs(exterior - exterior.T).max() < 1e-9 * abs(exterior).max()
    system = (assembly.stiffness(fields.reluctivity) + 1j * omega * assembly.mass + exterior).tocsc()
    nodal = solve_symmetric(system, assembly.part_vectors.astype(complex))
    unit = np.eye(len(fields.part_names), dtype=complex)
    assert np.abs(fields.potentials @ unit - nodal).max() < 1e-9 * np.abs(nodal).max()  # rounding of two solves
    own = np.diag(assembly.part_vectors.sum(axis=0)) - 1j * omega * assembly.part_vectors.T @ nodal
    assert np.abs(fields.admittance - own).max() < 1e-9 * np.abs(own).max()


def test_equal_groups_share_mesh_and_matrices_and_see_each_other_alike(coarse: Solution) -> None:
    assembly, mesh = coarse.fields.assembly, coarse.mesh
    assert isinstance(assembly, GroupedAssembly)
    assert isinstance(mesh, GroupedMesh)
    assert len({id(group.mesh) for group in mesh.groups}) == len({id(member) for member in assembly.members}) == 1
    one = Region("a", Disc((0.0, 0.0), 0.01))
    other = Region("b", Disc((3.0, 1.0), 0.01 + 1e-6))
    different = mesh_groups(Section((one, other)), MeshSizes(fineness=0.6))
    assert isinstance(different, GroupedMesh)
    assert different.groups[0].mesh is not different.groups[1].mesh


def test_the_series_goes_on_where_the_mesh_of_a_group_ends(coarse: Solution) -> None:
    exterior = coarse.fields.exterior
    assert isinstance(exterior, GroupedExterior)
    member, angle = exterior.members[1], np.linspace(0, 2 * np.pi, 7)
    around = np.asarray(member.centre) + member.radius * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    inside, outside = (np.asarray(member.centre) + (around - member.centre) * f for f in (0.999, 1.001))
    probe = FieldProbe(coarse.fields)
    assert not exterior.beyond(inside).any()
    assert exterior.beyond(outside).all()
    near, beyond = probe.flux_density(coarse.nodal, inside), probe.flux_density(coarse.nodal, outside)
    # 0.2 % of the radius apart, on a mesh of 29 edges of the circle
    assert np.abs(near - beyond).max() < 0.02 * np.abs(near).max()


def test_the_reluctivity_of_one_group_alone_may_change(coarse: Solution) -> None:
    fields = coarse.fields
    own = fields.mesh.regions == fields.mesh.names.index("t1")
    changed = with_reluctivity(fields, np.where(own, 10 * fields.reluctivity, fields.reluctivity))
    layout = coarse.layout
    stated = {**layout.materials, "t1": Material(STEEL, 20.0)}
    direct = solve_unit_voltages(coarse.mesh, stated, layout.frequency, None, REFERENCE)
    assert np.array_equal(changed.admittance, direct.admittance)
    assert np.abs(changed.admittance - fields.admittance).max() > 1e-4 * np.abs(fields.admittance).max()


def test_solids_near_each_other_are_of_one_group_whatever_their_order() -> None:
    solids = [Region(f"{k}", Disc((x, 0.0), 0.01)) for k, x in enumerate((0.0, 1.0, 0.03, 1.03, 5.0, 0.06))]
    assert far_groups(Section(tuple(solids))) == [(0, 2, 5), (1, 3), (4,)]
    lid = Region("lid", wall_along([(-0.1, 0.1), (1.1, 0.1)], 0.002))
    assert far_groups(Section((*solids, lid))) == [(0, 1, 2, 3, 5, 6), (4,)]
    assert not isinstance(mesh_groups(Section((*solids[:1], solids[2]))), GroupedMesh)


def test_closer_groups_need_more_orders(coarse: Solution) -> None:
    mesh = coarse.mesh
    assert isinstance(mesh, GroupedMesh)
    near, far = mesh.groups[0], replace(mesh.groups[1], origin=(50.0, 0.0))
    assert coupling_order((near, far)) == 4
    assert 6 < coupling_order(mesh.groups) < coupling_order(mesh.groups, 1e-9) <= 32
    with pytest.raises(ValueError, match="apart"):
        coupling_order((near, near))


def test_groups_move_without_another_solve(coarse: Solution, monkeypatch: pytest.MonkeyPatch) -> None:
    mesh = coarse.mesh
    assert isinstance(mesh, GroupedMesh)
    moves = np.array([(0.0, 0.0), (0.4, 0.2), (-0.1, 0.3)])
    places = ((0.0, 0.0), (0.95, 0.3), (0.0, 1.0))
    fresh = grouped(trays(places), 0.6)
    closer = grouped(trays(((0.0, 0.0), (0.5, 0.1), (0.1, 0.5))), 0.6)
    monkeypatch.setattr("fem.solve.solve_symmetric", lambda *_: pytest.fail("a group was solved again"))
    moved = with_groups_at(coarse.fields, moved_groups(mesh, moves))
    # places and circles differ by rounding; further groups need fewer orders of the series than are kept
    assert np.abs(moved.admittance / fresh.fields.admittance - 1).max() < 1e-5
    assert np.abs(moved.admittance / coarse.fields.admittance - 1).max() > 1e-2
    voltages = fresh.drive.voltages
    assert (
        np.abs(moved.potential(voltages) - fresh.fields.potential(voltages)).max()
        < 1e-6 * np.abs(fresh.fields.potential(voltages)).max()
    )
    monkeypatch.undo()
    nearer = np.array([(0.0, 0.0), (-0.05, 0.0), (0.0, -0.2)])
    again = with_groups_at(coarse.fields, moved_groups(mesh, nearer))
    assert np.abs(again.admittance - closer.fields.admittance).max() < 1e-9 * np.abs(again.admittance).max()
    with pytest.raises(ValueError, match="overlap by"):
        moved_groups(mesh, np.array([(0.0, 0.0), (-0.4, 0.0), (0.0, 0.0)]))


def test_steel_saturates_in_groups_as_in_one_mesh() -> None:
    layout = trays(((0.0, 0.0), (0.6, 0.1)))
    ties = [replace(tie, current=6 * tie.current) for tie in layout.ties]
    steels = {name: Steel(CURVES["mild-steel-curve"].curve) for name in ("t0", "t1")}
    sizes = MeshSizes(fineness=0.6)
    apart, joint = (
        solve_saturating(make(layout.section, sizes), layout.materials, 50.0, ties, steels, tolerance=1e-3)
        for make in (mesh_groups, mesh_section)
    )
    lost = [losses(one.fields, one.drive.voltages)[0].total for one in (apart, joint)]
    assert apart.solves == joint.solves > 3
    assert apart.peaks["t0"].mean > 0.3  # [T]
    assert lost[0] / lost[1] == pytest.approx(np.ones(6), abs=1e-3)  # the mesh of the air at this fineness
