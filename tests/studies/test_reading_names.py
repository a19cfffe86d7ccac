"""Names of receptors, circuits and trays: what is wrong with one is said."""

import pytest

from studies.study.entries import LONGEST_NAME
from studies.study.reading import loads
from studies.text.problems import StudyError
from tests.studies.feeder import TREFOIL

STUDY = (
    TREFOIL
    + """
[[receptors]]
name = "NAME"
at = ["1 m", "0 m"]
"""
)


@pytest.mark.parametrize(
    ("name", "wrong"),
    [
        ('say \\"B\\" \\\\ →', "is not a name, it has '\"', '\\', '→'"),
        ("(-)", "is not a name, it has neither letter nor digit"),
        ("a\\u001b[31mb", "is not a name, it has U+001B"),
        ("a\\u202eb", "is not a name, it has U+202E"),
        ("soft\\u00adhyphen", "is not a name, it has U+00AD"),
        (" bench", "is not a name, it begins or ends with a space"),
        ("b" * (LONGEST_NAME + 1), f"is not a name, it has {LONGEST_NAME + 1} characters"),
    ],
)
def test_what_is_wrong_with_a_name_is_said(name, wrong):
    with pytest.raises(StudyError) as caught:
        loads(STUDY.replace("NAME", name))
    (problem,) = caught.value.problems
    assert problem.wrong == wrong
    assert "letters, digits, spaces" in problem.right


@pytest.mark.parametrize(
    "name",
    [
        "Prüfstand 3",
        "電子顕微鏡",
        "a-b_c",
        "b" * LONGEST_NAME,
        "=E01+S1-W12",
        "MCC 2/F1",
        "(N)",
        "=A1.B2:3,4 & #5*",
        "a'b",
    ],
)
def test_letters_of_any_script_and_the_signs_of_plants_make_a_name(name):
    assert loads(STUDY.replace("NAME", name)).receptors[0].name == name
