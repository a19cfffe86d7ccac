"""Routes that cannot be: every problem told with its section, its key, and what would be right."""

from __future__ import annotations

import pytest

from studies.section.route_sections import route_sections, section_studies
from studies.study.decisions import RouteSection
from studies.study.reading import loads
from studies.text.problems import StudyError
from tests.studies.test_route_study import CROSSED, MV, SOLID, TRAY, section

NARROW = 'set = { "circuits.F1.spacing" = "10 mm" }'


def problems(*more: str) -> str:
    with pytest.raises(StudyError) as caught:
        route_sections(loads("\n".join((MV, *more)), "feeder.toml"))
    return str(caught.value)


@pytest.mark.parametrize(
    ("more", "key", "wrong", "right"),
    [
        ('set = { "circuits.F9.spacing" = "80 mm" }', 'set → "circuits.F9.spacing"', 'no "F9"', '"F1"'),
        ('set = { "circuits.F1.spacing" = "80" }', 'circuits[1] "F1" → spacing', "without a unit", '"80 mm"'),
        ('set = { "circuits.F1.spacng" = "80 mm" }', 'circuits[1] "F1" → spacng', "no known key", "spacing"),
        ('set = { circuits.F1.spacing = "80 mm" }', 'set → "circuits"', "no quotes", '"circuits.F1.spacing"'),
        ('set = { "frequency" = "60 Hz" }', 'set → "frequency"', "whole run", "circuits"),
        ('set = { "circuits.F1.current" = "1 A" }', "circuits.F1.current", "whole run", "same current"),
        ('set = "flat"', "set", "not a table of dotted keys", "circuits.F1.arrangement"),
        ('remove = ["trays.T1"]', "remove", "no", "trays"),
        ("screens_turned = 1", "screens_turned", "not cross-bonded", "cross-bonded"),
        ('phases = { F1 = ["L1", "L2"] }', "phases → F1", "other phases", "L1, L2, L3"),
    ],
)
def test_a_section_that_cannot_be_is_told_with_its_name_and_key(more: str, key: str, wrong: str, right: str) -> None:
    text = problems(section(10), section(20, 'name = "riser"', more))
    assert 'route[2] "riser"' in text
    assert key in text
    assert wrong in text
    assert right in text
    assert text.startswith("feeder.toml: 1 thing")


def test_a_section_made_in_a_program_that_cannot_be_is_told_with_its_name_and_key() -> None:
    riser = RouteSection(length=20.0, name="riser", settings={"circuits.F1.spacing": "wide", "circuits.F9.spacing": 1})
    study = loads(MV).model_copy(update={"route": (RouteSection(length=10.0), riser)})
    with pytest.raises(StudyError) as caught:
        section_studies(study)
    assert 'route[2] "riser": circuits → 0 → spacing: does not begin with a number' in str(caught.value)
    assert 'route[2] "riser": set → "circuits.F9.spacing": leads nowhere' in str(caught.value)
    assert '"56 mm"' in str(caught.value)


def test_problems_of_several_sections_and_of_the_study_are_told_at_once_and_once() -> None:
    bad = MV.replace('insulation = "5.5 mm"', 'insulation = "5.5"')
    with pytest.raises(StudyError) as caught:
        loads(
            "\n".join(
                (bad, section(10, 'set = { "nothing" = 1 }'), section(20, 'set = { "circuits.F1.spacng" = "8 mm" }'))
            )
        )
    text = str(caught.value)
    assert text.startswith("study: 3 things to put right")
    assert text.count("insulation") == 1


def test_geometry_of_a_section_is_checked_before_anything_is_solved() -> None:
    text = problems(section(10), section(20, NARROW))
    assert "route[2]: " in text
    assert "overlap" in text


def test_cables_layers_and_bonded_metal_run_through() -> None:
    text = problems(section(10), section(20, 'remove = ["cables.mv.screen"]'))
    assert "without F1 L1 screen, F1 L2 screen, F1 L3 screen" in text
    screen = next(line for line in MV.splitlines() if line.startswith("screen = "))
    back = section(20, f'set = {{ "cables.mv.screen" = {screen.removeprefix("screen = ")} }}')
    with pytest.raises(StudyError, match=r"\(with F1 L1 screen, F1 L2 screen, F1 L3 screen\)"):
        route_sections(loads("\n".join((MV.replace(screen, ""), section(10), back)), "feeder.toml"))
    bonded = '[[bonds]]\nparts = ["F1 screens", "T1"]\n'
    other = 'remove = ["bonds.1", "trays.T1"]'
    assert "without T1" in problems(TRAY, bonded, section(10), section(20, other))
    unbonded = 'remove = ["bonds.1"]'
    assert "joins other lines" in problems(SOLID, section(10), section(20, unbonded))


def test_a_tray_that_is_in_no_bond_may_come_and_go() -> None:
    study = loads(
        "\n".join((MV, TRAY, section(10), section(20, 'remove = ["trays.T1"]'), section(5, 'remove = ["trays.T1"]')))
    )
    found = section_studies(study)
    assert found[0] is study
    assert found[1] is found[2]  # solved once
    assert found[1].trays == ()
    assert len(route_sections(study)[1][1].parts) == 6


@pytest.mark.parametrize(
    ("more", "wrong"),
    [
        ('[[loads]]\npower = "10 kW"\npower_factor = 0.9\n', "needs a supply"),
        ('[supply]\nvoltage = "400 V"\n[[loads]]\npower = "10 kW"\npower_factor = 1.2\n', "outside 0 to 1"),
        ('[supply]\nvoltage = "400 V"\n[[loads]]\npower = "10"\npower_factor = 0.9\n', "without a unit"),
        ('[supply]\nvoltage = "400 V"\n[[loads]]\ncircuit = "F2"\npower = "1 kW"\npower_factor = 1\n', "no circuit"),
        ('[supply]\nvoltage = "400 V"\n' + 2 * '[[loads]]\npower = "1 kW"\npower_factor = 1\n', "second load of F1"),
        ('[route_screens]\nearthed_at = "31 m"\n', "beyond the run, 30 m long"),
    ],
)
def test_loads_and_screens_that_cannot_be_are_told(more: str, wrong: str) -> None:
    assert wrong in problems(CROSSED, section(10), section(20), more)


def test_screens_need_a_route() -> None:
    assert "needs a route" in problems('[route_screens]\nearthed_at = "31 m"\n')
    assert "needs a route" in problems('[supply]\nvoltage = "400 V"\n[[loads]]\npower = "1 kW"\npower_factor = 1\n')
