"""Trays far apart: solved in groups of their own without being asked, and by one mesh where it must be one."""

from dataclasses import replace

import numpy as np
import pytest

from fem.field import FieldProbe
from fem.groups import GroupedExterior
from fem.polarisation import resultant
from fem.solve import solve_unit_voltages
from geometry.groups import GroupedMesh
from studies.answers.fields.close_figure import draw_field_close
from studies.report.method import method_section
from studies.result import Result
from studies.runner import run
from studies.section.cross_section import cross_section
from studies.section.parts import CrossSection
from studies.solve.accuracy import solve_once
from studies.solve.meshes import mesh_of
from studies.study.reading import loads

HEAD = """
title = "Hall"
frequency = "50 Hz"
{more}
[accuracy]
tolerance = "5 %"
[cables.c]
conductor = {{ material = "copper", area = "240 mm^2", temperature = "70 degC" }}
insulation = "1.7 mm"
jacket = "1.8 mm"
"""
TRAY = """
[[trays]]
name = "T{number}"
profile = "channel"
rests_at = ["{x} m", "{y} m"]
inside_width = "400 mm"
inside_height = "60 mm"
thickness = "2 mm"
material = "mild-steel"
[[circuits]]
name = "F{number}"
cable = "c"
arrangement = "positions"
positions = [{positions}]
phases = [{phases}]
current = "{current} A"
"""
PLACES = ((0.0, 0.0), (1.6, 0.3), (0.2, 1.5))


def hall(cables: int = 7, more: str = "") -> str:
    """Trays at three places with so many cables each, of which the last is a neutral."""
    text = HEAD.format(more=more)
    for number, (x, y) in enumerate(PLACES, 1):
        places = ((x + 0.05 * (k - 3) + 0.002 * number * (k % 2), y + 0.01225) for k in range(cables))
        positions = ", ".join(f'["{a:.4f} m", "{b:.5f} m"]' for a, b in places)
        phases = ", ".join(f'"{("L1", "L2", "L3")[k % 3] if k < 6 else "N"}"' for k in range(cables))
        text += TRAY.format(number=number, x=x, y=y, positions=positions, phases=phases, current=150 * number)
    return text


@pytest.fixture(scope="module")
def section() -> CrossSection:
    return cross_section(loads(hall()))


def test_three_trays_in_groups_have_the_numbers_of_one_mesh(section: CrossSection) -> None:
    points = np.array([[0.8, 0.8], [0.0, 0.2], [4.0, 3.0]])
    meshes = [mesh_of(section.section(), 0.7, apart) for apart in (True, False)]
    assert [isinstance(mesh, GroupedMesh) for mesh in meshes] == [True, False]
    apart, joint = (solve_once(section, mesh, points, ()) for mesh in meshes)
    assert isinstance(apart.fields.exterior, GroupedExterior)
    currents = np.abs(apart.drive.currents - joint.drive.currents)
    assert currents.max() < 1e-4 * np.abs(joint.drive.currents).max()
    trays = [section.parts.index(part) for part in section.parts if part.kind == "tray"]
    assert len(trays) == 3
    # the same cables and walls are meshed in both; on so coarse a mesh the air between differs, 1e-5 at fineness 1
    assert apart.losses.total / joint.losses.total == pytest.approx(np.ones(24), abs=5e-4)
    fields = [np.linalg.norm(solved.requested.receptors, axis=1) for solved in (apart, joint)]
    assert fields[0] / fields[1] == pytest.approx(np.ones(3), abs=5e-3)
    assert apart.checks.power_balance < 1e-9
    assert apart.checks.reciprocity < 1e-9


def test_few_solids_and_an_earth_or_a_run_in_space_keep_one_mesh(section: CrossSection) -> None:
    assert section.apart
    assert section.far_groups() == 3
    assert not cross_section(loads(hall(6))).apart
    assert cross_section(loads(hall(6))).far_groups() == 1
    earth = cross_section(loads(hall() + '[earth]\nresistivity = "100 ohm*m"\nsurface = "-1 m"\n'))
    assert (earth.apart, earth.one_mesh) == (False, "the return through the earth")


@pytest.fixture(scope="module")
def told() -> list[str]:
    return []


@pytest.fixture(scope="module")
def result(told: list[str]) -> Result:
    return run(loads(hall()), told.append)


def test_the_page_says_how_the_groups_were_solved(result: Result, told: list[str], section: CrossSection) -> None:
    assert told[0] == "meshing 24 solids in 3 groups, fineness 1"
    text = " ".join(str(block) for block in method_section(result).blocks)
    assert "The solids lie in 3 groups far from each other." in text
    assert "share one mesh" not in text
    mesh, coarser = result.fields.mesh, result.solutions[0].estimate.coarser.mesh
    assert isinstance(mesh, GroupedMesh)
    assert isinstance(coarser, GroupedMesh)
    assert len(mesh.points) > 1.5 * len(coarser.points)
    joint = solve_unit_voltages(mesh_of(section.section(), 0.7), section.materials(), 50.0)
    together = replace(result, fields=joint, cross_section=replace(section, one_mesh="the run in space"))
    text = " ".join(str(block) for block in method_section(together).blocks)
    assert "far from each other share one mesh because of the run in space." in text


def test_the_close_figure_goes_on_between_the_groups(result: Result) -> None:
    figure = draw_field_close(result)
    image = figure.axes[0].images[0]
    x0, x1, y0, y1 = image.get_extent()
    drawn = image.get_array()
    assert drawn is not None
    values = np.ma.filled(drawn, np.nan)
    rows, columns = values.shape

    def at(x: float, y: float) -> float:
        return float(values[int((1e3 * y - y0) / (y1 - y0) * rows), int((1e3 * x - x0) / (x1 - x0) * columns)])

    place = (0.8, 0.8)
    assert np.isnan(at(0.0, 0.1))
    nodal = result.fields.potential(result.drive.voltages)
    field = FieldProbe(result.fields).flux_density(nodal, np.array([place]))
    # a pixel is a few millimetres wide, the field falls over decimetres
    assert at(*place) == pytest.approx(float(resultant(field)[0]), rel=0.02)
    # the triangles end at chords and at middles of pixels: the picture below them reaches a pixel further in
    exterior, pixel = result.fields.exterior, max(x1 - x0, y1 - y0) / columns / 1e3
    assert isinstance(exterior, GroupedExterior)
    for member in exterior.members:
        for turn in np.exp(1j * np.arange(7)):
            rim = complex(*member.centre) + (member.radius - pixel) * complex(turn)
            seen = x0 < 1e3 * rim.real < x1 and y0 < 1e3 * rim.imag < y1
            assert not seen or np.isfinite(at(rim.real, rim.imag))
