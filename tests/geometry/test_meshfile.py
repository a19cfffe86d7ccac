"""Meshes kept in files and taken from files; every file that cannot be used is refused with the reason."""

from collections.abc import Callable
from pathlib import Path

import meshio
import numpy as np
import pytest

from geometry.arrays import Floats, Ints
from geometry.meshfile import MeshFileError, read_mesh, write_mesh
from geometry.section_mesh import SectionMesh
from tests.fem.layouts import TREFOIL, balanced, layout_of, mesh_of, screened, solve

ROUNDING = 1e-12
LAYOUT = layout_of(screened(TREFOIL), balanced(), 50.0)
Arrays = dict[str, Floats]


@pytest.fixture(scope="module")
def mesh() -> SectionMesh:
    return mesh_of(LAYOUT)


def saved(
    mesh: SectionMesh,
    path: Path,
    points: Floats | None = None,
    keep: Callable[[str], bool] = lambda name: True,
    rename: dict[str, str] | None = None,
    triangles: Ints | None = None,
    cell: str = "triangle6",
    binary: bool = True,
) -> Path:
    """Write a mesh without the code under test, spoilt in one way."""
    at = np.column_stack([mesh.points, np.zeros(len(mesh.points))]) if points is None else points
    used = mesh.triangles if triangles is None else triangles
    groups = (mesh.regions + 1).astype(np.int32)
    names = {(rename or {}).get(name, name): np.array([k + 1, 2]) for k, name in enumerate(mesh.names) if keep(name)}
    content = meshio.Mesh(
        at,
        [(cell, used)],
        cell_data={"gmsh:physical": [groups], "gmsh:geometrical": [groups]},
        field_data=names,
    )
    meshio.gmsh.write(path, content, "2.2", binary=binary)
    return path


def test_a_mesh_comes_back_from_its_file_as_it_was(mesh: SectionMesh, tmp_path: Path) -> None:
    path = tmp_path / "trefoil.msh"
    write_mesh(mesh, path)
    back = read_mesh(path)
    assert back.names == mesh.names
    assert np.array_equal(back.triangles, mesh.triangles)
    assert np.array_equal(back.regions, mesh.regions)
    # the outermost nodes are put on the circle that fits them best: rounding
    assert np.abs(back.points - mesh.points).max() < ROUNDING * mesh.circle_radius
    assert back.circle_radius == pytest.approx(mesh.circle_radius, rel=ROUNDING)
    assert back.circle_centre == pytest.approx(mesh.circle_centre, abs=ROUNDING)
    before, after = solve(LAYOUT, mesh), solve(LAYOUT, back)
    assert after.losses.total == pytest.approx(before.losses.total, rel=1e-9)  # rounding, times the condition
    assert np.abs(after.drive.voltages / before.drive.voltages - 1).max() < 1e-9


@pytest.mark.parametrize("binary", [False, True])
def test_a_file_of_another_origin_is_read(mesh: SectionMesh, tmp_path: Path, binary: bool) -> None:
    turned = mesh.triangles[:, [0, 2, 1, 5, 4, 3]]  # clockwise
    spare = np.vstack([mesh.points, [[9.0, 9.0]]])  # and a node that no triangle uses
    points = np.column_stack([spare, np.full(len(spare), 0.3)])
    back = read_mesh(saved(mesh, tmp_path / "other.msh", points, triangles=turned, binary=binary))
    assert len(back.points) == len(mesh.points)
    areas, expected = back.region_areas(), mesh.region_areas()
    assert list(areas) == list(expected)
    assert list(areas.values()) == pytest.approx(list(expected.values()), rel=1e-10)


def squeezed(mesh: SectionMesh) -> Floats:
    return np.column_stack([mesh.points * [1, 1.01], np.zeros(len(mesh.points))])


def upright(mesh: SectionMesh) -> Floats:
    return np.column_stack([mesh.points[:, 0], np.zeros(len(mesh.points)), mesh.points[:, 1]])


def unknown(mesh: SectionMesh) -> Floats:
    points = np.column_stack([mesh.points, np.zeros(len(mesh.points))])
    points[mesh.triangles[5, 0], 0] = np.nan
    return points


@pytest.mark.parametrize(("spoil", "said"), [(squeezed, "circle"), (upright, "circle"), (unknown, "not finite")])
def test_nodes_that_bound_no_circle_are_refused(
    mesh: SectionMesh, tmp_path: Path, spoil: Callable[[SectionMesh], Floats], said: str
) -> None:
    with pytest.raises(MeshFileError, match=said):
        read_mesh(saved(mesh, tmp_path / "bad.msh", spoil(mesh)))


def test_first_order_triangles_are_refused(mesh: SectionMesh, tmp_path: Path) -> None:
    path = saved(mesh, tmp_path / "first.msh", triangles=mesh.triangles[:, :3], cell="triangle")
    with pytest.raises(MeshFileError, match="second-order"):
        read_mesh(path)


def test_middles_in_a_foreign_order_are_refused(mesh: SectionMesh, tmp_path: Path) -> None:
    with pytest.raises(MeshFileError, match="order"):
        read_mesh(saved(mesh, tmp_path / "order.msh", triangles=mesh.triangles[:, [0, 1, 2, 4, 5, 3]]))


def test_a_group_without_a_name_is_refused(mesh: SectionMesh, tmp_path: Path) -> None:
    with pytest.raises(MeshFileError, match=r"without a name: \[2\]"):
        read_mesh(saved(mesh, tmp_path / "nameless.msh", keep=lambda name: name != "a"))


def test_a_mesh_without_air_is_refused_with_the_names_it_has(mesh: SectionMesh, tmp_path: Path) -> None:
    with pytest.raises(MeshFileError, match=r"'air'; found .*Luft"):
        read_mesh(saved(mesh, tmp_path / "luft.msh", rename={"air": "Luft"}))


def test_a_group_without_triangles_is_refused(mesh: SectionMesh, tmp_path: Path) -> None:
    path = tmp_path / "ghost.msh"
    groups = (mesh.regions + 1).astype(np.int32)
    names = {name: np.array([k + 1, 2]) for k, name in enumerate((*mesh.names, "ghost"))}
    data = {"gmsh:physical": [groups], "gmsh:geometrical": [groups]}
    at = np.column_stack([mesh.points, np.zeros(len(mesh.points))])
    meshio.gmsh.write(path, meshio.Mesh(at, [("triangle6", mesh.triangles)], cell_data=data, field_data=names), "2.2")
    with pytest.raises(MeshFileError, match="ghost"):
        read_mesh(path)


@pytest.mark.parametrize("content", ["", "this is no mesh", "$MeshFormat\n4.1 0 8\n$EndMeshFormat\n", "\x00\x01\x02"])
def test_garbage_is_refused_without_ending_the_program(tmp_path: Path, content: str) -> None:
    path = tmp_path / "garbage.msh"
    path.write_text(content)
    with pytest.raises(MeshFileError, match=r"garbage\.msh"):
        read_mesh(path)


def test_a_cut_off_file_is_refused(mesh: SectionMesh, tmp_path: Path) -> None:
    path = tmp_path / "whole.msh"
    write_mesh(mesh, path)
    short = tmp_path / "short.msh"
    short.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(MeshFileError, match=r"short\.msh"):
        read_mesh(short)


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(MeshFileError, match=r"nowhere\.msh: there is no such"):
        read_mesh(tmp_path / "nowhere.msh")


def test_a_file_of_another_suffix_is_refused(mesh: SectionMesh, tmp_path: Path) -> None:
    with pytest.raises(MeshFileError, match=r"must end in \.msh"):
        read_mesh(tmp_path / "mesh.vtu")
    with pytest.raises(MeshFileError, match=r"must end in \.msh"):
        write_mesh(mesh, tmp_path / "mesh.stl")
