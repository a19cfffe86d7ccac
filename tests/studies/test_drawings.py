"""Drawings as people make them: open flags, mirrored circles, arcs, meshes; what is drawn is what is taken."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from geometry.clearance import polygon
from geometry.shapes import Tube
from studies.section.cross_section import cross_section
from studies.section.drawing import read_drawing
from studies.section.parts import CrossSection
from studies.study.file import Study
from studies.study.reading import load
from studies.text.problems import StudyError
from tests.studies.drawn_section import PIPE, RADIUS, SPACING, channel
from tests.studies.solved_examples import EXAMPLES

METAL = 2 * 60 * 1.5 + 253 * 1.5
"""Of the tray: walls, and the floor from wall outside to wall outside. [mm2]"""


def taken(folder: Path, draw: Callable[[Any], None]) -> CrossSection:
    """The section of the example with another drawing, to which the cables are added."""
    document = ezdxf.new("R2010")
    space = document.modelspace()
    for k in range(3):
        space.add_circle(((k - 1) * SPACING, RADIUS), RADIUS, dxfattribs={"layer": f"PHASE-{k + 1}"})
    draw(space)
    document.saveas(folder / "drawn_section.dxf")
    text = (EXAMPLES / "drawn_section.toml").read_text(encoding="utf-8")
    (folder / "study.toml").write_text(text, encoding="utf-8")
    return cross_section(load(folder / "study.toml"))


def tray(space: Any) -> None:
    space.add_lwpolyline(channel(), close=True, dxfattribs={"layer": "TRAY"})


def pipe(space: Any, **more: Any) -> None:
    for radius in PIPE[1:]:
        space.add_circle(PIPE[0], radius, dxfattribs={"layer": "PIPE", **more})


def area(section: CrossSection, name: str) -> float:
    """Of a part. [mm2]"""
    return float(polygon(section.part(name).shape).area * 1e6)


def test_an_outline_closed_by_its_last_point_is_closed(tmp_path: Path) -> None:
    def draw(space: Any) -> None:
        pipe(space)
        space.add_lwpolyline([*channel(), channel()[0]], dxfattribs={"layer": "TRAY"})

    assert area(taken(tmp_path, draw), "tray") == pytest.approx(METAL, rel=1e-9)


def test_an_open_line_and_a_mesh_are_no_outlines(tmp_path: Path) -> None:
    def draw(space: Any) -> None:
        pipe(space)
        tray(space)
        space.add_lwpolyline([(-200, -50), (200, -50), (200, -60)], dxfattribs={"layer": "TRAY"})
        space.add_lwpolyline([], close=True, dxfattribs={"layer": "TRAY"})
        space.add_polymesh((3, 3), dxfattribs={"layer": "TRAY"})

    section = taken(tmp_path, draw)
    assert [part.name for part in section.parts if part.kind == "metalwork"] == ["tray", "pipe"]


def test_a_mirrored_circle_lies_where_it_is_seen(tmp_path: Path) -> None:
    def draw(space: Any) -> None:
        tray(space)
        pipe(space, extrusion=(0, 0, -1))  # as a mirror command leaves it: x runs to the left

    shape = taken(tmp_path, draw).part("pipe").shape
    assert isinstance(shape, Tube)
    (x, y), inner, outer = PIPE
    assert shape.centre == pytest.approx((-x / 1e3, y / 1e3))
    assert (shape.inner_radius, shape.outer_radius) == pytest.approx((inner / 1e3, outer / 1e3))


def test_a_wall_drawn_with_arcs_keeps_its_area(tmp_path: Path) -> None:
    def draw(space: Any) -> None:
        tray(space)
        for radius in (150.0, 148.5):
            ends = [(400 - radius, 40, 1), (400 + radius, 40, 1)]  # two half circles
            space.add_lwpolyline(ends, format="xyb", close=True, dxfattribs={"layer": "PIPE"})

    exact = math.pi * (150**2 - 148.5**2)
    assert area(taken(tmp_path, draw), "pipe") == pytest.approx(exact, rel=5e-3)  # chords of 0.2 % of the size


def changed_example(folder: Path, *pairs: tuple[str, str]) -> Study:
    """The example with the text of its drawing changed."""
    text = (EXAMPLES / "drawn_section.dxf").read_text(encoding="utf-8")
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new, 1)
    (folder / "drawn_section.dxf").write_text(text, encoding="utf-8")
    (folder / "study.toml").write_text((EXAMPLES / "drawn_section.toml").read_text(encoding="utf-8"), encoding="utf-8")
    return load(folder / "study.toml")


def test_entities_of_unknown_types_are_left_out_and_that_is_told(tmp_path: Path) -> None:
    unknown = "ENTITIES\n0\nUNHEARD_OF\n8\nTRAY\n0\nUNHEARD_OF\n"  # one with a layer, one without
    study = changed_example(tmp_path, ("ENTITIES\n", unknown))
    drawn = read_drawing(study)
    assert drawn is not None
    assert drawn.ignored == {"TRAY": 1, "0": 1, "NOTES": 1}
    assert area(cross_section(study), "tray") == pytest.approx(METAL, rel=1e-9)


CIRCLE = "0\nCIRCLE\n8\nPHASE-1\n10\n-56.0\n20\n12.2404\n40\n12.2404\n"


@pytest.mark.parametrize(
    "instead",
    [
        CIRCLE.replace("40\n12.2404", "40\n-1"),
        CIRCLE.replace("40\n12.2404", "40\n0"),
        CIRCLE.replace("40\n12.2404", "40\ninf"),
        CIRCLE.replace("10\n-56.0", "10\nnan"),
        "0\nPOLYLINE\n8\nPHASE-1\n66\n1\n70\n1\n0\nVERTEX\n8\nPHASE-1\n0\nVERTEX\n8\nPHASE-1\n10\nnan\n20\n1\n0\nSEQEND\n",
    ],
)
def test_an_entity_without_place_or_size_is_told_with_its_layer(instead: str, tmp_path: Path) -> None:
    with pytest.raises(StudyError) as told:
        cross_section(changed_example(tmp_path, (CIRCLE, instead)))
    (problem,) = told.value.problems
    assert problem.key == "drawing → file"
    assert 'on the layer "PHASE-1" without a position or a size' in problem.wrong
