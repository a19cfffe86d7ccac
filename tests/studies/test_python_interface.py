"""What a script or a notebook meets: names of the package, figures to restyle, tables."""

import base64
import doctest
import inspect
import re
import sys
import types
import typing

import numpy as np
import pytest

import studies
from fem.solve import SolveError
from studies.command import main
from studies.output.arrays import TableError
from studies.result import Result
from studies.runner import run
from studies.study.dotted_keys import TOP_KEYS
from studies.study.file import Study, StudyFile
from studies.study.reading import load, loads
from studies.text.problems import StudyError, TrayfieldError
from tests.studies.solved_examples import EXAMPLES, NAMES

STUDY = """title = "Script"
frequency = "400 Hz"

[cables.c]
conductor = { material = "copper", area = "95 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "trefoil"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "100 A"

[[trays]]
name = "P1"
profile = "plate"
rests_at = ["0 mm", "0 mm"]
width = "200 mm"
thickness = "2 mm"
material = "aluminium"

[[receptors]]
name = "bench"
at = ["0.5 m", "0.2 m"]

[accuracy]
tolerance = "5 %"
"""


@pytest.fixture(scope="module")
def result():
    return run(loads(STUDY))


def test_the_names_of_the_package_are_listed():
    assert {"load", "loads", "run"} <= set(dir(studies))


def test_figures_of_a_result_may_be_restyled_and_saved(result, tmp_path):
    figures = result.figures()
    figure = figures["field_map"]
    figure.axes[0].set_title("My title")
    figure.set_size_inches(4, 3)
    figure.savefig(tmp_path / "map.png")
    assert (tmp_path / "map.png").stat().st_size > 0
    assert result.figures()["field_map"].axes[0].get_title() != "My title"


def test_words_stand_left_and_numbers_right_in_a_notebook(result):
    html = result._repr_html_()
    sides = {text: side for side, text in re.findall(r'<td style="text-align: (\w+);[^"]*">([^<]*)</td>', html)}
    assert sides["L1"] == "left"
    assert sides["100"] == "right"
    assert sides["F1.1.conductor"] == "left"


def test_a_notebook_shows_the_result_with_its_map_and_each_figure(result):
    shown = re.search(r'<img alt="Field map"[^>]*base64,([^"]+)">', result._repr_html_())
    figure = result.figures()["cross_section"].__dict__["_repr_png_"]()
    assert shown
    assert base64.b64decode(shown[1]).startswith(b"\x89PNG")
    assert figure.startswith(b"\x89PNG")
    assert base64.b64decode(shown[1]) != figure


def test_the_upper_cable_of_a_trefoil_is_drawn_on_its_plate(result):
    figure = result.figures()["loss_density_p1"]
    assert sum(line.get_marker() == "o" for line in figure.axes[1].lines) == 3
    top = max(cable.axis[1] + cable.layers.outer_radius for cable in result.cross_section.cables) * 1e3
    assert figure.axes[0].get_ylim()[1] >= top


def test_the_far_form_is_written_with_raised_digits(result):
    names = {row.formula for row in result.ladder if row.formula.startswith("far form")}
    assert names == {"far form, falls with 1/r²"}


def test_every_name_of_the_package_can_be_imported():
    assert all(getattr(studies, name) is not None for name in studies.__all__)
    with pytest.raises(AttributeError, match="has no attribute 'sovle'"):
        _ = studies.sovle


def test_all_errors_have_a_common_base(monkeypatch):
    errors = [getattr(studies, name) for name in studies.__all__ if name.endswith("Error")]
    assert len(errors) >= 6
    assert all(issubclass(error, TrayfieldError) for error in errors)

    def singular(*_):
        raise SolveError("no finite solution")

    monkeypatch.setattr("studies.runner.solved", singular)
    with pytest.raises(studies.NoSolutionError, match="no finite solution"):
        run(loads(STUDY))


PUBLIC = [
    *[getattr(studies, name) for name in studies.__all__ if not isinstance(getattr(studies, name), type)],
    *[
        getattr(owner, name)
        for owner in (Result, Study)
        for name in vars(owner)
        if inspect.isfunction(vars(owner)[name]) and not name.startswith("__")
    ],
]


@pytest.mark.parametrize("function", PUBLIC, ids=lambda function: function.__qualname__)
def test_type_hints_resolve(function):
    hints = typing.get_type_hints(function)
    assert {*inspect.signature(function).parameters} - {"self"} <= {*hints}


WITH_EXAMPLES = [
    *(studies.load, studies.loads, studies.run, studies.compare_cases, studies.verify_checks, Study.with_),
    *(Result.figures, Result.field_at, Result.table, Result.save, Result.report),
]


@pytest.mark.parametrize("function", WITH_EXAMPLES, ids=lambda function: function.__qualname__)
def test_the_example_of_a_docstring_runs(function, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    main(["new", "feeder.toml", "--template", "instrument", "-q"])
    with (tmp_path / "feeder.toml").open("a", encoding="utf-8") as file:
        file.write('\n[accuracy]\ntolerance = "20 %"\n')
    (example,) = doctest.DocTestFinder(recurse=False).find(function, function.__qualname__, globs={})
    assert len(example.examples) >= 2
    runner = doctest.DocTestRunner()
    runner.run(example)
    assert runner.summarize(verbose=False).failed == 0


def test_a_study_is_changed_by_dotted_keys_and_the_first_stays_as_it_was():
    study = loads(STUDY)
    changed = study.with_({"circuits.F1.current": "200 A", "trays.P1.thickness": 0.003}, remove=["receptors.bench"])
    assert changed.circuits[0].current == 200
    assert changed.trays[0].thickness == 0.003
    assert changed.receptors == ()
    assert study.circuits[0].current == 100
    assert changed == loads(
        STUDY.replace("100 A", "200 A")
        .replace('"2 mm"', '"3 mm"')
        .replace('[[receptors]]\nname = "bench"\n', "")
        .replace('at = ["0.5 m", "0.2 m"]\n', "")
    ).model_copy(update={"source_text": changed.source_text, "source_sha256": ""})
    assert '# set from Python: circuits.F1.current = "200 A"\n' in changed.source_text
    assert "# removed from Python: receptors.bench\n" in changed.source_text


@pytest.mark.parametrize("name", NAMES)
def test_a_study_without_changes_is_the_same(name):
    study = load(EXAMPLES / f"{name}.toml")
    assert study.with_({}) == study


@pytest.mark.parametrize(
    ("changes", "key", "wrong", "right"),
    [
        ({"circuits.F2.current": "1 A"}, "circuits.F2.current", "leads nowhere", '"F1"'),
        ({"circuits.F1.curent": "1 A"}, 'circuits[1] "F1" → curent', "no known key", "current"),
        ({"circuits.F1.current": "1 kg"}, 'circuits[1] "F1" → current', "unknown unit", '"400 A"'),
        ({"circuits.F1.spacing": -0.1}, 'circuits[1] "F1" → spacing', "outside", "0.1 mm to 100 m"),
        ({"circuits.F1.cable": "d"}, 'circuits[1] "F1" → cable', "no known cable", '"c"'),
    ],
)
def test_a_wrong_change_is_told_as_in_a_file(changes, key, wrong, right):
    with pytest.raises(StudyError) as caught:
        loads(STUDY).with_(changes)
    (problem,) = caught.value.problems
    assert problem.key == key
    assert wrong in problem.wrong
    assert right in problem.right


def test_dotted_keys_know_every_table_of_the_study_file():
    lists = {name: typing.get_origin(field.annotation) is tuple for name, field in StudyFile.model_fields.items()}
    assert lists == TOP_KEYS


def test_the_field_anywhere_is_that_of_the_receptors_with_its_error_and_formula(result):
    (bench,) = result.receptors
    field = result.field_at([bench.x_m, bench.y_m])
    assert field.b_rms_t == pytest.approx([bench.b_rms_t], rel=1e-12)
    assert field.b_t[0, 0] == pytest.approx([bench.bx_t, bench.by_t], rel=1e-12)
    assert field.b_rms_error_t == pytest.approx([bench.b_rms_error_t], rel=1e-9)
    assert field.line_formula_b_rms_t == pytest.approx([bench.line_formula_b_rms_t], rel=1e-12)
    assert field.frequencies_hz.tolist() == [400.0]
    with pytest.raises(ValueError, match=r"shape \(q, 2\)"):
        result.field_at([1.0, 2.0, 3.0])


def test_a_table_is_arrays_by_column(result):
    losses = result.table("losses")
    assert losses["loss_w_per_m"] == pytest.approx([row.loss_w_per_m for row in result.losses], rel=1e-15)
    assert losses["part"].tolist() == [row.part for row in result.losses]
    assert np.isnan(result.table("receptors")["limit_t"]).all()
    assert {"receptors", "losses", "phases", "mesh_levels"} <= set(result.table_names())
    with pytest.raises(TableError, match='right: "losses"'):
        result.table("loses")


@pytest.mark.parametrize("library", ["pandas", "polars"])
def test_a_table_is_a_frame_of_a_library_that_is_there_and_else_says_what_to_install(result, library, monkeypatch):
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(TableError, match=f"pip install {library}"):
        result.table("losses", library)
    monkeypatch.setitem(sys.modules, library, types.SimpleNamespace(DataFrame=lambda columns: ("frame", columns)))
    kind, columns = result.table("losses", library)
    assert kind == "frame"
    assert list(columns) == list(result.table("losses"))


def test_reprs_are_of_a_few_lines(result):
    assert repr(result.study) == "<Study “Script”, 400 Hz: 1 circuit, 3 cables, 1 tray, 1 receptor>"
    lines = repr(result).splitlines()
    assert lines[:2] == ["<Result of “Script”, 400 Hz", "  no limits stated"]
    assert len(lines) == 3
    assert max(map(len, lines)) < 80
