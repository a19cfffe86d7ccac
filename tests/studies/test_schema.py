"""JSON Schema of the study file: sound files pass as they stand, misspelt ones do not."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

import studies
from studies import command
from studies.compare.drafts import VARIANT_KEYS
from studies.lookups.schema import study_schema
from studies.study.key_reference import keys
from studies.study.quantities import KINDS, RANGES, QuantityError, convert
from studies.study.starter import STARTER, TEMPLATES
from studies.study.unit_names import UNITS
from studies.study.unit_patterns import quantity_pattern, quantity_schema
from tests.studies.installation import INSTALLATION
from tests.studies.sound_study import GOOD, changed
from tests.studies.test_reading_mistakes import BAD

EXAMPLES = sorted((Path(studies.__path__[0]) / "examples").glob("*.toml"))
SCHEMA = study_schema()
VALIDATOR = Draft202012Validator(SCHEMA)


def places(text: str) -> list[list[Any]]:
    """Where a study file breaks the schema."""
    return [list(error.absolute_path) for error in VALIDATOR.iter_errors(tomllib.loads(text))]


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("file", EXAMPLES, ids=lambda file: file.stem)
def test_every_example_validates(file: Path) -> None:
    assert places(file.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("text", [STARTER, GOOD, INSTALLATION, *TEMPLATES.values()])
def test_starter_templates_and_full_studies_validate(text: str) -> None:
    assert places(text) == []


@pytest.mark.parametrize(
    ("old", "new", "place"),
    [
        ('"flat"', '"flatt"', ["circuits", 0, "arrangement"]),
        ('"channel"', '"chanel"', ["trays", 0, "profile"]),
        ('"56 mm"', '"56 kg"', ["circuits", 0, "spacing"]),
        ('"56 mm"', "56", ["circuits", 0, "spacing"]),
        ('"56 mm"', '"56,0 mm"', ["circuits", 0, "spacing"]),
        ('"240 mm^2"', '"240 mm"', ["cables", "c240", "conductor", "area"]),
        ('"0.5 uT"', '"0.5 A/m"', ["receptors", 0, "limit"]),
        ('"L1", "L2"', '"L1", "L4"', ["circuits", 0, "phases", 1]),
        ('"240 mm^2"', '"-240 mm^2"', ["cables", "c240", "conductor", "area"]),
        ('"50 Hz"', '"0 Hz"', ["frequency"]),
        ('"0.5 uT"', '"-0.5 uT"', ["receptors", 0, "limit"]),
        ("inside_width", "inside_widht", ["trays", 0]),
        ('title = "Feeder"', 'titel = "Feeder"', []),
        ("points = 121", "points = 1", ["traverses", 0, "points"]),
        ('"400 A"', '{ L1 = "4 A", L4 = "4 A" }', ["circuits", 0, "current"]),
        ('"1.5 mm"', '"1.5 mm"\ncover = "open"', ["trays", 0, "cover"]),
        ('["0 mm", "0 mm"]\nph', '["0 mm"]\nph', ["circuits", 0, "rests_at"]),
    ],
)
def test_a_misspelt_word_a_wrong_unit_and_an_unknown_key_do_not(old: str, new: str, place: list[Any]) -> None:
    assert place in places(changed((old, new)))


def test_a_misspelt_key_of_a_variant_is_marked() -> None:
    assert places(f'{GOOD}\n[[variants]]\nname = "a"\nsett = {{ "circuits.F1.spacing" = "60 mm" }}\n')


def test_the_schema_marks_most_of_what_reading_refuses() -> None:
    # the others are rules between keys, and magnitudes of quantities
    found = [bool(places(changed((old, new)))) for old, new, *_ in BAD]
    assert sum(found) > 0.5 * len(found)


def test_variants_have_the_keys_that_are_read() -> None:
    assert tuple(SCHEMA["properties"]["variants"]["items"]["properties"]) == VARIANT_KEYS


def test_nothing_may_be_null_and_no_default_is_a_number_in_si() -> None:
    text = json.dumps(SCHEMA)
    assert '"null"' not in text
    assert '"default"' not in text


def test_every_key_says_its_units_and_an_example() -> None:
    models = {"StudyFile": SCHEMA, **SCHEMA["$defs"]}
    for key in keys():
        entry = models[key.model.__name__]["properties"][key.path.rpartition(".")[2]]
        assert entry["description"].startswith(key.meaning), key
        assert "examples" in entry or not key.example or " with " in key.example


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "temperature"])
def test_a_unit_matches_its_kind_exactly_if_it_is_read_as_one(kind: str) -> None:
    validator = Draft202012Validator({"pattern": quantity_pattern(kind)})
    spelled = {unit for known in KINDS.values() for unit in known.units if unit != "AWG"} | {*UNITS} - {"degC", "degF"}
    wrong = []
    for unit in spelled:
        try:
            convert(f"1 {unit}", kind)
            is_read = True
        except QuantityError:
            is_read = False
        if validator.is_valid(f"1 {unit}") != is_read:
            wrong.append(unit)
    assert wrong == []


@pytest.mark.parametrize(
    ("name", "text"),
    [
        *[(name, allowed.example) for name, allowed in RANGES.items()],
        *[("limit", "0.5 µT"), ("area", "240 mm²"), ("area", "4/0 AWG"), ("temperature", "70 °C"), ("angle", "30°")],
        *[
            ("dc resistance", "75.4 µΩ/m"),
            ("earth resistivity", "100 Ω·m"),
            ("area", "240 mm2"),
            ("spacing", "-1e3 mm"),
        ],
    ],
)
def test_every_spelling_that_is_read_matches(name: str, text: str) -> None:
    assert Draft202012Validator({"pattern": quantity_pattern(RANGES[name].kind)}).is_valid(text)


@pytest.mark.parametrize("name", RANGES)
def test_every_quantity_has_its_range_in_si_and_the_sign_that_it_allows(name: str) -> None:
    allowed, found = RANGES[name], quantity_schema(name)
    validator = Draft202012Validator(found)
    low, high = convert(allowed.low, allowed.kind), convert(allowed.high, allowed.kind)
    ends: dict[str, Any] = dict(found["x-range"])  # type: ignore[call-overload]
    assert ends.pop("unit") == KINDS[allowed.kind].si
    assert ends == pytest.approx({"exclusiveMinimum" if allowed.above else "minimum": low, "maximum": high}, rel=1e-9)
    assert validator.is_valid(allowed.high)
    assert validator.is_valid(allowed.low) is not allowed.above
    unit = allowed.low.split()[-1]
    assert validator.is_valid(f"-1 {unit}") == validator.is_valid(f"\u22121.5e3 {unit}") == (low < 0)
    assert validator.is_valid(f"0.00 {unit}") == (low <= 0 and not allowed.above)
    assert validator.is_valid(f"+.50{unit}")
    assert validator.is_valid(f"10. {unit}")


def test_a_number_without_unit_has_its_range() -> None:
    factors = SCHEMA["$defs"]["CurrentSweep"]["properties"]["factors"]["items"]
    assert (factors["type"], factors["minimum"], factors["maximum"]) == ("number", 0.01, 20)
    power_factor = SCHEMA["$defs"]["Load"]["properties"]["power_factor"]
    assert (power_factor["exclusiveMinimum"], power_factor["maximum"]) == (0, 1)


def test_new_writes_the_schema_and_names_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    study = tmp_path / "feeder.toml"
    assert command.main(["new", str(study), "--template", "fault", "--schema"]) == 0
    first, _, rest = study.read_text(encoding="utf-8").partition("\n")
    schema = json.loads((tmp_path / first.removeprefix("#:schema ")).read_text(encoding="utf-8"))
    assert schema == SCHEMA
    assert rest == TEMPLATES["fault"]
    assert command.main(["schema"]) == 0
    assert json.loads(capsys.readouterr().out.partition("\n")[2]) == SCHEMA
