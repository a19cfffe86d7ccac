"""The sheet of a comparison: cases that keep every limit first, contours on one scale, a report of each case."""

import dataclasses
import io
import re
import zipfile

import numpy as np
import pytest
from matplotlib.collections import LineCollection

import studies
from studies.command import main
from studies.compare.comparison import CaseRow, Comparison
from studies.compare.contours import limit_contours
from studies.compare.figure import comparison_figures
from studies.compare.limits import keeps_limits, limits_first
from studies.compare.measured import measure, measured_from
from studies.compare.measured_run import along
from studies.compare.plan import plan_of
from studies.compare.report import write_comparison_report
from studies.compare.small_multiples import draw_small_multiples
from studies.study.reading import loads, loads_data
from tests.studies.figure_studies import texts
from tests.studies.pages import Page
from tests.studies.small_installations import HEAD, circuit

pytestmark = pytest.mark.usefixtures("coarse_mesh")

STUDY = f"""{HEAD}
{circuit()}
[[receptors]]
name = "desk"
at = ["0.7 m", "0.5 m"]
limit = "9 uT"

[accuracy]
tolerance = "5 %"

[[variants]]
name = "trefoil"
set = {{ "circuits.F1.arrangement" = "trefoil" }}
remove = ["circuits.F1.spacing"]
"""
"""Flat cables exceed the limit at the desk, a trefoil keeps it."""


@pytest.fixture(scope="module")
def compared(coarse_mesh: None) -> Comparison:
    plan = plan_of(STUDY, "pair.toml")
    rows = []
    for case in plan.cases:
        measured = measured_from(measure(studies.run(loads_data(case.data, "pair.toml"))).text())
        rows.append(CaseRow(case.name, case.origin, case.changes, (), measured, "", 1.0, data=case.data))
    return Comparison(plan.base, (), tuple(rows), {"trayfield": "1.2.3"})


def test_cases_that_keep_every_limit_stand_first_wherever_cases_are_listed(compared: Comparison) -> None:
    assert [keeps_limits(row) for row in compared.rows] == [False, True]
    assert [row.name for row in limits_first(compared.solved)] == ["trefoil", "base study"]
    page = Page(write_comparison_report(compared, {}))
    sheet = page.table("Verdicts of the cases")
    assert [row[:2] for row in sheet["rows"]] == [["trefoil", "keeps every limit"], ["base study", "above a limit"]]
    assert [row[0] for row in page.table("Field")["rows"]] == ["trefoil", "base study"]
    assert "Every limit is kept by “trefoil”" in page.text


def test_a_field_at_its_limit_but_for_the_error_does_not_keep_it(compared: Comparison) -> None:
    row = compared.rows[1]
    assert row.measured is not None
    entry = row.entry("worst_field_over_limit")
    near = dataclasses.replace(entry, value=0.999, error=0.002)
    numbers = {**row.measured.numbers, "worst_field_over_limit": near}
    assert keeps_limits(dataclasses.replace(row, measured=dataclasses.replace(row.measured, numbers=numbers))) is False
    assert keeps_limits(dataclasses.replace(row, measured=None)) is None


def test_the_field_on_the_contour_of_a_case_is_the_limit() -> None:
    result = studies.run(loads(STUDY.partition("[[variants]]")[0]))
    ((limit, lines),) = limit_contours(result).items()
    points = np.array([point for line in lines for point in line])

    assert limit == 9e-6
    assert len(points) > 20
    # half a metre out B falls with the square of the distance r, and a straight line between the few points of a test's
    # map, 3 cm apart, is off by (h/r)^2 / 8 * 6 = 3e-3
    assert result.field_at(points).b_rms_t == pytest.approx(limit, rel=6e-3)
    assert measured_from(measure(result).text()).contours == {limit: lines}  # as kept


def test_a_transposed_run_has_the_contours_of_all_its_sections(compared: Comparison) -> None:
    one, other = (row.measured for row in compared.rows)
    assert one is not None
    assert other is not None
    both = along([one, other], [0.5, 0.5]).contours
    assert both == {9e-6: (*one.contours[9e-6], *other.contours[9e-6])}


def test_all_cross_sections_are_drawn_on_one_scale_with_their_contours(compared: Comparison) -> None:
    figure = draw_small_multiples(compared, limits_first(compared.solved))
    plans = [axes for axes in figure.axes if axes.get_xticks().size]
    close = [axes for axes in figure.axes if not axes.get_xticks().size]
    assert len(plans) == len(close) == 2
    for group in (plans, close):
        scales = [np.ptp(axes.get_xlim()) / axes.get_window_extent().width for axes in group]
        assert scales[0] == pytest.approx(scales[1])
    assert plans[0].get_xlim() == plans[1].get_xlim()
    reach = []
    for axes in plans:
        (lines,) = [one for one in axes.collections if isinstance(one, LineCollection)]
        reach.append(max(np.abs(segment).max() for segment in lines.get_segments()))
        assert any(np.array_equal(line.get_xydata(), [[0.7, 0.5]]) for line in axes.get_lines())
    assert reach[0] < 0.7 * reach[1]  # the trefoil's limit is nearer
    assert [axes.get_title(loc="left").split("\n") for axes in close] == [
        ["trefoil", "keeps every limit"],
        ["base study", "above a limit"],
    ]
    assert "limit 9\u202fµT" in [text.get_text() for text in figure.legends[0].get_texts()]
    assert "x (m)" in texts(figure)
    assert "cross_sections" in comparison_figures(compared)


def test_a_comparison_has_pdf_workbook_and_a_linked_report_of_each_case(tmp_path, capsys) -> None:
    study = tmp_path / "pair.toml"
    study.write_text(STUDY, encoding="utf-8")
    command = ["compare", "-q", str(study), "--out", str(tmp_path / "out"), "--workers", "1", "--reports", "--xlsx"]
    assert main(command) == 0
    html = (tmp_path / "out" / "comparison.html").read_text(encoding="utf-8")
    links = re.findall(r'<a href="(reports/[^"]+)"[^>]*>([^<]+)</a>', html)
    assert set(links) == {("reports/base_study/report.html", "base study"), ("reports/trefoil/report.html", "trefoil")}
    for link, name in links:
        page = tmp_path / "out" / link
        assert f"<h1>Check: {name}</h1>" in page.read_text(encoding="utf-8")
    with zipfile.ZipFile(tmp_path / "out" / "comparison.xlsx") as book:
        assert "keeps every limit" in book.read("xl/sharedStrings.xml").decode()

    first = (tmp_path / "out" / links[0][0]).stat().st_mtime_ns
    assert main(command) == 0
    assert (tmp_path / "out" / links[0][0]).stat().st_mtime_ns == first  # the report of the same case is left


def test_the_pdf_of_a_comparison_has_its_sheet_on_page_one(compared: Comparison) -> None:
    pypdf = pytest.importorskip("pypdf")
    pytest.importorskip("weasyprint")
    from studies.compare.output import comparison_pdf
    from studies.report.figures import svg

    drawings = {stem: svg(figure) for stem, figure in comparison_figures(compared).items()}
    pages = pypdf.PdfReader(io.BytesIO(comparison_pdf(compared, drawings, ()))).pages
    first = " ".join(pages[0].extract_text().split())
    assert "Verdicts of the cases" in first
    assert "Measure after installation." in first
    assert first.count("Signature") == 2
    assert f"page 1 of {len(pages)}" in first
