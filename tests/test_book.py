"""The book: it builds without a warning and needs no network, and its made pages hold what the registers hold."""

import re

import pytest

from studies.book import examples
from studies.book.build import PAGES, build, cells
from studies.book.registers import check_page, formula_pages
from studies.formulas.formula import all_formulas
from studies.study.key_reference import keys
from studies.verify.registry import FAMILIES

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
