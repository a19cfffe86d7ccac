"""Names as plants write them, through study, terminal, page, tables, figures and file names."""

import csv
import html
import io
import json
import re

import pytest

from studies.compare.figure import comparison_figures
from studies.compare.plan import plan_of
from studies.compare.table_files import comparison_csv
from studies.output.write import write_results
from studies.report.figures import svg
from studies.report.terminal import summary
from studies.result import Result
from studies.runner import run
from studies.section.cross_section import cross_section
from studies.study.dotted_keys import PathError, joined, parts_of, value_at, with_value, without
from studies.study.reading import loads
from studies.text.csv import csv_text, inert
from studies.text.file_names import slugs
from studies.text.problems import StudyError
from tests.studies.solved_examples import EXAMPLES
from tests.studies.sweep_studies import PAIR
from tests.studies.test_sweep_files import comparison_with

pytestmark = pytest.mark.usefixtures("unrendered", "coarse_mesh")

CIRCUITS = ("=E01+S1-W12.3", "MCC 2/F1")
STUDY = r"""title = "=1+1 <b>&amp; $\\frac{$"
frequency = "50 Hz"

[cables."=C1.240 (Cu)"]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
screen = { material = "@Cu", thickness = "0.2 mm" }
jacket = "1.8 mm"

[materials."@Cu"]
conductivity = "50 MS/m"
relative_permeability = 1

[[circuits]]
name = "=E01+S1-W12.3"
cable = "=C1.240 (Cu)"
arrangement = "flat"
spacing = "56 mm"
rests_at = ["-100 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"

[[circuits]]
name = "MCC 2/F1"
cable = "=C1.240 (Cu)"
arrangement = "trefoil"
rests_at = ["100 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "100 A"

[[trays]]
name = "(N)"
profile = "plate"
rests_at = ["0 mm", "0 mm"]
width = "400 mm"
thickness = "2 mm"
material = "aluminium-5052"

[[bonds]]
parts = ["=E01+S1-W12.3 screens"]

[[receptors]]
name = "@desk <i> $x_$"
at = ["1.5 m", "0.5 m"]
limit = "0.5 uT"

[[zones]]
name = "-zone;=2*3"
window = [["-1 m", "-1 m"], ["1 m", "-0.5 m"]]
limit = "100 uT"

[[traverses]]
name = "CON"
from = ["-1 m", "1 m"]
to = ["1 m", "1 m"]
points = 3

[[traverses]]
name = "+CON"
from = ["-1 m", "2 m"]
to = ["1 m", "2 m"]
points = 3

[accuracy]
tolerance = "20 %"
"""
NAMES = (*CIRCUITS, "(N)", "@desk <i> $x_$", "-zone;=2*3")


@pytest.fixture(scope="module")
def result() -> Result:
    return run(loads(STUDY))


@pytest.fixture(scope="module")
def folder(result, tmp_path_factory):
    target = tmp_path_factory.mktemp("plant") / "results"
    write_results(result, target, lambda message: None)
    return target


def test_every_name_stands_in_terminal_page_and_results_as_it_was_written(result, folder):
    page = html.unescape((folder / "report.html").read_text(encoding="utf-8"))
    terminal = summary(result)
    for name in NAMES:
        assert name in page
        assert name in terminal
    assert "<i>" not in (folder / "report.html").read_text(encoding="utf-8")
    document = json.loads((folder / "results.json").read_text(encoding="utf-8"))
    assert document["title"] == loads(STUDY).title
    assert document["receptors"][0]["name"] == NAMES[3]
    parts = [part["part"] for part in document["parts"]]
    assert parts[:2] == ["=E01+S1-W12.3.1.conductor", "=E01+S1-W12.3.1.screen"]
    assert "(N)" in parts
    (screen,) = (loss for loss in result.losses if loss.part == "=E01+S1-W12.3.1.screen")
    assert "circulating" in screen.formula
    assert "the bond holds more" not in screen.formula_outside_range


def test_no_cell_of_a_table_is_a_formula_and_numbers_stay_numbers(folder):
    tables = sorted((folder / "tables").glob("*.csv"))
    assert len(tables) > 8
    words = 0
    for path in tables:
        for line in csv.reader(io.StringIO(path.read_text(encoding="utf-8"))):
            for cell in line:
                if re.match(r"\s*[=+@\-]", cell):
                    float(cell)  # a number below zero, which is no formula
                words += cell.startswith("'")
    assert words > 10
    (receptor,) = csv.DictReader(io.StringIO((folder / "tables" / "receptors.csv").read_text(encoding="utf-8")))
    assert receptor["name"] == "'@desk <i> $x_$"
    (zone,) = csv.DictReader(io.StringIO((folder / "tables" / "zones.csv").read_text(encoding="utf-8")))
    assert zone["name"] == "'-zone;'=2*3"


def test_file_names_hold_letters_digits_and_underscores_alone(folder):
    stems = [path.stem for path in (*folder.glob("figures/*.png"), *folder.glob("tables/*"))]
    assert all(re.fullmatch(r"[a-z0-9_]+", stem) for stem in stems)
    assert {"traverse_con_name", "traverse_con_name_2"} <= {*stems}
    assert "loss_density_n" in stems


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=1+1", "'=1+1"),
        ("+1", "'+1"),
        ("-1+2", "'-1+2"),
        ("@SUM(1)", "'@SUM(1)"),
        ("\t=1", "'\\u0009=1"),
        ("\r=1", "'\\u000d=1"),
        ("a\n=1", "a\n'=1"),
        ("  =1", "'  =1"),
        ("＝1", "'＝1"),
        ("a;=1", "a;'=1"),
        ("a\x00b", "a\\u0000b"),
        ("spacing -5 mm", "spacing -5 mm"),
        ("F1=2", "F1=2"),
        ("'quoted", "'quoted"),
    ],
)
def test_text_that_a_spreadsheet_would_reckon_is_made_inert(text, cell):
    assert inert(text) == cell
    (head, line) = csv.reader(io.StringIO(csv_text([text], [[text]])))
    assert head == line == [cell]


def test_numbers_are_written_as_they_were():
    assert csv_text(["a", "b", "c", "d"], [[-1.5, -2, None, True]]) == "a,b,c,d\n-1.5,-2,,True\n"


VARIANT = """
[[variants]]
name = "NAME"
set = { "circuits.F1.spacing" = "70 mm" }

[sweep]
"circuits.F1.spacing" = ["40 mm", "50 mm"]
"""


@pytest.mark.parametrize("name", ["=1+1", "+1", "-1", "@A1", "$x_{$ and $\\\\frac{$"])
def test_the_names_of_cases_are_inert_in_the_table_and_as_written_in_figures(name):
    comparison = comparison_with(PAIR + VARIANT.replace("NAME", name))
    row = next(row for row in comparison.rows if row.origin == "variant")
    (line,) = (line for line in csv.DictReader(io.StringIO(comparison_csv(comparison))) if line["origin"] == "variant")
    assert line["case"] == ("'" if name[0] in "=+-@" else "") + row.name
    for figure in comparison_figures(comparison).values():
        assert svg(figure)


def test_a_dotted_key_reaches_every_name():
    data = {
        "circuits": [{"name": name, "spacing": "1 m"} for name in (*CIRCUITS, "(N)", "it's")],
        "cables": {"a.b": {}},
    }
    for path, parts in (
        ("circuits.'=E01+S1-W12.3'.spacing", ["circuits", "=E01+S1-W12.3", "spacing"]),
        ('circuits."=E01+S1-W12.3".spacing', ["circuits", "=E01+S1-W12.3", "spacing"]),
        ("circuits.MCC 2/F1.spacing", ["circuits", "MCC 2/F1", "spacing"]),
        ("circuits.(N).spacing", ["circuits", "(N)", "spacing"]),
        ("circuits.it's.spacing", ["circuits", "it's", "spacing"]),
        ("cables.'a.b'.insulation", ["cables", "a.b", "insulation"]),
    ):
        assert parts_of(path) == parts
        assert parts_of(joined(parts)) == parts
        changed = with_value(data, path, "2 m")
        assert value_at(changed, path) == "2 m"
        assert value_at(without(changed, path), path) is None
    assert value_at(data, "circuits.'=E01+S1-W12.3'.spacing") == "1 m"


@pytest.mark.parametrize(
    "path", ["", ".", "a.", ".a", "a..b", "circuits.'F1", "circuits.''.x", "circuits.'F1'x.y", " a"]
)
def test_what_is_no_dotted_key_is_told_with_the_form_for_points(path):
    with pytest.raises(PathError, match="is no dotted key") as told:
        with_value({"circuits": []}, path, 1)
    assert "\"circuits.'=E01.F1'.spacing\"" in told.value.right


def test_a_variant_and_a_section_of_a_route_change_what_has_a_point_in_its_name():
    name = "circuits.'=E01+S1-W12.3'.spacing"
    variant = f'\n[[variants]]\nname = "wide"\nset = {{ "{name}" = "80 mm" }}\n'
    grid = f'\n[sweep]\n"{name}" = ["60 mm"]\n'
    cases = plan_of(STUDY + variant + grid).cases
    assert [value_at(case.data, name) for case in cases] == ["56 mm", "80 mm", "60 mm"]
    assert cases[2].name == "spacing 60 mm"
    route = f'\n[[route]]\nname = "hall"\nlength = "10 m"\nset = {{ "{name}" = "80 mm" }}\n'
    assert loads(STUDY + route).route is not None
    with pytest.raises(StudyError, match=r"circuits\.'=E01\+S1-W12\.3'\.spacing"):
        loads(STUDY + route.replace("W12.3'", "W12.4'"))


def test_screens_of_a_circuit_with_a_point_in_its_name_are_cross_bonded():
    text = (EXAMPLES / "screens_cross_bonded.toml").read_text(encoding="utf-8")
    plain, pointed = (cross_section(loads(text.replace("F1", name))) for name in ("F1", "=E01.F1"))
    assert len(pointed.cross_bonds) == len(plain.cross_bonds) > 0
    assert pointed.cross_bonds[0].parts[0].startswith("=E01.F1.1.")


def test_a_name_that_begins_as_the_parts_of_another_is_refused():
    with pytest.raises(StudyError) as told:
        loads(STUDY.replace('"(N)"', '"MCC 2/F1.1.conductor"'))
    (problem,) = told.value.problems
    assert problem.key == 'trays[1] "MCC 2/F1.1.conductor" → name'
    assert problem.wrong == 'begins as the parts of "MCC 2/F1" are named'


def test_no_two_names_have_the_same_file():
    names = ["=E01", "+E01", "E01", "e01_2", "(e01)", "E01 2", "con", "CON.", "nul", "COM1", "lpt³", "。"]
    files = slugs(names)
    assert len({*files}) == len(names)
    assert not {*files} & {"con", "nul", "com1", "lpt3"}
