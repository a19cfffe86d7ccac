"""What fails after a solve costs only itself, and is named on the page, in the terminal and in results.json."""

import dataclasses
import functools
import json
import sys
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

import studies.output.files
import studies.output.numbers
import studies.output.tables
import studies.output.write
import studies.report.contents
import studies.report.figures
import studies.report.summary
import studies.report.terminal
from studies.answers.cautions.words import ALWAYS
from studies.answers.fields.answer import RECEPTORS
from studies.answers.registry import ANSWERS
from studies.closed_forms.lines import line_model
from studies.formulas.formula import all_formulas
from studies.output.files import whole_file
from studies.output.numbers import results_document, results_text
from studies.output.tables import tables
from studies.output.write import write_results
from studies.report.contents import SECTIONS, write_report
from studies.report.figures import figure_set, pictures_of
from studies.report.terminal import summary
from studies.result import Result
from studies.text.failures import collected, guarded, kind_of, reason
from studies.text.problems import Problem, StudyError
from studies.text.terminal import as_text
from tests.studies.everything_asked import CHEAP, FOLLOWING, Everything, failing, silent, solve_everything

BROKEN = ZeroDivisionError("broken on purpose")
WORDS = "ZeroDivisionError: broken on purpose"
VERSIONS = {"trayfield": "1"}


@pytest.fixture(scope="module")
def everything() -> Everything:
    return solve_everything()


@pytest.fixture(scope="module")
def whole(everything: Everything) -> Result:
    return everything.result


class _Words(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_data(self, data: str) -> None:
        self.found.append(data)


def text_of(page: str) -> str:
    parser = _Words()
    parser.feed(page)
    return " ".join(" ".join(parser.found).split())


# --- the mechanism ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("error", [MemoryError(), ZeroDivisionError("x"), RecursionError(), SystemExit(3)])
def test_every_error_is_collected_once_and_its_place_taken(error):
    with collected() as failures:
        assert guarded("this", failing(error), 7) == 7
        assert guarded("this", failing(error), 8) == 8
        assert guarded("that", lambda: 9, 0) == 9
    assert [(one.what, one.why) for one in failures] == [("this", reason(error))]
    assert type(error).__name__ in failures[0].trace


def test_an_interrupt_is_not_collected_and_nothing_is_where_nobody_collects():
    with pytest.raises(KeyboardInterrupt), collected():
        guarded("this", failing(KeyboardInterrupt()), None)
    with pytest.raises(ZeroDivisionError):
        guarded("this", failing(BROKEN), None)


def test_what_is_collected_within_is_collected_around():
    with collected() as outer:
        with collected() as inner:
            guarded("this", failing(BROKEN), None)
        guarded("that", failing(BROKEN), None)
    assert [one.what for one in inner] == ["this"]
    assert [one.what for one in outer] == ["this", "that"]


def test_a_failure_is_the_study_s_the_computation_s_or_the_program_s():
    assert kind_of(StudyError([Problem("a.toml", "", "", "x", "y")])) == "input"
    assert kind_of(np.linalg.LinAlgError("singular")) == kind_of(MemoryError()) == "numerical"
    assert kind_of(IndexError()) == "program"


def test_a_reason_is_one_line_and_not_longer_than_two_hundred_characters():
    assert len(reason(ValueError("x\n" * 500)).splitlines()) == 1
    assert len(reason(ValueError("x" * 500))) <= len("ValueError: ") + 200


# --- answers ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", [answer.key for answer in ANSWERS])
def test_an_answer_that_fails_costs_only_itself(key, everything, monkeypatch):
    got = everything.with_answers(monkeypatch, **{key: failing(BROKEN)})
    lost = {key, *FOLLOWING.get(key, ())} - {"other_steel"}
    empty = {answer.key: answer.empty for answer in ANSWERS}
    kept = [answer.key for answer in ANSWERS if answer.key not in lost and not answer.amends]
    for name in kept:
        assert bool(getattr(got, name)) is bool(getattr(everything.result, name)), name
    for name in lost:
        assert getattr(got, name) == empty[name], name
        assert name == "cautions" or not empty[name], name
    assert [one.why for one in got.failures] == [WORDS]

    with collected() as more:
        page = text_of(write_report(got, {}, VERSIONS))
        said = summary(got)
        document = json.loads(results_text(got))
        tables(got)
        figure_set(got)
    assert more == []  # nothing else stumbles over the answer that is missing
    assert document["failures"] == [{"what": got.failures[0].what, "why": WORDS}]
    assert f"{got.failures[0].what}: {WORDS}" in page
    assert f"{got.failures[0].what}: {WORDS}" in " ".join(said.split())


def test_cautions_that_fail_leave_the_usual_ones_and_say_so(everything, monkeypatch):
    got = everything.with_answers(monkeypatch, cautions=failing(BROKEN))
    assert got.cautions[1:] == ALWAYS
    for shown in (summary(got), text_of(write_report(got, {}, VERSIONS))):
        assert "The check for cautions of this study failed: judge this study without the program." in " ".join(
            shown.split()
        )


@pytest.mark.parametrize(("key", "place"), [("receptors", "bench"), ("zones", "desk")])
def test_a_place_without_an_answer_is_said_to_have_no_verdict(key, place, everything, monkeypatch):
    got = everything.with_answers(monkeypatch, **{key: failing(BROKEN)})
    assert place in got.unjudged()
    assert "no verdict at" in text_of(write_report(got, {}, VERSIONS))
    assert "No limit is stated" not in text_of(write_report(got, {}, VERSIONS))
    assert "NO VERDICT" in summary(got)
    assert "NO VERDICT" not in summary(everything.result)


def test_a_limit_that_cannot_be_judged_leaves_the_field_and_no_verdict(everything, monkeypatch):
    monkeypatch.setattr("studies.answers.limits.compute.judge", failing(BROKEN))
    got = everything.with_answers(monkeypatch, receptors=RECEPTORS.compute)
    assert [one.b_rms_t for one in got.receptors] == [one.b_rms_t for one in everything.result.receptors]
    assert got.unjudged() == ("bench", "person")
    assert summary(got).count("! not judged") == 2
    assert "not judged" in text_of(write_report(got, {}, VERSIONS))


def test_without_any_answer_everything_is_written_and_every_figure_left_is_drawn(everything, monkeypatch, tmp_path):
    got = everything.with_answers(monkeypatch, **{answer.key: failing(BROKEN) for answer in ANSWERS})
    failures = write_results(got, tmp_path / "out", silent)
    assert {one.why for one in failures} == {WORDS}
    assert len(failures) == len(got.failures)
    assert (tmp_path / "out" / "figures" / "cross_section.png").exists()
    assert "broken on purpose" in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")


# --- formulas -----------------------------------------------------------------------------------------------------

NUMBERS = ("b_rms_t", "loss_w_per_m", "r_ac_ohm_per_m", "z_ohm_per_m", "z1_ohm_per_m", "b_max_rms_t", "from_outline_m")


def solved_numbers(result: Result) -> list[object]:
    rows = [*result.receptors, *result.losses, *result.parts, *result.phases, *result.sequence_impedance]
    rows += [*result.zones, *result.limit_distances]
    return [getattr(row, name) for row in rows for name in NUMBERS if hasattr(row, name)]


def break_formula(name: str, patch: pytest.MonkeyPatch) -> None:
    """Let a formula fail wherever it is used."""
    real = all_formulas()[name].function
    for module in [module for key, module in sys.modules.items() if key.startswith("studies.")]:
        if getattr(module, name, None) is real:
            patch.setattr(module, name, functools.wraps(real)(failing(BROKEN)))  # the register goes by names


@pytest.mark.parametrize(
    "name",
    [
        "line_field",
        "skin_factor",
        "proximity_factor_three",
        "ac_resistance",
        "multipole_field_magnitude",
        "plate_field",
        "plate_loss",
        "phase_impedance_matrix",
        "positive_sequence_inductance",
        "equivalent_spacing",
        "solid_mean_radius",
        "round_conductor_internal_impedance",
        "round_conductor_internal_inductance",
        "eddy_factor",
    ],
)
def test_a_formula_that_fails_is_a_note_beside_numbers_that_stand(name, everything, monkeypatch):
    break_formula(name, monkeypatch)
    # distances from limits follow the solved field alone: none of these formulas changes a row of them
    cheap = set(CHEAP) - {"limit_distances"}
    real = {answer.key: answer.compute for answer in ANSWERS if answer.key in cheap}
    with collected() as failures:
        solutions = tuple(dataclasses.replace(one, model=line_model(one.section)) for one in everything.solutions)
    again = dataclasses.replace(everything, solutions=solutions)
    got = again.with_answers(monkeypatch, **real)
    assert solved_numbers(got) == solved_numbers(everything.result)
    assert WORDS in {one.why for one in (*failures, *got.failures)}  # and what follows from a number that is missing
    with collected() as more:
        write_report(got, {}, VERSIONS)
        summary(got)
        results_text(got)
    assert more == []


# --- tables, figures, sections, keys ------------------------------------------------------------------------------


def test_a_figure_that_fails_costs_no_other(whole, monkeypatch, tmp_path):
    for stem in figure_set(whole):
        drawn = {stem: failing(BROKEN), "another": Figure}
        monkeypatch.setattr(studies.report.figures, "figure_set", lambda result, drawn=drawn: drawn)
        with collected() as failures:
            pictures = studies.report.figures.save_figures(whole, tmp_path / stem, vectors=True)
        assert [(one.what, one.why) for one in failures] == [(f"figure {stem}", WORDS)]
        assert set(pictures) == set(drawn) - {stem}
        written = {path.name for path in (tmp_path / stem).iterdir()}
        assert written == {f"{name}.{ending}" for name in pictures for ending in ("png", "svg")}
        monkeypatch.undo()


@pytest.mark.parametrize("group", studies.report.figures.GROUPS)
def test_a_group_of_figures_that_fails_costs_no_other(group, whole, monkeypatch):
    own = studies.report.figures.GROUPS[group](whole)
    every = set(figure_set(whole))
    monkeypatch.setitem(studies.report.figures.GROUPS, group, failing(BROKEN))
    with collected() as failures:
        assert set(figure_set(whole)) == every - set(own)
    assert [one.why for one in failures] == [WORDS]


def test_figures_of_python_are_those_that_can_be_drawn_with_a_warning(whole, monkeypatch):
    monkeypatch.setattr(studies.report.figures, "figure_set", lambda result: {"one": Figure, "two": failing(BROKEN)})
    with pytest.warns(UserWarning, match="figure two: ZeroDivisionError"):
        assert list(whole.figures()) == ["one"]
    with collected():
        assert list(pictures_of(whole)) == ["one"]


@pytest.mark.parametrize("title", SECTIONS)
def test_a_section_of_the_report_that_fails_costs_no_other(title, whole, monkeypatch):
    before = [section.title for section in studies.report.contents.document(whole, {}, VERSIONS)]
    monkeypatch.setitem(SECTIONS, title, failing(BROKEN))
    document = studies.report.contents.document(whole, {}, VERSIONS)
    after = [section.title for section in document]
    kept = [one for one in after if one not in ("Not complete", title)]
    assert kept == [one for one in before if one != title]
    assert after[0] == "Not complete"
    assert title in after
    page = text_of(write_report(whole, {}, VERSIONS))
    assert f"section “{title}” of the report: {WORDS}" in page
    assert "This section could not be written" in page


def summary_texts(result):
    return [*studies.report.summary.verdict_lines(result), *studies.report.summary.summary_list(result).paragraphs]


@pytest.mark.parametrize("what", [*studies.report.summary.VERDICTS, *studies.report.summary.LINES])
def test_a_line_of_the_page_s_summary_that_fails_costs_no_other(what, whole, monkeypatch):
    module = studies.report.summary
    group = module.VERDICTS if what in module.VERDICTS else module.LINES
    before = summary_texts(whole)
    own = group[what](whole)
    gone = {own} if isinstance(own, str) else set(own)
    monkeypatch.setitem(group, what, failing(BROKEN))
    with collected():
        after = summary_texts(whole)
    assert {line for line in before if line not in gone} <= set(after)
    assert f"{what}: failed, {WORDS}." in after


@pytest.mark.parametrize("what", studies.report.terminal.TABLES)
def test_a_table_of_the_terminal_that_fails_costs_no_other(what, whole, monkeypatch):
    before = summary(whole).split("\n\n")
    made = studies.report.terminal.TABLES[what](whole)
    own = {block for table in made for block in as_text(table).split("\n\n")}
    monkeypatch.setitem(studies.report.terminal.TABLES, what, failing(BROKEN))
    after = summary(whole).split("\n\n")
    assert after[:-1] == [block for block in before if block not in own]
    assert f"table “{what}”: {WORDS}" in " ".join(after[-1].split())


@pytest.mark.parametrize("what", studies.report.terminal.NOTES)
def test_a_line_of_the_terminal_that_fails_costs_no_other(what, whole, monkeypatch):
    before = summary(whole).split("\n\n")
    made = studies.report.terminal.NOTES[what](whole)
    own = list(map(as_text, made))
    monkeypatch.setitem(studies.report.terminal.NOTES, what, failing(BROKEN))
    after = summary(whole).split("\n\n")
    assert after[:-1] == [block for block in before if block not in own]
    assert WORDS in " ".join(after[-1].split())


def test_a_csv_table_that_fails_costs_no_other(whole, monkeypatch):
    makers = studies.output.tables.table_makers(whole)
    for name in makers:
        monkeypatch.setattr(
            studies.output.tables, "table_makers", lambda result, name=name: {**makers, name: failing(BROKEN)}
        )
        with collected() as failures:
            assert set(tables(whole)) == set(makers) - {name}
        assert [(one.what, one.why) for one in failures] == [(f"table {name}", WORDS)]


@pytest.mark.parametrize("key", studies.output.numbers.CONTENTS)
def test_a_key_of_the_results_that_fails_is_null_and_named(key, whole, monkeypatch):
    before = results_document(whole)
    monkeypatch.setitem(studies.output.numbers.CONTENTS, key, failing(BROKEN))
    after = json.loads(results_text(whole))
    assert after[key] is None
    assert after["failures"] == [{"what": f"{key} in results.json", "why": WORDS}]
    kept = [name for name in before if name not in (key, "failures")]
    assert {name: after[name] for name in kept} == json.loads(json.dumps({name: before[name] for name in kept}))


WRITERS = ("tables", "write_field", "save_figures", "write_report", "write_mesh")


@pytest.mark.parametrize("step", WRITERS)
def test_a_step_of_writing_that_fails_leaves_all_others(step, whole, monkeypatch, tmp_path):
    monkeypatch.setattr(studies.report.figures, "figure_set", lambda result: {"field_map": Figure})
    monkeypatch.setattr(studies.output.write, step, failing(BROKEN))
    failures = write_results(whole, tmp_path / "out", silent, keep_mesh=True)
    assert [one.why for one in failures] == [WORDS]
    names = {path.relative_to(tmp_path / "out").as_posix() for path in (tmp_path / "out").rglob("*") if path.is_file()}
    absent = {
        "tables": "tables/receptors.csv",
        "write_field": "field.vtu",
        "save_figures": "figures/field_map.png",
        "write_mesh": "section.msh",
    }
    every = {"results.json", "report.html", "field.vtu", "section.msh", "tables/receptors.csv", "figures/field_map.png"}
    assert every & names == every - {absent.get(step)}
    document = json.loads((tmp_path / "out" / "results.json").read_text(encoding="utf-8"))
    assert document["failures"] == [{"what": failures[0].what, "why": WORDS}]
    assert document["receptors"][0]["b_rms_t"] == whole.receptors[0].b_rms_t
    assert set(document["files"]) == names - {"results.json"}
    assert "Traceback" in (tmp_path / "out" / "failures.txt").read_text(encoding="utf-8")
    page = text_of((tmp_path / "out" / "report.html").read_text(encoding="utf-8"))
    assert WORDS in page
    assert "bench" in page


def test_a_file_that_fails_half_way_leaves_nothing(tmp_path):
    def half(path: Path) -> None:
        path.write_text("half", encoding="utf-8")
        raise BROKEN

    with collected() as failures:
        whole_file(tmp_path / "tables" / "a.csv", half)
    assert [one.what for one in failures] == ["file a.csv"]
    assert list((tmp_path / "tables").iterdir()) == []


def test_when_everything_else_fails_the_results_are_written(whole, monkeypatch, tmp_path):
    for step in (*WRITERS, "summary"):
        monkeypatch.setattr(studies.output.write, step, failing(MemoryError()))
    monkeypatch.setattr(studies.output.files, "plain_page", failing(MemoryError()))
    write_results(whole, tmp_path / "out", silent)
    document = json.loads((tmp_path / "out" / "results.json").read_text(encoding="utf-8"))
    assert document["receptors"][0]["b_rms_t"] == whole.receptors[0].b_rms_t
    assert {"MemoryError"} == {one["why"] for one in document["failures"]}
