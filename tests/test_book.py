"""The book: it builds without a warning and needs no network, and its made pages hold what the registers hold."""

import re
from dataclasses import replace
from pathlib import Path

import pytest

from studies.book import examples
from studies.book.build import PAGES, build, cells
from studies.book.registers import formula_pages
from studies.book.validation import Held, check_page, rows_of_checks, rows_of_tests, tables_by_topic
from studies.formulas.formula import all_formulas
from studies.study.key_reference import keys
from studies.verify.checks import run_checks
from studies.verify.registry import FAMILIES, chosen_checks
from tests.against_the_world import Sources

pytest.importorskip("sphinx", reason="the book's libraries are not installed")


@pytest.fixture(scope="module")
def book(tmp_path_factory):
    folder = tmp_path_factory.mktemp("book")
    few = tmp_path_factory.mktemp("examples")
    for name in ("metrology_hall_flat", "parallel_cables"):
        (few / f"{name}.toml").write_text((examples.EXAMPLES / f"{name}.toml").read_text(encoding="utf-8"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(examples, "EXAMPLES", few)
        assert build(folder) == 0
    return folder


def test_no_page_asks_the_network_for_anything(book):
    for page in book.rglob("*.html"):
        html = page.read_text(encoding="utf-8")
        loaded = re.findall(r"<(?:script|img|iframe)[^>]*src=\"([^\"]+)\"|<link[^>]*href=\"([^\"]+)\"", html)
        assert not [one for pair in loaded for one in pair if one.startswith(("http:", "https:", "//"))], page.name


def test_formulas_in_the_text_need_no_script(book):
    assert "<math" in (book / "theory.html").read_text(encoding="utf-8")


def test_each_formula_has_a_page_with_unit_range_source_inputs_and_example():
    pages = formula_pages()
    for name, formula in all_formulas().items():
        page = pages[f"formulas/{name}.md"].replace("\\", "")
        assert "**Unit** a ratio" in page or f"**Unit** {formula.unit}" in page
        assert f"**Range** {formula.valid_for}" in page
        assert f"**Source** {formula.source}" in page
        for argument in formula.function.__annotations__:
            if argument != "return":
                assert re.search(rf"^- `{argument}`.*: \S", page, re.MULTILINE), (name, argument)
        assert ">>> " in page


def test_every_key_and_every_check_is_listed(book):
    page = (book / "keys.html").read_text(encoding="utf-8")
    assert all(f">{part}<" in page for key in keys() for part in re.split(r"[. ]", key.path)[-1:])
    listed = check_page()
    assert all(f"`{check.name}`" in listed for family in FAMILIES for check in family.checks)


def test_each_topic_of_validation_has_a_heading_and_a_table_with_the_verdict_beside_the_check():
    row = Held("Skin", "R/R0", "1.5", "1.503", "mT", 0.002, 0.01, "A table", "seen", passed=True)
    parts = tables_by_topic(
        [row, replace(row, topic="Screens", unit="–", mark=""), replace(row, what="again", passed=False)]
    )
    assert parts[::2] == ["### Skin", "### Screens"]
    cells = [[cell.strip() for cell in line.strip("| ").split(" | ")] for line in parts[1].splitlines()]
    assert cells[0] == ["Check", "Verdict", "Expected", "Got", "Off / tolerance (%)", "Source"]
    assert cells[2] == ["R/R0", "pass", "1.5", "1.503 mT", "+0.20 / 1.0", "A table \\[seen\\]"]
    assert cells[3][:2] == ["again", "FAIL"]
    assert "1.503 |" in parts[3]


def test_long_lines_of_a_study_file_wrap(book):
    page = (book / "examples" / "metrology_hall_flat.html").read_text(encoding="utf-8")
    assert "_static/book.css" in page
    style = (book / "_static" / "book.css").read_text(encoding="utf-8")
    assert "white-space: pre-wrap" in style.partition("div.highlight pre {")[2].partition("}")[0]


def test_a_check_is_a_row_of_the_table_of_validation():
    row = next(iter(rows_of_checks(run_checks(chosen_checks(["skin-point"]), lambda message: None))))
    assert row.topic == "A printed point of skin effect"
    assert row.what == "R/R0 - 1 at x = 2.14, IEC 60287-1-1 fit (formula)"
    assert (row.expected, row.unit, row.mark, row.passed) == ("0.1005", "–", "confirmed, seen", True)
    assert row.source == "Neher and McGrath, table III"
    assert row.difference == pytest.approx(float(row.got) / 0.1005 - 1, abs=1e-5)


def test_a_test_that_names_its_source_is_a_row_of_the_table_of_validation():
    rows = rows_of_tests("tests/geometry/test_sizes.py")
    gauge = next(row for row in rows if "(10 AWG-10380)" in row.what)
    assert gauge.topic == "Sizes"
    assert gauge.what.startswith("gauge areas are those of the nec table")
    assert (gauge.expected, gauge.got, gauge.mark, gauge.passed) == ("10\u2009380", "10\u2009383.02", "seen", True)
    assert gauge.difference == pytest.approx(10383.022 / 10380 - 1, rel=1e-4)
    assert "NEC chapter 9 table 8" in gauge.source


def test_a_case_has_the_source_of_the_list_that_it_is_from():
    levels = Sources(Path(__file__).parent / "studies" / "test_reference_levels.py")
    for case, source in (
        (("ICNIRP 2010 public", 60, 200e-6, "C"), "ICNIRP 2010, Health Physics"),
        (("ICNIRP 1998 public", 7.99, 626.5654e-6, "C"), "ICNIRP 1998, p. 511"),
    ):
        assert levels.of_case(case).startswith(source)


def test_an_example_has_its_question_its_drawing_and_its_file(book):
    page = (book / "examples" / "metrology_hall_flat.html").read_text(encoding="utf-8")
    assert "A chiller feeder of three single-core cables runs flat" in page
    assert "metrology_hall_flat.svg" in page
    assert 'name = "interferometer"' in re.sub("<[^>]*>", "", page).replace("&quot;", '"')


def test_a_wrong_link_in_a_page_is_told(tmp_path, monkeypatch, capfd):
    pages = tmp_path / "pages"
    pages.mkdir()
    (pages / "conf.py").write_text('extensions = ["myst_parser"]\n')
    (pages / "index.md").write_text("# Book\n\n[nowhere](missing.md)\n\n```{toctree}\n:glob:\n\n*\n*/*\n```\n")
    monkeypatch.setattr("studies.book.build.PAGES", pages)
    monkeypatch.setattr("studies.book.build.formula_pages", dict)
    monkeypatch.setattr("studies.book.build.example_pages", lambda place, solve: {})
    assert build(tmp_path / "out") == 1
    assert "missing" in capfd.readouterr().err


@pytest.mark.parametrize("page", sorted((PAGES / "notebooks").glob("*_*.md")), ids=lambda page: page.stem)
def test_every_cell_of_a_notebook_runs_and_shows_a_result(page, capsys):
    names: dict[str, object] = {}
    for cell in cells(page.read_text(encoding="utf-8")):
        exec(cell, names)
    assert capsys.readouterr().out.count("\n") > 3
