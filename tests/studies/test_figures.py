"""Figures of sections, losses and currents, and the set of all of them; pixels are not compared."""

import dataclasses
import itertools
import re
import subprocess
import sys

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.collections import QuadMesh
from matplotlib.figure import Figure

from fem.field import FieldProbe
from fem.polarisation import resultant
from geometry.cable import CableConstruction
from geometry.loops import signed_area
from geometry.polygons import Polygon
from geometry.shapes import Wall
from studies.answers import figure_names as names
from studies.answers.element_fields import current_densities_of, flux_density_near
from studies.answers.losses.developed import WallPath, developed_loss, tray_triangles
from studies.answers.losses.section_figure import draw_loss_section
from studies.answers.losses.shares_figure import draw_shares
from studies.answers.losses.sheet_figure import draw_loss_density
from studies.drawing.cross_section import draw_cross_section
from studies.drawing.dimensions import neighbour_pairs
from studies.drawing.solids import draw_layers, shape_path
from studies.drawing.style import STYLE, new_figure
from studies.report.figures import figure_set, picture_for_page, png, save_drawn, save_figures, svg
from studies.section.cross_section import cross_section
from studies.study.parts import CONDUCTOR
from studies.study.reading import loads
from tests.channels import channel
from tests.studies.feeder import CIRCUIT
from tests.studies.figure_studies import (
    HEAD,
    RECEPTORS,
    TRAY,
    assert_apart_and_inside,
    bare_row,
    first_point,
    row_of_cables,
    solved,
    texts,
)

pytestmark = pytest.mark.usefixtures("fine_map")


@pytest.fixture(scope="module")
def result():
    return solved()


@pytest.fixture(scope="module")
def bare():
    return bare_row()


class TestDevelopedLoss:
    def test_it_integrates_to_the_loss_of_the_tray(self, result):
        (loss,) = [loss for loss in result.losses if loss.kind == "tray"]
        # the same triangles with the same losses, summed in another order: rounding of some hundred terms
        assert developed_loss(result, "Tray 1").total() == pytest.approx(loss.loss_w_per_m, rel=1e-10)

    def test_an_even_density_gives_density_times_thickness_everywhere(self, result):
        even = with_density(result, lambda x, y: np.full_like(x, 7.0))
        # cells between straight cross-lines, at the mitres as well: exact up to the rounding of narrow cells
        assert developed_loss(even, "Tray 1").loss_w_per_m2 == pytest.approx(7.0 * 1.5e-3, rel=1e-6)

    def test_the_distance_runs_from_the_left_edge_over_the_floor_to_the_right(self, result):
        side = 0.1 + 0.0015 / 2  # along the middle line of the wall
        width = 0.3 + 0.0015
        cases = {
            "left wall": (lambda x, y: np.where((x < -0.15) & (y > 0), 1.0, 0.0), 0.0, side),
            "floor": (lambda x, y: np.where(y < 0, 1.0, 0.0), side, side + width),
            "right wall": (lambda x, y: np.where((x > 0.15) & (y > 0), 1.0, 0.0), side + width, 2 * side + width),
        }
        for name, (density, start, end) in cases.items():
            developed = developed_loss(with_density(result, density), "Tray 1")
            middle = (developed.edges_m[:-1] + developed.edges_m[1:]) / 2
            inside = (middle > start + 0.004) & (middle < end - 0.004)
            outside = (middle < start - 0.004) | (middle > end + 0.004)
            assert developed.loss_w_per_m2[inside] == pytest.approx(1.5e-3, rel=1e-6), name
            assert np.all(developed.loss_w_per_m2[outside] == pytest.approx(0.0, abs=1e-12)), name

    def test_a_closed_wall_is_laid_out_whole(self):
        path = WallPath(channel(0.3, 0.1, 0.002, covered=True))
        # middle lines of the mitred runs: down 100 + 2 mm, along 300 + 2 mm, up, and back along the cover
        assert path.corners == pytest.approx(np.cumsum([0, 0.102, 0.302, 0.102, 0.302]))

    @pytest.mark.parametrize("fixed_left", [True, False])
    def test_thicker_walls_keep_one_face_and_meet_at_the_corners(self, fixed_left):
        wall = channel(0.3, 0.1, 0.002)
        path = WallPath(wall)
        runs = np.arange(3).repeat(4)
        drawn = path.thickened(path.runs.reshape(-1, 2), runs, 5.0, fixed_left).reshape(3, 4, 2)
        for first, second in itertools.pairwise(drawn):  # the end of a run is the start of the next
            assert first[1] == pytest.approx(second[0], abs=1e-12)
            assert first[2] == pytest.approx(second[3], abs=1e-12)
        kept = (2, 3) if fixed_left else (0, 1)
        assert drawn[:, kept] == pytest.approx(path.runs[:, kept], abs=1e-12)
        right, left = (
            [(float(x), float(y)) for x, y in (*drawn[:, start], drawn[-1, end])] for start, end in ((0, 1), (3, 2))
        )
        thick = WallPath(Wall(tuple(left), tuple(right)))
        assert thick.thickness == pytest.approx(5 * 0.002)

    def test_the_drawing_states_how_much_thicker_the_walls_are(self, result):
        title = texts(draw_loss_density(result, "Tray 1"))
        assert any(re.search(r"walls \(1\.5 mm\) drawn \d+ times as thick", text) for text in title)

    def test_the_triangles_are_those_of_the_tray(self, result):
        mesh = result.fields.mesh
        assert {mesh.names[k] for k in mesh.regions[tray_triangles(result, "Tray 1")]} == {"Tray 1"}


def with_density(result, density):
    """A result whose loss density is a function of place."""
    mesh = result.fields.mesh
    x, y = mesh.points[mesh.triangles[:, :3]].mean(axis=1).T
    fields = dataclasses.replace(result.element_fields, loss_density=density(x, y))
    return dataclasses.replace(result, element_fields=fields)


class TestNodalFields:
    def test_current_density_lies_between_the_current_and_what_the_loss_allows(self, result):
        for part in (part for part in result.parts if part.kind == CONDUCTOR):
            (field,) = current_densities_of(result, [part.part])
            corners = field.points[field.triangles]
            u, v = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
            area = (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2
            total = float(np.sum(area * field.values[field.triangles].mean(axis=1)))
            # |int J| <= int |J| <= sqrt(area int |J|^2) = I sqrt(Rac/Rdc); straight edges lose up to 0.3 % of the area
            assert 0.997 * abs(part.current_a) <= total
            assert total <= abs(part.current_a) * np.sqrt(part.r_ac_ohm_per_m / part.r_dc_ohm_per_m) * 1.001

    def test_flux_density_on_the_nodes_is_that_of_the_probe(self, result):
        field = flux_density_near(result, (-0.2, -0.05), (0.2, 0.15))
        probe = FieldProbe(result.fields)
        clear = probe.free_distance(field.points) > 0.01
        nodal = result.fields.potential(result.drive.voltages)
        inside = np.linalg.norm(field.points - result.fields.mesh.circle_centre, axis=1) < 0.2
        points, values = field.points[clear & inside], field.values[clear & inside]
        assert len(points) > 50
        exact = resultant(probe.flux_density(nodal, points))
        # gradients of quadratic elements averaged at their nodes against the smooth field of the same solution
        assert np.median(np.abs(values / exact - 1)) < 0.01

    def test_the_field_jumps_at_steel(self, result):
        field = flux_density_near(result, (-0.2, -0.05), (0.2, 0.15))
        places, count = np.unique(np.round(field.points, 9), axis=0, return_counts=True)
        double = places[count > 1]
        assert len(double) > 0  # nodes on an interface occur once for each side
        top = np.abs(double[:, 1]) < 1e-9
        assert np.any(top & (np.abs(double[:, 0]) < 0.15))


class TestCrossSection:
    def test_it_needs_no_solve(self):
        study = loads(HEAD + CIRCUIT + TRAY + RECEPTORS)
        figure = draw_cross_section(study, cross_section(study))
        found = texts(figure)
        assert isinstance(figure, Figure)
        assert {"L1", "L2", "L3", "56 mm", "100 mm"} <= set(found)
        assert any(text.startswith("Tray 1: 300 mm inside, mild-steel, 1.5 mm thick") for text in found)
        assert "bench\n0.78 m" in found  # (0.7, 0.4) m from the middle of the tray, (0, 0.04925) m
        assert "rack" in found
        assert figure.axes[0].get_xlabel() == "x (mm)"

    def test_it_is_to_scale(self):
        study = row_of_cables(3)
        axes = draw_cross_section(study, cross_section(study)).axes[0]
        box = axes.get_window_extent()
        (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
        assert box.width / (x1 - x0) == pytest.approx(box.height / (y1 - y0), rel=1e-9)

    @pytest.mark.parametrize("count", [3, 12, 48])
    def test_labels_stay_apart_for_few_and_many_cables(self, count):
        study = row_of_cables(count)
        assert_apart_and_inside(draw_cross_section(study, cross_section(study)))

    def test_phases_are_told_by_the_legend_where_no_label_fits(self):
        study = row_of_cables(48)
        figure = draw_cross_section(study, cross_section(study))
        assert "L1" not in texts(figure)
        assert {"L1", "L2", "L3"} <= {text.get_text() for text in figure.legends[0].get_texts()}

    def test_each_distance_of_neighbours_is_shown_once(self):
        study = loads(
            HEAD
            + CIRCUIT.replace('arrangement = "flat"\nspacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]\n', "").replace(
                "phases",
                'arrangement = "positions"\n'
                'positions = [["0 mm", "0 mm"], ["30 mm", "0 mm"], ["70 mm", "0 mm"]]\nphases',
            )
        )
        pairs = neighbour_pairs(cross_section(study))
        distances = [np.hypot(*np.subtract(a.axis, b.axis)) for a, b in pairs]
        assert distances == pytest.approx([0.030, 0.040])


class TestSolids:
    def test_every_layer_of_a_cable_is_drawn_from_the_outside_in(self, result):
        layers = CableConstruction(0.01, 0.003, 0.0002, 0.002, 0.001, 0.001, 0.001, 0.0025)
        cable = dataclasses.replace(result.cross_section.cables[0], layers=layers)
        axes = new_figure(2.0).add_axes((0.1, 0.1, 0.8, 0.8))
        draw_layers(axes, result.cross_section, 1e3, [cable])
        drawn = sorted((c for c in axes.collections if c.get_paths()), key=lambda c: c.get_zorder())
        radii = [collection.get_paths()[0].get_extents().width / 2 for collection in drawn]
        assert radii == pytest.approx([1e3 * outer for _, outer in reversed(layers.layers.values())])

    def test_the_outline_of_a_solid_keeps_its_holes(self):
        square = ((0.0, 0.0), (0.01, 0.0), (0.01, 0.01), (0.0, 0.01))
        holes = tuple(tuple((x / 4 + shift, y / 4 + 0.003) for x, y in square) for shift in (0.001, 0.006))
        path = shape_path(Polygon(square, holes), 1e3)
        # holes run the other way round, which leaves them open when the path is filled
        assert [signed_area(np.asarray(loop)) for loop in path.to_polygons()] == pytest.approx([100.0, -6.25, -6.25])

    def test_the_loss_density_of_any_part_can_be_drawn_to_scale(self, result):
        figure = draw_loss_section(result, "Tray 1")
        (picture,) = [c for c in figure.axes[0].collections if c.get_array() is not None]
        chosen = tray_triangles(result, "Tray 1")
        density = result.element_fields.loss_density[chosen]
        assert np.asarray(picture.get_array()) == pytest.approx(density * (picture.get_clim()[1] / density.max()))
        assert figure.axes[0].get_title(loc="left").startswith("Tray 1: ")


class TestCatalogue:
    def test_a_result_calls_for_its_figures(self, result, bare):
        assert set(figure_set(result)) == {
            *("cross_section", "field_map", "field_close", "formula_difference"),
            *("traverse_away", "traverse_a_way", "loss_density_tray_1", "current_density", "limit_distances"),
        }
        assert set(figure_set(bare)) == {
            *("cross_section", "field_map", "field_close", "formula_difference", "current_density", "shares")
        }

    def test_names_that_fold_to_the_same_file_stay_apart(self, result):
        first, second = result.traverses
        folded = dataclasses.replace(
            result,
            traverses=(first, dataclasses.replace(second, name="AWAY"), dataclasses.replace(second, name="Öl 1")),
        )
        assert names.traverse_stems(folded) == ("traverse_away", "traverse_away_2", "traverse_ol_1")

    def test_equal_shares_are_the_phase_current_over_its_cables(self, bare):
        axes = draw_shares(bare).axes[0]
        heights = [patch.get_extents().transformed(axes.transData.inverted()).height for patch in axes.patches]
        drawn = [abs(part.current_a) for part in bare.parts if part.kind == CONDUCTOR]
        assert sorted(heights) == pytest.approx(sorted(drawn))
        equal = [line for line in axes.get_lines() if line.get_marker() in ("None", "none", "")]
        assert [first_point(line)[1] for line in equal] == pytest.approx([200.0] * 3)
        marks = [np.asarray(line.get_ydata()).tolist() for line in axes.get_lines() if line not in equal]
        closed = [part.formula_current_rms_a for part in bare.parts if part.kind == CONDUCTOR]
        assert sorted(itertools.chain.from_iterable(marks)) == pytest.approx(sorted(closed))

    @pytest.mark.parametrize(("vectors", "endings"), [(False, {".png"}), (True, {".png", ".svg"})])
    def test_vectors_are_written_where_they_are_asked_for(self, vectors, endings, tmp_path):
        save_drawn({"plain": lambda: Figure((1, 1))}, tmp_path, vectors)
        assert {path.suffix for path in tmp_path.iterdir()} == endings

    def test_saved_figures_bear_no_date(self, result, tmp_path):
        # that their bytes are the same each time is asked of a whole folder in `test_folder`
        saved = save_figures(result, tmp_path, vectors=True)
        assert set(saved) == set(figure_set(result))
        assert len(list(tmp_path.iterdir())) == 2 * len(saved)
        assert "dc:date" not in (tmp_path / "field_map.svg").read_text(encoding="utf-8")

    def test_nothing_stands_between_an_axes_and_its_title(self, result, monkeypatch):
        monkeypatch.setitem(STYLE, "axes.titley", None)  # the drawing library looks for what stands there
        for stem, draw in figure_set(result).items():
            figure = draw()
            with mpl.rc_context({"axes.titley": None}):
                titles = [axes.set_title(axes.get_title(loc="left"), loc="left") for axes in figure.axes]
            png(figure)
            assert [title.get_position()[1] for title in titles] == [1.0] * len(titles), stem

    def test_heavy_layers_are_pictures_inside_the_svg(self, result):
        for stem in ("field_map", "field_close", "current_density", "loss_density_tray_1"):
            text = svg(figure_set(result)[stem]()).decode()
            assert "data:image/png;base64" in text, stem
            assert len(text) < 1_500_000, stem

    def test_paths_have_two_decimals_and_stay_where_they_are(self, monkeypatch):
        figure = new_figure(2.0)
        axes = figure.add_axes((0.1, 0.1, 0.8, 0.8))
        axes.plot([0.0, 1.0, 2.0], [1 / 3, 2 / 3, 0.123456])
        short = svg(figure).decode()
        monkeypatch.setattr("studies.report.figures.LONG_NUMBER", re.compile(rb"(?!)"))
        long = svg(figure).decode()
        assert len(short) < len(long)
        places = [
            re.findall(r"-?\d+\.?\d*", path) for text in (short, long) for path in re.findall(r' d="([^"]*)"', text)
        ]
        flat = [float(number) for path in places for number in path]
        half = len(flat) // 2
        assert flat[:half] == pytest.approx(flat[half:], abs=0.0051)
        assert not re.search(r' d="[^"]*\.\d{3}', short)

    def test_a_page_takes_lines_unless_they_are_much_larger_than_points(self):
        points = b"\x89PNG" + bytes(200_000)
        assert picture_for_page(points, small := b"<svg" + bytes(240_000)) == small
        assert picture_for_page(b"\x89PNG", small) == small  # small anyway
        assert picture_for_page(points, large := b"<svg" + bytes(390_000)) == large
        assert picture_for_page(points, b"<svg" + bytes(410_000)) == points

    @pytest.mark.parametrize("vectors", [False, True])
    def test_a_page_has_vectors_if_they_are_asked_for(self, vectors, tmp_path):
        def draw():
            return new_figure(1.0)

        (picture,) = save_drawn({"one": draw}, tmp_path, vectors).values()
        assert picture.startswith(b"<?xml" if vectors else b"\x89PNG")
        assert (tmp_path / "one.svg").exists() is vectors

    def test_settings_of_the_caller_are_left_alone(self, result):
        before = dict(mpl.rcParams)
        with mpl.rc_context({"font.size": 31.0}):
            figure = figure_set(result)["field_map"]()
            assert mpl.rcParams["font.size"] == 31.0
        assert dict(mpl.rcParams) == before
        assert figure.axes[0].xaxis.label.get_fontsize() == 8.0

    def test_no_interactive_session_is_started(self):
        code = "import sys, studies.report.figures; sys.exit('matplotlib.pyplot' in sys.modules)"
        assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0

    def test_every_figure_may_be_restyled(self, result):
        figure = figure_set(result)["traverse_away"]()
        figure.axes[0].set_title("My own title", loc="left")
        assert "My own title" in texts(figure)
        assert not any(isinstance(child, QuadMesh) for child in figure.axes[0].get_children())
