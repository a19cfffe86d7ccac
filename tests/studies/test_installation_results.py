"""Figures, report and summary of what an installation may hold: every tray form, layers, bonds, spectra, saturation."""

import dataclasses
import itertools
import re

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.patches import Rectangle
from matplotlib.text import Text

from studies.cross_section import cross_section
from studies.decided import OrderResult, OrderSearchResult, SolvedOrder
from studies.exposure import ORIENTATION, RULE, exposure_index
from studies.figures import names
from studies.figures.catalogue import figure_set, pictures_of, png
from studies.figures.cross_section import draw_cross_section
from studies.figures.current_density import draw_current_density
from studies.figures.current_sweep import draw_current_sweep
from studies.figures.engineering import FLUX_DENSITY, GAP
from studies.figures.field_map import draw_field_map
from studies.figures.limit_distances import draw_limit_distances
from studies.figures.limits import index_limit_names, limit_names
from studies.figures.loss_density import draw_loss_density
from studies.figures.loss_section import draw_loss_section
from studies.figures.spectrum import draw_spectrum
from studies.figures.style import ABOVE, PAGE_WIDTH, RESOLUTION, UNLIMITED, WITHIN
from studies.outline import outline
from studies.reading import loads
from studies.reference_levels import reference_level
from studies.report.contents import write_report
from studies.report.verdicts import margin, ratio, verdict
from studies.run import run
from studies.summary import summary, summary_html
from tests.studies.test_figures import assert_apart_and_inside, texts
from tests.studies.test_report import VERSIONS, Page, number

CABLE = """
[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
LAYERS
jacket = "1.8 mm"
"""
ARMOURED = """
[cables.hv]
conductor = { material = "copper", area = "240 mm^2", temperature = "90 degC", skin_coefficient = 0.435 }
insulation = "4 mm"
screen = { material = "copper", thickness = "0.3 mm" }
separation = "0.6 mm"
sheath = { material = "lead", thickness = "2 mm" }
bedding = "1.4 mm"
armour = { material = "aluminium", thickness = "2.5 mm", fill = "88 %" }
jacket = "3 mm"
"""
SPECTRUM = (
    """title = "Covered ladder"
frequency = "50 Hz"
"""
    + ARMOURED
    + """
[[circuits]]
name = "F1"
cable = "hv"
arrangement = "flat"
clear_gap = "20 mm"
rests_at = ["-60 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "500 A"
harmonics = { 5 = "20 %", 7 = ["14 %", "30 deg"] }

[[circuits]]
name = "F2"
cable = "hv"
arrangement = "trefoil"
rests_at = ["150 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "100 A"
frequency = "400 Hz"

[[trays]]
name = "Ladder 1"
profile = "ladder"
rests_at = ["0 mm", "0 mm"]
inside_width = "480 mm"
inside_height = "100 mm"
rail_flange = "20 mm"
thickness = "2 mm"
material = "galvanised-steel"
cover = "closed"

[[bonds]]
parts = ["F1 sheaths", "F1 armours"]

[[bonds]]
parts = ["F2 armours", "Ladder 1"]
impedance = ["0.1 ohm/km", "0.05 ohm/km"]
earth = true

[earth]
resistivity = "100 ohm*m"
surface = "-2 m"

[[receptors]]
name = "desk"
at = ["1.5 m", "0.5 m"]
limit = "ICNIRP 2010 public"

[[receptors]]
name = "bench"
at = ["1.2 m", "-0.3 m"]
limit = "4 uT"

[[zones]]
name = "office"
window = [["0.5 m", "-0.4 m"], ["1.4 m", "0.4 m"]]
limit = "ICNIRP 2010 public"

[[zones]]
name = "store"
window = [["-9 m", "-0.4 m"], ["-8 m", "0.4 m"]]

[map]
window = [["-0.6 m", "-0.6 m"], ["2 m", "0.9 m"]]

[accuracy]
tolerance = "20 %"
"""
)
SATURATING = (
    """title = "Duct, beam and sheet"
frequency = "50 Hz"
"""
    + CABLE.replace("LAYERS", 'screen = { material = "copper", thickness = "0.2 mm" }')
    + """
[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
clear_gap = "0 mm"
rests_at = ["-60 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "D1"
profile = "duct"
rests_at = ["0 mm", "0 mm"]
inside_width = "240 mm"
inside_height = "90 mm"
dividers = ["10 mm"]
thickness = "2 mm"
material = "mild-steel-saturating"

[[metalwork]]
name = "beam"
shape = "I"
at = ["-250 mm", "-100 mm"]
height = "160 mm"
width = "82 mm"
web = "5 mm"
flange = "7.4 mm"
turned = "20 deg"
material = "mild-steel"

[[metalwork]]
name = "shield"
shape = "path"
path = [["200 mm", "-100 mm"], ["200 mm", "150 mm"], ["150 mm", "200 mm"]]
thickness = "3 mm"
material = "aluminium-5052"

[[metalwork]]
name = "pipe"
shape = "tube"
at = ["0 mm", "160 mm"]
outside_diameter = "60 mm"
thickness = "4 mm"
material = "copper"

[[receptors]]
name = "desk"
at = ["0.5 m", "0.3 m"]

[current_sweep]
factors = [2, 0.25, 1]

[accuracy]
tolerance = "20 %"
"""
)
CROSS = (
    """title = "Perforated tray on its side"
frequency = "60 Hz"
"""
    + CABLE.replace("LAYERS", 'screen = { material = "copper", thickness = "0.2 mm" }')
    + """
[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = [["-25 mm", "-100 mm"], ["-25 mm", "0 mm"], ["-25 mm", "100 mm"]]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
turned = "90 deg"
inside_width = "300 mm"
inside_height = "60 mm"
lip = "12 mm"
dividers = ["50 mm"]
thickness = "1.5 mm"
material = "mild-steel"
open_area = "25 %"
cover = { gap = "5 mm", edge = "20 mm", material = "aluminium" }

[[bonds]]
parts = ["F1 screens"]
kind = "cross-bonded"

[accuracy]
tolerance = "20 %"
"""
)


@pytest.fixture(scope="module")
def spectrum():
    return run(loads(SPECTRUM))


@pytest.fixture(scope="module")
def saturating():
    return run(loads(SATURATING))


@pytest.fixture(scope="module")
def cross():
    """No receptors, no zones, no limits."""
    return run(loads(CROSS))


@pytest.fixture(scope="module")
def spectrum_page(spectrum):
    return Page(write_report(spectrum, pictures_of(spectrum), VERSIONS))


@pytest.fixture(scope="module")
def saturating_page(saturating):
    return Page(write_report(saturating, pictures_of(saturating), VERSIONS))


@pytest.fixture(scope="module")
def cross_page(cross):
    return Page(write_report(cross, pictures_of(cross), VERSIONS))


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


class TestReport:
    def test_headings_never_skip_a_level_and_links_lead_to_sections(self, spectrum_page, saturating_page, cross_page):
        for page in (spectrum_page, saturating_page, cross_page):
            levels = [level for level, _ in page.headings]
            assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
            for anchor in (link[1:] for link in page.links if link.startswith("#")):
                assert f'id="{anchor}"' in page.html

    def test_every_picture_is_in_it_and_no_number_has_a_bare_exponent(self, spectrum, spectrum_page):
        assert len(spectrum_page.images) == len(figure_set(spectrum))
        assert not re.findall(r"\d[eE][-+]?\d", spectrum_page.text)

    def test_zones_have_their_rectangle_place_and_verdict(self, spectrum, spectrum_page):
        table = spectrum_page.table("Highest flux density of the zones")
        for zone, row in zip(spectrum.zones, table["rows"], strict=True):
            entry = dict(zip(table["head"], row, strict=True))
            unit = next(u for u in FLUX_DENSITY if f"Highest ({u.symbol})" in entry)
            assert number(entry[f"Highest ({unit.symbol})"]) == pytest.approx(unit.of(zone.b_max_rms_t), rel=0.05)
            assert number(entry["at x (m)"]) == pytest.approx(zone.x_m, rel=5e-3)
            assert entry["Verdict"] == verdict(zone)

    def test_distances_stand_beside_the_far_form(self, spectrum, spectrum_page):
        table = spectrum_page.table("Distances beyond which the limits are met")
        rows = [row for row in spectrum.limit_distances if row.limit_name is None]
        found = [dict(zip(table["head"], row, strict=True)) for row in table["rows"]]
        found = [entry for entry in found if "4" in entry["Limit"] and "ICNIRP" not in entry["Limit"]]
        assert [entry["Direction"] for entry in found] == ["right", "up", "left", "down", "overall"]
        for row, entry in zip(rows, found, strict=True):
            # digits follow from the error, which at this tolerance leaves two at least
            assert number(entry["From the outline (m)"]) == pytest.approx(row.from_outline_m, rel=0.05)
            assert number(entry["Far form (m)"]) == pytest.approx(row.far_form_from_centre_m, rel=1e-3)

    def test_a_limit_that_is_nowhere_exceeded_takes_one_row(self, spectrum):
        rows = tuple(
            dataclasses.replace(row, state="not exceeded", from_outline_m=0.0) for row in spectrum.limit_distances
        )
        page = Page(write_report(dataclasses.replace(spectrum, limit_distances=rows), {}, VERSIONS))
        assert [row[2] for row in page.table("Distances")["rows"]] == ["all", "all"]
        assert page.text.count("not exceeded anywhere outside") == 2

    def test_the_exposure_is_a_sum_with_its_rule_and_a_root_for_orientation(self, spectrum, spectrum_page):
        rows = {row[0]: row for row in spectrum_page.table("Exposure against reference levels")["rows"]}
        desk = spectrum.receptors[0]
        exact = exposure_index(
            [(p.frequency_hz, p.b_rms_t, p.b_rms_error_t) for p in desk.spectrum], "ICNIRP 2010 public"
        )
        assert number(rows["desk"][2]) == pytest.approx(exact.index, rel=0.05)
        assert number(rows["desk"][4]) == pytest.approx(exact.root_sum_square, rel=5e-3)
        assert set(rows) == {"desk", "office"}
        for text in (RULE, ORIENTATION):
            assert text in spectrum_page.text
        levels = spectrum_page.table("Reference levels")["rows"]
        assert [row[1] for row in levels] == ["50", "250", "350", "400"]

    def test_the_margin_of_an_exposure_counts_its_own_error(self, spectrum):
        desk = dataclasses.replace(spectrum.receptors[0], exposure_index=0.9, exposure_error=0.2, within_limit=False)
        assert ratio(desk) == 0.9
        assert margin(desk) == pytest.approx(-0.1)
        assert verdict(desk) == "limit within the error"

    def test_harmonics_are_listed_by_order_with_their_sequence(self, spectrum_page):
        rows = spectrum_page.table("Harmonics")["rows"]
        assert [(row[1], row[2], row[5], row[6]) for row in rows] == [
            ("5", "250", "100.0", "negative"),
            ("7", "350", "70.00", "positive"),
        ]
        assert "root of the sum of their squares, losses are added" in spectrum_page.text

    def test_each_circuit_has_its_frequency(self, spectrum_page):
        rows = {row[0]: row[4] for row in spectrum_page.table("Circuits")["rows"]}
        assert (rows["F1 L1"], rows["F2 L1"]) == ("50", "400")

    def test_bonds_name_what_circulates_in_them(self, spectrum, spectrum_page):
        rows = spectrum_page.table("Bonds")["rows"]
        assert rows[1][1:] == ["F2 armours, Ladder 1", "both ends", "0.1000", "0.05000", "yes"]
        currents = {part.part: part.current_rms_a for part in spectrum.parts}
        table = spectrum_page.table("Circulating currents")["rows"]
        assert {row[0] for row in table} == {
            *(f"F1.{k}.{layer}" for k in (1, 2, 3) for layer in ("sheath", "armour")),
            *(f"F2.{k}.armour" for k in (1, 2, 3)),
            "Ladder 1",
        }
        for row in table:
            assert number(row[2]) == pytest.approx(currents[row[0]], rel=1e-3)
            assert row[1] == ("no. 1" if row[0].startswith("F1") else "no. 2")

    def test_open_layers_have_their_standing_voltage_and_the_warning(self, spectrum, spectrum_page):
        rows = {row[0]: row[2] for row in spectrum_page.table("Standing voltages")["rows"]}
        volts = {p.part: p.standing_voltage_v_per_100m for p in spectrum.parts if p.standing_voltage_v_per_100m}
        assert set(rows) == set(volts)
        assert {"F1.1.screen", "F2.1.sheath"} <= set(rows)
        for part, value in volts.items():
            assert number(rows[part]) == pytest.approx(value, rel=5e-3)
        assert "dangerous to touch" in spectrum_page.text

    def test_the_earth_return_is_told_with_its_assumption(self, spectrum_page):
        assert "homogeneous earth of 100" in spectrum_page.text
        assert "complex depth" in spectrum_page.text

    def test_cross_bonding_tells_the_residual_current_and_which_section_is_shown(self, cross, cross_page):
        screens = [part for part in cross.parts if part.kind == "screen"]
        assert all(part.standing_voltage_v_per_100m is None for part in screens)
        # each loop runs through all three places and finds the same voltage: three loops alone leave nothing
        assert max(part.current_rms_a for part in screens) == 0
        assert "No residual current is left." in cross_page.text
        assert "first minor section" in cross_page.text

    def test_dimensions_of_trays_and_metalwork_are_listed(self, saturating_page, cross_page):
        duct = [cell.replace(GAP, " ") for cell in saturating_page.table("Trays")["rows"][0]]
        assert duct[:6] == [
            "D1",
            "duct",
            "mild-steel-saturating",
            "20",
            "2",
            "inside 240 mm × 90 mm; dividers at 10 mm",
        ]
        works = {row[0]: row[4].replace(GAP, " ") for row in saturating_page.table("Metalwork")["rows"]}
        assert works["beam"] == "width 82 mm, height 160 mm; web 5 mm; flanges 7.4 mm"
        assert works["pipe"] == "diameter 60 mm; thickness 4 mm"
        assert works["shield"].startswith("thickness 3 mm; path of 3 points, 320.71")  # 250 mm and 50 mm times root 2
        tray = [cell.replace(GAP, " ") for cell in cross_page.table("Trays")["rows"][0]]
        assert tray[5] == "inside 300 mm × 60 mm; lips 12 mm inward; dividers at 50 mm"
        assert tray[8:] == ["90", "25", "gap 5 mm, aluminium, edges 20 mm"]

    def test_saturation_stands_beside_the_linear_answer(self, saturating, saturating_page):
        (part,) = saturating.saturation
        table = saturating_page.table("Magnetisation of saturating steel")
        entry = dict(zip(table["head"], table["rows"][0], strict=True))
        assert entry["Part"] == "D1"
        assert entry["Solves (–)"] == str(part.solves)
        peak = next(key for key in entry if key.startswith("Mean of the peaks"))
        unit = next(u for u in FLUX_DENSITY if f"({u.symbol})" in peak)
        assert number(entry[peak]) == pytest.approx(unit.of(part.mean_peak_b_t), rel=5e-3)
        assert number(entry["Loss over linear (%)"]) == pytest.approx(
            100 * (part.loss_w_per_m / part.linear_loss_w_per_m - 1), abs=0.06
        )

    def test_the_sweep_is_listed_by_rising_current(self, saturating, saturating_page):
        table = saturating_page.table("The study at other currents")
        assert [row[0] for row in table["rows"]] == ["0.25", "1", "2"]
        points = sorted(saturating.current_sweep, key=lambda point: point.factor)
        for point, row in zip(points, table["rows"], strict=True):
            assert number(row[3]) == pytest.approx(
                100 * (point.quadratic_tray_loss_w_per_m / point.tray_loss_w_per_m - 1), abs=0.06
            )

    def test_materials_say_how_they_are_magnetised(self, saturating_page, cross_page):
        rows = {row[0]: row for row in saturating_page.table("Materials as computed")["rows"]}
        assert rows["D1"][6] == "saturating, mild-steel-curve"
        assert rows["beam"][6] == "constant"
        assert rows["pipe, F1 screens" if "pipe, F1 screens" in rows else "pipe"][6] == "–"
        covers = {row[0]: row[1] for row in cross_page.table("Materials as computed")["rows"]}
        assert covers["T1.cover"] == "aluminium"  # the cover has a material of its own

    def test_every_caution_and_assumption_of_the_study_is_in_it(self, spectrum, saturating, cross, request):
        for result, name in ((spectrum, "spectrum"), (saturating, "saturating"), (cross, "cross")):
            page = request.getfixturevalue(f"{name}_page")
            for caution in result.cautions:
                assert caution in page.text
        assert "Perforated sheet is homogeneous" in request.getfixturevalue("cross_page").text
        assert "Materials with a magnetisation curve saturate" in request.getfixturevalue("saturating_page").text

    def test_zones_alone_are_judged_in_the_leading_sentence(self, spectrum):
        office = next(zone for zone in spectrum.zones if zone.name == "office")
        only = dataclasses.replace(spectrum, receptors=(), zones=(office,))
        assert "The zone is within the limit." in write_report(only, {}, VERSIONS)
        above = dataclasses.replace(office, exposure_index=2.5, within_limit=False)
        text = Page(write_report(dataclasses.replace(only, zones=(above,)), {}, VERSIONS)).text
        assert "The zone “office” is not within its limit: the exposure is 2.50 times what is allowed." in text

    def test_phase_orders_stand_beside_the_one_of_today(self, saturating):
        today = OrderResult({"F1": ("L1", "L2", "L3")}, 1.0, (2e-6,), (), None, None, 1.0, 0.05)
        best = dataclasses.replace(today, phases={"F1": ("L2", "L1", "L3")}, value=0.8, worst_over_limit=0.25)
        solved = SolvedOrder(
            *(1.0, 0.01, (2e-6,), (1e-8,), (), (), None, None, None, None, 1.0, 0.002, 0.05, 0.001, 9000, True)
        )
        found = OrderSearchResult(
            *("field", ("desk",), (), ("desk",), 1, (), 2, 2, 3, True, 0, 0.8, True, today, (best,)),
            *(solved, dataclasses.replace(solved, receptor_b_rms_t=(1.6e-6,)), 0.004),
        )
        page = Page(write_report(dataclasses.replace(saturating, order_search=found), {}, VERSIONS))
        rows = page.table("Phase orders")["rows"]
        assert [row[:4] for row in rows] == [
            ["today", "F1: L1 L2 L3", "1.000", "–"],
            ["no. 1", "F1: L2 L1 L3", "0.8000", "0.250"],
        ]
        assert "proved that none is better" in page.text
        assert "the fields judged before differ from it by 0.40 % at most" in page.text
        assert "the full solution has its own" in page.text
        # name, limit, today with error, judged, in full with error, difference
        (field,) = page.table("Field of today's and the best phase order")["rows"]
        assert field == ["desk", "–", "2.00", "0.01", "2.00", "1.60", "0.01", "+25.0"]
        walked = dataclasses.replace(found, tried=5, possible=99, proved=False, exchanges=2, least_value=0.0)
        text = Page(write_report(dataclasses.replace(saturating, order_search=walked), {}, VERSIONS)).text
        assert "NOT proved, a better one may exist, by how much is not known" in text
        assert "nor two such exchanges" in text


class TestSummary:
    @pytest.mark.parametrize("name", ["spectrum", "saturating", "cross"])
    def test_no_line_is_wider_than_a_terminal(self, name, request):
        text = summary(request.getfixturevalue(name))
        assert max(map(len, text.splitlines())) <= 120

    def test_long_names_of_limits_keep_tables_narrow(self, spectrum):
        name = "IEEE C95.1-2019 unrestricted head and torso"
        rows = tuple(
            dataclasses.replace(row, limit_name=name, of=("a receptor with a very long name", "b"))
            for row in spectrum.limit_distances
        )
        text = summary(dataclasses.replace(spectrum, limit_distances=rows))
        assert max(map(len, text.splitlines())) <= 120

    def test_it_has_limits_zones_distances_kinds_saturation_and_open_ends(self, spectrum, saturating):
        text = summary(spectrum)
        for words in ("ICNIRP 2010 public", "office", "overall", "sheath", "armour", "open end, 100 m"):
            assert words in text
        assert "mean peak B" in summary(saturating)
        assert "square law" in summary(saturating)

    def test_shares_of_the_losses_add_up(self, spectrum):
        lines = summary(spectrum).splitlines()
        start = next(k for k, line in enumerate(lines) if line.startswith("loss of"))
        rows = list(itertools.takewhile(bool, lines[start + 2 :]))
        shares = [float(line.split()[-2]) for line in rows]
        assert sum(shares[:-1]) == pytest.approx(100.0, abs=0.05 * len(shares))  # each is rounded to 0.1
        assert shares[-1] == 100.0

    def test_the_fragment_for_notebooks_has_the_same_tables_and_escapes_names(self, spectrum):
        named = spectrum.study.model_copy(update={"title": "A <b> & c"})
        page = Page(summary_html(dataclasses.replace(spectrum, study=named)))
        assert "b" not in page.tags
        assert "A <b> & c" in page.text
        assert len(page.tables) == len(re.findall(r"^-+ ", summary(spectrum), re.MULTILINE))
        cells = [cell for table in page.tables for row in table["rows"] for cell in row if cell]
        assert all(cell in summary(spectrum) for cell in cells)

    def test_a_result_shows_itself(self, spectrum):
        assert str(spectrum) == summary(spectrum)
        assert spectrum._repr_html_() == summary_html(spectrum)


class TestOutline:
    def test_it_lists_every_frequency_bond_and_request(self):
        study = loads(SPECTRUM)
        text = outline(study, cross_section(study))
        for words in (
            *(
                "F1 L1 at 250 Hz: 100.0 A",
                "F2 L1 at 400 Hz: 100.0 A",
                "bonded: F1.1.sheath",
                "closing through 112 µΩ/m",
            ),
            *("earth return: 100 Ω m", "highest field in office", "limit ICNIRP 2010 public", "each limit is met"),
        ):
            assert words in text, words

    def test_it_tells_saturation_holes_and_cross_bonds(self):
        for study, words in (
            (loads(SATURATING), ("at low field, saturating", "saturation of D1", "the same at 2, 0.25, 1 times")),
            (loads(CROSS), ("25 % open", "cross-bonded: F1.1.screen, F1.2.screen, F1.3.screen")),
        ):
            text = outline(study, cross_section(study))
            for entry in words:
                assert entry in text, entry
            assert "without net current: F1.1.screen" not in outline(loads(CROSS), cross_section(loads(CROSS)))
