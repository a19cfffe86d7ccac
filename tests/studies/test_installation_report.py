"""Report of what an installation may hold: zones, distances, bonds, spectra, saturation."""

import dataclasses
import itertools
import re

import pytest

from studies.answers.limits.verdicts import margin, ratio, verdict
from studies.answers.orders.rows import OrderResult, OrderSearchResult, SolvedOrder
from studies.answers.reservations.rows import ReservationResult
from studies.data.exposure import ORIENTATION, RULE, exposure_index
from studies.report.contents import write_report
from studies.report.figures import figure_set
from studies.report.terminal import summary
from studies.text.numbers import GAP
from studies.text.units import FLUX_DENSITY
from tests.studies.pages import Page, number
from tests.studies.test_report import VERSIONS
from tests.studies.whole_installations import (
    cross_bonded,
    with_saturation,
    with_spectrum,
)

PICTURE = b"\x89PNG"
"""In the place of each figure; `test_installation_figures` draws them."""


@pytest.fixture(scope="module")
def spectrum():
    return with_spectrum()


@pytest.fixture(scope="module")
def saturating():
    return with_saturation()


@pytest.fixture(scope="module")
def cross():
    return cross_bonded()


@pytest.fixture(scope="module")
def spectrum_page(spectrum):
    return Page(write_report(spectrum, dict.fromkeys(figure_set(spectrum), PICTURE), VERSIONS))


@pytest.fixture(scope="module")
def saturating_page(saturating):
    return Page(write_report(saturating, dict.fromkeys(figure_set(saturating), PICTURE), VERSIONS))


@pytest.fixture(scope="module")
def cross_page(cross):
    return Page(write_report(cross, dict.fromkeys(figure_set(cross), PICTURE), VERSIONS))


class TestReport:
    def test_headings_never_skip_a_level_and_links_lead_to_sections(self, spectrum_page, saturating_page, cross_page):
        for page in (spectrum_page, saturating_page, cross_page):
            levels = [level for level, _ in page.headings]
            assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
            for anchor in (link[1:] for link in page.links if link.startswith("#")):
                assert f'id="{anchor}"' in page.html

    def test_every_picture_is_in_it_and_no_number_has_a_bare_exponent(self, spectrum, spectrum_page):
        stems = figure_set(spectrum)
        assert len(spectrum_page.images) == len(stems)
        words = re.sub(r"\b[0-9a-f]{64}\b", "", spectrum_page.text)  # the hash of the study file
        assert not re.findall(r"\d[eE][-+]?\d", words)

    def test_zones_have_their_rectangle_place_and_verdict(self, spectrum, spectrum_page):
        table = spectrum_page.table("Highest flux density of the zones")
        for zone, row in zip(spectrum.zones, table["rows"], strict=True):
            entry = dict(zip(table["head"], row, strict=True))
            unit = next(u for u in FLUX_DENSITY if f"Highest ({u.symbol})" in entry)
            assert number(entry[f"Highest ({unit.symbol})"]) == pytest.approx(unit.of(zone.b_max_rms_t), rel=0.05)
            assert number(entry["At x (m)"]) == pytest.approx(zone.x_m, rel=5e-3)
            assert entry["Verdict"] == verdict(zone)

    def test_distances_stand_beside_the_far_form(self, spectrum, spectrum_page):
        table = spectrum_page.table("Distances beyond which the limits are met")
        rows = {row.direction: row for row in spectrum.limit_distances if row.limit_name is None}
        found = [dict(zip(table["head"], row, strict=True)) for row in table["rows"]]
        (entry,) = [entry for entry in found if "ICNIRP" not in entry["Limit"]]
        for direction, heading in (("right", "Right"), ("up", "Up"), ("down", "Down"), ("overall", "Largest")):
            # digits follow from the error, which at this tolerance leaves two at least
            assert number(entry[f"{heading} (m)"]) == pytest.approx(rows[direction].from_outline_m, rel=0.05)
        assert number(entry["Far form (m)"]) == pytest.approx(rows["overall"].far_form_from_centre_m, rel=1e-3)

    def test_a_limit_that_is_nowhere_exceeded_says_so_once(self, spectrum):
        rows = tuple(
            dataclasses.replace(row, state="not exceeded", from_outline_m=0.0) for row in spectrum.limit_distances
        )
        page = Page(write_report(dataclasses.replace(spectrum, limit_distances=rows), {}, VERSIONS))
        table = page.table("Distances")
        found = [dict(zip(table["head"], row, strict=True)) for row in table["rows"]]
        assert [(row["Right (m)"], row["Largest (m)"]) for row in found] == [("–", "not exceeded")] * 2
        sheet = page.table("Answers without a limit")["rows"]
        assert [row[1] for row in sheet if row[0].startswith("Distance beyond")] == ["not exceeded"] * 2

    @pytest.mark.parametrize(("error", "shown"), [(5e-12, "at the outline"), (0.02, "0.00"), (None, "0")])
    def test_a_limit_met_at_the_outline_says_so_unless_the_error_can_be_measured(self, spectrum, error, shown):
        rows = tuple(
            dataclasses.replace(row, state="met", from_outline_m=0.0, error_m=error) for row in spectrum.limit_distances
        )
        table = Page(write_report(dataclasses.replace(spectrum, limit_distances=rows), {}, VERSIONS)).table("Distances")
        found = [dict(zip(table["head"], row, strict=True)) for row in table["rows"]]
        assert {row[f"{side} (m)"] for row in found for side in ("Right", "Up", "Left", "Down", "Largest")} == {shown}

    def test_a_field_above_its_limit_is_a_multiple_of_it_and_one_below_has_a_margin(self, spectrum):
        desk = spectrum.receptors[0]
        plain = {"limit_name": None, "exposure_index": None, "exposure_error": None, "spectrum": (), "inside": None}
        places = [
            dataclasses.replace(desk, name=name, b_rms_t=field, b_rms_error_t=error, limit_t=1e-6, **plain)
            for name, field, error in (
                *(("far above", 4.5e-6, 1e-9), ("at it", 0.9995e-6, 1e-9)),
                *(("unsure", 0.5e-6, 4e-6), ("below", 0.25e-6, 1e-9)),
            )
        ]
        table = Page(write_report(dataclasses.replace(spectrum, receptors=tuple(places)), {}, VERSIONS)).table("Flux")
        column = table["head"].index("Margin")
        assert [row[column] for row in table["rows"]] == [
            *("4.50 times the limit", "up to 1.0005 times the limit", "up to 4.50 times the limit", "+74.9\u202f%"),
        ]

    def test_a_zone_within_its_limit_only_as_drawn_says_so_and_why_without_any_receptor(self, spectrum):
        office = next(zone for zone in spectrum.zones if zone.name == "office")
        bend = ReservationResult("zone", "office", "", "bend", 2.5 * office.b_max_rms_t, False, True, "")
        only = dataclasses.replace(spectrum, receptors=(), zones=(office,), reservations=(bend,))
        page = Page(write_report(only, {}, VERSIONS))
        table = page.table("Highest flux density of the zones")
        (row,) = table["rows"]
        assert row[table["head"].index("Verdict")] == "within the limit, but see below"
        after = page.text.split("Highest flux density of the zones", 1)[1]
        assert "office: within the limit on a straight run as drawn, ABOVE it inside a right-angled bend" in after
        assert "within the limit, but see below" in " ".join(summary(only).split())

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
        table = next(table for table in spectrum_page.tables if table["caption"] == "Circuits")
        rows = {row[0]: row[4] for row in table["rows"]}
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
        assert "integrals of Carson (both in air) and Pollaczek" in spectrum_page.text
        assert "complex depth" not in spectrum_page.text

    def test_no_source_is_told_from_memory(self, spectrum_page):
        assert "from memory" not in spectrum_page.text
        assert "[M]" not in spectrum_page.text

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
        assert rows["D1"][6] == "saturating, benchmark-steel-curve"
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
        assert "The zone “office” does not meet its limit: the exposure is 2.50 times the limit." in text

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
            ["as stated", "F1: L1 L2 L3", "1.000", "–"],
            ["no. 1", "F1: L2 L1 L3", "0.8000", "0.250"],
        ]
        assert "proved that none is better" in page.text
        assert "the judged fields differ from this solution by 0.40 % at most" in page.text
        assert "the full solution has its own" in page.text
        # name, limit, today with error, judged, in full with error, difference
        (field,) = page.table("Field of the phase order as stated and of the best one")["rows"]
        assert field == ["desk", "–", "2.00", "0.01", "2.000", "1.60", "0.01", "+25.0"]
        walked = dataclasses.replace(found, tried=5, possible=99, proved=False, exchanges=2, least_value=0.0)
        text = Page(write_report(dataclasses.replace(saturating, order_search=walked), {}, VERSIONS)).text
        assert "NOT proved, a better one may exist, the possible gain is not known" in text
        assert "nor two such exchanges" in text
