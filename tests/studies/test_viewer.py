"""field.vtu: what a general-purpose viewer reads back is the solution."""

import meshio
import numpy as np
import pytest
from scipy.constants import mu_0

from studies.formulas.line_field import line_field
from studies.output.viewer import write_field
from studies.runner import run
from studies.study.reading import loads
from tests.studies.feeder import FEEDER, TRAY, accuracy

STUDY = FEEDER + accuracy("1 %")


def written(text, folder):
    result = run(loads(text))
    write_field(result, folder / "field.vtu")
    return result, meshio.read(folder / "field.vtu")


@pytest.fixture(scope="module")
def with_tray(tmp_path_factory):
    return written(STUDY + TRAY, tmp_path_factory.mktemp("field"))


@pytest.fixture(scope="module")
def without_tray(tmp_path_factory):
    return written(STUDY, tmp_path_factory.mktemp("field"))


def areas(mesh):
    """Area of each triangle: the corners' by the shoelace formula, and 2/3 chord x bow of each parabolic edge."""
    x, y = mesh.points[mesh.cells_dict["triangle6"]][..., :2].transpose(2, 0, 1)
    area = 0.5 * sum(x[:, i] * y[:, j] - x[:, j] * y[:, i] for i, j in ((0, 1), (1, 2), (2, 0)))
    for i, j, m in ((0, 1, 3), (1, 2, 4), (2, 0, 5)):
        bow_x, bow_y = x[:, m] - (x[:, i] + x[:, j]) / 2, y[:, m] - (y[:, i] + y[:, j]) / 2
        area = area + 2 / 3 * (bow_x * (y[:, j] - y[:, i]) - bow_y * (x[:, j] - x[:, i]))
    return area


def cells(mesh, name):
    (values,) = mesh.cell_data[name]
    return values


def test_the_promised_arrays_are_there_with_their_units(with_tray):
    result, mesh = with_tray
    assert [block.type for block in mesh.cells] == ["triangle6"]
    assert set(mesh.point_data) == {"a_re_wb_per_m", "a_im_wb_per_m"}
    fields = {"b_rms_t", "bx_re_t", "bx_im_t", "by_re_t", "by_im_t", "j_re_a_per_m2", "j_im_a_per_m2"}
    assert set(mesh.cell_data) == {"region", "loss_density_w_per_m3"} | fields
    for name in mesh.cell_data:
        assert np.all(np.isfinite(cells(mesh, name))), name
    assert np.array_equal(mesh.points[:, :2], result.fields.mesh.points)
    assert np.all(mesh.points[:, 2] == 0)


def test_the_file_is_binary_and_compressed(with_tray, tmp_path):
    result, _ = with_tray
    write_field(result, tmp_path / "field.vtu")
    text = (tmp_path / "field.vtu").read_bytes()
    assert b'compressor="vtkZLibDataCompressor"' in text
    assert b'format="ascii"' not in text  # tenfold the size


def test_the_middle_nodes_are_where_a_viewer_expects_them(with_tray):
    _, mesh = with_tray
    nodes = mesh.points[mesh.cells_dict["triangle6"]][..., :2]
    for i, j, m in ((0, 1, 3), (1, 2, 4), (2, 0, 5)):
        chord = np.linalg.norm(nodes[:, j] - nodes[:, i], axis=1)
        bow = np.linalg.norm(nodes[:, m] - (nodes[:, i] + nodes[:, j]) / 2, axis=1)
        # an edge that winds from ring to ring by an eighth of a circle bows by 0.151 of its chord; the middle of
        # another edge would be half an edge away
        assert np.all(bow < 0.2 * chord)


def test_the_integral_of_the_loss_density_is_the_reported_loss(with_tray):
    result, mesh = with_tray
    area, region = areas(mesh), cells(mesh, "region")
    assert area.sum() == pytest.approx(np.pi * result.fields.mesh.circle_radius**2, rel=1e-4)  # 50 parabolic edges
    for loss in result.losses:
        own = region == result.fields.mesh.names.index(loss.part)
        total = np.sum(area[own] * cells(mesh, "loss_density_w_per_m3")[own])
        # the density is the loss of a triangle over its area, so that only rounding is left
        assert total == pytest.approx(loss.loss_w_per_m, rel=1e-9)
    assert np.all(cells(mesh, "loss_density_w_per_m3")[region == 0] == 0)


def test_the_integral_of_the_current_density_is_the_current(with_tray):
    result, mesh = with_tray
    area, region = areas(mesh), cells(mesh, "region")
    density = cells(mesh, "j_re_a_per_m2") + 1j * cells(mesh, "j_im_a_per_m2")
    for part in result.parts:
        own = region == result.fields.mesh.names.index(part.part)
        # J of the middle stands for the triangle, which leaves up to (h/delta)^2/12 of it out: 5 % in the largest, of
        # 0.8 skin depths, and far less in most; 400 A is the scale also in the tray, whose net current is zero
        assert np.sum(area[own] * density[own]) == pytest.approx(part.current_a, abs=1e-2 * 400)
    assert np.all(density[region == 0] == 0)


def test_the_field_of_the_cells_is_that_of_the_lines_in_the_air(without_tray):
    result, mesh = without_tray
    region = cells(mesh, "region")
    middle = mesh.points[mesh.cells_dict["triangle6"]][..., :2].mean(axis=1)
    axes = np.array([cable.axis for cable in result.cross_section.cables])
    currents = np.array([part.current_a for part in result.parts])
    far = (region == 0) & (np.linalg.norm(middle[:, None] - axes, axis=2).min(axis=1) > 0.03)
    assert far.sum() > 50
    exact = line_field(middle[far], axes, currents)
    found = np.stack([cells(mesh, f"b{c}_re_t") + 1j * cells(mesh, f"b{c}_im_t") for c in "xy"], axis=1)[far]
    miss = np.linalg.norm(found - exact, axis=1) / np.linalg.norm(exact, axis=1)
    # (a/s)^2 = 2.4 % is the proximity effect's scale, a fraction of it is left at 50 Hz where the radius is 0.9 of the
    # skin depth; the gradient of an element adds second order in its size
    assert np.median(miss) < 0.01
    magnitude = np.linalg.norm(found, axis=1)
    assert cells(mesh, "b_rms_t")[far] == pytest.approx(magnitude, rel=1e-12)  # the same numbers, rounding


def test_the_potential_of_the_nodes_has_the_field_as_its_curl(without_tray):
    result, mesh = without_tray
    potential = mesh.point_data["a_re_wb_per_m"] + 1j * mesh.point_data["a_im_wb_per_m"]
    radius = np.linalg.norm(mesh.points[:, :2] - result.fields.mesh.circle_centre, axis=1)
    rim = np.abs(radius / result.fields.mesh.circle_radius - 1) < 1e-9
    axes = np.array([cable.axis for cable in result.cross_section.cables])
    currents = np.array([part.current_a for part in result.parts])
    distance = np.linalg.norm(mesh.points[rim][:, None, :2] - axes, axis=2)
    exact = -mu_0 / (2 * np.pi) * np.log(distance) @ currents  # balanced: no constant
    # on the rim, 1.6 radii away, where only the dipole of the proximity effect is left: (a/s)^2 of the potential
    assert potential[rim] == pytest.approx(exact, abs=0.01 * np.abs(exact).max())
