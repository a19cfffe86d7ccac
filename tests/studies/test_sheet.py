"""The sheet to sign: every answer on page one, what it was computed from, who signs; numbers of sections and tables."""

import hashlib
import re
from dataclasses import replace
from types import SimpleNamespace
from typing import NoReturn, cast

import pytest

from studies.answers.answer import nothing
from studies.answers.answers import Answers
from studies.answers.registry import ANSWERS
from studies.compare.case_key import case_key
from studies.report.contents import document, write_report
from studies.report.sheet import note_of, sheet_rows
from studies.study.document import TitleBlock
from studies.study.reading import load, loads
from studies.text.blocks import Caution, Facts, Figure, Section, Signatures, Text
from studies.text.failures import collected
from studies.text.html import render
from studies.text.numbering import numbering
from studies.text.table import Column, Table
from tests.studies.everything_asked import STUDY, solve_everything
from tests.studies.pages import Page

WITHOUT = {
    "cautions": "stand on the sheet in full",
    "reservations": "stand beside each verdict",
    "map": "is a picture",
    "readings": "are of the map",
    "ladder": "holds formulas",
    "saturation": "is a reason for the losses",
    "other_steel": "changes the verdicts",
    "fault_forces": "is tabulated by others",
    "faults": "the design forces are the largest of these",
    "fault_pairs": "the design forces are the largest of these",
    "route_solution": "is tabulated by another",
}
"""Answers without a line of their own, and why."""
TITLE_BLOCK = TitleBlock(
    number="EX-7", revision="C", date="1 May 2031", author="A. Author", project="</style> & “works”"
)


@pytest.fixture(scope="module")
def everything():
    return solve_everything()


@pytest.fixture(scope="module")
def page(everything):
    study = everything.study.model_copy(update={"document": TITLE_BLOCK})
    return Page(write_report(replace(everything.result, study=study), {}, {"trayfield": "9.8.7"}))


def test_every_answer_has_a_line_on_the_sheet_or_a_reason_why_not():
    assert {answer.key for answer in ANSWERS if answer.sheet is nothing} == set(WITHOUT)


@pytest.mark.parametrize(
    "asked",
    [
        *(
            "Field at “bench”",
            "Field at “person”",
            "Highest field in “desk”",
            "Distance beyond which ICNIRP 2010 public",
        ),
        *("Highest field along “line”", "Loss of all parts per metre", "Loss of the trays at 1 to 2 times"),
        *("Largest standing voltage", "Reactance of the phases of F1", "Unbalance |Z21/Z11| of F1"),
        *("Field along the run at “bench”", "Loss of the whole run", "The same at the load"),
        *("Voltage drop at the load of F1", "Unbalance V2/V1 at the load of F1", "Largest voltage of metal along"),
        *("Charging current of F1, largest phase, whole run", "Force to design cleats for", "hase order"),
    ],
)
def test_everything_that_a_study_asks_for_is_on_the_sheet_or_in_the_table_that_continues_it(page, asked):
    assert [row for row in rows_of(page) if asked in row[0]], [row[0] for row in rows_of(page)]


def rows_of(page):
    """Rows of the sheet, those on page one first."""
    named = [table for table in page.tables if SHEET.search(table["caption"])]
    return [row for table in named for row in table["rows"]]


SHEET = re.compile(r"(Verdicts|Answers without a limit)(, continued)?$")


def test_an_answer_that_fails_on_the_sheet_says_so_among_the_verdicts(everything, monkeypatch):
    def fail(result: object) -> NoReturn:
        raise ZeroDivisionError

    broken = replace(ANSWERS[1], sheet=fail)
    monkeypatch.setattr("studies.report.sheet.ANSWERS", (broken, *ANSWERS[2:]))
    with collected() as failures:
        row = sheet_rows(everything.result)[0]
    assert (row.of, row.verdict, row.tone) == ("Fields at the receptors", "no verdict", "bad")
    assert "ZeroDivisionError" in row.value
    assert len(failures) == 1


def test_the_sheet_names_the_document_and_has_lines_for_two_signatures(page):
    words = page.text
    for name, value in (("Document", "EX-7"), ("Revision", "C"), ("Date", "1 May 2031"), ("Author", "A. Author")):
        assert f"{name} {value}" in words
    assert page.html.count("<span>Signature</span><span>Date</span>") == 2
    assert "<p>Author: A. Author</p>" in page.html
    assert "<p>Checker</p>" in page.html
    assert "Client's reference" not in words


def test_every_printed_page_names_document_and_revision(page):
    assert '@bottom-left { content: "EX-7, revision C"' in page.html
    assert 'content: "page " counter(page) " of " counter(pages)' in page.html


def test_a_title_cannot_leave_the_style_sheet(everything):
    study = everything.study.model_copy(update={"title": 'a"; } </style> \\ <b>'})
    html = write_report(replace(everything.result, study=study), {}, {})
    assert html.count("</style>") == 1
    assert r'content: "a\000022\00003b' in html or r'content: "a\000022' in html


def test_the_sheet_has_the_hash_of_the_study_file_as_it_is_on_disk_and_the_version(everything, tmp_path):
    file = tmp_path / "study.toml"
    file.write_bytes(b"\xef\xbb\xbf" + STUDY.replace("\n", "\r\n").encode())
    digest = hashlib.sha256(file.read_bytes()).hexdigest()
    html = write_report(replace(everything.result, study=load(file)), {}, {"trayfield": "9.8.7"})
    assert f"<span>SHA-256 of the study file</span> {digest}</li>" in html
    assert "trayfield 9.8.7" in html


def test_all_cautions_stand_on_the_sheet(everything):
    sheet = document(everything.result, {}, {})[0]
    cautions = [line for block in sheet.blocks if isinstance(block, Caution) for line in block.lines]
    assert cautions == list(everything.result.cautions)
    assert len(cautions) > 6


def test_no_number_depends_on_the_document():
    with_document = STUDY.replace("[cables.c]", '[document]\nnumber = "X-1"\n\n[cables.c]', 1)
    assert loads(with_document).document.number == "X-1"
    assert case_key(loads(with_document), {}) == case_key(loads(STUDY), {})


# --- numbers of sections, tables, figures -------------------------------------------------------------------------


ROWS = (Column[str]("Word", lambda word: word), Column[str]("See", lambda word: word, target=lambda word: word))
DOCUMENT = (
    Section("First", "first", (Table("One", ROWS, ["deep", "records", "nowhere"]),)),
    Section(
        "Second",
        "second",
        (Figure("Picture", "A picture.", b"<svg/>"), Section("Deep", "deep", (Table("Two", ROWS, ["first"]),))),
    ),
    Section("Records", "records", (Text(("words",)), Table("Three", ROWS, ["second"])), is_appendix=True),
)


def test_sections_tables_and_figures_are_numbered_in_their_order_and_references_agree():
    page = Page(render("T", "", DOCUMENT))
    contents = ["1 ", "2 ", "A "]
    assert page.labels == [
        *contents,
        *("1 ", "Table\u00a01. "),
        *("2 ", "Figure\u00a01. ", "2.1 ", "Table\u00a02. "),
        *("A ", "Table\u00a03. "),
    ]
    assert [[row[1] for row in table["rows"]] for table in page.tables] == [["2.1", "A", "nowhere"], ["1"], ["2"]]
    assert re.search(r'<a href="#deep"[^>]*>2\.1</a>', page.html)
    assert numbering(DOCUMENT).of_anchors == {"first": "1", "second": "2", "deep": "2.1", "records": "A"}


def test_records_come_last_in_a_report(everything):
    sections = document(everything.result, {}, {})
    assert sections[0].is_sheet
    appendices = [section.is_appendix for section in sections]
    assert appendices == sorted(appendices)
    assert {"formulas", "differences", "method", "source"} == {one.anchor for one in sections if one.is_appendix}


def test_a_picture_has_the_kind_that_its_bytes_say():
    html = render("T", "", (Figure("a", "b", b"<?xml version='1.0'?><svg/>"), Figure("c", "d", b"\x89PNG\r\n")))
    assert re.findall(r"data:(image/[a-z+]+);", html) == ["image/svg+xml", "image/png"]


def test_facts_and_lines_to_sign_are_escaped():
    html = render("T", "", (Facts((("a<", "b&"),)), Signatures((("Author", "<i>"),))))
    assert "<span>a&lt;</span> b&amp;</li>" in html
    assert "<p>Author: &lt;i&gt;</p>" in html


def test_the_note_of_the_sheet_names_errors_that_are_not_of_the_numerics() -> None:
    plain = SimpleNamespace(laying_tolerance=None, space=None)
    both = SimpleNamespace(laying_tolerance=object(), space=object())
    assert note_of(cast(Answers, plain)).startswith("±: numerical error alone. Margin: ")
    said = "±: numerical error; of layings with that of the samples, of the run in space with the doubt of its metal. "
    assert note_of(cast(Answers, both)).startswith(said)
