"""CSV tables: columns with units, every digit, one line an entry."""

import csv
import dataclasses
import io
import re

import numpy as np
import pytest

from studies.output.tables import tables
from studies.runner import run
from studies.study.reading import loads

STUDY = """title = "Feeder"
frequency = "50 Hz"

[cables.c240]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c240"
arrangement = "flat"
spacing = "30 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["N", "L1", "L2", "L3"]
current = "400 A"

[[receptors]]
name = "Büro, 2 OG"
at = ["1.5 m", "0.5 m"]

[[traverses]]
name = "floor line"
from = ["-3 m", "1 m"]
to = ["3 m", "1 m"]
points = 5

[[traverses]]
name = "Floor-line"
from = ["0 m", "1 m"]
to = ["0 m", "4 m"]
points = 3

[accuracy]
tolerance = "20 %"
"""


@pytest.fixture(scope="module")
def result():
    return run(loads(STUDY.replace("Büro, 2 OG", "Büro 2 OG")))


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_there_is_a_table_of_everything_and_of_each_traverse(result):
    promised = {"receptors", "losses", "parts", "phases", "sequence_impedance", "mesh_levels"}
    traverses = {"traverse_floor_line", "traverse_floor_line_2"}
    found = tables(result)
    assert {f"{name}.csv" for name in promised | traverses} <= set(found)
    assert len([name for name in found if name.startswith("traverse")]) == 2
    assert all(text.count("\n") >= 2 for text in found.values())  # a head and a line at the least


@pytest.mark.parametrize("name", ["receptors", "losses", "parts", "phases", "sequence_impedance"])
def test_numbers_are_those_of_the_result_to_the_last_digit(name, result):
    read = rows(tables(result)[f"{name}.csv"])
    for row, entry in zip(read, getattr(result, name), strict=True):
        told: set[str] = set()
        for field in dataclasses.fields(entry):
            value = getattr(entry, field.name)
            if isinstance(value, tuple):
                assert field.name not in row  # a list has no column
                continue
            phasor = (f"{field.name}_re", f"{field.name}_im")
            cells = (field.name,) if field.name in row else phasor
            told.update(cells)
            if value is None:
                assert [row[cell] for cell in cells] == [""] * len(cells)
            elif isinstance(value, complex):
                assert complex(*(float(row[cell]) for cell in cells)) == value
            elif isinstance(value, float):
                assert float(row[field.name]) == value
            else:
                assert row[field.name] == str(value)
        assert told == set(row)


def test_a_phasor_that_is_missing_in_the_first_line_still_has_two_columns(result):
    read = rows(tables(result)["phases.csv"])
    assert read[0]["phase"] == "N"
    assert read[0]["z_ohm_per_m_re"] == read[0]["z_ohm_per_m_im"] == ""
    assert float(read[1]["z_ohm_per_m_re"]) > 0
    assert "z_ohm_per_m" not in read[0]


def test_a_traverse_has_its_points_in_order_and_its_field(result):
    for name, traverse in zip(("floor_line", "floor_line_2"), result.traverses, strict=True):
        read = rows(tables(result)[f"traverse_{name}.csv"])
        assert np.array_equal([[float(row["x_m"]), float(row["y_m"])] for row in read], traverse.points_m)
        for column in ("distance_m", "b_rms_t", "b_rms_error_t", "b_major_axis_rms_t", "line_formula_b_rms_t"):
            assert np.array_equal([float(row[column]) for row in read], getattr(traverse, column))
    assert float(read[0]["distance_m"]) == 0
    assert float(read[-1]["distance_m"]) == pytest.approx(3.0, rel=1e-12)  # from (0, 1) to (0, 4), rounding


def test_lines_are_plain_and_none_is_longer_than_its_head(result):
    for name, text in tables(result).items():
        assert "\r" not in text, name
        assert text.endswith("\n"), name
        head, *lines = csv.reader(io.StringIO(text))
        assert len(set(head)) == len(head), name
        assert all(len(line) == len(head) for line in lines), name
        cells = [cell for line in lines for cell in line]
        assert not {"nan", "None"} & set(cells), name
        assert not [cell for cell in cells if re.search(r"\w\(\w+=", cell)], name  # what Python shows of an object


def test_there_is_no_empty_table():
    without = STUDY[: STUDY.index("[[receptors]]")] + STUDY[STUDY.index("[accuracy]") :]
    names = list(tables(run(loads(without))))
    assert "receptors.csv" not in names
    assert "losses.csv" in names
    assert not [name for name in names if name.startswith("traverse")]
