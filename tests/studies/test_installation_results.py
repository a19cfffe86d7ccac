"""Summary and preview of what an installation may hold, as a terminal shows them."""

import dataclasses

import pytest

from studies.report.preview import preview
from studies.report.terminal import summary, summary_html
from studies.section.cross_section import cross_section
from studies.study.reading import loads
from tests.studies.pages import Page
from tests.studies.reading_cells import tables_of_terminal
from tests.studies.small_installations import HEAD, circuit
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
        for words in ("ICNIRP 2010 public", "office", "sheath", "armour", "Voltage for each 100 m"):
            assert words in text
        captions = [table.caption for table in tables_of_terminal(summary(saturating))]
        assert {"Magnetisation of saturating steel", "The study at other currents"} <= set(captions)
        assert any(own.caption.startswith("Distance") for own in tables_of_terminal(text))

    def test_shares_of_the_losses_add_up(self, spectrum):
        (table,) = [own for own in tables_of_terminal(summary(spectrum)) if own.caption.startswith("Loss per metre")]
        column = [heading for heading, _ in table.head].index("Share")
        shares = [float(row[column]) for row in table.rows]
        kinds = len(dict.fromkeys(loss.kind for loss in spectrum.losses))
        assert sum(shares[: -kinds - 1]) == pytest.approx(100.0, abs=0.05 * len(shares))
        assert sum(shares[-kinds - 1 : -1]) == pytest.approx(100.0, abs=0.05 * len(shares))  # each is rounded to 0.1
        assert shares[-1] == 100.0

    def test_the_fragment_for_notebooks_has_the_same_tables_and_escapes_names(self, spectrum):
        named = spectrum.study.model_copy(update={"title": "A <b> & c"})
        page = Page(summary_html(dataclasses.replace(spectrum, study=named)))
        assert "b" not in page.tags
        assert "A <b> & c" in page.text
        assert len(page.tables) == len(tables_of_terminal(summary(spectrum)))
        said = summary(spectrum)
        words = {word for table in page.tables for row in table["rows"] for cell in row for word in cell.split()}
        assert [word for word in words if word not in said] == []

    def test_a_result_shows_itself(self, spectrum):
        assert str(spectrum) == summary(spectrum)
        assert spectrum._repr_html_().startswith(summary_html(spectrum))


class TestPreview:
    def test_it_lists_every_frequency_bond_and_request(self):
        study = loads(SPECTRUM)
        text = " ".join(preview(study, cross_section(study)).split())
        for words in (
            *(
                "F1 L1 at 250 Hz: 100 A",
                "F2 L1 at 400 Hz: 100 A",
                "bonded: F1.1.sheath",
                "closing through 0.1118 Ω/km",
            ),
            *("earth return: 100 Ω m", "highest field in office", "limit ICNIRP 2010 public", "each limit is met"),
        ):
            assert words in text, words

    @pytest.mark.parametrize(
        ("surface", "words"),
        [
            ("-1 m", "surface at y = -1 m: all cables in air above it"),
            ("1 m", "surface at y = 1 m: all cables buried"),
            ("-10 mm", "surface at y = -0.01 m: buried F1.2, the others in air"),
        ],
    )
    def test_it_tells_which_cables_are_buried(self, surface, words):
        formation = 'arrangement = "positions"\npositions = [["0 m", "0.1 m"], ["0.1 m", "-0.1 m"], ["0.2 m", "0.1 m"]]'
        text = circuit(formation=formation).replace('rests_at = ["0.0 mm", "0.0 mm"]\n', "")
        study = loads(f'{HEAD}{text}\n[earth]\nresistivity = "50 ohm*m"\nsurface = "{surface}"\n')
        assert f"earth return: 50 Ω m, {words}" in " ".join(preview(study, cross_section(study)).split())

    def test_it_tells_saturation_holes_and_cross_bonds(self):
        for study, words in (
            (loads(SATURATING), ("without saturation, saturating", "saturation of D1", "the same at 2, 0.25, 1 times")),
            (loads(CROSS), ("25 % open", "cross-bonded: F1.1.screen, F1.2.screen, F1.3.screen")),
        ):
            text = " ".join(preview(study, cross_section(study)).split())
            for entry in words:
                assert entry in text, entry
            assert "without net current: F1.1.screen" not in preview(loads(CROSS), cross_section(loads(CROSS)))
