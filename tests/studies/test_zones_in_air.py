"""Limits are judged in air: zones that hold steel and cables, receptors that lie within them, and what says so."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import shapely

from fem.arrays import Floats
from fem.field import FieldProbe
from fem.polarisation import resultant
from geometry.clearance import polygon
from geometry.meshing import mesh_section
from geometry.sizing import MeshSizes
from studies.answers.limits.refined import DerivedNumbers
from studies.answers.limits.rows import ZoneResult
from studies.answers.limits.zones import zone_result
from studies.closed_forms.lines import line_model
from studies.output.tables import tables
from studies.report.contents import write_report
from studies.report.preview import preview
from studies.result import Result
from studies.runner import run
from studies.section.air import CLEARANCES, air_of
from studies.section.cross_section import cross_section
from studies.solve.accuracy import Estimate, solve_once, solve_to_tolerance
from studies.solve.solution import Solution
from studies.study.reading import loads
from studies.text.problems import StudyError

STUDY = """title = "Feeder beside a beam"
frequency = "50 Hz"

[cables.c]
conductor = { material = "copper", area = "120 mm^2", temperature = "70 degC" }
insulation = "1.7 mm"
jacket = "1.8 mm"

[[circuits]]
name = "F1"
cable = "c"
arrangement = "flat"
spacing = "60 mm"
rests_at = ["0 mm", "0 mm"]
phases = ["L1", "L2", "L3"]
current = "200 A"

[[metalwork]]
name = "beam"
shape = "I"
at = ["0.3 m", "-0.1 m"]
height = "200 mm"
width = "100 mm"
web = "6 mm"
flange = "9 mm"
material = "mild-steel"

[[zones]]
name = "bay"
window = [["0.2 m", "-0.2 m"], ["0.7 m", "0.2 m"]]
limit = "500 uT"

[[zones]]
name = "all"
window = [["-0.2 m", "-0.2 m"], ["0.4 m", "0.2 m"]]
limit = "ICNIRP 2010 public"

[[receptors]]
name = "in the web"
at = ["0.3 m", "0 m"]
limit = "5 uT"

[[receptors]]
name = "bench"
at = ["0.8 m", "0.3 m"]
limit = "10 uT"

[accuracy]
tolerance = "5 %"
"""
FINE = 3.4
STEP = 1e-3
"""Of the dense search, a fifth of the distance from metal: it may miss 2 % of the field of a line. [m]"""
FEW = 37
"""One in so many points of the grid, where the air has no edge."""


@pytest.fixture(scope="module")
def result() -> Result:
    return run(loads(STUDY))


@pytest.fixture(scope="module")
def finer(result: Result) -> tuple[ZoneResult, ...]:
    """The zones from a mesh more than twice as fine."""
    section = result.cross_section
    none = np.zeros((0, 2))
    solved = solve_once(section, mesh_section(section.section(), MeshSizes(fineness=FINE)), none, ())
    estimate = Estimate(solved.requested, solved.requested, solved.fields)
    solution = Solution(section, solved, estimate, result.accuracy, line_model(section))
    return tuple(zone_result(result.study, zone, (solution,)) for zone in result.study.zones)


def dense(result: Result, zone: ZoneResult) -> Floats:
    """Points of a zone's air on a grid, chosen by the shapes of the study: all near its edges, a few elsewhere. [m]

    The field of air is greatest at an edge of it: |B|^2 is a sum of squares of harmonic functions.
    """
    lines = (np.arange(zone.x0_m, zone.x1_m, STEP), np.arange(zone.y0_m, zone.y1_m, STEP))
    points = np.stack(np.meshgrid(*lines), axis=-1).reshape(-1, 2)
    (beam,) = (polygon(part.shape) for part in result.cross_section.parts if part.name == "beam")
    away = shapely.distance(shapely.points(points), beam)
    for cable in result.cross_section.cables:
        away = np.minimum(away, np.linalg.norm(points - cable.axis, axis=1) - cable.layers.outer_radius)
    low, high = points.min(axis=0), points.max(axis=0)
    inward = np.minimum(away - CLEARANCES[0], np.minimum(points - low, high - points).min(axis=1) + STEP)
    few = np.arange(len(points)) % FEW == 0
    chosen: Floats = points[(inward > 0) & (few | (inward < 2 * STEP))]
    return chosen


@pytest.mark.parametrize("number", [0, 1])
def test_a_zone_is_judged_by_the_highest_field_of_its_air(result: Result, number: int) -> None:
    zone = result.zones[number]
    nodal = result.fields.potential(result.drive.voltages)
    points = dense(result, zone)
    field = resultant(FieldProbe(result.fields).flux_density(nodal, points))
    assert zone.b_max_rms_t >= field.max() * (1 - 1e-6)
    assert zone.b_max_rms_t == pytest.approx(field.max(), rel=0.03)
    assert zone.b_max_rms_t + zone.b_max_rms_error_t < 0.8 * (zone.metal_b_max_rms_t or 0.0)


def test_steel_above_the_limit_does_not_exceed_it(result: Result) -> None:
    bay = result.zones[0]
    assert (bay.metal, bay.solids) == ("beam", ("beam",))
    assert bay.metal_b_max_rms_t is not None
    assert bay.limit_t is not None
    assert bay.metal_b_max_rms_t > bay.limit_t > bay.b_max_rms_t
    assert bay.within_limit is True


@pytest.mark.parametrize("number", [0, 1])
def test_errors_in_air_and_metal_cover_the_change_to_a_finer_mesh(
    result: Result, finer: tuple[ZoneResult, ...], number: int
) -> None:
    zone, true = result.zones[number], finer[number]
    assert 0 < abs(zone.b_max_rms_t - true.b_max_rms_t) <= zone.b_max_rms_error_t < 0.05 * zone.b_max_rms_t
    assert (zone.x_m, zone.y_m) == pytest.approx((true.x_m, true.y_m), abs=1e-3)  # does not follow the mesh
    assert zone.metal_b_max_rms_t is not None
    assert true.metal_b_max_rms_t is not None
    assert zone.metal_b_max_rms_error_t is not None
    assert 0 < abs(zone.metal_b_max_rms_t - true.metal_b_max_rms_t) <= zone.metal_b_max_rms_error_t


def test_places_are_named_in_words(result: Result) -> None:
    bay, around = result.zones
    assert bay.where == "5 mm from beam"
    assert re.fullmatch(r"5 mm from cable F1\.[123]", around.where)
    section = result.cross_section
    air = air_of(section.cables, section.parts, np.array([1.0, 1.0]), np.array([2.0, 3.0]))
    assert air is not None
    words = [air.where(np.array(at)) for at in ((1.0, 1.0), (2.0, 2.0), (1.5, 3.0), (1.0, 3.0))]
    assert words == [
        f"{name} of the zone" for name in ("lower left corner", "right edge", "upper edge", "upper left corner")
    ]


def test_an_exposure_index_of_a_zone_has_an_error_and_counts_it(result: Result) -> None:
    zone = result.zones[1]
    assert zone.exposure_index == pytest.approx(zone.b_max_rms_t / 200e-6, rel=1e-9)  # ICNIRP 2010, public, 50 Hz [C]
    assert zone.exposure_error == pytest.approx(zone.b_max_rms_error_t / 200e-6, rel=1e-9)


def test_a_receptor_in_metal_says_so_beside_its_verdict(result: Result) -> None:
    web, bench = result.receptors
    assert (web.inside, bench.inside) == ("beam", None)
    terminal = str(result)
    assert "above the limit, inside beam" in result._repr_html_()
    said = " ".join(terminal.split())
    assert "in the web lies inside beam: a verdict there is of the field in the material" in said
    assert "Zone bay is judged in the air, 5 mm or more from beam. Not judged: up to" in said
    page = write_report(result, {}, {})
    assert "above the limit, inside beam" in page
    assert "Flux density in the metal of the zones" in page
    assert any("Zones that hold cables or metal (bay, all)" in caution for caution in result.cautions)
    assert any("no person or instrument meets" in caution for caution in result.cautions)
    head, *rows = tables(result)["zones.csv"].splitlines()
    assert {"where", "metal", "metal_b_max_rms_t", "metal_b_max_rms_error_t", "exposure_error"} <= set(head.split(","))
    assert len(rows) == 2


def test_the_check_says_where_verdicts_hold_before_the_solve() -> None:
    study = loads(STUDY)
    said = " ".join(preview(study, cross_section(study)).split())
    assert "field at in the web (0.3 m, 0 m), limit 5 µT inside beam: a verdict there is of the field" in said
    assert "judged in the air, 5 mm or more from beam" in said
    assert "judged in the air, 5 mm or more from cable F1.1, cable F1.2, cable F1.3, beam" in said
    assert said.count("inside beam") == 1
    weak = loads(STUDY.replace('"5 uT"', '"500 nT"'))  # in the unit that the tables of the result have
    assert "(0.3 m, 0 m), limit 0.5 µT inside beam" in " ".join(preview(weak, cross_section(weak)).split())


def test_a_zone_without_air_is_refused_by_name() -> None:
    filled = STUDY.replace(
        '[["0.2 m", "-0.2 m"], ["0.7 m", "0.2 m"]]', '[["0.298 m", "-0.02 m"], ["0.302 m", "0.02 m"]]'
    )
    with pytest.raises(StudyError, match='zones "bay" → window: is filled by cables or metal'):
        cross_section(loads(filled))


def test_narrow_air_between_metal_is_judged_closer_to_it(result: Result) -> None:
    section = result.cross_section
    gap = air_of(section.cables, section.parts, np.array([0.26, -0.093]), np.array([0.29, -0.088]))
    assert gap is not None
    assert gap.clearance == CLEARANCES[1]  # 3 mm of air above the flange
    assert gap.shape.area > 0


def test_zones_and_distances_ask_for_finer_meshes() -> None:
    study = loads(STUDY)
    section = cross_section(study)
    asked = []

    def derived(solved: object, estimate: Estimate) -> float:
        asked.append(solved)
        return 1.0 if len(asked) == 1 else 0.04

    none = np.zeros((0, 2))
    solved, estimate, accuracy = solve_to_tolerance(section, none, (), 0.05, lambda said: None, derived=derived)
    assert (len(accuracy.levels), accuracy.worst_error, accuracy.met) == (3, 0.04, True)
    assert asked[-1] is solved
    numbers = DerivedNumbers(study, section)
    worst = numbers.worst_error(solved, estimate)
    solution = Solution(section, solved, estimate, accuracy, line_model(section))
    zones, distances = numbers.zones_of((solution,)), numbers.distances_of((solution,))
    assert zones is not None
    assert distances is not None
    assert worst >= max(zone.b_max_rms_error_t / zone.b_max_rms_t for zone in zones)
    assert worst > 0
    assert {row.state for row in distances} >= {"met"}


@pytest.mark.parametrize(("error", "ratio"), [(0.9e-3, 0.0), (1.1e-3, 1.1e-3 / 0.2)])
def test_distance_known_to_a_millimetre_asks_for_no_finer_mesh(result: Result, error: float, ratio: float) -> None:
    numbers = DerivedNumbers(result.study, result.cross_section)
    row = next(row for row in result.limit_distances if row.state == "met")
    numbers._distances = (replace(row, error_m=error, from_outline_m=0.2),)
    assert max(numbers._ratios()) == pytest.approx(ratio, rel=1e-12)
