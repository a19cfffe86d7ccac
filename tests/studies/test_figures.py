"""Figures: what they show, in which units, and that labels stay apart; pixels are not compared."""

import dataclasses
import itertools
import re
import subprocess
import sys

import matplotlib as mpl
import numpy as np
import pytest
from matplotlib.collections import LineCollection, QuadMesh
from matplotlib.colors import BoundaryNorm, LogNorm
from matplotlib.contour import QuadContourSet
from matplotlib.figure import Figure

from fem.field import FieldProbe
from fem.polarisation import resultant
from geometry.cable import CableConstruction
from geometry.loops import signed_area
from geometry.polygons import Polygon
from geometry.shapes import Wall
from geometry.tray import Channel, channel_wall
from studies.cross_section import cross_section
from studies.figures import names
from studies.figures.catalogue import figure_set, png, save_figures, svg
from studies.figures.colour_scales import decade_ticks, log_norm
from studies.figures.cross_section import draw_cross_section
from studies.figures.developed import WallPath, developed_loss, tray_triangles
from studies.figures.dimensions import neighbour_pairs
from studies.figures.elements import current_density_of, flux_density_near
from studies.figures.engineering import (
    FLUX_DENSITY,
    GAP,
    MINUS,
    THIN,
    Unit,
    common_unit,
    fixed,
    plain,
    power_of_ten,
    quantity,
    stated,
    unit_for,
)
from studies.figures.far_points import border_crossing
from studies.figures.field_map import draw_field_map
from studies.figures.formula_map import CONTOURS, difference_percent, draw_formula_map
from studies.figures.labels import LabelPlacer
from studies.figures.loss_density import draw_loss_density
from studies.figures.loss_section import draw_loss_section
from studies.figures.shares import draw_shares
from studies.figures.solids import draw_layers, shape_path
from studies.figures.style import new_figure, reads_dark
from studies.figures.traverse import difference_percent as traverse_difference
from studies.figures.traverse import draw_traverse
from studies.parts import CONDUCTOR
from studies.reading import loads
from studies.run import run

HEAD = """title = "Figures"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"

[accuracy]
tolerance = "5 %"

[map]
window = [["-1 m", "-0.6 m"], ["1.2 m", "0.8 m"]]
"""
FLAT = """
[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "56 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"
"""
TRAY = """
[[trays]]
name = "Tray 1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "100 mm"
thickness = "1.5 mm"
material = "mild-steel"
"""
RECEPTORS = """
[[receptors]]
name = "bench"
at = ["0.7 m", "0.4 m"]
limit = "5 uT"

[[receptors]]
name = "second bench"
at = ["0.72 m", "0.4 m"]
limit = "5 uT"

[[receptors]]
name = "desk"
at = ["-0.6 m", "-0.3 m"]
limit = "200 uT"

[[receptors]]
name = "far room"
at = ["9 m", "0 m"]
limit = "1 nT"

[[receptors]]
name = "rack"
at = ["0.02 m", "0.06 m"]
"""
TRAVERSES = """
[[traverses]]
name = "away"
from = ["0.3 m", "0 m"]
to = ["6 m", "0 m"]
points = 41

[[traverses]]
name = "A-way"
from = ["-0.5 m", "1 m"]
to = ["0.5 m", "1 m"]
points = 21
"""


@pytest.fixture(scope="module")
def result():
    return run(loads(HEAD + FLAT + TRAY + RECEPTORS + TRAVERSES))


@pytest.fixture(scope="module")
def bare():
    """No tray, no receptor, no traverse; parallel cables."""
    circuit = FLAT.replace('["L1", "L2", "L3"]', '["L1", "L2", "L3", "L1", "L2", "L3"]')
    return run(loads(HEAD + circuit))


def row_of_cables(count):
    phases = ", ".join(f'"{phase}"' for phase in itertools.islice(itertools.cycle(("L1", "L2", "L3")), count))
    circuit = FLAT.replace('"L1", "L2", "L3"', phases).replace("56 mm", "25 mm")
    return loads(HEAD + circuit + RECEPTORS)


def texts(figure):
    """Every visible text of a figure that is not a tick label."""
    found = [text.get_text() for text in figure.texts]
    for axes in figure.axes:
        found += [axes.get_title(loc="left"), axes.get_xlabel(), axes.get_ylabel()]
        found += [text.get_text() for text in axes.texts]
    return [text for text in found if text]


def label_boxes(figure):
    """Boxes [pixel] of the labels inside the first axes, with their text."""
    figure.canvas.draw()
    return [(text.get_text(), text.get_window_extent()) for text in figure.axes[0].texts if text.get_text()]


def first_point(line):
    """First point of a line in data coordinates, to 0.001."""
    x, y = np.round(np.asarray(line.get_xydata())[0], 3)
    return float(x), float(y)


def assert_apart_and_inside(figure):
    frame = figure.axes[0].get_window_extent()
    boxes = label_boxes(figure)
    assert boxes
    for text, box in boxes:
        assert frame.x0 <= box.x0, text
        assert box.x1 <= frame.x1, text
        assert frame.y0 <= box.y0, text
        assert box.y1 <= frame.y1, text
    for (one, first), (other, second) in itertools.combinations(boxes, 2):
        assert not first.overlaps(second), (one, other)


class TestEngineeringNumbers:
    @pytest.mark.parametrize(
        ("value", "digits", "text"),
        [
            (2.25397, 3, "2.25"),
            (0.9996, 3, "1.00"),  # rounding gains a digit before the point
            (99.96, 3, "100"),
            (-0.0333, 2, f"{MINUS}0.033"),
            (12345.6, 3, f"12{THIN}300"),
            (6600.0, 4, "6600"),
            (0.0, 3, "0"),
            (float("inf"), 3, "∞"),
            (1.893e-15, 2, f"1.9{GAP}×{GAP}10⁻¹⁵"),
        ],
    )
    def test_plain_keeps_the_significant_digits(self, value, digits, text):
        assert plain(value, digits) == text

    def test_no_size_gives_a_bare_exponent(self):
        for power in range(-20, 21):
            for text in (plain(3.3 * 10.0**power), power_of_ten(-3.3 * 10.0**power), stated(10.0**power, Unit("T", 1))):
                assert not re.search(r"[eE]", text), text

    def test_fixed_drops_the_sign_of_a_rounded_zero(self):
        assert fixed(-0.001, 1) == "0.0"
        assert fixed(-1234567.8, 0) == f"{MINUS}1{THIN}234{THIN}568"

    def test_a_unit_leaves_one_or_more_before_the_point(self):
        assert unit_for(0.9e-6, FLUX_DENSITY).symbol == "nT"
        assert unit_for(1e-6, FLUX_DENSITY).symbol == "µT"
        assert unit_for(5.0, FLUX_DENSITY).symbol == "T"
        assert quantity(2.25397e-6, FLUX_DENSITY) == f"2.25{GAP}µT"

    def test_a_common_unit_follows_the_geometric_mean(self):
        assert common_unit([5e-8, 2e-4], FLUX_DENSITY).symbol == "µT"
        assert common_unit([], FLUX_DENSITY) == FLUX_DENSITY[0]

    @pytest.mark.parametrize(("value", "text"), [(5e-7, "0.5"), (5e-8, "0.05"), (2e-4, "200"), (1.25e-6, "1.25")])
    def test_a_limit_is_given_as_it_was_stated(self, value, text):
        assert stated(value, FLUX_DENSITY[1]) == f"{text}{GAP}µT"


class TestFieldMap:
    def test_contours_lie_at_the_limits_within_the_map(self, result):
        figure = draw_field_map(result)
        contours = [c for c in figure.axes[0].get_children() if isinstance(c, QuadContourSet)]
        low, high = result.map.b_rms_t.min(), result.map.b_rms_t.max()
        limits = {r.limit_t for r in result.receptors if r.limit_t is not None and low < r.limit_t < high}
        assert sorted(limits) == pytest.approx([5e-6, 2e-4])
        for contour in contours:
            assert contour.levels == pytest.approx(sorted(limits))
        assert len(contours) == 2  # a light line under a dark one

    def test_a_limit_without_contour_is_named_below(self, result):
        (note,) = [text for text in texts(draw_field_map(result)) if "without a contour" in text]
        assert "far room" in note
        assert "below all of the map" in note

    def test_contours_are_labelled_with_value_and_names(self, result):
        assert f"5{GAP}µT bench, second bench" in texts(draw_field_map(result))

    def test_the_scale_is_logarithmic_and_spans_the_data(self, result):
        (image,) = draw_field_map(result).axes[0].get_images()
        assert isinstance(image.norm, LogNorm)
        assert image.norm.vmin == pytest.approx(result.map.b_rms_t.min())
        assert image.norm.vmax == pytest.approx(result.map.b_rms_t.max())
        assert np.asarray(image.get_array()).shape == result.map.b_rms_t.shape

    def test_the_image_has_its_pixels_on_the_map_points(self, result):
        (image,) = draw_field_map(result).axes[0].get_images()
        x0, x1, y0, y1 = image.get_extent()
        pixel = (x1 - x0) / len(result.map.x_m)
        assert x0 + pixel / 2 == pytest.approx(result.map.x_m[0])
        assert y1 - (y1 - y0) / len(result.map.y_m) / 2 == pytest.approx(result.map.y_m[-1])
        assert image.origin == "lower"

    def test_markers_tell_within_above_and_no_limit_by_shape(self, result):
        lines = draw_field_map(result).axes[0].get_lines()
        markers = {first_point(line): line.get_marker() for line in lines if line.get_marker() not in ("None", "")}
        expected = {True: "o", False: "^", None: "s"}
        inside = [r for r in result.receptors if r.name != "far room"]
        assert markers == {(r.x_m, r.y_m): expected[r.within_limit] for r in inside}
        assert set(markers.values()) == {"o", "^", "s"}

    def test_labels_neither_overlap_nor_leave_the_map(self, result):
        assert_apart_and_inside(draw_field_map(result))

    def test_an_infinite_field_of_the_formula_breaks_nothing(self, result):
        values = result.map.line_formula_b_rms_t.copy()
        values[40:43, 50:53] = np.inf
        changed = dataclasses.replace(result, map=dataclasses.replace(result.map, line_formula_b_rms_t=values))
        assert png(draw_formula_map(changed)).startswith(b"\x89PNG")

    def test_a_result_without_map_has_no_maps(self, result):
        without = dataclasses.replace(result, map=None)
        assert names.FIELD_MAP not in figure_set(without)
        with pytest.raises(ValueError, match="no map"):
            draw_field_map(without)


class TestFormulaMap:
    def test_the_difference_is_formula_over_finite_element_less_one(self, result):
        changed = dataclasses.replace(
            result.map,
            b_rms_t=np.full_like(result.map.b_rms_t, 2e-6),
            line_formula_b_rms_t=np.full_like(result.map.b_rms_t, 3e-6),
        )
        assert difference_percent(changed) == pytest.approx(50.0)

    def test_contours_and_clipping(self, result):
        figure = draw_formula_map(result)
        areas = next(c for c in figure.axes[0].get_children() if isinstance(c, QuadContourSet))
        lines = [c for c in figure.axes[0].get_children() if isinstance(c, LineCollection)]
        assert CONTOURS == (-20, -5, -1, 1, 5, 20)
        solid = LineCollection([]).get_linestyle()
        assert [line.get_linestyle() == solid for line in lines] == [False, False, False, True, True, True]
        assert isinstance(areas.norm, BoundaryNorm)
        assert (areas.norm.vmin, areas.norm.vmax) == (-100, 100)
        assert areas.extend == "both"


class TestTraverse:
    def test_wide_ranges_are_logarithmic_and_narrow_ones_linear(self, result):
        wide, narrow = (draw_traverse(result, traverse) for traverse in result.traverses)
        assert result.traverses[0].b_rms_t.max() > 10 * result.traverses[0].b_rms_t.min()
        assert result.traverses[1].b_rms_t.max() < 10 * result.traverses[1].b_rms_t.min()
        assert wide.axes[0].get_yscale() == "log"
        assert narrow.axes[0].get_yscale() == "linear"
        assert narrow.axes[0].get_ylim()[0] == 0

    def test_curves_hold_the_numbers_in_the_unit_of_the_axis(self, result):
        traverse = result.traverses[0]
        axes = draw_traverse(result, traverse).axes[0]
        unit = next(u for u in FLUX_DENSITY if f"({u.symbol})" in axes.get_ylabel())
        computed, formula = axes.get_lines()[:2]
        assert computed.get_ydata() == pytest.approx(traverse.b_rms_t / unit.size)
        assert formula.get_ydata() == pytest.approx(traverse.line_formula_b_rms_t / unit.size)
        assert computed.get_xdata() == pytest.approx(traverse.distance_m)

    def test_limits_near_the_field_are_lines_and_the_others_are_named(self, result):
        traverse = result.traverses[0]
        figure = draw_traverse(result, traverse)
        unit = next(u for u in FLUX_DENSITY if f"({u.symbol})" in figure.axes[0].get_ylabel())
        lines = [line for line in figure.axes[0].get_lines() if len(np.asarray(line.get_xydata())) == 2]
        levels = [first_point(line)[1] * unit.size for line in lines]
        assert 2e-4 / 5 < traverse.b_rms_t.max() < 2e-4  # near enough to be drawn, though never reached
        assert sorted(levels) == pytest.approx([5e-6, 2e-4])
        (note,) = [text for text in texts(figure) if "beyond this axis" in text]
        assert "far room" in note

    def test_the_ends_are_named(self, result):
        assert "(0.3, 0) to (6, 0) (m)" in draw_traverse(result, result.traverses[0]).axes[1].get_xlabel()

    def test_the_difference_leaves_out_what_is_infinite(self, result):
        traverse = result.traverses[0]
        values = traverse.b_rms_t * 1.25
        values[3] = np.inf
        difference = traverse_difference(dataclasses.replace(traverse, line_formula_b_rms_t=values))
        assert np.isnan(difference[3])
        assert np.delete(difference, 3) == pytest.approx(25.0)

    def test_an_error_band_is_drawn_where_it_can_be_seen(self, result):
        traverse = result.traverses[0]
        exact = dataclasses.replace(traverse, b_rms_error_t=1e-4 * traverse.b_rms_t)
        rough = dataclasses.replace(traverse, b_rms_error_t=0.05 * traverse.b_rms_t)
        assert len(draw_traverse(result, exact).axes[0].collections) == 0
        assert len(draw_traverse(result, rough).axes[0].collections) == 1


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
        path = WallPath(channel_wall(Channel((0.0, 0.0), 0.3, 0.1, 0.002, covered=True)))
        # middle lines of the mitred runs: down 100 + 2 mm, along 300 + 2 mm, up, and back along the cover
        assert path.corners == pytest.approx(np.cumsum([0, 0.102, 0.302, 0.102, 0.302]))

    @pytest.mark.parametrize("fixed_left", [True, False])
    def test_thicker_walls_keep_one_face_and_meet_at_the_corners(self, fixed_left):
        wall = channel_wall(Channel((0.0, 0.0), 0.3, 0.1, 0.002))
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
            field = current_density_of(result, part.part)
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
        study = loads(HEAD + FLAT + TRAY + RECEPTORS)
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
            + FLAT.replace('arrangement = "flat"\nspacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]\n', "").replace(
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
        draw_layers(axes, [cable], 1e3)
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


class TestLabels:
    def test_crowded_labels_find_room(self):
        figure = new_figure(3.0)
        axes = figure.add_axes((0.1, 0.1, 0.85, 0.85))
        axes.set_xlim(0, 1)
        axes.set_ylim(0, 1)
        placer = LabelPlacer(axes)
        for k in range(14):
            placer.beside(f"receptor {k}\n12.3 µT", (0.5 + 0.005 * k, 0.5))
        assert_apart_and_inside(figure)

    def test_without_room_a_label_on_a_line_is_left_out(self):
        figure = new_figure(2.0)
        axes = figure.add_axes((0.1, 0.1, 0.85, 0.85))
        axes.set_xlim(0, 1)
        axes.set_ylim(0, 1)
        placer = LabelPlacer(axes)
        placer.keep_box_free((0, 0), (1, 1))
        assert placer.on_line("limit", np.array([[0.2, 0.5], [0.8, 0.5]])) is None
        assert axes.texts[:] == []

    def test_an_arrow_ends_where_the_straight_line_crosses_the_border(self):
        axes = new_figure(2.0).add_axes((0.1, 0.1, 0.8, 0.8))
        axes.set_xlim(-1, 1)
        axes.set_ylim(-1, 1)
        assert border_crossing(axes, (0, 0), (4, 2)) == pytest.approx((1, 0.5))
        assert border_crossing(axes, (0.5, 0), (0.5, -9)) == pytest.approx((0.5, -1))


class TestScales:
    def test_zeros_and_infinities_do_not_stretch_the_scale(self):
        norm = log_norm(np.array([0.0, 1e-6, 1e-3, np.inf, np.nan]))
        assert (norm.vmin, norm.vmax) == pytest.approx((1e-6, 1e-3))

    def test_an_even_field_still_has_a_scale(self):
        norm = log_norm(np.full((3, 3), 2e-6))
        assert norm.vmin is not None
        assert norm.vmax is not None
        assert norm.vmin < norm.vmax

    def test_ticks_are_decades_of_the_unit_within_the_range(self):
        assert decade_ticks(2e-8, 3e-3, FLUX_DENSITY[1]) == pytest.approx([1e-7, 1e-6, 1e-5, 1e-4, 1e-3])
        assert decade_ticks(9e-7, 6e-6, FLUX_DENSITY[1]) == pytest.approx([1e-6, 2e-6, 5e-6])

    def test_text_on_dark_is_light(self):
        assert reads_dark("#3f6c9b")
        assert not reads_dark("#f3d27a")


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

    def test_saved_figures_have_the_same_bytes_each_time_and_no_date(self, result, tmp_path):
        once, twice = save_figures(result, tmp_path / "a"), save_figures(result, tmp_path / "b")
        assert set(once) == set(figure_set(result))
        for path in sorted((tmp_path / "a").iterdir()):
            assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes(), path.name
        assert len(list((tmp_path / "a").iterdir())) == 2 * len(once)
        assert twice == once
        assert "dc:date" not in (tmp_path / "a" / "field_map.svg").read_text(encoding="utf-8")

    def test_heavy_layers_are_pictures_inside_the_svg(self, result):
        for stem in ("field_map", "field_close", "current_density", "loss_density_tray_1"):
            text = svg(figure_set(result)[stem]()).decode()
            assert "data:image/png;base64" in text, stem
            assert len(text) < 1_500_000, stem

    def test_settings_of_the_caller_are_left_alone(self, result):
        before = dict(mpl.rcParams)
        with mpl.rc_context({"font.size": 31.0}):
            figure = figure_set(result)["field_map"]()
            assert mpl.rcParams["font.size"] == 31.0
        assert dict(mpl.rcParams) == before
        assert figure.axes[0].xaxis.label.get_fontsize() == 8.0

    def test_no_interactive_session_is_started(self):
        code = "import sys, studies.figures.catalogue; sys.exit('matplotlib.pyplot' in sys.modules)"
        assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0

    def test_every_figure_may_be_restyled(self, result):
        figure = figure_set(result)["traverse_away"]()
        figure.axes[0].set_title("My own title", loc="left")
        assert "My own title" in texts(figure)
        assert not any(isinstance(child, QuadMesh) for child in figure.axes[0].get_children())
