"""results.json: the promised keys, SI numbers equal to those of the result, and files as they are on disk."""

import json
import math

import numpy as np
import pytest

from studies.output.numbers import SCHEMA, plain_data, results_document, results_text
from studies.output.write import write_results
from studies.runner import run
from studies.study.reading import loads
from studies.text.numbers import largest

pytestmark = pytest.mark.usefixtures("unrendered")

# screens, a bond, a tray, parallel cables, a neutral without current: every kind of entry, and entries that are empty
STUDY = """title = 'Feeder "Büro" — 50 Ω'
frequency = "50 Hz"

[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
screen = { material = "copper", thickness = "0.2 mm" }
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c240"
arrangement = "flat"
spacing = "30 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3", "L1", "L2", "L3", "N"]
current = "400 A"

[[trays]]
name = "T1"
profile = "channel"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "60 mm"
thickness = "1.5 mm"
material = "mild-steel"

[[bonds]]
parts = ["F1 screens", "T1"]

[[receptors]]
name = "with a limit"
at = ["1.5 m", "0.5 m"]
limit = "0.5 uT"

[[receptors]]
name = "on an axis"
at = ["0 mm", "12.44038744 mm"]

[[traverses]]
name = "floor line"
from = ["-3 m", "1 m"]
to = ["3 m", "1 m"]
points = 5

[accuracy]
tolerance = "20 %"
"""

# as the interface promises them
FIELD = ["b_rms_t", "b_rms_error_t", "b_major_axis_rms_t", "line_formula_b_rms_t"]
RECEPTOR = ["name", "x_m", "y_m", *FIELD, "limit_t", "within_limit"]
LOSS = ["part", "phase", "loss_w_per_m", "loss_error_w_per_m"]
PART = ["part", "current_a", "voltage_v_per_m", "r_dc_ohm_per_m", "r_ac_ohm_per_m"]
PHASE = ["circuit", "phase", "z_ohm_per_m", "inductance_h_per_m", "formula_inductance_h_per_m"]
SEQUENCE = ["circuit", "z1_ohm_per_m", "formula_z1_ohm_per_m"]
PROMISED = {"receptors": RECEPTOR, "losses": LOSS, "parts": PART, "phases": PHASE, "sequence_impedance": SEQUENCE}
UNITS = ("_m", "_t", "_a", "_hz", "_w_per_m", "_v_per_m", "_ohm_per_m", "_h_per_m")
PHASORS = ("current_a", "voltage_v_per_m", "z_ohm_per_m", "z1_ohm_per_m", "formula_z1_ohm_per_m", "bx_t", "by_t")


@pytest.fixture(scope="module")
def result():
    return run(loads(STUDY))


@pytest.fixture(scope="module")
def document(result):
    def refuse(constant):
        raise AssertionError(f"{constant} is no JSON")

    return json.loads(results_text(result), parse_constant=refuse)


def test_the_top_holds_what_is_promised(document, result):
    assert document["schema"] == SCHEMA == 1
    assert document["title"] == 'Feeder "Büro" — 50 Ω'
    assert document["frequency_hz"] == 50.0
    assert set(document["software"]) >= {"trayfield", "numpy", "scipy", "gmsh"}
    assert all(version for version in document["software"].values())
    assert set(document["checks"]) >= {"power_balance", "ampere_law"}
    assert document["cautions"] == list(result.cautions)
    assert all(isinstance(caution, str) and caution for caution in document["cautions"])


@pytest.mark.parametrize("key", PROMISED)
def test_every_entry_has_every_promised_key(key, document):
    assert document[key]
    for entry in document[key]:
        assert set(entry) >= set(PROMISED[key])


def test_parts_are_named_by_circuit_position_and_layer(document):
    cables = [f"F1.{position}.{layer}" for position in range(1, 8) for layer in ("conductor", "screen")]
    assert [entry["part"] for entry in document["parts"]] == [*cables, "T1"]
    assert [entry["part"] for entry in document["losses"]] == [*cables, "T1"]
    assert [entry["phase"] for entry in document["losses"]][:14:2] == ["L1", "L2", "L3", "L1", "L2", "L3", "N"]
    assert [(entry["circuit"], entry["phase"]) for entry in document["phases"]] == [
        ("F1", phase) for phase in ("L1", "L2", "L3", "N")
    ]


def numbers_without_unit(value, key=""):
    """Keys of numbers that do not end in their unit."""
    if isinstance(value, dict):
        return [found for name, entry in value.items() for found in numbers_without_unit(entry, name)]
    if isinstance(value, list):
        return [found for entry in value for found in numbers_without_unit(entry, key)]
    # "..._in_unit" stands beside the key "unit"
    return [key] if isinstance(value, float) and not key.endswith((*UNITS, "_in_unit")) else []


def test_every_number_with_a_unit_has_it_in_its_key(document):
    without = set(numbers_without_unit(document))
    # ratios: they have no unit
    assert without <= {
        "share_of_phase",
        *("z21_over_z11", "z21_over_z11_error", "formula_z21_over_z11"),
        *("z01_over_z11", "z01_over_z11_error", "formula_z01_over_z11"),
        "tolerance",
        "worst_error",
        "worst_change",
        "fineness",
        "power_balance",
        "reciprocity",
        "ampere_law",
    }


def test_phasors_are_pairs_of_numbers(document):
    found = 0
    for key in PROMISED:
        for entry in document[key]:
            for name in PHASORS:
                if entry.get(name) is not None:
                    real, imaginary = entry[name]
                    assert math.isfinite(real)
                    assert math.isfinite(imaginary)
                    found += 1
    # two of each part, two and z of each phase that carries a current, two of each receptor, two z1
    assert found == 2 * 15 + 2 * 4 + 3 + 2 * 2 + 2


def test_numbers_are_those_of_the_result(document, result):
    for key in PROMISED:
        for entry, own in zip(document[key], getattr(result, key), strict=True):
            for name, value in entry.items():
                number = getattr(own, name)
                if isinstance(number, complex):
                    assert complex(*value) == number
                elif isinstance(number, float) and not math.isfinite(number):
                    assert value is None
                else:
                    assert value == plain_data(number)  # JSON keeps all digits of a double
    for entry, own in zip(document["traverses"], result.traverses, strict=True):
        assert np.array_equal(entry["b_rms_t"], own.b_rms_t)
        assert np.array_equal(entry["points_m"], own.points_m)


def test_what_there_is_none_of_is_null(document):
    neutral = document["phases"][3]
    assert neutral["current_a"] == [0.0, 0.0]
    assert neutral["z_ohm_per_m"] is None
    assert neutral["inductance_h_per_m"] is None
    assert document["receptors"][0]["within_limit"] is False
    assert document["receptors"][1]["limit_t"] is None
    assert document["receptors"][1]["within_limit"] is None


def test_the_sums_are_those_of_the_parts(document):
    for kind in ("conductor", "screen", "tray"):
        own = sum(entry["loss_w_per_m"] for entry in document["losses"] if entry["kind"] == kind)
        assert own > 0
        assert document["loss_totals"][f"{kind}_w_per_m"] == pytest.approx(own, rel=1e-12)  # rounding of a sum


def test_the_losses_are_the_power_that_the_conductors_take_up(document):
    # an identity of the discrete system: sum of u conj(i) over all parts, rounding only
    power = sum((complex(*e["voltage_v_per_m"]) * complex(*e["current_a"]).conjugate()).real for e in document["parts"])
    assert sum(e["loss_w_per_m"] for e in document["losses"]) == pytest.approx(power, rel=1e-8)
    assert document["checks"]["power_balance"] < 1e-8


def test_files_are_those_on_disk(result, tmp_path):
    target = tmp_path / "feeder"
    write_results(result, target, lambda message: None, keep_mesh=True)
    (target / "notes.txt").write_text("mine")
    write_results(result, target, lambda message: None)
    listed = json.loads((target / "results.json").read_text(encoding="utf-8"))["files"]
    on_disk = {path.relative_to(target).as_posix() for path in target.rglob("*") if path.is_file()}
    assert on_disk == {*listed, "results.json", "notes.txt"}
    assert listed == sorted(listed)
    assert {"report.html", "field.vtu", "tables/losses.csv", "tables/traverse_floor_line.csv"} <= set(listed)
    assert "section.msh" not in listed


def test_the_text_is_that_of_the_document(result):
    document = json.loads(results_text(result, ["a.csv"]))
    assert document.pop("files") == ["a.csv"]
    assert document == results_document(result)
    assert results_text(result) == results_text(result)


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (math.nan, None),
        (-math.inf, None),
        (np.float64(1.5), 1.5),
        (np.int64(3), 3),
        (np.bool_(True), True),
        (True, True),
        (1 - 2j, [1.0, -2.0]),
        (complex(math.nan, 1), [None, 1.0]),
        (np.complex128(2j), [0.0, 2.0]),
        (np.array([[1.0, math.nan]]), [[1.0, None]]),
        (np.array([1j]), [[0.0, 1.0]]),
        ((1, "a", None), [1, "a", None]),
    ],
)
def test_values_become_plain_data(value, expected):
    assert plain_data(value) == expected
    assert type(plain_data(value)) is type(expected)
    json.dumps(plain_data(value), allow_nan=False)


def test_of_values_that_are_equal_but_for_rounding_the_first_is_the_largest():
    currents = {"left": 2.0, "right": 2.0 + 1e-12, "floor": 1.0}
    assert largest(["left", "right", "floor"], currents.__getitem__) == "left"
    assert largest(["floor", "right"], currents.__getitem__) == "right"
