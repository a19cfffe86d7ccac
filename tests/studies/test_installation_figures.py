"""Figures of what an installation may hold: every tray form, layers, zones, spectra, saturation."""

import dataclasses
import re

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.patches import Rectangle
from matplotlib.text import Text

from studies.answers import figure_names as names
from studies.answers.fields.map_figure import draw_field_map
from studies.answers.fields.spectrum_figure import draw_spectrum
from studies.answers.limits.figure import draw_limit_distances
from studies.answers.limits.verdicts import index_limit_names, limit_names
from studies.answers.losses.current_figure import draw_current_density
from studies.answers.losses.section_figure import draw_loss_section
from studies.answers.losses.sheet_figure import draw_loss_density
from studies.answers.steel.figure import draw_current_sweep
from studies.data.reference_levels import reference_level
from studies.drawing.cross_section import draw_cross_section
from studies.drawing.style import ABOVE, PAGE_WIDTH, RESOLUTION, UNLIMITED, WITHIN
from studies.report.figures import figure_set, png
from studies.section.cross_section import cross_section
from studies.study.reading import loads
from studies.text.units import FLUX_DENSITY
from tests.studies.figure_studies import assert_apart_and_inside, texts
from tests.studies.whole_installations import (
    CROSS,
    SATURATING,
    SPECTRUM,
    cross_bonded,
    with_saturation,
    with_spectrum,
)


@pytest.fixture(scope="module")
def spectrum():
    return with_spectrum()


@pytest.fixture(scope="module")
def saturating():
    return with_saturation()


@pytest.fixture(scope="module")
def cross():
    return cross_bonded()


class TestFigures:
    @pytest.mark.parametrize("name", ["spectrum", "saturating", "cross"])
    def test_every_figure_is_drawn_and_within_its_page(self, name, request):
        for stem, draw in figure_set(request.getfixturevalue(name)).items():
            figure = draw()
            assert png(figure).startswith(b"\x89PNG"), stem
            figure.canvas.draw()
            for axes in figure.axes:
                own = [child for child in axes.get_children() if isinstance(child, Text)]
                for text in (*own, axes.xaxis.label, axes.yaxis.label):
                    box = text.get_window_extent()
                    if text.get_text() and axes.axison:
                        assert box.x0 >= -1, (stem, text.get_text())
                        assert box.x1 <= PAGE_WIDTH * RESOLUTION + 1, (stem, text.get_text())
            for legend in figure.legends:
                box = legend.get_window_extent()
                assert box.x0 >= 0, stem
                assert box.x1 <= PAGE_WIDTH * RESOLUTION, stem

    def test_each_result_calls_for_its_figures(self, spectrum, saturating, cross):
        assert {"spectrum", "limit_distances", "loss_density_ladder_1"} <= set(figure_set(spectrum))
        assert {"current_sweep", "loss_density_d1"} <= set(figure_set(saturating))
        assert not {"spectrum", "limit_distances"} & set(figure_set(saturating))
        assert {"loss_density_t1", "loss_density_t1_cover"} <= set(figure_set(cross))
        assert not {"spectrum", "limit_distances", "current_sweep"} & set(figure_set(cross))

    def test_parts_that_lose_next_to_nothing_get_no_figure_of_their_loss(self, saturating):
        losses = {loss.part: loss.loss_w_per_m for loss in saturating.losses if loss.kind in ("tray", "metalwork")}
        small = {part for part, loss in losses.items() if loss < 1e-3 * sum(losses.values())}
        assert set(names.loss_stems(saturating)) == set(losses) - small

    @pytest.mark.parametrize("text", [SPECTRUM, SATURATING, CROSS])
    def test_labels_of_the_cross_section_stay_apart(self, text):
        study = loads(text)
        assert_apart_and_inside(draw_cross_section(study, cross_section(study)))

    def test_trays_side_by_side_are_described_in_the_longest_form_that_keeps_apart(self):
        base = loads(SATURATING)
        (duct,) = base.trays
        row = tuple(duct.model_copy(update={"name": f"D{k}", "rests_at": (0.26 * k, 0.0)}) for k in range(5))
        study = base.model_copy(update={"trays": row, "metalwork": ()})
        alone = base.model_copy(update={"metalwork": ()})
        many, one = (texts(draw_cross_section(study, cross_section(study))) for study in (study, alone))
        assert "D1: 240 mm inside, mild-steel-saturating, 2 mm thick" in one
        assert not any("thick" in text and "\n" not in text for text in many)
        assert all(any(text.startswith(f"D{k}") for text in many) for k in range(5))

    def test_metalwork_is_named(self, saturating):
        found = texts(draw_cross_section(saturating.study, saturating.cross_section))
        assert {"beam", "shield", "pipe"} <= set(found)

    def test_the_loss_of_branched_sheets_is_drawn_thicker_and_says_so(self, saturating):
        figure = draw_loss_section(saturating, "D1")
        assert re.search(r"sheets \(2 mm\) drawn \d times as thick", figure.axes[0].get_title(loc="left"))

    def test_the_ends_of_a_sheet_laid_flat_are_marked(self, saturating):
        figure = draw_loss_density(saturating, "shield")
        assert {"A", "B"} <= {text.get_text() for text in figure.axes[0].texts}
        assert "from A to B" in figure.axes[1].get_xlabel()

    def test_zones_are_rectangles_with_their_verdict(self, spectrum):
        axes = draw_field_map(spectrum).axes[0]
        office = next(zone for zone in spectrum.zones if zone.name == "office")
        drawn = [patch for patch in axes.patches if isinstance(patch, Rectangle)]
        assert {tuple(np.round(patch.get_bbox().extents, 9).tolist()) for patch in drawn} == {
            (office.x0_m, office.y0_m, office.x1_m, office.y1_m)
        }
        assert to_hex(drawn[-1].get_edgecolor()) == {True: WITHIN, False: ABOVE, None: UNLIMITED}[office.within_limit]
        labels = [text.get_text() for text in axes.texts]
        assert any(label.startswith("office\nup to ") and "index" in label for label in labels)
        assert any(label.startswith("store\nup to ") for label in labels)  # far away: an arrow at the border

    def test_limits_of_sums_have_no_contour(self, spectrum):
        assert list(limit_names(spectrum)) == [4e-6]
        assert index_limit_names(spectrum) == {"ICNIRP 2010 public": "desk, office"}
        (note,) = [text for text in texts(draw_field_map(spectrum)) if "without a contour" in text]
        assert "a sum over all frequencies" in " ".join(note.split())

    def test_levels_limit_the_field_where_there_is_one_frequency(self, spectrum):
        (first, *_), (desk, *_) = spectrum.receptors[0].spectrum, spectrum.receptors
        study = spectrum.study.model_copy(
            update={"circuits": (spectrum.study.circuits[0].model_copy(update={"harmonics": {}}),)}
        )
        alone = dataclasses.replace(spectrum, study=study, receptors=(dataclasses.replace(desk, spectrum=(first,)),))
        assert set(limit_names(alone)) == {2e-4}

    def test_distances_are_drawn_from_the_sides(self, spectrum):
        figure = draw_limit_distances(spectrum)
        rows = [row for row in spectrum.limit_distances if row.limit_name is None]
        axes = next(axes for axes in figure.axes if axes.get_title(loc="left").startswith("4"))
        lines = [np.asarray(line.get_xydata()) for line in axes.get_lines() if len(np.asarray(line.get_xydata())) == 2]
        lengths = sorted(float(np.linalg.norm(line[1] - line[0])) for line in lines)
        expected = sorted(row.from_outline_m for row in rows if row.state == "met" and row.direction != "overall")
        assert len(expected) == 4
        assert lengths == pytest.approx(expected)

    def test_bars_of_the_spectrum_are_the_fields_and_marks_the_levels(self, spectrum):
        axes = draw_spectrum(spectrum).axes[0]
        desk = spectrum.receptors[0]
        unit = next(u for u in FLUX_DENSITY if f"({u.symbol})" in axes.get_ylabel())
        bars = [patch.get_height() * unit.size for patch in axes.patches if isinstance(patch, Rectangle)]
        assert bars == pytest.approx([part.b_rms_t for part in sorted(desk.spectrum, key=lambda p: p.frequency_hz)])
        levels = [float(np.asarray(line.get_ydata())[0]) * unit.size for line in axes.get_lines()]
        expected = [reference_level("ICNIRP 2010 public", f).value_t for f in (50.0, 250.0, 350.0, 400.0)]
        assert levels == pytest.approx(expected)

    def test_the_sweep_is_drawn_beside_the_square_law(self, saturating):
        figure = draw_current_sweep(saturating)
        loss, field = figure.axes
        assert loss.get_xscale() == loss.get_yscale() == field.get_yscale() == "log"
        square, computed = loss.get_lines()[:2]
        slope = np.diff(np.log(square.get_ydata())) / np.diff(np.log(square.get_xdata()))
        assert slope == pytest.approx(2.0)
        assert np.asarray(computed.get_xdata()).tolist() == [0.25, 1, 2]
        line, drawn = field.get_lines()[:2]
        assert np.diff(np.log(line.get_ydata())) / np.diff(np.log(line.get_xdata())) == pytest.approx(1.0)
        # factor 1 is the study: the same currents on the same mesh, to the tolerance of the iteration
        assert np.asarray(drawn.get_ydata())[1] == pytest.approx(np.asarray(line.get_ydata())[1], rel=1e-3)

    def test_circuits_of_another_frequency_are_left_out_of_the_current_density(self, spectrum):
        found = texts(draw_current_density(spectrum))
        assert sum(text.startswith("F1.") for text in found) == 3
        assert not any(text.startswith("F2.") for text in found)
