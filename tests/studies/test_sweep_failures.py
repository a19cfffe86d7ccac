"""What fails in a comparison costs only itself: a case, a table, a figure, a section; and is named."""

import argparse
import dataclasses
import importlib
import json

import pytest

import studies.compare.output
import studies.compare.quantities
import studies.compare.report
from studies.command import NUMERICAL_FAILURE, PROGRAM_ERROR, main
from studies.compare import worker
from studies.compare.command import compare_command
from studies.compare.comparison import comparison_of
from studies.compare.figure import comparison_figures
from studies.compare.measured import measure
from studies.compare.output import Compared, write_comparison
from studies.compare.plan import plan_of
from studies.compare.quantities import QUANTITIES
from studies.compare.report import SECTIONS, comparison_document
from studies.compare.store import CaseOutcome, Store
from studies.text.failures import collected
from tests.studies.everything_asked import failing, silent, solve_everything
from tests.studies.sweep_studies import SPACINGS, swept
from tests.studies.test_failures import BROKEN, WORDS
from tests.studies.test_sweep_files import comparison_with, numbers_text


@pytest.fixture
def comparison():
    return comparison_with(swept(SPACINGS[:3]))


@pytest.fixture(scope="module")
def whole():
    return solve_everything().result


STEPS = {
    "comparison_csv": "comparison.csv",
    "write_parquet": "comparison.parquet",
    "comparison_figures": "figures/cases.png",
    "save_drawn": "figures/cases.png",
    "write_comparison_report": "",
}


@pytest.mark.parametrize("step", STEPS)
def test_a_step_of_writing_that_fails_leaves_all_others(step, comparison, monkeypatch, tmp_path):
    monkeypatch.setattr(studies.compare.output, step, failing(BROKEN))
    with collected() as failures:
        write_comparison(comparison, tmp_path / "out", silent)
    assert {one.why for one in failures} == {WORDS}
    kept = {"comparison.json", "comparison.html", "comparison.csv", "figures/cases.png"} - {STEPS[step]}
    assert kept <= {path.relative_to(tmp_path / "out").as_posix() for path in (tmp_path / "out").rglob("*")}
    document = json.loads((tmp_path / "out" / "comparison.json").read_text(encoding="utf-8"))
    assert {one["why"] for one in document["failures"]} == {WORDS}
    assert [case["state"] for case in document["cases"]] == ["done"] * 4
    if step != "write_comparison_report":
        assert WORDS in (tmp_path / "out" / "comparison.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("title", SECTIONS)
def test_a_section_that_fails_costs_no_other(title, comparison, monkeypatch):
    before = [section.title for section in comparison_document(comparison, {})]
    monkeypatch.setitem(SECTIONS, title, failing(BROKEN))
    after = [section.title for section in comparison_document(comparison, {})]
    assert [one for one in after if one not in ("Not complete", title)] == [one for one in before if one != title]
    assert {"Not complete", title} <= set(after)


def test_a_figure_that_fails_costs_no_other(comparison, monkeypatch):
    monkeypatch.setattr("studies.compare.figure.draw_bars", failing(BROKEN))
    with collected() as failures:
        assert list(comparison_figures(comparison)) == ["cross_sections", "field_against_loss", "field_against_width"]
    assert [one.what for one in failures] == ["figure cases"]


def test_a_case_whose_numbers_cannot_be_derived_says_why(whole, monkeypatch):
    monkeypatch.setattr("studies.compare.measured_run.is_transposed", lambda study: True)
    monkeypatch.setattr("studies.compare.measured_run.run_sections", lambda study: (whole,))
    monkeypatch.setattr("studies.compare.measured_run.along", failing(BROKEN))
    monkeypatch.setattr(importlib.import_module("studies.compare.case_key"), "case_key", lambda *of: "k")
    monkeypatch.setattr(importlib.import_module("studies.study.reading"), "loads_data", lambda *of: whole.study)
    answer = json.loads(worker.answer(json.dumps({"key": "k", "data": {}, "name": ""})))
    assert answer["numbers"] is None
    assert answer["message"] == WORDS


@pytest.mark.parametrize("key", [quantity.key for quantity in QUANTITIES])
def test_a_compared_quantity_that_fails_costs_no_other(key, whole, monkeypatch):
    before = measure(whole).numbers
    broken = tuple(dataclasses.replace(one, of=failing(BROKEN)) if one.key == key else one for one in QUANTITIES)
    monkeypatch.setattr(studies.compare.quantities, "QUANTITIES", broken)
    with collected() as failures:
        after = measure(whole).numbers
    assert [(one.what, one.why) for one in failures] == [(f"compared quantity {key}", WORDS)]
    assert {name: after[name] for name in before if name.partition(".")[0] != key} == {
        name: number for name, number in before.items() if name.partition(".")[0] != key
    }


def test_a_case_with_a_failure_after_its_solve_is_compared_told_and_solved_again(whole, monkeypatch, tmp_path):
    monkeypatch.setattr("studies.compare.measured_run.is_transposed", lambda study: False)
    monkeypatch.setattr("studies.compare.measured_run.run", lambda study: whole)
    monkeypatch.setattr(importlib.import_module("studies.compare.case_key"), "case_key", lambda *of: "k")
    monkeypatch.setattr(importlib.import_module("studies.study.reading"), "loads_data", lambda *of: whole.study)
    monkeypatch.setattr("studies.compare.measured.phase_states", failing(BROKEN))
    answer = json.loads(worker.answer(json.dumps({"key": "k", "data": {}, "name": ""})))
    assert answer["message"] == f"voltages of the phases: {WORDS}"
    assert answer["kind"] == "program"
    assert json.loads(answer["numbers"])["numbers"]["total_loss_w_per_m"][0] > 0
    with Store.opened(tmp_path / "cases.sqlite") as store:
        store.put("case", CaseOutcome(**answer))
        assert store.finished(["k"]) == {}


@pytest.mark.parametrize("kind", ["program", "numerical"])
def test_the_terminal_names_a_case_with_a_failure_after_its_solve(kind, monkeypatch, tmp_path, capsys):
    text = swept(SPACINGS[:3])
    plan = plan_of(text, "pair.toml")
    outcomes = {case.key: CaseOutcome(case.key, numbers_text(k), "", 1.0) for k, case in enumerate(plan.cases)}
    bad = plan.cases[1]
    outcomes[bad.key] = CaseOutcome(bad.key, numbers_text(1), f"charging currents: {WORDS}", 1.0, kind)
    comparison = comparison_of(plan, outcomes, {})
    monkeypatch.setattr("studies.compare.command.compare", lambda *of: Compared(comparison, ()))
    (tmp_path / "pair.toml").write_text(text, encoding="utf-8")
    options = argparse.Namespace(
        study=tmp_path / "pair.toml",
        out=tmp_path / "out",
        workers=1,
        dask=None,
        anew=False,
        pdf=False,
        xlsx=False,
        reports=False,
        quiet=True,
    )
    said: list[str] = []
    assert compare_command(options, silent, said.append) == {kind}
    assert f"in case “{bad.name}”, after its solve: charging currents: {WORDS}" in said[0]
    status = main(["compare", "-q", str(options.study), "--out", str(options.out)])
    assert status == {"program": PROGRAM_ERROR, "numerical": NUMERICAL_FAILURE}[kind]
    page = studies.compare.report.write_comparison_report(comparison, {})
    assert "compared without what failed after the solve" in page
    assert WORDS in page
