"""The report: answers, units, errors and cautions in one file that needs nothing from elsewhere."""

import dataclasses
import itertools
import re

import pytest

from studies.answers.fields.rows import FieldComponent
from studies.answers.limits.verdicts import margin, verdict
from studies.report.contents import document, write_report
from studies.report.failed import sections_of
from studies.report.figures import pictures_of
from studies.runner import run
from studies.study.reading import loads
from studies.text.blocks import Caution, Figure, Section, Text
from studies.text.failures import Failure
from studies.text.grid import Cell, Grid, Head
from studies.text.html import render
from studies.text.marks import words_of_mark
from studies.text.numbers import MINUS, angle, difference, pair_with_error, percent, with_error
from studies.text.units import FLUX_DENSITY, Unit
from tests.studies.feeder import FEEDER, TRAY, accuracy, replaced
from tests.studies.pages import Page, number

STUDY = (
    replaced(
        FEEDER,
        ('"Feeder"', '"Feeder <script>alert(1)</script> & hall"'),
        ("[cables.c240]", '[cables.c240] # "quoted" & <angled>'),
    )
    + TRAY
    + """
[[receptors]]
name = "bench"
at = ["0.7 m", "0.4 m"]
limit = "5 uT"

[[receptors]]
name = "desk"
at = ["-0.6 m", "-0.3 m"]
limit = "200 uT"

[[receptors]]
name = "door"
at = ["2 m", "0 m"]

[[traverses]]
name = "away"
from = ["0.3 m", "0 m"]
to = ["6 m", "0 m"]
points = 21

[map]
window = [["-1 m", "-0.6 m"], ["1.2 m", "0.8 m"]]
"""
    + accuracy("5 %")
)
BARE = """title = "Four cables"
frequency = "400 Hz"

[cables.c]
conductor = { material = "aluminium", area = "95 mm^2", temperature = "70 degC" }
insulation = "1.6 mm"

[[circuits]]
name = "G"
cable = "c"
arrangement = "flat"
clear_gap = "0 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "N", "L1", "N"]
current = "100 A"

[accuracy]
tolerance = "5 %"
"""
VERSIONS = {"trayfield": "0.0.1", "Python": "3.11"}

pytestmark = pytest.mark.usefixtures("coarse_mesh")


@pytest.fixture(scope="module")
def result():
    return run(loads(STUDY, "/home/somebody/hall.toml"))


@pytest.fixture(scope="module")
def page(result):
    return Page(write_report(result, pictures_of(result), VERSIONS))


@pytest.fixture(scope="module")
def bare():
    """Two parallel cables each way; no tray, screen, receptor or traverse."""
    return run(loads(BARE))


NUMBER = re.compile(rf"[+{MINUS}]?\d[\d.\u2009]*( ×.*)?(\u2009\*)?")


class TestTheFile:
    def test_it_asks_for_nothing_from_elsewhere(self, page):
        assert page.links
        for link in page.links:
            assert link.startswith(("#", "data:image/png;base64,", "data:image/svg+xml;base64,")), link
        assert not {"link", "iframe", "object", "base", "embed"} & set(page.tags)
        assert page.tags.count("script") == 3  # the readings of the map and of the traverse, and what reads them
        assert not any("src" in tag for tag in re.findall(r"<script[^>]*>", page.html))
        style = page.html.split("<style>")[1].split("</style>")[0]
        assert "url(" not in style
        assert "@import" not in style
        without_pictures = re.sub(r"data:image/(png|svg\+xml);base64,[\w+/=]*", "", page.html)
        assert "http:" not in without_pictures
        assert "https:" not in without_pictures

    def test_links_lead_to_sections(self, page):
        anchors = {link[1:] for link in page.links if link.startswith("#")}
        assert len(anchors) >= 10
        for anchor in anchors:
            assert f'id="{anchor}"' in page.html

    def test_a_title_is_words_not_markup(self, page):
        assert "<script>alert" not in page.html
        assert (1, "Feeder <script>alert(1)</script> & hall") in page.headings

    def test_the_same_result_gives_the_same_bytes(self, result, page):
        assert write_report(result, pictures_of(result), dict(VERSIONS)) == page.html

    def test_it_holds_no_date_and_no_folder_of_the_study_file(self, page):
        assert not re.search(r"\b20\d\d-\d\d-\d\d\b", page.text)
        assert "somebody" not in page.html
        assert "hall.toml" in page.text

    def test_every_picture_has_words_for_those_who_cannot_see_it(self, result, page):
        assert len(page.images) == len(pictures_of(result))
        for image in page.images:
            assert len(image["alt"]) > 20

    def test_headings_never_skip_a_level(self, page):
        levels = [level for level, _ in page.headings]
        assert levels[0] == 1
        assert all(after <= before + 1 for before, after in itertools.pairwise(levels))

    def test_the_study_file_is_in_it_verbatim(self, page):
        assert page.listing == STUDY

    def test_versions_are_in_it(self, page):
        assert page.table("Software")["rows"] == [["trayfield", "0.0.1"], ["Python", "3.11"]]

    def test_tables_keep_their_heads_and_figures_stay_whole_on_paper(self, page):
        style = page.html.split("@media print")[1].split("</style>")[0]
        assert re.search(r"thead \{ display: table-header-group", style)
        assert re.search(r"figure, \.caution \{ break-inside: avoid", style)
        assert "@page { size: A4" in page.html


class TestNumbers:
    def test_every_column_of_numbers_has_a_unit(self, page):
        assert len(page.tables) >= 10
        for table in page.tables:
            for row in table["rows"]:
                assert len(row) == len(table["head"])
                for head, entry in zip(table["head"], row, strict=True):
                    if NUMBER.fullmatch(entry.strip()) and table["caption"] != "Software" and head != "Section":
                        assert re.search(r"\([^)]+\)$", head.strip()), (table["caption"], head, entry)

    def test_no_number_has_a_bare_exponent(self, page):
        assert not re.findall(r"\d[eE][-+]?\d", page.text)

    @pytest.mark.parametrize(
        ("value", "error", "texts"),
        [
            (2.253965e-6, 2.19e-10, ("2.2540", "0.0003")),  # the error is rounded up, the value to the same decimals
            (14.7816, 8e-6, ("14.782", "0.001")),  # never more than five digits, and no error smaller than the last
            (3.2, 0.4, ("3.2", "0.4")),
            (3.2, 0.41, ("3.2", "0.5")),
            (1234.5, 97.0, ("1230", "100")),
            (0.0, 0.0, ("0", "0")),
            (-0.0123, 0.002, (f"{MINUS}0.012", "0.002")),
        ],
    )
    def test_digits_follow_from_the_error(self, value, error, texts):
        unit = FLUX_DENSITY[1] if abs(value) < 1e-3 and value else Unit("W/m", 1.0)
        assert with_error(value, error, unit) == texts

    def test_both_parts_of_a_complex_number_have_the_decimals_of_its_error(self):
        assert pair_with_error(0.09704, 0.177646, 6.7e-6, Unit("Ω/km", 1.0)) == ("0.09704", "0.17765", "0.00001")
        assert pair_with_error(0.0, 0.0, 0.0, Unit("Ω/km", 1.0)) == ("0", "0", "0")

    @pytest.mark.parametrize(
        ("ratio", "text"),
        [(0.385, "+38.5"), (-1.3, f"{MINUS}130"), (0.00042, "+0.04"), (0.0, "0.00"), (None, "–"), (1.0, "+100")],
    )
    def test_per_cent(self, ratio, text):
        assert percent(ratio) == text

    def test_a_difference_is_formula_over_computed_less_one(self):
        assert difference(3.0, 2.0) == pytest.approx(0.5)
        assert difference(None, 2.0) is None
        assert difference(1.0, 0.0) is None
        assert difference(-1.0, 2.0) is None

    def test_angles_run_from_minus_to_plus_180_degrees(self):
        assert angle(-1 + 0j) == "180.0"
        assert angle(complex(-1.0, -1e-9)) == "180.0"
        assert angle(-1j) == f"{MINUS}90.0"
        assert angle(0j) == "–"


class TestReceptors:
    def test_each_row_holds_the_numbers_of_the_result(self, result, page):
        table = page.table("Flux density at the receptors")
        for receptor, row in zip(result.receptors, table["rows"], strict=True):
            entry = dict(zip(table["head"], row, strict=True))
            unit = next(unit for unit in FLUX_DENSITY if f"Resultant ({unit.symbol})" in entry)
            # half of the last of at least four digits
            assert number(entry[f"Resultant ({unit.symbol})"]) == pytest.approx(unit.of(receptor.b_rms_t), rel=5e-4)
            assert number(entry[f"Line formula ({unit.symbol})"]) == pytest.approx(
                unit.of(receptor.line_formula_b_rms_t), rel=5e-4
            )
            assert number(entry["Difference (%)"]) == pytest.approx(
                100 * (receptor.line_formula_b_rms_t / receptor.b_rms_t - 1), abs=0.05
            )
            assert number(entry[f"± ({unit.symbol})"]) >= unit.of(receptor.b_rms_error_t)

    def test_verdicts_are_in_words(self, result, page):
        verdicts = [row[-1] for row in page.table("Flux density at the receptors")["rows"]]
        assert verdicts == ["above the limit", "within the limit", "no limit stated"]
        assert [receptor.within_limit for receptor in result.receptors] == [False, True, None]
        assert '<span class="bad">above the limit</span>' in page.html
        assert '<span class="good">within the limit</span>' in page.html

    def test_a_limit_within_the_error_is_not_called_met(self, result):
        receptor = dataclasses.replace(
            result.receptors[0], b_rms_t=4.9e-6, b_rms_error_t=2e-7, limit_t=5e-6, within_limit=False
        )
        assert verdict(receptor) == "limit within the error"
        assert margin(receptor) == pytest.approx(1 - 5.1 / 5)

    def test_the_answer_comes_first(self, result, page):
        lead = page.text.index("1 of 2 receptors with a limit does not meet it. The worst is “bench”")
        assert lead < page.text.index("Flux density at the receptors")
        times = result.receptors[0].b_rms_t / 5e-6
        assert f"{times:.2f} times the limit" in page.text

    def test_an_error_above_the_tolerance_is_marked(self, result):
        rough = dataclasses.replace(result.receptors[0], within_tolerance=False)
        marked = dataclasses.replace(result, receptors=(rough, *result.receptors[1:]))
        table = Page(write_report(marked, {}, VERSIONS)).table("Flux density at the receptors")
        assert [row[4].endswith("*") for row in table["rows"]] == [True, False, False]

    def test_several_frequencies_are_listed(self, result):
        receptor = dataclasses.replace(
            result.receptors[0],
            spectrum=(FieldComponent(50.0, 3e-6, 1e-9), FieldComponent(150.0, 4e-6, 1e-9)),
        )
        several = dataclasses.replace(result, receptors=(receptor,))
        rows = Page(write_report(several, {}, VERSIONS)).table("Flux density by frequency")["rows"]
        assert [row[1] for row in rows] == ["50", "150"]

    def test_all_within_and_none_stated_read_as_such(self, result):
        bench, desk, door = result.receptors
        fine = write_report(dataclasses.replace(result, receptors=(desk,)), {}, VERSIONS)
        assert "The receptor is within the limit." in fine
        only = result.study.model_copy(update={"receptors": (result.study.receptors[2],)})
        free = write_report(dataclasses.replace(result, receptors=(door,), study=only), {}, VERSIONS)
        assert "No limit is stated." in free
        both = (dataclasses.replace(bench, within_limit=True, limit_t=1e-4), desk)
        text = Page(write_report(dataclasses.replace(result, receptors=both), {}, VERSIONS)).text
        assert "Both receptors with a limit are within the limit." in text


class TestContents:
    def test_every_caution_is_in_it_and_the_particular_ones_stand_before_the_tables(self, result, page):
        for caution in result.cautions:
            assert caution in page.text
        assert page.text.index(result.cautions[0]) < page.text.index("Circuits, 50 Hz")

    def test_losses_add_up_by_kind(self, result, page):
        rows = {row[0]: row for row in page.table("Loss per metre of run")["rows"]}
        total = number(rows["All parts (4)"][3])
        assert total == pytest.approx(number(rows["Conductors (3)"][3]) + number(rows["Trays (1)"][3]), abs=0.002)
        assert number(rows["Trays (1)"][3]) == pytest.approx(result.loss_total("tray"), rel=1e-3)

    def test_impedances_are_per_kilometre(self, result, page):
        table = page.table("Impedance of the phases")
        for phase, row in zip(result.phases, table["rows"], strict=True):
            entry = dict(zip(table["head"], row, strict=True))
            assert number(entry["X (Ω/km)"]) == pytest.approx(1e3 * phase.z_ohm_per_m.imag, rel=1e-3)
            assert number(entry["L (mH/km)"]) == pytest.approx(1e6 * phase.inductance_h_per_m, rel=1e-3)

    def test_the_formulas_have_a_row_each_and_names_its_sources(self, result, page):
        for quantity, title in (("inductance", "Inductance of the phases"), ("tray loss", "Loss of the trays")):
            rows = [row for row in result.ladder if row.quantity == quantity]
            assert [row[1] for row in page.table(title)["rows"]] == [row.formula for row in rows]
        for row in result.ladder:
            assert words_of_mark(row.source) in page.text

    def test_sources_say_in_words_whether_they_were_seen(self, page):
        assert "[seen]" in page.text
        assert "[named]: the reference was not read" in page.text
        for mark in ("[C]", "[M]", "[D]", "from memory"):
            assert mark not in page.text

    def test_large_differences_get_their_reasons(self, page):
        assert "The steel of T1 draws the flux into its walls" in page.text
        assert "Steel near the cables gives their flux an easier path" in page.text

    def test_the_checks_say_what_they_do_not_tell(self, page):
        rows = {row[0]: row[2] for row in page.table("Checks")["rows"]}
        assert set(rows) == {"Power balance", "Reciprocity", "Ampère's law"}
        assert "does not judge the mesh" in rows["Power balance"]
        assert "does not judge the mesh" in rows["Reciprocity"]
        assert "numbers taken elsewhere are more exact" in rows["Ampère's law"]

    def test_meshes_and_materials_are_listed(self, result, page):
        assert len(page.table("Meshes")["rows"]) == len(result.accuracy.levels)
        steel = page.table("Materials as computed")["rows"][-1]
        assert steel[:5] == ["T1", "mild-steel", "20", "6.000", "300"]

    def test_a_study_without_tray_receptor_traverse_and_figure_has_a_report(self, bare):
        page = Page(write_report(bare, {}, VERSIONS))
        assert "No receptor or zone is named" in page.text
        assert "Largest current of parallel cables" in page.text
        assert "there are no sequence impedances" in page.text
        assert not [heading for _, heading in page.headings if heading in ("Traverses", "Field maps")]
        assert page.images == []

    def test_a_study_from_a_program_is_written_out(self, bare):
        scripted = dataclasses.replace(bare, study=bare.study.model_copy(update={"source_text": "", "source_name": ""}))
        assert '"frequency": 400.0' in Page(write_report(scripted, {}, VERSIONS)).listing


class TestBlocks:
    def test_a_row_that_does_not_fit_its_columns_is_refused(self):
        with pytest.raises(ValueError, match="a row of 1 entries in a table of 2 columns"):
            Grid("t", (Head("a"), Head("b", "m")), (("1",),))

    def test_a_document_of_any_contents_is_rendered(self):
        table = Grid("Lengths", (Head("Of"), Head("Length", "m")), (("a", Cell("1 < 2", "bad")),), "a note")
        picture = Figure("caption", 'says "so"', b"\x89PNG")
        html = render("T", "s", (Section("S", "s", (Text(("p",)), table, picture, Caution("C", ("c",)))),))
        page = Page(html)
        assert page.tables == [{"caption": "Lengths", "head": ["Of", "Length (m)"], "rows": [["a", "1 < 2"]]}]
        assert page.images == [{"alt": 'says "so"', "src": "data:image/png;base64,iVBORw=="}]
        assert page.headings == [(1, "T"), (2, "S"), (3, "C")]

    def test_a_section_that_fails_says_so_in_its_place(self):
        def failing():
            raise ValueError("no")

        good, earlier = Section("Second", "second", ()), Failure("map", "OSError: full")
        lost = sections_of({"First one": failing, "Second": lambda: good, "Third": lambda: None}, [earlier])
        why = "ValueError: no. Its numbers stand in the other files of the results folder."
        what = "What is named here could not be made; everything else stands and was computed without it"
        assert lost == (
            Section(
                "Not complete",
                "failures",
                (Caution(what, ("map: OSError: full", "section “First one” of the report: ValueError: no")),),
            ),
            Section("First one", "first_one", (Caution("This section could not be written", (why,)),)),
            good,
        )
        assert sections_of({"Second": lambda: good}) == (good,)

    def test_the_document_is_plain_blocks(self, result):
        blocks = document(result, {}, VERSIONS)
        titles = [block.title for block in blocks if isinstance(block, Section)]
        assert len(titles) == len(blocks)
        assert titles[0] == "Summary"
