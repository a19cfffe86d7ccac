"""What `trayfield list` shows: every entry that exists, within a terminal, with examples that can be pasted."""

import inspect
import tomllib
from pathlib import Path

import pytest

from fem.curve_data import CURVES
from studies import command, options
from studies.data.materials import MATERIALS
from studies.data.reference_levels import LEVEL_SETS
from studies.formulas.formula import all_formulas
from studies.lookups.keys import all_keys, dotted, key_example, keys_named
from studies.lookups.pointers import pointer
from studies.lookups.subjects import SUBJECTS
from studies.study.quantities import RANGES
from studies.study.reading import loads
from studies.text.problems import Problem
from studies.text.terminal import WIDTH
from tests.studies.sound_study import GOOD, changed, problems_of


def listed(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert command.main(["list", *arguments]) == 0
    return capsys.readouterr().out


def test_the_command_offers_the_subjects_that_exist() -> None:
    assert tuple(SUBJECTS) == options.SUBJECTS


@pytest.mark.parametrize(
    ("subject", "known"),
    [("materials", MATERIALS), ("levels", LEVEL_SETS), ("quantities", RANGES), ("curves", CURVES)],
)
def test_every_entry_is_listed_by_its_whole_name(subject: str, known: dict[str, object]) -> None:
    lines = SUBJECTS[subject].listing().splitlines()
    assert [name for name in known if not any(line.startswith(f"{name} ") for line in lines)] == []


@pytest.mark.parametrize("subject", SUBJECTS)
def test_lists_and_pages_fit_a_terminal_except_examples_to_paste(subject: str) -> None:
    entry = SUBJECTS[subject]
    pages = [entry.page(name) for name in entry.names()]
    wide = [
        line
        for text in (entry.listing(), *pages)
        for line in text.splitlines()
        if len(line) > WIDTH and not line.startswith("    ")
    ]
    assert wide == []
    assert all(len(page.splitlines()) > 2 for page in pages)


def test_a_material_is_listed_with_its_numbers_and_their_units(capsys: pytest.CaptureFixture[str]) -> None:
    out = listed(capsys, "materials")
    assert "(MS/m)" in out
    assert "(10⁻³/K)" in out
    (copper,) = (line.split() for line in out.splitlines() if line.startswith("copper "))
    assert copper == ["copper", "58.0", "3.93", "1", "C"]  # 1/(17.241 nohm m), IEC 60287-1-1 table 1


def test_a_level_is_listed_at_50_and_60_hz(capsys: pytest.CaptureFixture[str]) -> None:
    (row,) = (line for line in listed(capsys, "levels").splitlines() if line.startswith("ICNIRP 1998 public"))
    assert row.split()[-2:] == ["100", "83.3"]  # 5/f mT: 100 uT at 50 Hz, 83.3 uT at 60 Hz
    page = listed(capsys, "levels", "ICNIRP", "1998", "public")
    assert "800 Hz to 150 kHz: 6.25 µT." in page
    assert 'limit = "ICNIRP 1998 public"' in page


def test_a_key_has_a_page_with_form_default_and_example(capsys: pytest.CaptureFixture[str]) -> None:
    assert listed(capsys, "keys", "circuits.F1.spacing") == (
        "circuits.spacing\n"
        "  Meaning: distance from axis to axis of neighbours; goes with flat, trefoil.\n"
        "  Form: mm, cm, m, in, ft, mil, um, km; from 0.1 mm to 100 m.\n"
        "  Default: none.\n\n"
        '    [[circuits]]\n    spacing = "56 mm"\n'
    )


def test_keys_are_found_by_their_own_name_and_those_of_a_table_together() -> None:
    assert [dotted(key) for key in keys_named("clear_gap")] == ["circuits.clear_gap"]
    assert {dotted(key) for key in keys_named("fill")} == {"cables.armour.fill"}
    assert [key.path for key in keys_named("[[variants]]")] == ["name", "set", "remove", "transpose"]
    assert keys_named("sapcing") == ()


def test_every_example_of_a_key_is_toml_in_its_table() -> None:
    for key in all_keys():
        text = key_example(key)
        if "DOTTED KEY" in key.path or " with " in text:
            continue
        tables = tomllib.loads(text)
        assert tables, text
        assert not key.example or key.path.rpartition(".")[2] in text, text


def test_the_example_of_a_tray_profile_is_a_sound_tray() -> None:
    for name in ("channel", "plate", "ladder", "duct"):
        (page,) = SUBJECTS["profiles"].pages(name)
        example = inspect.cleandoc(page.partition("\n\n")[2]).replace('"T1"', '"T2"')
        assert f'profile = "{name}"' in example
        loads(f"{GOOD}\n{example}\n")


def test_a_formula_has_its_range_and_source() -> None:
    for name, entry in all_formulas().items():
        page = " ".join(SUBJECTS["formulas"].page(name).split())
        assert entry.source.split(",")[0] in page
        assert all(limit.reason in page for limit in entry.limits)


def test_an_unknown_entry_is_refused_with_the_nearest(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["list", "materials", "coper"]) == 2
    assert capsys.readouterr().err == (
        '"coper" is not among built-in materials; right: "copper"\n    trayfield list materials lists all\n'
    )


@pytest.mark.parametrize(
    ("old", "new", "command_shown"),
    [
        ('"copper", area', '"coper", area', "materials"),
        ('"56 mm"', "56", "keys circuits.spacing"),
        ('"flat"', '"flatt"', "profiles"),
        ("inside_width", "inside_widht", "keys trays"),
        ('"1.7 mm"', '"0 mm"', "keys cables.insulation"),
        ('"240 mm^2"', '"12/0 AWG"', "conductors"),
        ('"F1 screens", "T1"', '"F1 screns", "T1"', "keys bonds.parts"),
        ('"50 Hz"', "50", "keys frequency"),
    ],
)
def test_a_mistake_points_to_what_shows_its_key_or_its_words(old: str, new: str, command_shown: str) -> None:
    (problem,) = problems_of(changed((old, new)))
    assert pointer(problem) == command_shown


def test_a_mistake_that_is_no_keys_points_nowhere() -> None:
    assert pointer(Problem("a.toml", "line 3, column 1", "", "is not valid TOML", "KEY = VALUE")) == ""


def test_the_command_names_what_to_look_up_below_its_message(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    file = tmp_path / "feeder.toml"
    file.write_text(changed(('"56 mm"', "56")), encoding="utf-8")
    for name in ("check", "compare", "run"):
        assert command.main([name, str(file), "-q"]) == 2
        assert capsys.readouterr().err.endswith("  Look up:\n    trayfield list keys circuits.spacing\n")
