"""Field maps and traverses: what they show, in which units, and what they say of limits."""

import dataclasses
import re
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.collections import LineCollection
from matplotlib.colors import BoundaryNorm, LogNorm
from matplotlib.contour import QuadContourSet

from studies.answers import figure_names as names
from studies.answers.fields.formula_map_figure import difference_percent, draw_formula_map, steps_for
from studies.answers.fields.map_figure import draw_field_map
from studies.answers.fields.tables import receptor_table
from studies.answers.fields.traverse_figure import draw_traverse, traverse_difference
from studies.report.figures import figure_set, png
from studies.text.numbers import GAP
from studies.text.units import FLUX_DENSITY
from tests.studies.figure_studies import (
    assert_apart_and_inside,
    bare_row,
    first_point,
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
        solid = LineCollection([]).get_linestyle()
        assert [line.get_linestyle() == solid for line in lines] == 3 * [False] + 3 * [True]
        assert isinstance(areas.norm, BoundaryNorm)
        assert (areas.norm.vmin, areas.norm.vmax) == (-100, 100)
        assert areas.extend == "both"

    @pytest.mark.parametrize(
        ("size", "steps"),
        [
            (0.0, (0.05, 0.1, 0.2, 0.5, 1)),
            (0.9, (0.05, 0.1, 0.2, 0.5, 1)),
            (3.0, (0.2, 0.5, 1, 2, 5)),
            (20.0, (1, 2, 5, 10, 20)),
            (21.0, (1, 5, 10, 20, 50)),
            (400.0, (1, 5, 20, 50, 100)),
        ],
    )
    def test_the_steps_suit_nearly_all_differences(self, size, steps):
        differences = np.array([-size] * 990 + [1e3, -1e3] * 5)
        assert steps_for(differences) == (*(-step for step in reversed(steps)), *steps)


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


@pytest.fixture(scope="module")
def weak(result):
    """The bench with a limit of half a microtesla, all tables of which are in microtesla."""
    receptors = tuple(
        replace(receptor, limit_t=5e-7, within_limit=False) if receptor.name == "bench" else receptor
        for receptor in result.receptors
    )
    return replace(result, receptors=receptors)


@pytest.mark.parametrize(
    "draw", [draw_field_map, lambda result: draw_traverse(result, result.traverses[0])], ids=["map", "traverse"]
)
def test_limits_and_fields_of_figures_are_in_the_unit_of_the_tables(weak, draw):
    (unit,) = {head.unit for head in receptor_table(weak).full.columns if head.unit.endswith("T")}
    figure = draw(weak)
    said = [*texts(figure), *(axes.get_ylabel() for axes in figure.axes), *(a.get_title() for a in figure.axes)]
    assert any(f"0.5{GAP}µT" in text for text in said)
    assert unit == "µT"
    assert not [text for text in said if re.search(r"\b[nm]T\b", text)]
