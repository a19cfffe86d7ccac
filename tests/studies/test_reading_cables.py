"""Cables with several layers of metal, segmental conductors and steel that saturates, as the study file states them."""

import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fem.curve_data import CURVES
from studies.data.materials import HIGHEST_PERMEABILITY, MATERIALS, Material
from studies.section.cables import cable_parts, placed_cables
from studies.section.placement import construction, metal_layers, tray_names
from studies.study.cables import layer_material, layer_temperature
from studies.study.file import Study
from studies.study.materials import Brauer, curve_of, material_of
from studies.study.parts import CircuitParts, TrayParts, expand, named_parts, tray_parts, with_joined_rails
from studies.study.reading import loads
from studies.text.problems import StudyError
from tests.studies.installation import INSTALLATION, Case, assert_told_once, changed, problems_of

HV, SCREEN = "cables.hv", 'screen = { material = "copper", thickness = "0.3 mm", temperature = "75 degC" }\n'
SHEATH = 'sheath = { material = "lead", thickness = "2.2 mm" }\n'
ARMOUR = 'armour = { material = "steel-wire-armour", thickness = "3.15 mm", fill = "88 %" }\n'
BRAUER = "brauer = { k1 = 49.4, k2 = 1.46, k3 = 520.6 }"
SOFT, HARD = "materials.soft", "materials.hard"

BAD: list[Case] = [
    ("= 0.435", '= "0.435"', f"{HV} → conductor → skin_coefficient", '"0.435"', "plain number", "without quotes"),
    ("= 0.435", "= 0", f"{HV} → conductor → skin_coefficient", "0", "outside 0 to 1", "above 0 and at most 1"),
    ("= 0.435", "= 1.2", f"{HV} → conductor → skin_coefficient", "1.2", "outside 0 to 1", "such as 0.435"),
    ("skin_coef", "proximity_coef", f"{HV} → conductor → proximity_coefficient", "0.435", "", ""),
    ('separation = "0.6 mm"\n', "", f"{HV} → separation", "", "missing between screen and sheath", '"0.5 mm"'),
    ('"0.6 mm"', "0.6", f"{HV} → separation", "0.6", "bare number", '"0.6 mm"'),
    ('"0.6 mm"', '"0 mm"', f"{HV} → separation", '"0 mm"', "outside", "from 0.01 mm"),
    ('bedding = "1.4 mm"\n', "", f"{HV} → bedding", "", "missing between sheath and armour", '"1.2 mm"'),
    ('jacket = "3 mm"\n', "", f"{HV} → jacket", "", "missing over an armour", "touching armours would be one part"),
    ('material = "lead"', 'material = "leed"', f"{HV} → sheath → material", '"leed"', "no known material", '"lead"'),
    ('"2.2 mm"', '"2.2 kg"', f"{HV} → sheath → thickness", '"2.2 kg"', "unknown unit", '"1.5 mm"'),
    (', thickness = "2.2 mm"', "", f"{HV} → sheath → thickness", "", "is missing", 'or area = "25 mm^2"'),
    (
        ', fill = "88 %"',
        ', fill = "88 %", area = "300 mm^2"',
        f"{HV} → armour → fill",
        '"88 %"',
        "go with an area",
        "out",
    ),
    (
        *('"0.3 mm", temp', '"0.3 mm", area = "45 mm^2", temp', f"{HV} → screen → area", '"45 mm^2"'),
        *("more than a solid tube of 0.3 mm over 44.3 mm has", "at most 42.06 mm^2"),
    ),
    ('thickness = "0.3 mm", temp', "area = 25, temp", f"{HV} → screen → area", "25", "bare number", '"25 mm^2"'),
    ('"2.2 mm" }', '"2.2 mm", fil = "9 %" }', f"{HV} → sheath → fil", '"9 %"', "no known key", "material, thickness"),
    (SHEATH, 'sheath = "lead"\n', f"{HV} → sheath", '"lead"', "not a table", "{ material ="),
    ('fill = "88 %"', "fill = 0.88", f"{HV} → armour → fill", "0.88", "bare number", '"0.88 %"'),
    ('fill = "88 %"', 'fill = "188 %"', f"{HV} → armour → fill", '"188 %"', "outside", "from 1 % to 100 %"),
    ("fill =", "filled =", f"{HV} → armour → filled", '"88 %"', "no known key", "fill"),
    (
        *('"88 %"', '"88 %", relative_permeability = 0.5', f"{HV} → armour → relative_permeability"),
        *("0.5", "outside 1 to", "300"),
    ),
    ('"88 %"', '"88 %", loss_angle = "85 deg"', f"{HV} → armour → loss_angle", '"85 deg"', "outside", "to 80 deg"),
    ('"88 %"', '"88 %", loss_angle = 0.2', f"{HV} → armour → loss_angle", "0.2", "bare number", '"0.2 deg"'),
    ('"1.4 mm"\n\n', '"1.4 mm"\nbedding = "1 mm"\n\n', "cables.lv → bedding", '"1 mm"', "has none", "leave it out"),
    ('"1.4 mm"\n\n', '"1.4 mm"\nseparation = "1 mm"\n\n', "cables.lv → separation", '"1 mm"', "not both", "leave it"),
    ('"mild-steel-curve"', '"mild-stel-curve"', f"{SOFT} → curve", '"mild-stel', "no known magn", '"mild-steel-curve"'),
    ('"mild-steel-curve"', "7", f"{SOFT} → curve", "7", "no known magnetisation curve", "one of"),
    ('curve = "mild-steel-curve"\n', "", f"{SOFT} → relative_permeability", "", "missing", "= 300, or a curve"),
    ("curve =", "curv =", f"{SOFT} → curv", '"mild-steel-curve"', "", ""),
    (BRAUER, f'{BRAUER}\ncurve = "mild-steel-curve"', f"{HARD} → brauer", "k1", "second magnetisation curve", "one of"),
    (BRAUER, "brauer = [49.4, 1.46, 520.6]", f"{HARD} → brauer", "[49.4", "not a table", "{ k1 = 3.8"),
    ("k2 = 1.46, ", "", f"{HARD} → brauer → k2", "", "is missing", "k2 = 2.17"),
    ("k1 = 49.4", "k1 = 0", f"{HARD} → brauer → k1", "0", "outside 0 to", "above 0"),
    ("k2 = 1.46", 'k2 = "1.46"', f"{HARD} → brauer → k2", '"1.46"', "plain number", "without quotes"),
    ("k3 = 520.6", "k3 = -1", f"{HARD} → brauer → k3", "-1", "outside 0 to", "such as 396.2"),
    ("k3 = 520.6", "k3 = 900000", f"{HARD} → brauer", "900000", "above the reluctivity of air", "up to 795775"),
    (
        *("k1 = 49.4, k2 = 1.46, k3 = 520.6", "k1 = 0.5, k2 = 1.46, k3 = 0.2", f"{HARD} → brauer"),
        *("k1 = 0.5", "k1 + k3 = 0.7 m/H, a relative permeability above 1e+06", "0.795775 m/H or above"),
    ),
    ("k3 = 520.6", "k4 = 520.6, k3 = 1", f"{HARD} → brauer → k4", "520.6", "no known key", "k1"),
    ('"15 deg"', '"15 degC"', f"{HARD} → loss_angle", '"15 degC"', "no unit of angle", '"15 deg"'),
    ('"15 deg"', '"-1 deg"', f"{HARD} → loss_angle", '"-1 deg"', "outside", "from 0 deg to 80 deg"),
    (BRAUER, "relative_permeability = 1", f"{HARD} → loss_angle", '"15 deg"', "without magnetisation", "above 1"),
    ('curve = "mild', 'curve_file = "no.csv"\n#', f"{SOFT} → curve_file", '"no.csv"', "is no file", "a file in /"),
    ('curve = "mild', 'curve_file = ""\n#', f"{SOFT} → curve_file", '""', "is empty", "some words"),
    ('curve = "mild', f'curve_file = "{"x" * 5000}"\n#', f"{SOFT} → curve_file", "xx", "is no file", "a file in /"),
    ("[materials.soft]", "[materials.mild-steel-saturating]", "materials.mild-steel-saturating", "", "", ""),
]
TWO_THINGS = ("proximity_coef", "curv =", "[materials.mild-steel-saturating]")


@pytest.mark.parametrize("case", [case for case in BAD if case[1] not in TWO_THINGS])
def test_a_bad_key_of_a_cable_or_material_is_told_once(case: Case) -> None:
    assert_told_once(case)


def test_a_misspelt_curve_is_told_with_the_permeability_that_is_missing_without_it() -> None:
    found = problems_of(changed(("curve =", "curv =")))
    assert [p.key for p in found] == [f"{SOFT} → curv", f"{SOFT} → relative_permeability"]
    assert found[0].right == "curve"


def test_a_material_with_a_built_in_name_is_told() -> None:
    found = problems_of(changed(("[materials.soft]", "[materials.mild-steel-saturating]")))
    assert ("materials.mild-steel-saturating", "is the name of a built-in material") in [
        (p.key, p.wrong) for p in found
    ]


def test_layers_lie_from_the_inside_out() -> None:
    cable = loads(INSTALLATION).cables["hv"]
    layers = construction(cable)
    radius = math.sqrt(630e-6 / math.pi) + 8e-3
    expected = {
        "screen": (radius, radius + 0.3e-3),
        "sheath": (radius + 0.9e-3, radius + 3.1e-3),
        "armour": (radius + 4.5e-3, radius + 7.65e-3),
    }
    assert list(layers.tubes) == list(expected) == list(metal_layers(cable))
    for name, radii in expected.items():
        assert layers.tubes[name] == pytest.approx(radii, rel=1e-12)
    assert layers.outer_radius == pytest.approx(radius + 10.65e-3, rel=1e-12)


@pytest.mark.parametrize(
    ("gone", "tubes"),
    [
        ((SCREEN, 'separation = "0.6 mm"\n'), ["sheath", "armour"]),
        ((SHEATH, 'separation = "0.6 mm"\n'), ["screen", "armour"]),
        ((ARMOUR, 'bedding = "1.4 mm"\n'), ["screen", "sheath"]),
        ((SCREEN, 'separation = "0.6 mm"\n', SHEATH, 'bedding = "1.4 mm"\n'), ["armour"]),
        ((SCREEN, 'separation = "0.6 mm"\n', SHEATH, ARMOUR, 'bedding = "1.4 mm"\n', 'jacket = "3 mm"\n'), []),
    ],
)
def test_any_layer_may_be_left_out(gone: tuple[str, ...], tubes: list[str]) -> None:
    text = changed(*((layer, "") for layer in gone)).partition("[[bonds]]")[0]
    assert list(construction(loads(text).cables["hv"]).tubes) == tubes


def test_bedding_may_lie_between_insulation_and_armour() -> None:
    text = changed((SCREEN, ""), ('separation = "0.6 mm"\n', ""), (SHEATH, "")).partition("[[bonds]]")[0]
    inner, _ = construction(loads(text).cables["hv"]).tubes["armour"]
    assert inner == pytest.approx(math.sqrt(630e-6 / math.pi) + 9.4e-3, rel=1e-12)


@pytest.mark.parametrize("thickness", ["", 'thickness = "1.1 mm", '])
def test_screen_of_stated_area_has_the_resistance_of_its_metal(thickness: str) -> None:
    study = loads(changed(('thickness = "0.3 mm", temp', f'{thickness}area = "35 mm^2", temp')))
    placed = next(cable for cable in placed_cables(study) if "screen" in cable.layers.tubes)
    screen = next(part for part in cable_parts(study, placed) if part.kind == "screen")
    copper = 1.7241e-8 * (1 + 3.93e-3 * (75 - 20))  # IEC 60287-1-1:2006 table 1
    assert screen.dc_resistance == pytest.approx(copper / 35e-6, rel=1e-9)


def test_a_stated_area_and_thickness_are_kept() -> None:
    for keys, thickness in (('thickness = "1.1 mm", area = "35 mm^2"', 1.1e-3), ('area = "35 mm^2"', None)):
        inner, outer = construction(loads(changed(('thickness = "0.3 mm"', keys))).cables["hv"]).tubes["screen"]
        expected = math.sqrt(inner**2 + 35e-6 / math.pi) - inner if thickness is None else thickness
        assert outer - inner == pytest.approx(expected, rel=1e-9)


def test_a_layer_is_as_warm_as_the_conductor_unless_stated() -> None:
    cable = loads(INSTALLATION).cables["hv"]
    assert [layer_temperature(cable, layer) for layer in (cable.screen, cable.sheath, cable.armour)] == [75, 90, 90]


def test_coefficients_of_segmental_conductors_are_1_unless_stated() -> None:
    cables = loads(INSTALLATION).cables
    assert (cables["hv"].conductor.skin_coefficient, cables["hv"].conductor.proximity_coefficient) == (0.435, 1)
    assert cables["lv"].conductor.skin_coefficient == 1


def test_an_armour_may_state_a_permeability_and_a_loss_angle_of_its_own() -> None:
    keys = ('"88 %"', '"88 %", relative_permeability = 3, loss_angle = "20 deg"')
    saturating = ('"steel-wire-armour"', '"mild-steel-saturating"')
    study = loads(changed(keys, saturating))
    assert study.cables["hv"].armour is not None
    assert study.cables["hv"].armour.fill == pytest.approx(0.88, rel=1e-12)
    own = layer_material(study, study.cables["hv"].armour)
    assert (own.relative_permeability, own.curve) == (3, None)
    assert own.loss_angle == pytest.approx(math.radians(20), rel=1e-12)
    plain = loads(changed(saturating))
    assert plain.cables["hv"].armour is not None
    assert layer_material(plain, plain.cables["hv"].armour) == MATERIALS["mild-steel-saturating"]


def test_names_of_layers_and_rails_stand_for_their_parts() -> None:
    circuits = [CircuitParts("F1", ("L1", "N"), ("screen", "armour"))]
    names = named_parts(circuits, [TrayParts("T1", "ladder", object())], ["beam"])
    assert names["F1 armours"] == ("F1.1.armour", "F1.2.armour")
    assert names["T1"] == ("T1.left", "T1.right")
    assert names["T1.cover"] == ("T1.cover",)
    assert "F1 sheaths" not in names
    assert "F1.1.conductor" not in names
    assert names["F1.2.conductor"] == ("F1.2.conductor",)


@pytest.mark.parametrize(
    ("profile", "cover", "parts"),
    [
        ("channel", None, ("T1",)),
        ("channel", "closed", ("T1",)),
        ("channel", object(), ("T1", "T1.cover")),
        ("ladder", None, ("T1.left", "T1.right")),
        ("ladder", "closed", ("T1",)),  # a cover in contact makes the rails one with it
        ("conduit", None, ("T1",)),
    ],
)
def test_parts_of_trays(profile: str, cover: object, parts: tuple[str, ...]) -> None:
    assert tray_parts(TrayParts("T1", profile, cover)) == parts


def test_bonds_of_layers_rails_and_earth_conductors_are_expanded() -> None:
    study = loads(INSTALLATION)
    trays = tray_names(study)
    names = named_parts([CircuitParts("F2", study.circuits[1].phases, ())], trays, ["pipe"])
    tied = with_joined_rails(expand(study.bonds[2].parts, names), trays)
    assert tied == ("F2.5.conductor", "T1", "T1.cover", "T3.left", "T3.right", "pipe")


def test_a_curve_gives_the_permeability_at_low_field_that_is_not_stated() -> None:
    study = loads(INSTALLATION)
    # 1/(mu0 (k1 + k3)), by hand
    assert material_of(study, "hard").relative_permeability == pytest.approx(
        1 / (4e-7 * math.pi * (49.4 + 520.6)), rel=1e-8
    )  # mu0 of scipy differs from 4e-7 pi by 2e-10
    assert material_of(study, "soft").curve == "mild-steel-curve"
    stated = loads(changed(("k3 = 520.6 }", "k3 = 520.6 }\nrelative_permeability = 700")))
    assert material_of(stated, "hard").relative_permeability == 700
    assert material_of(stated, "hard").curve is not None


@pytest.mark.parametrize(
    ("name", "linear"), [("mild-steel-saturating", "mild-steel"), ("galvanised-steel-saturating", "galvanised-steel")]
)
def test_the_linear_answer_beside_a_built_in_steel_that_saturates_is_that_of_the_linear_one(
    name: str, linear: str
) -> None:
    own, other = MATERIALS[name], MATERIALS[linear]
    assert own.relative_permeability == other.relative_permeability
    assert own.conductivity == other.conductivity


def test_the_smooth_curve_stays_with_its_permeability_at_low_field() -> None:
    curve = CURVES["mild-steel-curve"].curve
    assert MATERIALS["smooth-curve-steel-saturating"].curve == "mild-steel-curve"
    # mu0 of scipy differs from 4e-7 pi by 2e-10
    permeability = MATERIALS["smooth-curve-steel-saturating"].relative_permeability
    assert permeability == pytest.approx(curve.initial_relative_permeability, rel=1e-8)


def test_the_curve_of_a_material_is_found_wherever_it_is_stated(tmp_path: Path) -> None:
    (tmp_path / "steel.csv").write_text("H_A_per_m,B_T\n0,0\n40,0.1\n100,0.5\n1000,1.2\n", encoding="utf-8")
    text = changed(('curve = "mild-steel-curve"', 'curve_file = "steel.csv"'))
    study = loads(text, str(tmp_path / "plant.toml"))
    of_file, of_constants = curve_of(study, "soft"), curve_of(study, "hard")
    assert of_file is not None
    assert of_constants is not None
    assert float(of_file.flux_density(100.0)) == pytest.approx(0.5, rel=1e-9)
    initial = material_of(study, "soft").relative_permeability
    assert initial == pytest.approx(of_file.initial_relative_permeability, rel=1e-12)
    assert material_of(study, "soft").curve == "steel.csv"
    assert float(of_constants.field_strength(1.0)) == pytest.approx(49.4 * math.exp(1.46) + 520.6, rel=1e-9)
    assert curve_of(study, "mild-steel") is None
    assert curve_of(study, "mild-steel-saturating") is CURVES["benchmark-steel-curve"].curve
    assert curve_of(study, "galvanised-steel-saturating") is CURVES["sheet-steel-dc01-curve"].curve


def test_a_curve_may_start_more_steeply_than_a_permeability_may_be_stated(tmp_path: Path) -> None:
    (tmp_path / "steel.csv").write_text("0,0\n0.4,0.5\n1000,1.2\n", encoding="utf-8")
    study = loads(changed(('curve = "mild-steel-curve"', 'curve_file = "steel.csv"')), str(tmp_path / "plant.toml"))
    curve = curve_of(study, "soft")
    assert curve is not None
    assert curve.initial_relative_permeability > HIGHEST_PERMEABILITY
    assert material_of(study, "soft").relative_permeability == HIGHEST_PERMEABILITY


def test_a_file_that_holds_no_curve_is_told_when_it_is_read(tmp_path: Path) -> None:
    (tmp_path / "steel.csv").write_text("0,0\n100,0.5\n90,1.2\n", encoding="utf-8")
    study = loads(changed(('curve = "mild-steel-curve"', 'curve_file = "steel.csv"')), str(tmp_path / "plant.toml"))
    with pytest.raises(StudyError, match=r"materials\.soft → curve_file(.|\n)*line 3"):
        material_of(study, "soft")


@given(st.floats(0, 90, exclude_max=True), st.floats(90, 1e3))
def test_a_loss_angle_is_below_a_right_angle(sound: float, wrong: float) -> None:
    assert Material("x", 1e6, 0.0, 300.0, "", "S", loss_angle=math.radians(sound)).loss_angle == math.radians(sound)
    with pytest.raises(ValueError, match="loss angle of x"):
        Material("x", 1e6, 0.0, 300.0, "", "S", loss_angle=math.radians(wrong))


def test_python_states_layers_and_curves_by_si_numbers() -> None:
    given = loads(INSTALLATION).model_dump()
    again = Study.model_validate(given)
    assert again.cables == loads(INSTALLATION).cables
    assert Brauer(k1=3.8, k2=2.17, k3=396.2).k3 == 396.2
