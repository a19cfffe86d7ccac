"""From study to solids, materials, ties and what is refused before anything is meshed."""

import math

import pytest

from fem.ties import Tie
from geometry.clearance import polygon
from geometry.shapes import Disc, Tube, Wall
from studies.section.cross_section import cross_section
from studies.section.placement_problems import JACKET_TOLERANCE
from studies.study.reading import loads
from studies.text.problems import StudyError

HEAD = """title = "Feeder"
frequency = "50 Hz"

[cables.plain]
conductor = { material = "copper", area = "240 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"

[cables.screened]
conductor = { material = "aluminium", area = "240 mm^2", temperature = "20 degC", diameter = "18.5 mm" }
insulation = "1.7 mm"
screen = { material = "copper", thickness = "0.2 mm", temperature = "50 degC" }
jacket = "1.8 mm"

[materials.test-steel]
conductivity = "5 MS/m"
relative_permeability = 200
"""
RADIUS = math.sqrt(240e-6 / math.pi)
OUTER = RADIUS + 3.5e-3


def circuit(name="F1", cable="plain", x=0.0, y=0.0, spacing=56.0, phases='"L1", "L2", "L3"', current='"400 A"'):
    return f"""
[[circuits]]
name = "{name}"
cable = "{cable}"
arrangement = "flat"
spacing = "{spacing} mm"
rests_at = ["{x} mm", "{y} mm"]
phases = [{phases}]
current = {current}
"""


def tray(name="T1", x=0.0, y=0.0, width=300.0, height=100.0, cover=""):
    return f"""
[[trays]]
name = "{name}"
profile = "channel"
rests_at = ["{x} mm", "{y} mm"]
inside_width = "{width} mm"
inside_height = "{height} mm"
thickness = "1.5 mm"
material = "test-steel"
{cover}
"""


def section_of(*blocks):
    return cross_section(loads(HEAD + "".join(blocks)))


def problems_of(*blocks):
    with pytest.raises(StudyError) as refused:
        section_of(*blocks)
    return [str(problem) for problem in refused.value.problems]


# --- what is solved -----------------------------------------------------------------------------------------------


def test_a_conductor_is_the_circle_of_its_area_with_the_conductivity_of_its_resistance():
    (first, *_) = section_of(circuit()).parts
    assert first.name == "F1.1.conductor"
    assert isinstance(first.shape, Disc)
    assert (*first.shape.centre, first.shape.radius) == pytest.approx((-0.056, OUTER, RADIUS), rel=1e-12)
    # IEC 60228:2004 class 2: 0.0754 ohm/km at 20 degC [C]; IEC 60287-1-1: 0.00393 1/K for copper [C]
    assert first.dc_resistance == pytest.approx(0.0754e-3 * (1 + 0.00393 * 50), rel=1e-12)
    assert 1 / (first.material.conductivity * math.pi * first.shape.radius**2) == pytest.approx(first.dc_resistance)


def test_a_stated_diameter_makes_the_circle_and_the_resistance_stays():
    first, screen, *_ = section_of(circuit(cable="screened")).parts
    assert first.shape.radius == pytest.approx(9.25e-3)
    assert first.dc_resistance == pytest.approx(0.125e-3, rel=1e-12)  # IEC 60228:2004 class 2, aluminium [M]
    assert isinstance(screen.shape, Tube)
    assert (screen.shape.inner_radius, screen.shape.outer_radius) == pytest.approx((10.95e-3, 11.15e-3))
    # IEC 60287-1-1 table 1: 1.7241e-8 ohm m [M], at its own temperature of 50 degC
    assert 1 / screen.material.conductivity == pytest.approx(1.7241e-8 * (1 + 0.00393 * 30), rel=1e-12)
    area = math.pi * (11.15e-3**2 - 10.95e-3**2)
    assert screen.dc_resistance == pytest.approx(1 / (screen.material.conductivity * area), rel=1e-12)


@pytest.mark.parametrize("cover", ["", 'cover = "closed"'])
def test_the_resistance_of_a_tray_is_that_of_the_metal_meshed(cover):
    part = section_of(circuit(), tray(cover=cover)).part("T1")
    assert isinstance(part.shape, Wall)
    # floor (and cover) from wall outside to wall outside, walls between them
    area = polygon(part.shape).area
    expected = 1.5e-3 * (0.303 * (2 if cover else 1) + 2 * 0.1)
    assert area == pytest.approx(expected, rel=1e-9)
    assert part.dc_resistance == pytest.approx(1 / (5e6 * area), rel=1e-9)
    assert part.material.relative_permeability == 200


def test_each_part_is_in_one_tie_and_parallel_cables_are_in_the_tie_of_their_phase():
    bond = '\n[[bonds]]\nparts = ["F1 screens", "T1"]\n'
    two = circuit(cable="screened", spacing=30, phases='"L1", "L2", "L3", "L1", "N"') + circuit("F2", y=200)
    section = section_of(two, tray(), bond)
    names = [part for tie in section.ties for part in tie.parts]
    assert sorted(names) == sorted(part.name for part in section.parts)
    a = complex(-0.5, -math.sqrt(3) / 2)
    assert section.ties[0].parts == ("F1.1.conductor", "F1.4.conductor")
    assert section.ties[1].parts == ("F1.2.conductor",)
    assert [tie.current for tie in section.ties[:2]] == pytest.approx([400, 400 * a])
    assert section.ties[3] == Tie(("F1.5.conductor",), 0j)
    screens = tuple(f"F1.{k}.screen" for k in range(1, 6))
    assert Tie((*screens, "T1")) in section.ties
    assert abs(section.net_current()) < 1e-9 * 400  # rounding of the angles
    assert [(p.circuit, p.phase, p.tie) for p in section.phases][3:5] == [("F1", "N", 3), ("F2", "L1", 4)]


def test_the_net_current_is_the_sum_of_what_is_stated():
    current = '{ L1 = "400 A", L2 = ["400 A", "-120 deg"], L3 = ["300 A", "120 deg"] }'
    net = section_of(circuit(current=current)).net_current()
    assert net == pytest.approx(100 * complex(0.5, -math.sqrt(3) / 2))


# --- what is refused ----------------------------------------------------------------------------------------------


def test_overlapping_cables_are_named_with_the_missing_millimetres():
    problems = problems_of(circuit(spacing=20))
    assert len(problems) == 2
    depth = 2 * OUTER * 1e3 - 20
    for problem, pair in zip(sorted(problems), ((1, 2), (2, 3)), strict=True):
        assert all(f'circuits "F1" cable {k}' in problem for k in pair)
        assert f"overlap by {depth:.3g} mm" in problem


def test_touching_cables_are_fine_and_positions_may_be_rounded():
    diameter = 2 * OUTER * 1e3
    section_of(circuit(spacing=diameter), tray())
    section_of(circuit(spacing=diameter - 0.9 * JACKET_TOLERANCE * 1e3), tray())
    assert problems_of(circuit(spacing=diameter - 1.1 * JACKET_TOLERANCE * 1e3))


def test_cables_of_two_circuits_and_trays_are_held_against_each_other():
    problems = problems_of(circuit(), circuit("F2", x=20), tray(), tray("T2", x=100))
    assert any('"F1" cable 1' in problem and '"F2" cable 1' in problem for problem in problems)
    assert any('"T1"' in problem and '"T2"' in problem for problem in problems)
    assert any('"F1"' in problem and '"T2"' in problem for problem in problems)  # the wall of T2 at x = -50 mm


@pytest.mark.parametrize("x", [138.0, 150.0, 163.0])
def test_a_cable_in_the_wall_is_an_overlap(x):
    (problem, *_) = problems_of(circuit(x=x - 56), tray())
    assert '"F1" cable 3' in problem
    assert '"T1"' in problem
    assert "overlap by" in problem


def test_a_formation_that_straddles_a_wall_is_refused_with_the_distance():
    (problem,) = problems_of(circuit(spacing=100, x=100), tray())
    assert '"F1" cable 3' in problem
    assert 'tray "T1" by 50 mm' in problem  # axis at 200 mm, wall at 150 mm


@pytest.mark.parametrize(
    "blocks",
    [
        (circuit(x=300), tray()),  # beside the tray
        (circuit(y=200, spacing=200), tray()),  # above it, wider than it
        (circuit(y=-300, spacing=200), tray()),  # below it
        (circuit(), tray(), circuit("F2", y=400, spacing=150), tray("T2", y=400, width=500)),  # a wider tray above
        (circuit(), tray(), circuit("F2", y=300, spacing=100), tray("T2", y=300, width=500)),
        (circuit(), tray(height=10)),  # taller than the walls
    ],
)
def test_formations_above_below_and_beside_a_tray_are_fine(blocks):
    section_of(*blocks)


def test_a_formation_on_positions_may_straddle_a_wall():
    positions = circuit().replace('"flat"', '"positions"').replace('spacing = "56.0 mm"\n', "")
    positions = positions.replace(
        'rests_at = ["0.0 mm", "0.0 mm"]',
        'positions = [["-56 mm", "28 mm"], ["0 mm", "28 mm"], ["256 mm", "28 mm"]]',
    )
    section_of(positions, tray())


def test_cables_in_a_closed_tray_are_inside_it_and_not_through_it():
    section_of(circuit(), tray(cover='cover = "closed"'))
    problems = problems_of(circuit(), tray(height=20, cover='cover = "closed"'))
    # 24.5 mm of cable in 20 mm of height
    assert len([problem for problem in problems if "T1" in problem and "overlap" in problem]) == 3


def test_metal_that_touches_metal_is_refused_with_what_is_left():
    bare = HEAD.replace('insulation = "1.7 mm"\njacket = "1.8 mm"', 'insulation = "0.02 mm"', 1)
    with pytest.raises(StudyError) as refused:
        cross_section(loads(bare + circuit(spacing=2 * RADIUS * 1e3 + 0.04)))
    first, second = map(str, refused.value.problems)
    assert "F1.1.conductor and F1.2.conductor" in first + second
    assert "metal 0.04 mm from metal" in first
    assert "0.05 mm" in first


def test_what_no_metal_can_be_is_refused_for_conductor_and_screen():
    cold = '[materials.m]\nconductivity = "6 MS/m"\nrelative_permeability = 1\ntemperature_coefficient = "0.02 1/K"\n'
    screen = 'material = "copper", thickness = "0.2 mm", temperature = "50 degC"'
    edited = HEAD.replace(screen, screen.replace("copper", "m").replace("50 degC", "-60 degC"))
    with pytest.raises(StudyError) as refused:
        cross_section(loads(edited + cold + circuit(cable="screened")))
    (problem,) = map(str, refused.value.problems)
    assert "cables.screened → screen → temperature = -60 degC" in problem
    assert "air" in problems_of(circuit(), tray("air"))[0]
