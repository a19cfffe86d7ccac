"""What closed metal encloses and where points lie, by geometry alone."""

import math

import numpy as np
import pytest

from fem.ties import Drive
from studies.section.cross_section import cross_section
from studies.section.enclosure import enclosures, metal_at, single_core_steel
from studies.study.reading import loads

HEAD = """title = "Feeder"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
LAYER
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "positions"
positions = POSITIONS
phases = PHASES
current = CURRENT
HARMONICS

[[trays]]
name = "D1"
profile = "duct"
rests_at = ["0 mm", "0 mm"]
inside_width = "300 mm"
inside_height = "60 mm"
dividers = ["0 mm"]
thickness = "2 mm"
material = "MATERIAL"
"""
LEFT = '["-100 mm", "30 mm"], ["-60 mm", "30 mm"]'
THREE, FOUR = '["L1", "L2", "L3"]', '["L1", "L2", "L3", "N"]'


def section_of(positions, phases=THREE, harmonics="", material="mild-steel", layer="", current='"400 A"'):
    text = HEAD.replace("POSITIONS", f"[{positions}]").replace("PHASES", phases).replace("HARMONICS", harmonics)
    text = text.replace("CURRENT", current)
    study = loads(text.replace("MATERIAL", material).replace("LAYER", layer))
    return study, cross_section(study)


def found(*arguments, **changes):
    """Enclosures with the currents that the phases share equally."""
    study, section = section_of(*arguments, **changes)
    shares = {part: tie.current / len(tie.parts) for tie in section.ties for part in tie.parts}
    names = [part.name for part in section.parts]
    drive = Drive(np.zeros(len(names), dtype=complex), np.array([shares[name] for name in names]))
    return enclosures(study, section, names, drive)


def test_a_whole_circuit_in_one_pocket_sums_to_zero():
    (one,) = found(f'{LEFT}, ["-20 mm", "30 mm"]')
    assert one.part == "D1"
    assert one.circuits == ("F1",)
    assert one.magnetic
    assert not one.unbalanced
    assert one.net_a == pytest.approx(0.0, abs=1e-9)


def test_a_phase_beyond_the_divider_leaves_its_own_current_in_both_pockets():
    pair = found(f'{LEFT}, ["60 mm", "30 mm"]')
    assert len(pair) == 2
    for one in pair:
        assert one.unbalanced
        assert one.net_a == pytest.approx(400.0)  # |1 + a^2| = |a| = 1


def test_triplen_harmonics_that_return_beyond_the_wall_are_found_though_the_fundamental_balances():
    positions = f'{LEFT}, ["-20 mm", "30 mm"], ["60 mm", "30 mm"]'
    without, with_third = found(positions, FOUR), found(positions, FOUR, 'harmonics = { 3 = "20 %" }')
    # one pocket holds the phases, the other the neutral, which carries nothing at the fundamental
    assert [one.unbalanced for one in without] == [False, False]
    # three phases in step with 20 % of 400 A each, and the neutral that returns them
    assert [one.net_a for one in with_third] == pytest.approx([240.0, 240.0])
    assert all(one.unbalanced for one in with_third)


def test_screens_that_carry_the_current_back_count():
    screen = 'screen = { material = "copper", thickness = "0.2 mm" }'
    study, section = section_of('["-100 mm", "30 mm"]', '["L1"]', layer=screen, current='{ L1 = "400 A" }')
    names = [part.name for part in section.parts]
    state = {"F1.1.conductor": 400.0, "F1.1.screen": -400.0}
    drive = Drive(np.zeros(len(names), dtype=complex), np.array([complex(state.get(name, 0.0)) for name in names]))
    (one,) = enclosures(study, section, names, drive)
    assert not one.unbalanced


def test_metal_that_is_not_magnetic_is_told_apart():
    assert not found(f'{LEFT}, ["-20 mm", "30 mm"]', material="stainless-304")[0].magnetic


def test_cables_with_steel_around_them_are_named_by_circuit():
    armour = 'armour = { material = "MATERIAL", thickness = "2 mm" }'
    for material, expected in (("steel-wire-armour", ("F1",)), ("aluminium", ())):
        _, section = section_of(f'{LEFT}, ["-20 mm", "30 mm"]', layer=armour.replace("MATERIAL", material))
        assert single_core_steel(section) == expected


def test_points_are_found_in_sheets_and_cables_and_not_in_pockets():
    _, section = section_of(f'{LEFT}, ["-20 mm", "30 mm"]')
    points = [(0.0, 0.03), (-0.1, 0.03), (0.1, 0.03), (0.1, -0.001), (1.0, 1.0)]
    assert metal_at(section, points) == ("D1", "cable F1.1", None, "D1", None)
    assert metal_at(section, np.zeros((0, 2))) == ()


def test_a_cable_ends_at_its_jacket():
    _, section = section_of(f'{LEFT}, ["-20 mm", "30 mm"]')
    radius = math.sqrt(240e-6 / math.pi) + 3.5e-3
    inside, outside = ((-0.1 + factor * radius, 0.03) for factor in (0.999, 1.001))
    assert metal_at(section, [inside, outside]) == ("cable F1.1", None)
