"""The files of a comparison: table, report and figures, and the folder that they are in."""

import csv
import io
import json
import os
import re
import sqlite3
from concurrent.futures import ThreadPoolExecutor

import pytest

from studies.compare.case_numbers import CaseNumber, CaseValue
from studies.compare.comparison import Comparison, comparison_of
from studies.compare.criteria import shown_rows
from studies.compare.figure import MOST_BARS, comparison_figures
from studies.compare.measured import Measured
from studies.compare.output import COMPARISON, write_comparison
from studies.compare.plan import plan_of
from studies.compare.report import write_comparison_report
from studies.compare.store import FILE, CaseOutcome, Store, StoreError, is_store
from studies.compare.table_files import (
    PARQUET_MISSING,
    comparison_csv,
    comparison_json,
    comparison_table,
    write_parquet,
)
from studies.output.folder import FolderError, check_folder, held_folder, whole_folder
from studies.output.numbers import software_versions
from studies.report.figures import png
from tests.permissions import obeys_permissions
from tests.studies.reading_cells import tables_of_page
from tests.studies.sweep_studies import SPACINGS, swept

CAUTION = "A caution of one case."


def numbers_text(k: int) -> str:
    """Numbers that no two cases share, with many digits."""
    numbers: dict[str, CaseValue] = {
        "worst_field_over_limit": 2 / (k + 3),
        "highest_b_rms_t": 1e-6 / (k + 3),
        "b_rms_t.instrument": 1e-6 / (k + 3),
        "total_loss_w_per_m": 7.1 + k / 7,
        "tray_loss_w_per_m": 0.1 / (k + 1),
        "width_m": 0.05 + k / 300,
        "x1_ohm_per_m.F1": 1e-4 + 1e-6 / (k + 1),
        "u2_over_u1.F1": 0.3 / (k + 2),
        "u2_v_per_m.F1": 0.01 / (k + 2),
        "spacing_rules_met": k % 2 == 0,
        "largest_share": None,
        "worst_error": 1e-3 / 3,
        "unknowns": 5000 + k,
    }
    known = {name: CaseNumber(value) for name, value in numbers.items()}
    for name in ("worst_field_over_limit", "b_rms_t.instrument"):
        value = float(numbers[name] or 0.0)
        known[name] = CaseNumber(value, value / 3000, value / 0.7, "instrument" if name.startswith("worst") else "")
    return Measured(known, (), (CAUTION,) if k == 1 else ()).text()


def comparison_with(text: str, failed: tuple[int, ...] = ()) -> Comparison:
    plan = plan_of(text, "pair.toml")
    outcomes = {}
    for k, case in enumerate(plan.cases):
        message = "SolveError: <singular>" if k in failed else ""
        outcomes[case.key] = CaseOutcome(case.key, None if message else numbers_text(k), message, 0.5 + k)
    return comparison_of(plan, outcomes, software_versions())


@pytest.fixture(scope="module")
def comparison():
    return comparison_with(swept(SPACINGS[:3]), failed=(2,))


# --- table --------------------------------------------------------------------------------------------------------


def test_the_csv_gives_every_number_back_bit_for_bit(comparison):
    lines = list(csv.DictReader(io.StringIO(comparison_csv(comparison))))
    assert [line["case"] for line in lines] == [row.name for row in comparison.rows]
    assert [line["circuits.F1.spacing"] for line in lines] == ["30 mm", *SPACINGS[:3]]
    for line, row in zip(lines, comparison.rows, strict=True):
        assert line["state"] == ("failed" if row.measured is None else "done")
        for name in comparison.columns:
            value = row.number(name)
            if value is None:
                assert line[name] == ""
            elif isinstance(value, bool):
                assert line[name] == str(value).lower()
            else:
                assert float(line[name]) == value
            for head, beside in (("error_", row.entry(name).error), ("formula_", row.entry(name).formula)):
                assert (head + name in line) is (name in ("worst_field_over_limit", "b_rms_t.instrument"))
                if head + name in line:
                    assert line[head + name] == ("" if beside is None else repr(beside))
    assert [line["place_worst_field_over_limit"] for line in lines] == ["instrument", "instrument", "", "instrument"]
    assert "place_b_rms_t.instrument" not in lines[0]
    assert "largest_share" not in lines[0]  # no case has one


def test_the_parquet_holds_the_same_table_with_types(comparison, tmp_path):
    parquet = pytest.importorskip("pyarrow.parquet")
    assert write_parquet(comparison, tmp_path / "c.parquet")
    table = parquet.read_table(tmp_path / "c.parquet")
    own = comparison_table(comparison)
    assert table.to_pydict() == dict(zip(own.names, map(list, zip(*own.values, strict=True)), strict=True))
    types = {name: str(table.schema.field(name).type) for name in table.column_names}
    assert types["b_rms_t.instrument"] == "double"
    assert types["spacing_rules_met"] == "bool"
    assert types["unknowns"] == "int64"
    assert types["error_worst_field_over_limit"] == types["formula_b_rms_t.instrument"] == "double"
    assert types["place_worst_field_over_limit"] == "string"
    assert types["circuits.F1.spacing"] == "string"


def test_without_the_library_for_parquet_the_csv_is_written_and_that_is_said(comparison, tmp_path, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "pyarrow", None)
    notes = write_comparison(comparison, tmp_path, lambda message: None)
    assert notes == (PARQUET_MISSING,)
    assert (tmp_path / "comparison.csv").exists()
    assert not (tmp_path / "comparison.parquet").exists()


def test_the_json_holds_cases_numbers_and_meanings(comparison):
    document = json.loads(comparison_json(comparison, ["a.txt"]))
    assert document["files"] == ["a.txt"]
    assert document["cases"][1]["numbers"]["total_loss_w_per_m"] == comparison.rows[1].number("total_loss_w_per_m")
    row = comparison.rows[1].entry("worst_field_over_limit")
    assert document["cases"][1]["errors"]["worst_field_over_limit"] == row.error
    assert document["cases"][1]["formulas"]["worst_field_over_limit"] == row.formula
    assert document["cases"][1]["places"] == {"worst_field_over_limit": "instrument"}
    assert document["cases"][1]["sections"] == 1
    assert document["cases"][2]["numbers"] is None
    assert document["cases"][2]["message"] == "SolveError: <singular>"
    assert {entry["key"] for entry in document["quantities"]} >= {"x1_ohm_per_m", "width_m"}


# --- report and figures -------------------------------------------------------------------------------------------


def test_the_report_is_one_page_that_asks_for_nothing(comparison):
    page = write_comparison_report(comparison, {})
    assert page == write_comparison_report(comparison, {})
    assert not re.findall(r"(?:src|href)=\"(?!data:|#)", page)
    for row in comparison.rows:
        assert row.name in page
    assert "SolveError: &lt;singular&gt;" in page
    assert f"{CAUTION} (Cases: spacing 20 mm.)" in page
    assert "Comparison of 3 of 4 cases, from pair.toml" in page
    field = next(table for table in tables_of_page(page) if table.caption == "Field")
    assert field.rows[0][1:3] == ("0.6667", "0.0003")  # the field of the base study, 2/3 of its limit, with its error
    assert "0.9524" in page  # and by formula
    assert "Decided by" in page


def test_figures_are_drawn_the_same_every_time(comparison):
    drawn = {stem: png(figure) for stem, figure in comparison_figures(comparison).items()}
    assert sorted(drawn) == ["cases", "cross_sections", "field_against_loss", "field_against_width"]
    assert drawn == {stem: png(figure) for stem, figure in comparison_figures(comparison).items()}


def test_labels_of_points_do_not_overlap_and_stay_in_the_frame():
    comparison = comparison_with(swept(SPACINGS))
    figure = comparison_figures(comparison)["field_against_loss"]
    axes = figure.axes[0]
    boxes = [text.get_window_extent() for text in axes.texts]
    frame = axes.get_window_extent()
    assert len(boxes) == 8
    for k, box in enumerate(boxes):
        assert frame.x0 <= box.x0
        assert box.x1 <= frame.x1
        assert not any(box.overlaps(other) for other in boxes[:k])


def test_names_and_numbers_beside_bars_stay_in_the_picture():
    text = swept(SPACINGS) + '"circuits.F1.current" = ["100 A", "1234.5 A"]\n"accuracy.tolerance" = ["5 %"]\n'
    figure = comparison_figures(comparison_with(text))["cases"]
    width = figure.bbox.width
    for axes in figure.axes:
        for label in [*axes.get_yticklabels(), *axes.texts]:
            assert label.get_window_extent().x0 >= 0
            assert label.get_window_extent().x1 <= width


def test_of_very_many_cases_the_best_and_the_base_study_are_drawn():
    values = tuple(f"{20 + k} mm" for k in range(3 * MOST_BARS))
    comparison = comparison_with(swept(values))
    rows = shown_rows(comparison.solved, MOST_BARS)
    assert len(rows) == MOST_BARS
    assert rows[0].name == "base study"
    assert rows[-1].name == comparison.rows[-1].name  # the lowest field of all
    assert comparison_figures(comparison).keys() == {
        "cases",
        "cross_sections",
        "field_against_loss",
        "field_against_width",
    }


def test_one_solved_case_is_reported_without_figures(tmp_path):
    comparison = comparison_with(swept(SPACINGS[:1]), failed=(1,))
    assert comparison_figures(comparison) == {}
    write_comparison(comparison, tmp_path, lambda message: None)
    assert (tmp_path / "comparison.html").exists()


# --- folder -------------------------------------------------------------------------------------------------------


def test_other_peoples_files_stay_and_earlier_ones_go(comparison, tmp_path):
    (tmp_path / "comparison.json").write_text('{"schema": 1, "files": ["figures/old.png", "comparison.csv"]}')
    (tmp_path / "figures").mkdir()
    (tmp_path / "figures" / "old.png").write_text("of an earlier comparison")
    (tmp_path / "comparison.csv").write_text("of an earlier comparison")
    (tmp_path / "comparison.html").write_text("of somebody else")
    (tmp_path / "notes.txt").write_text("of somebody else")
    write_comparison(comparison, tmp_path, lambda message: None)
    assert not (tmp_path / "figures" / "old.png").exists()
    assert (tmp_path / "notes.txt").read_text() == "of somebody else"
    assert (tmp_path / "comparison (kept).html").read_text() == "of somebody else"
    assert "base study" in (tmp_path / "comparison.csv").read_text()
    files = set(json.loads((tmp_path / "comparison.json").read_text())["files"])
    assert files >= {"comparison.csv", "comparison.html", "figures/cases.png", "figures/cases.svg"}
    assert all((tmp_path / name).exists() for name in files)
    before = (tmp_path / "comparison.html").read_bytes()
    write_comparison(comparison, tmp_path, lambda message: None)
    assert (tmp_path / "comparison.html").read_bytes() == before
    assert (tmp_path / "comparison (kept).html").exists()


def test_a_failure_while_writing_leaves_the_earlier_files(tmp_path):
    (tmp_path / "comparison.csv").write_text("earlier")
    (tmp_path / "comparison.json").write_text('{"schema": 1, "files": ["comparison.csv"]}')

    def fail() -> None:
        with whole_folder(tmp_path, COMPARISON) as folder:
            (folder / "comparison.csv").write_text("new")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fail()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["comparison.csv", "comparison.json"]
    assert (tmp_path / "comparison.csv").read_text() == "earlier"


def test_a_folder_with_other_things_is_refused(tmp_path):
    (tmp_path / "photograph.jpg").write_text("")
    with pytest.raises(FolderError, match="other things"):
        check_folder(tmp_path, COMPARISON)
    with pytest.raises(FolderError, match="is a file"):
        check_folder(tmp_path / "photograph.jpg", COMPARISON)
    with pytest.raises(FolderError, match="is a file"):
        check_folder(tmp_path / "photograph.jpg" / "below", COMPARISON)
    check_folder(tmp_path / "new" / "folder", COMPARISON)
    with Store.opened(tmp_path / FILE):
        pass
    check_folder(tmp_path, COMPARISON)  # it has cases now


@obeys_permissions
def test_a_folder_without_permission_is_refused(tmp_path):
    tmp_path.chmod(0o500)
    with pytest.raises(FolderError, match="permission"):
        check_folder(tmp_path / "below", COMPARISON)


def test_a_held_folder_is_held_by_one_alone_and_free_afterwards(tmp_path):
    def of_another_thread() -> str:
        try:
            with held_folder(tmp_path):  # as a run, not a comparison
                return "held"
        except FolderError as error:
            return str(error)

    with ThreadPoolExecutor() as other, held_folder(tmp_path, COMPARISON):
        for _ in range(2):  # refusing it did not free it
            told = other.submit(of_another_thread).result()
            assert f"another process ({os.getpid()}) is at work in this folder" in told
            assert "--out" in told
        with held_folder(tmp_path, COMPARISON):
            pass
        assert "at work" in other.submit(of_another_thread).result()
    assert list(tmp_path.iterdir()) == []
    assert of_another_thread() == "held"


# --- stored cases -------------------------------------------------------------------------------------------------


def test_a_stored_case_is_there_for_the_next_process_and_a_failed_one_is_not_finished(tmp_path):
    path = tmp_path / FILE
    with Store.opened(path) as store:
        store.put("a", CaseOutcome("1", "{}", "", 1.5))
        store.put("b", CaseOutcome("2", None, "no convergence", 2.5))
        with sqlite3.connect(path) as other:  # somebody looks at it meanwhile
            assert other.execute("SELECT key, name, state, message FROM cases ORDER BY key").fetchall() == [
                ("1", "a", "done", ""),
                ("2", "b", "failed", "no convergence"),
            ]
            # not a write-ahead log, which machines on a network drive cannot share
            assert other.execute("PRAGMA journal_mode").fetchone() == ("delete",)
    assert is_store(path)
    with Store.opened(path) as store:
        assert store.finished(["1", "2", "3"]) == {"1": CaseOutcome("1", "{}", "", 1.5)}
        store.put("b", CaseOutcome("2", "{}", "", 3.5))
        assert set(store.finished(["1", "2"])) == {"1", "2"}
        store.forget(["1"])
        assert set(store.finished(["1", "2"])) == {"2"}


def test_a_file_that_is_no_file_of_cases_is_refused_and_left_alone(tmp_path):
    (tmp_path / "text").write_text("some text that is longer than the header of a database" * 20)
    with sqlite3.connect(tmp_path / "other") as other:
        other.execute("CREATE TABLE t (x)")
    for name in ("text", "other"):
        before = (tmp_path / name).read_bytes()
        with pytest.raises(StoreError, match="move it away"), Store.opened(tmp_path / name):
            pass
        assert (tmp_path / name).read_bytes() == before
        assert not is_store(tmp_path / name)


def test_the_marks_of_a_file_of_cases_are_in_the_file_from_the_first(tmp_path):
    # as a run leaves it that is killed: no journal holds what belongs to the file
    with Store.opened(tmp_path / FILE) as store:
        store.put("a", CaseOutcome("1", "{}", "", 1.5))
        assert is_store(tmp_path / FILE)
        assert [path.name for path in tmp_path.iterdir()] == [FILE]


def test_a_file_of_cases_with_a_write_ahead_log_is_read_on(tmp_path):
    with Store.opened(tmp_path / FILE) as store:
        store.put("a", CaseOutcome("1", "{}", "", 1.5))
    with sqlite3.connect(tmp_path / FILE) as earlier:
        earlier.execute("PRAGMA journal_mode = WAL")
    with Store.opened(tmp_path / FILE) as store:
        assert store.finished(["1"]) == {"1": CaseOutcome("1", "{}", "", 1.5)}
