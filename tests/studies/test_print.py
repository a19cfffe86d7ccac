"""The report as PDF and the tables as a workbook: the same content, for readers of either, the same bytes each time."""

import csv
import hashlib
import io
import itertools
import os
import re
import sys
import zipfile
from collections.abc import Iterator
from xml.etree import ElementTree

import pytest

import studies.text.pdf
from studies.command import main
from studies.output.tables import tables
from studies.report.contents import document
from studies.report.figures import figure_set, svg
from studies.report.print import report_pdf, workbook
from studies.report.sheet import split_of, title_block
from studies.text.pdf import NoPdfError, pdf_library
from studies.text.table import Column, Table
from studies.text.units import FLUX_DENSITY, METRE, OHM_PER_KM
from studies.text.xlsx import Numbered, as_xlsx
from tests.studies.everything_asked import STUDY, solve_everything

VERSIONS = {"trayfield": "9.8.7"}
SPACE = {"m": "http://schemas.openxmlformats.org/spreadsheetml/2006/main"}


@pytest.fixture(scope="module")
def result():
    solved = solve_everything().result
    block = solved.study.document.model_copy(update={"number": "EX-7", "revision": "C"})
    study = solved.study.model_copy(update={"document": block})
    # verdicts above a limit stay on page one, whatever their number: those of the installed run are too many for it
    return type(solved)(**{**vars(solved), "study": study, "laying_tolerance": None, "stated_limits": ()})


@pytest.fixture(scope="module")
def pdf(result):
    try:
        pdf_library()
    except NoPdfError as error:
        if "CI" in os.environ:
            raise
        pytest.skip(str(error))
    figures = {"cross_section": svg(figure_set(result)["cross_section"]())}
    return report_pdf(result, figures, VERSIONS), report_pdf(result, figures, VERSIONS)


@pytest.fixture(scope="module")
def reader(pdf):
    pypdf = pytest.importorskip("pypdf")
    return pypdf.PdfReader(io.BytesIO(pdf[0]))


# --- PDF ----------------------------------------------------------------------------------------------------------


def elements(node, above=()):
    """The elements of a structure tree, each with the kinds of those above it."""
    node = node.get_object()
    if isinstance(node, list):
        for entry in node:
            yield from elements(entry, above)
    elif isinstance(node, dict):
        kind = node.get("/S")
        if kind is not None:
            yield kind, node, above
        if "/K" in node:
            yield from elements(node["/K"], (*above, kind) if kind else above)


def test_a_screen_reader_finds_headings_of_columns_and_rows_and_words_for_pictures(reader):
    root = reader.trailer["/Root"]
    found = list(elements(root["/StructTreeRoot"]))
    heads = [(node.get("/A"), above) for kind, node, above in found if kind == "/TH"]
    assert len(heads) > 200
    for attributes, above in heads:
        assert attributes is not None
        assert attributes["/Scope"] == ("/Column" if "/THead" in above else "/Row")
    pictures = [node for kind, node, _ in found if kind == "/Figure"]
    assert pictures
    assert all(len(node["/Alt"]) > 20 for node in pictures)
    # ISO 14289-1, 7.6: list items stand in lists and nowhere else
    assert {above[-1] for kind, _, above in found if kind == "/LI"} == {"/L"}
    assert not [kind for kind, _, above in found if above[-1:] == ("/L",) and kind not in ("/LI", "/L")]
    levels = [int(kind[2:]) for kind, *_ in found if re.fullmatch("/H[1-6]", kind)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]


def test_the_sheet_of_a_study_that_asks_for_everything_fits_one_page_and_goes_on_in_a_table(result, reader):
    first, second = (" ".join(page.extract_text().split()) for page in reader.pages[:2])
    split = split_of(result)
    assert split.count_after() > 3
    assert first.count("Signature") == 2
    assert f"{split.count_after()} more rows of this sheet stand on the next page." in first
    for row in (*split.judged, *split.others):
        assert " ".join(row.of.split())[:20] in first
    for row in (*split.judged_after, *split.others_after):
        assert " ".join(row.of.split())[:20] in second
    assert all(" ".join(caution.split()) in first for caution in result.cautions)


def test_the_pdf_of_the_same_result_has_the_same_bytes(pdf):
    assert pdf[0] == pdf[1]


def test_the_pdf_is_tagged_for_universal_access(reader):
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata.title == "Everything"
    assert re.search(rb"pdfuaid:part(>|=[\"'])1", root["/Metadata"].get_data())


def test_every_page_has_the_document_number_and_its_own_number(reader):
    count = len(reader.pages)
    assert count > 5
    for number, page in enumerate(reader.pages, 1):
        text = " ".join(page.extract_text().split())
        assert "EX-7, revision C" in text
        assert f"page {number} of {count}" in text


def test_the_bookmarks_are_the_sections_with_their_numbers(reader, result):
    titles = [entry.title for entry in reader.outline[1] if not isinstance(entry, list)]
    expected = [section.title for section in document(result, {}, VERSIONS)]
    assert [re.sub(r"^(\d+|[A-Z]) ", "", title) for title in titles] == expected
    assert titles[0] == "1 Summary"
    assert titles[-1].startswith("D ")


def test_the_study_file_is_attached_with_the_bytes_of_its_hash(reader, result):
    (content,) = reader.attachments["everything.toml"]
    assert content == result.study.source_text.encode()
    assert hashlib.sha256(content).hexdigest() == result.study.source_sha256


def test_the_drawing_is_vectors_not_pixels(reader):
    assert [image for page in reader.pages[:2] for image in page.images] == []
    assert len(reader.pages[0].get_contents().get_data()) > 3000


def test_a_missing_library_is_told_before_the_solve_with_the_way_out(tmp_path, monkeypatch, capsys):
    pdf_library.cache_clear()
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    study = tmp_path / "s.toml"
    study.write_text(STUDY)
    try:
        assert main(["run", str(study), "--pdf", "--out", str(tmp_path / "out")]) == 2
    finally:
        pdf_library.cache_clear()
    said = capsys.readouterr().err
    assert "pip install 'trayfield[pdf]'" in said
    assert "open report.html in a browser and print" in said
    assert not (tmp_path / "out").exists()


def test_missing_system_libraries_are_named(monkeypatch):
    class Finder:
        @staticmethod
        def find_spec(name: str, *_: object) -> None:
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    pdf_library.cache_clear()
    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Finder, *sys.meta_path])
    try:
        with pytest.raises(NoPdfError, match=r"libpango-1\.0-0 libpangoft2-1\.0-0 libharfbuzz-subset0.*report\.html"):
            studies.text.pdf.pdf_library()
    finally:
        pdf_library.cache_clear()


# --- workbook -----------------------------------------------------------------------------------------------------


def sheets(book: bytes) -> Iterator[tuple[str, list[list[object]]]]:
    """Each sheet of a workbook with its cells: numbers as numbers, words as words."""
    with zipfile.ZipFile(io.BytesIO(book)) as file:
        shared = [
            "".join(part.text or "" for part in entry.iter(f"{{{SPACE['m']}}}t"))
            for entry in ElementTree.fromstring(file.read("xl/sharedStrings.xml"))
        ]
        tree = ElementTree.fromstring(file.read("xl/workbook.xml"))
        names = [sheet.attrib["name"] for sheet in tree.iterfind(".//m:sheet", SPACE)]
        for number, name in enumerate(names, 1):
            rows: list[list[object]] = []
            for row in ElementTree.fromstring(file.read(f"xl/worksheets/sheet{number}.xml")).iter(
                f"{{{SPACE['m']}}}row"
            ):
                while len(rows) < int(row.attrib["r"]):
                    rows.append([])
                for cell in row:
                    at = sum(26**k * (ord(c) - 64) for k, c in enumerate(reversed(re.sub(r"\d", "", cell.attrib["r"]))))
                    value = cell.findtext("m:v", None, SPACE)
                    assert cell.find("m:f", SPACE) is None
                    rows[-1] += [None] * (at - len(rows[-1]))
                    if value is not None:
                        rows[-1][at - 1] = shared[int(value)] if cell.attrib.get("t") == "s" else float(value)
            yield name, rows


class Place:
    name, field, error, z, none = "=1+1", 2.2539e-6, 3e-10, 1e-4 - 2e-4j, None


COLUMNS = (
    Column[Place]("Place", lambda p: p.name),
    Column[Place]("Field", lambda p: p.field, FLUX_DENSITY, lambda p: p.error),
    Column[Place](("Drop", "angle"), lambda p: p.z, OHM_PER_KM, lambda p: 1e-6, polar=True),
    Column[Place](("R", "X"), lambda p: p.z, OHM_PER_KM, lambda p: 1e-6),
    Column[Place]("Away", lambda p: "not met", METRE),
    Column[Place]("Nothing", lambda p: p.none, METRE),
)


def test_a_table_is_numbers_below_a_row_of_headings_and_a_row_of_units():
    book = as_xlsx("T", (("a", "b"),), [Numbered("Table 1", Table("Fields: [all]", COLUMNS, [Place()], "Note."))], {})
    contents, (name, rows) = sheets(book)
    assert contents[1][0][0] == "T"
    assert contents[1][1] == ["a", "b"]
    assert name == "Table 1 Fields all"
    assert rows[0] == ["Table 1. Fields: [all]"]
    assert rows[2] == ["Place", "Field", "±", "Drop", "±", "angle", "R", "X", "±", "Away", "Nothing"]
    assert rows[3] == ["", "µT", "µT", "Ω/km", "Ω/km", "°", "Ω/km", "Ω/km", "Ω/km", "m", "m"]
    words, *numbers = rows[4]
    assert words == "=1+1"
    assert numbers[:8] == pytest.approx([2.2539, 3e-4, 0.05**0.5, 1e-3, -63.434949, 0.1, -0.2, 1e-3])
    assert numbers[8:] == ["not met"]
    assert rows[6] == ["Note."]


def test_sheets_have_names_of_their_own_and_the_bytes_are_the_same():
    one = Numbered("Table 1", Table("A caption that is longer than a sheet's name may be", COLUMNS, [Place()]))
    files = {"parts": "name,loss_w_per_m\nF1,2.5\n'=x,\n"}
    book = as_xlsx("T", (), [one, one], files)
    names = [name for name, _ in sheets(book)]
    assert len({name.casefold() for name in names}) == 4
    assert max(map(len, names)) <= 31
    assert list(sheets(book))[-1][1] == [["name", "loss_w_per_m"], ["F1", 2.5], ["=x"]]
    assert book == as_xlsx("T", (), [one, one], files)
    with zipfile.ZipFile(io.BytesIO(book)) as file:
        assert b"2000-01-01T00:00:00Z" in file.read("docProps/core.xml")


def test_the_workbook_has_every_table_of_the_report_and_every_file(result):
    files = tables(result)
    book = dict(sheets(workbook(result, VERSIONS, files)))
    found = " ".join(str(cell) for cell in book["Contents"][0] + book["Contents"][1])
    assert "Everything" in found
    assert title_block(result).entries[0][1] == "EX-7"
    receptors = next(rows for rows in book.values() if "Flux density at the receptors, rms" in str(rows[0]))
    field = receptors[2].index("Resultant")
    size = {"nT": 1e-9, "µT": 1e-6}[str(receptors[3][field])]
    shown = [float(str(row[field])) * size for row in receptors[4 : 4 + len(result.receptors)]]
    assert shown == pytest.approx([entry.b_rms_t for entry in result.receptors], rel=1e-14)
    assert {name.removesuffix(".csv")[:31] for name in files} <= set(book)
    rows = list(csv.reader(io.StringIO(files["traverse_line.csv"])))
    assert len(book["traverse_line"]) == len(rows)
    assert book["traverse_line"][1] == pytest.approx([float(cell) for cell in rows[1]])
