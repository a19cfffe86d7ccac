"""Files of readings: what is refused, and what is read of them."""

from __future__ import annotations

import shutil

import pytest

import studies
from tests.studies.test_survey import EXAMPLES, READINGS, STEEL, STEEL_TEXT, TEXT, sheet_lines, surveyed


@pytest.mark.parametrize(
    ("readings", "said"),
    [
        ("", "is empty"),
        ("x (m),y (m),field (nT)\n", "has no column uncertainty"),
        ("x (m),y (m),field,uncertainty (%)\n1,1,1,1\n", 'has the column "field" with no unit'),
        ("x (m),y (m),field (nT),uncertainty (%),hue\n1,1,1,1,1\n", 'has the column "hue"'),
        ("x (m),y (m),field (nT),uncertainty (%)\n", "holds 0 readings"),
        ("x (m),y (m),field (nT),uncertainty (%)\n1,1,strong,1\n", 'its line 2, field = "strong": is no number'),
        ("x (m),y (m),field (nT),uncertainty (%)\n\n1,1,nan,1\n", 'its line 3, field = "nan": is no number'),
        ("x (m),y (m),field (nT),uncertainty (%)\n1,1,5,-1\n", "its line 2, uncertainty: is not above 0"),
        ("x (m),y (m),field (nT),uncertainty (%)\n1,1,5\n", "its line 2: has 3 cells"),
        ("x (m);y (m);field (nT);uncertainty (%);axis\n1,5;1;5;1;up\n", "its line 2, axis = up: is no axis"),
        ("x (m),y (m),field (nT),uncertainty (%)\n0,-0.001,5,1\n", "is inside T1"),
    ],
)
def test_a_wrong_file_of_readings_is_refused(readings, said, tmp_path):
    with pytest.raises(studies.StudyError) as refused:
        surveyed(tmp_path, readings=readings)
    assert said in str(refused.value)


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ('permeability_of = "T2"', 'permeability_of = "T2": is no known tray or metalwork'),
        ("permeability_range = [50, 2000]", "permeability_range = [50, 2000]: is of no part"),
        ('permeability_of = "T1"\npermeability_range = [50, 20]', "permeability_range = [50, 20]: is no range"),
        ('permeability_of = "T1"\npermeability_range = [50, 90, 200]', "is no range"),
    ],
)
def test_a_wrong_fit_of_the_permeability_is_refused(lines, said, tmp_path):
    with pytest.raises(studies.StudyError) as refused:
        surveyed(tmp_path, TEXT.replace("coverage_factor", f"{lines}\ncoverage_factor"))
    assert said in str(refused.value)


def test_the_permeability_of_steel_that_saturates_is_not_fitted(tmp_path):
    text = STEEL_TEXT.replace("relative_permeability = 150", 'curve = "mild-steel-curve"')
    shutil.copy(EXAMPLES / f"{STEEL}.csv", tmp_path)
    (tmp_path / "feeder.toml").write_text(text, encoding="utf-8")
    with pytest.raises(studies.StudyError, match="whose permeability follows from its curve"):
        studies.run(studies.load(tmp_path / "feeder.toml"))


def test_a_decimal_comma_is_understood_between_semicolons(tmp_path):
    commas = "\n".join(line.replace(".", ",") for line in READINGS.splitlines())
    found = surveyed(tmp_path, readings=commas)
    assert found.survey is not None
    assert found.survey.readings[0].measured_t == pytest.approx(float(READINGS.splitlines()[1].split(";")[3]) * 1e-9)


def test_too_few_readings_are_compared_without_a_fit(tmp_path):
    found = surveyed(tmp_path, readings="\n".join(READINGS.splitlines()[:4]))
    assert found.survey is not None
    assert found.survey.fits == ()
    assert any("Nothing was fitted: 3 readings" in line for line in sheet_lines(found))
