"""Numbers, scales and labels of figures: digits and units, ticks, and room for each label."""

import re

import numpy as np
import pytest

from studies.drawing.colour_scales import decade_ticks, log_norm
from studies.drawing.far_points import border_crossing
from studies.drawing.labels import LabelPlacer
from studies.drawing.style import new_figure, reads_dark
from studies.text.numbers import GAP, MINUS, THIN, fixed, plain, power_of_ten, stated, with_unit
from studies.text.units import FLUX_DENSITY, Unit, common_unit, unit_for
from tests.studies.figure_studies import (
    assert_apart_and_inside,
)

pytestmark = pytest.mark.usefixtures("fine_map")


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
        assert with_unit(2.25397e-6, FLUX_DENSITY) == f"2.25{GAP}µT"

    def test_a_common_unit_follows_the_geometric_mean(self):
        assert common_unit([5e-8, 2e-4], FLUX_DENSITY).symbol == "µT"
        assert common_unit([], FLUX_DENSITY) == FLUX_DENSITY[0]

    @pytest.mark.parametrize(("value", "text"), [(5e-7, "0.5"), (5e-8, "0.05"), (2e-4, "200"), (1.25e-6, "1.25")])
    def test_a_limit_is_given_as_it_was_stated(self, value, text):
        assert stated(value, FLUX_DENSITY[1]) == f"{text}{GAP}µT"


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
