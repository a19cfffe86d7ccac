"""What a script or a notebook meets: names of the package, figures to restyle, tables."""

import re

import pytest

import studies
from studies.runner import run
from studies.study.reading import loads

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


def test_the_upper_cable_of_a_trefoil_is_drawn_on_its_plate(result):
    figure = result.figures()["loss_density_p1"]
    assert sum(line.get_marker() == "o" for line in figure.axes[1].lines) == 3
    top = max(cable.axis[1] + cable.layers.outer_radius for cable in result.cross_section.cables) * 1e3
    assert figure.axes[0].get_ylim()[1] >= top


def test_the_far_form_is_written_with_raised_digits(result):
    names = {row.formula for row in result.ladder if row.formula.startswith("far form")}
    assert names == {"far form, falls with 1/r²"}
