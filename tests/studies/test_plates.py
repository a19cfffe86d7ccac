"""Plates that cables pass through: net currents of a solution, ways beside each other, and every cell."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from studies.answers.plates.rows import PlateResult
from studies.formulas.pierced_plate import (
    common_opening_loss,
    pierced_plate_loss,
    plate_rim_loss,
    saturated_pierced_plate_loss,
)
from studies.report.figures import figure_set
from studies.report.summary import verdict_lines
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from tests.studies.cells import Known, err, num, words
from tests.studies.solved_examples import of_examples

STUDY = """title = "Three cables through a wall"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "150 mm^2", temperature = "70 degC" }
insulation = "2 mm"
screen = { material = "copper", thickness = "0.5 mm" }
jacket = "2 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "90 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "400 A"
harmonics = { 5 = "20 %" }

[[bonds]]
parts = ["F1 screens"]

[[plates]]
name = "wall"
hole_diameter = "40 mm"
edge = "150 mm"
thickness = "5 mm"
material = "mild-steel"
saturation = "1.5 T"
slot_width = "3 mm"
count = 2

[[plates]]
name = "one hole"
openings = "one for all"
hole_diameter = "240 mm"
count = 3
edge = "300 mm"
thickness = "5 mm"
material = "mild-steel"

[[plates]]
name = "middle cable"
of = ["F1.2"]
hole_diameter = "40 mm"
edge = "150 mm"
thickness = "5 mm"
material = "aluminium"

[accuracy]
tolerance = "20 %"
"""


@pytest.fixture(scope="module")
def walls() -> Result:
    return run(loads(STUDY))


def of(result: Result, name: str) -> PlateResult:
    return next(plate for plate in result.plates if plate.name == name)


def test_a_cable_magnetises_a_plate_by_its_net_current_at_each_frequency(walls: Result) -> None:
    names = [part.part for part in walls.parts]
    for k, cable in enumerate(of(walls, "wall").cables, 1):
        own = [names.index(f"F1.{k}.{layer}") for layer in ("conductor", "screen")]
        net = [abs(sum(one.solved.drive.currents[j] for j in own)) for one in walls.solutions]
        assert abs(net[0] - 400) > 1  # the screen, bonded at both ends, adds to the conductor's or takes of it
        assert cable.current_rms_a == pytest.approx(np.hypot(*net), rel=1e-9)
        radii = (0.02, 0.15)
        loss = [
            pierced_plate_loss(i, *radii, 0.005, 6e6, f, 300.0)
            + sum(plate_rim_loss(i, radius, 0.005, 6e6, f, 300.0) for radius in radii)
            for i, f in zip(net, (50.0, 250.0), strict=True)
        ]
        assert cable.loss_w == pytest.approx(sum(loss), rel=1e-9)
        saturated = saturated_pierced_plate_loss(net[0], *radii, 0.005, 6e6, 50.0, 1.5) * sum(loss) / loss[0]
        assert cable.saturated_loss_w == pytest.approx(saturated, rel=1e-9)


def test_two_plates_lose_twice_and_slots_another_metal_and_one_opening_less(walls: Result) -> None:
    wall = of(walls, "wall")
    stated, slots, other, opening = wall.ways
    assert stated.loss_w == pytest.approx(2 * sum(cable.loss_w or 0.0 for cable in wall.cables), rel=1e-12)
    assert stated.saturated_loss_w == pytest.approx(2 * sum(c.saturated_loss_w or 0.0 for c in wall.cables), rel=1e-12)
    assert stated.shared_loss_w is not None
    assert stated.shared_loss_w < stated.loss_w  # geometric mean distance 113 mm, edge 150 mm
    assert slots.least_loss_w is not None
    assert 0.05 * stated.loss_w < slots.least_loss_w < 0.5 * slots.loss_w < 0.3 * stated.loss_w
    assert other.material == "aluminium"
    assert other.loss_w < 1e-2 * stated.loss_w
    assert opening.opening_radius_m == pytest.approx(0.09 + 0.02)
    assert opening.loss_w < 0.7 * stated.loss_w


def test_one_opening_for_all_loses_by_the_multipoles_of_the_net_currents(walls: Result) -> None:
    plate = of(walls, "one hole")
    (stated, other), axes = plate.ways, [[-0.09, 0.0], [0.0, 0.0], [0.09, 0.0]]
    loss = 0.0
    for one in walls.solutions:
        net = one.solved.drive.currents.reshape(3, 2).sum(axis=1)  # conductor and screen of each cable
        loss += float(common_opening_loss(net, axes, 0.12, 0.3, 0.005, 6e6, one.frequency, 300.0))
    assert stated.loss_w == pytest.approx(3 * loss, rel=1e-9)
    assert [cable.loss_w for cable in plate.cables] == [None] * 3
    assert other.loss_w < 0.01 * stated.loss_w


def test_a_plate_that_is_not_magnetic_has_no_caution_and_nothing_instead(walls: Result) -> None:
    plate = of(walls, "middle cable")
    assert [cable.cable for cable in plate.cables] == ["F1.2"]
    assert [way.way for way in plate.ways] == ["as stated"]
    assert not plate.encloses_single
    (caution,) = [line for line in walls.cautions if line.startswith("Magnetic plates closed around single cables")]
    assert "(wall)" in caution


@of_examples(["gland_plate"])
def test_the_example_says_what_the_closed_forms_say(solved: Result) -> None:
    stated, slots, other, opening = of(solved, "gland plate").ways
    assert stated.loss_w == pytest.approx(20.3, rel=0.01)
    assert stated.saturated_loss_w == pytest.approx(83.6, rel=0.01)
    assert slots.loss_w == pytest.approx(9.2, rel=0.01)
    assert other.loss_w < 0.01
    assert opening.loss_w == pytest.approx(1.4, rel=0.03)


@of_examples(["gland_plate"])
def test_the_figure_has_each_loss_as_a_bar_with_its_number_on_a_logarithmic_axis(solved: Result) -> None:
    (axes,) = figure_set(solved)["plates"]().axes
    bars = sorted((bar for kind in axes.containers for bar in kind), key=lambda bar: bar.get_y())
    stated, slots, other, opening = of(solved, "gland plate").ways
    losses = [stated.loss_w, stated.saturated_loss_w, slots.loss_w, other.loss_w, opening.loss_w]
    assert [bar.get_width() for bar in bars] == losses
    assert [bar.get_hatch() == "///" for bar in bars] == [False, True, False, False, False]
    names = [text.get_text().split("\n")[1] for text in axes.get_yticklabels()]
    assert names[1:] == ["as stated, saturated", "slots of 3\u202fmm", "aluminium instead", "one opening for all"]
    written = [text.get_text().split() for text in axes.texts]
    watts = [float(number) * {"W": 1, "mW": 1e-3}[unit] for number, unit in written]
    assert watts == pytest.approx(losses, rel=5e-3)  # three digits
    assert axes.get_xscale() == "log"
    assert "closed forms (W)" in axes.get_xlabel()


@dataclass(frozen=True)
class Pair:
    plate: Any
    row: Any


def way_words(pair: Pair) -> Any:
    plate, way = pair.plate, pair.row
    opening = "one opening for all" if plate.openings == "one for all" else "a hole for each"
    return {
        "as stated": f"as stated: {way.material}, {opening}",
        "slotted": re.compile(r"slots of .*\smm"),
        "other metal": f"{way.material} instead",
        "one opening": "one opening for all",
    }[str(way.way)]


def page_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=True)


def terminal_tables(result: Result) -> Iterator[Known]:
    yield from _tables(result, full=False)


def _tables(result: Result, full: bool) -> Iterator[Known]:
    ways = [Pair(plate, way) for plate in result.plates for way in plate.ways]
    cables = [Pair(plate, cable) for plate in result.plates for cable in plate.cables]
    saturated = any(pair.row.saturated_loss_w is not None for pair in ways)
    if ways:
        columns = (
            words("Plate", lambda p: p.plate.name),
            words("Way", way_words),
            *([num("Opening", "mm", lambda p: 2 * p.row.opening_radius_m)] if full else []),
            num("Each alone", "W", lambda p: p.row.loss_w),
            *_optional("In one large plate", ways, "shared_loss_w"),
            *(_optional("Least", ways, "least_loss_w") if full else []),
            *([num("Saturated", "W", lambda p: p.row.saturated_loss_w)] if saturated else []),
            num("Of the stated", "%", lambda p: p.row.loss_w / p.plate.ways[0].loss_w),
        )
        yield Known("Ways of passing cables through plates", ways, columns)
        own = (
            words("Plate", lambda p: p.plate.name),
            words("Cable", lambda p: p.row.cable),
            *([words("Phase", lambda p: p.row.phase)] if full else []),
            num("Net current", "A", lambda p: p.row.current_rms_a),
            *([err("A", lambda p: p.row.current_error_a)] if full else []),
            *_optional("Loss", cables, "loss_w"),
            *([num("Saturated", "W", lambda p: p.row.saturated_loss_w)] if saturated else []),
        )
        yield Known("Loss of plates about single cables", cables, own)


def _optional(heading: str, pairs: list[Pair], name: str) -> list[Any]:
    asked = any(getattr(pair.row, name) is not None for pair in pairs)
    return [num(heading, "W", lambda p: getattr(p.row, name))] if asked else []


def leads(result: Result) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """What each plate loses, and the best of the other ways."""
    for plate in result.plates:
        losses = [max(way.loss_w, way.saturated_loss_w or 0.0) for way in plate.ways]
        up_to = "up to " * (losses[0] > plate.ways[0].loss_w)
        closed = ", closed around single cables," * plate.encloses_single
        text = f"“{plate.name}”{closed} loses {up_to}{{W}} by closed forms."
        if min(losses) < losses[0]:
            text += " Least of the other ways: {*}, {W}."
        yield text, (losses[0], *([min(losses)] if min(losses) < losses[0] else []))


@of_examples(["gland_plate"])
def test_the_first_sentence_gives_the_loss_to_reckon_with_and_the_way_that_loses_least(solved: Result) -> None:
    closed = "“gland plate”, closed around single cables, loses up to 83.6\u202fW by closed forms."
    assert verdict_lines(solved) == (f"{closed} Least of the other ways: aluminium instead, 1.86\u202fmW.",)
