"""The study file: what a good one becomes."""

import math
import re
from importlib.resources import files

import numpy as np
import pytest
from pydantic import ValidationError

from studies.section.cross_section import cross_section
from studies.section.placement import GROUP_CLEAR_GAP, circuit_axes, construction, metal_layers
from studies.study.cables import Cable, Conductor, layer_temperature
from studies.study.circuits import Circuit, phase_currents
from studies.study.file import Study, StudyFile
from studies.study.materials import material_of
from studies.study.reading import loads
from studies.study.requests import Traverse
from studies.study.starter import STARTER
from tests.studies.sound_study import GOOD, POSITIONS, changed, problems_of


def test_a_study_holds_si_numbers() -> None:
    study = loads(GOOD, "feeder.toml")
    assert study.frequency == 50
    assert study.cables["c240"].insulation == pytest.approx(0.0017, rel=1e-12)
    assert study.circuits[0].spacing == pytest.approx(0.056, rel=1e-12)
    assert study.receptors[0].at == (1.5, 0.5)
    assert study.receptors[0].limit == pytest.approx(5e-7, rel=1e-12)
    assert study.traverses[0].start == (-3, 1)
    assert study.traverses[0].end == (3, 1)
    assert study.accuracy.tolerance == pytest.approx(0.005, rel=1e-12)
    assert study.source_name == "feeder.toml"
    assert study.source_text == GOOD


def test_a_study_without_tray_receptor_map_or_accuracy_is_enough() -> None:
    study = loads(GOOD.partition("[[trays]]")[0])
    assert (len(study.trays), len(study.receptors), len(study.bonds)) == (0, 0, 0)
    assert study.map is None
    assert study.accuracy.tolerance == 0.005


def test_a_study_cannot_be_changed_in_place() -> None:
    study = loads(GOOD)
    with pytest.raises(ValidationError, match="frozen"):
        study.frequency = 60.0


@pytest.mark.parametrize("name", ["metrology_hall_flat.toml", "metrology_hall_trefoil.toml"])
def test_the_examples_are_valid_and_say_that_they_are_invented(name: str) -> None:
    text = files("studies").joinpath("examples", name).read_text(encoding="utf-8")
    study = loads(text, name)
    assert "question" in text.splitlines()[0]
    assert "invented" in text
    assert study.receptors[0].limit == pytest.approx(5e-7, rel=1e-12)
    assert len(study.traverses) == 2
    assert study.map is not None


def test_the_examples_differ_in_formation_alone() -> None:
    folder = files("studies").joinpath("examples")
    flat, trefoil = (
        loads(folder.joinpath(f"metrology_hall_{kind}.toml").read_text(encoding="utf-8"))
        for kind in ("flat", "trefoil")
    )
    for key in ("frequency", "cables", "trays", "receptors", "traverses", "map", "accuracy"):
        assert getattr(flat, key) == getattr(trefoil, key)
    assert (flat.circuits[0].arrangement, trefoil.circuits[0].arrangement) == ("flat", "trefoil")


def test_the_starter_study_is_valid_as_it_stands() -> None:
    assert loads(STARTER, "new.toml").circuits[0].name == "F1"


def test_the_starter_study_stays_valid_with_its_commented_keys() -> None:
    text = STARTER.replace("# screen = {", "screen = {").replace("# cover =", "cover =")
    text = text.replace("# [materials", "[materials").replace("# conductivity", "conductivity")
    text = text.replace("# relative_p", "relative_p").replace("# [[bonds", "[[bonds").replace("# parts", "parts")
    study = loads(text)
    assert study.trays[0].cover == "closed"
    assert ("F1.1.screen", "F1.2.screen", "F1.3.screen", "T1") in [tie.parts for tie in cross_section(study).ties]


def test_the_starter_study_stays_valid_with_everything_that_it_comments_out() -> None:
    statement = r"(?m)^# (?=\[\[?[a-z_.\-]+\]\]?(?:\s{2,}#|$)|[a-z_]+ = )"
    course = next(block for block in STARTER.split("\n\n") if block.startswith("# [course]"))
    study = loads(re.sub(statement, "", STARTER.replace(course, "")))
    given = {name for name in StudyFile.model_fields if getattr(study, name)}
    assert given == set(StudyFile.model_fields) - {"drawing", "survey", "course"}  # the first two need a file
    # a course goes with no earth and no twisted screens, which stand in other comments
    assert loads(STARTER.replace(course, re.sub(statement, "", course))).course is not None
    assert list(metal_layers(study.cables["c240"])) == ["screen", "sheath", "armour"]


def test_the_micro_sign_may_be_typed_either_way() -> None:
    for sign in ("\u00b5", "\u03bc"):
        assert loads(changed(("0.5 uT", f"0.5 {sign}T"))).receptors[0].limit == pytest.approx(5e-7, rel=1e-12)


def test_a_table_of_currents_takes_balanced_angles_where_none_are_stated() -> None:
    table = '{ L1 = "400 A", L2 = ["390 A", "-118 deg"], L3 = "380 A" }'
    currents = phase_currents(loads(changed(('"400 A"', table))).circuits[0])
    assert currents["L1"] == pytest.approx(400, rel=1e-12)
    assert currents["L2"] == pytest.approx(390 * np.exp(-1j * math.radians(118)), rel=1e-12)
    assert currents["L3"] == pytest.approx(380 * np.exp(1j * math.radians(120)), rel=1e-12)


def test_a_neutral_current_needs_an_angle() -> None:
    text = changed(
        ('["L1", "L2", "L3"]', '["L1", "L2", "L3", "N"]'),
        ('"400 A"', '{ L1 = "4 A", L2 = "4 A", L3 = "4 A", N = "1 A" }'),
    )
    (problem,) = problems_of(text)
    assert problem.key == 'circuits[1] "F1" → current → N'
    assert "no angle" in problem.wrong
    currents = phase_currents(loads(text.replace('N = "1 A"', 'N = ["1 A", "30 deg"]')).circuits[0])
    assert currents["N"] == pytest.approx(np.exp(1j * math.pi / 6), rel=1e-12)


# a cable of 240 mm^2: radius sqrt(240/pi) = 8.7404 mm; 1.7 + 0.2 + 1.8 mm of layers; diameter 24.8808 mm, by hand
DIAMETER = 2 * (math.sqrt(240e-6 / math.pi) + 3.7e-3)


def test_a_conductor_without_diameter_is_the_circle_of_its_area() -> None:
    cable = construction(loads(GOOD).cables["c240"])
    assert cable.diameter == pytest.approx(DIAMETER, rel=1e-12)
    stated = loads(changed(('"70 degC"', '"70 degC", diameter = "18.5 mm"')))
    assert construction(stated.cables["c240"]).conductor_radius == pytest.approx(9.25e-3, rel=1e-12)


@pytest.mark.parametrize(
    ("keys", "pitch"),
    [('spacing = "56 mm"', 0.056), ('clear_gap = "1 diameter"', 2 * DIAMETER), ('clear_gap = "0 mm"', DIAMETER)],
)
def test_flat_cables_lie_at_the_stated_spacing_or_gap(keys: str, pitch: float) -> None:
    study = loads(changed(('spacing = "56 mm"', keys)))
    axes = circuit_axes(study, study.circuits[0])
    assert axes == pytest.approx(np.array([[x * pitch, DIAMETER / 2] for x in (-1, 0, 1)]), abs=1e-12)


def test_trefoil_groups_stand_at_the_usual_gap_unless_stated() -> None:
    trefoil = changed(
        ('"flat"\nspacing = "56 mm"', '"trefoil"'),
        ('["L1", "L2", "L3"]', '["L1", "L2", "L3", "L1", "L2", "L3"]'),
    )
    for key, gap in (("", GROUP_CLEAR_GAP * DIAMETER), ('group_clear_gap = "30 mm"\n', 0.03)):
        study = loads(trefoil.replace("phases", f"{key}phases"))
        axes = circuit_axes(study, study.circuits[0])
        assert axes[3, 0] - axes[1, 0] - DIAMETER == pytest.approx(gap, abs=1e-12)


def test_positions_are_taken_as_they_are() -> None:
    study = loads(changed(('"flat"\nspacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]', f'"positions"\n{POSITIONS}')))
    expected = np.array([[-0.056, 0.028], [0, 0.028], [0.056, 0.028]])
    assert circuit_axes(study, study.circuits[0]) == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize(
    ("pairs", "key", "wrong"),
    [
        ([('"flat"\nspacing = "56 mm"', f'"positions"\n{POSITIONS}')], "rests_at", "does not go with positions"),
        ([('"flat"\nspacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]', '"positions"')], "positions", "is missing"),
        ([('"flat"\nspacing', '"trefoil"\nspacing'), ('"L2", "L3"]', '"L2", "L3", "N"]')], "phases", "in threes"),
        ([("spacing =", 'group_clear_gap = "1 mm"\nspacing =')], "group_clear_gap", "does not go with flat"),
        (
            [
                ('"flat"\nspacing = "56 mm"\nrests_at = ["0 mm", "0 mm"]', f'"positions"\n{POSITIONS}'),
                ('"L2", "L3"]', '"L2"]'),
            ],
            "positions",
            "3 positions for 2 phases",
        ),
    ],
)
def test_keys_that_do_not_go_with_the_arrangement_are_told(pairs: list[tuple[str, str]], key: str, wrong: str) -> None:
    (problem,) = problems_of(changed(*pairs))
    assert problem.key == f'circuits[1] "F1" → {key}'
    assert wrong in problem.wrong


@pytest.mark.parametrize("table", ["receptors", "traverses"])
def test_a_second_place_of_the_same_name_is_told(table: str) -> None:
    block = GOOD.partition(f"[[{table}]]")[2].partition("\n[")[0]
    (problem,) = problems_of(f"{GOOD}\n[[{table}]]{block}")
    assert problem.wrong == f"is already the name of {table}[1]"


def test_a_material_of_the_study_may_be_given_by_resistivity() -> None:
    study = loads(changed(('conductivity = "6.0 MS/m"', 'resistivity = "0.2 uohm*m"')))
    assert material_of(study, "test-steel").conductivity == pytest.approx(5e6, rel=1e-12)
    assert material_of(study, "copper").relative_permeability == 1


def test_a_screen_is_as_warm_as_its_conductor_unless_stated() -> None:
    cable = loads(GOOD).cables["c240"]
    assert layer_temperature(cable, cable.screen) == 70
    warm = changed(('thickness = "0.2 mm"', 'thickness = "0.2 mm", temperature = "60 degC"'))
    cable = loads(warm).cables["c240"]
    assert layer_temperature(cable, cable.screen) == 60


def cable_from_python(**changes: object) -> dict[str, object]:
    conductor = Conductor(material="copper", area=240e-6, temperature=70.0)
    return {"cables": {"c240": Cable(conductor=conductor, insulation=1.7e-3, jacket=1.8e-3)}, **changes}


def circuit_from_python(**changes: object) -> Circuit:
    keys = {"name": "F1", "cable": "c240", "arrangement": "flat", "spacing": 0.056, "rests_at": (0.0, 0.0)}
    return Circuit.model_validate({**keys, "phases": ("L1", "L2", "L3"), "current": 400.0, **changes})


def test_python_takes_si_numbers_and_text_alike() -> None:
    for spacing in (0.056, "56 mm"):
        circuit = circuit_from_python(spacing=spacing)
        study = Study.model_validate(
            cable_from_python(title="x", frequency=50.0, circuits=(circuit,), receptors=()),
        )
        assert study.circuits[0].spacing == pytest.approx(0.056, rel=1e-12)
    assert Traverse(name="a", start=(0.0, 0.0), end=(1.0, 0.0)).points == 121


def test_python_meets_the_same_checks() -> None:
    with pytest.raises(ValidationError, match="outside what is allowed for this spacing"):
        circuit_from_python(spacing=-0.056)
    for changes, wrong in (({"cable": "c204"}, "no known cable"), ({"phases": ("L1",)}, "does not say")):
        with pytest.raises(ValidationError, match=wrong):
            Study.model_validate(
                cable_from_python(title="x", frequency=50.0, circuits=(circuit_from_python(**changes),))
            )
