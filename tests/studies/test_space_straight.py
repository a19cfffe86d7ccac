"""A straight run in space: the field of its cross-section, of runs that cross it and of its sections."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from studies.answers.space import compute
from studies.answers.space.compute import space_result
from studies.answers.space.field import space_field
from studies.answers.space.figure import draw_plan
from studies.formulas.line_field import line_field
from studies.result import Result
from studies.runner import run
from studies.study.reading import loads
from studies.text.failures import collected
from tests.studies.test_space import BASE, STRAIGHT, course


@pytest.fixture(scope="module")
def straight() -> Result:
    return run(loads(BASE + STRAIGHT))


def test_a_straight_run_in_space_has_the_field_of_the_cross_section(straight: Result) -> None:
    assert straight.space is not None
    for own, flat in zip(straight.space.receptors, straight.receptors, strict=True):
        # one is beyond the mesh, one within it, where finite elements are added to the filaments
        assert own.b_rms_t == pytest.approx(flat.b_rms_t, rel=1e-9)
        assert own.second_b_rms_t == pytest.approx(flat.b_rms_t, rel=1e-9)
        assert own.nearest_b_rms_t == pytest.approx(flat.b_rms_t, rel=1e-9)
        assert own.b_rms_error_t == pytest.approx(flat.b_rms_error_t, rel=1e-4)
        assert own.joint_distance_m is None
        assert [one.share for one in own.shares] == pytest.approx([1.0])
    for highest, flat in zip(straight.space.along, straight.receptors, strict=True):
        assert highest.b_rms_t == pytest.approx(flat.b_rms_t, rel=1e-9)  # the same all along
        assert highest.straight_b_rms_t == flat.b_rms_t
    assert straight.space.receptors[0].within_limit is straight.receptors[0].within_limit
    (line,), plan = straight.space.lines, straight.space.plan
    assert plan is not None
    assert line.b_rms_t[[0, -1]] == pytest.approx([row.b_rms_t for row in straight.receptors], rel=1e-9)
    assert line.distance_m[-1] == pytest.approx(np.hypot(1.15, 0.25))
    right = [np.interp(0.9, plan.x_m, row) for row in plan.b_rms_t]
    assert right == pytest.approx([straight.receptors[0].b_rms_t] * len(right), rel=0.01)  # between points of the plan
    assert not straight.failures


@pytest.mark.parametrize(
    ("path", "at"),
    [
        ('[["-4 m", "0 m", "2 m"], ["4 m", "0 m", "2 m"]]', '["0 m", "-0.9 m", "2.4 m"]'),
        ('[["4 m", "0 m", "2 m"], ["-4 m", "0 m", "2 m"]]', '["0 m", "0.9 m", "2.4 m"]'),
        ('[["-4 m", "1 m", "0 m"], ["0 m", "1 m", "0 m"], ["0 m", "1 m", "900 m"]]', '["-0.4 m", "0.1 m", "500 m"]'),
    ],
    ids=["east", "west", "riser"],
)
def test_the_cross_section_is_as_seen_along_the_path(straight: Result, path: str, at: str) -> None:
    # a riser turns what was above the run to where it came from
    study = loads(course(f'path = {path}\n[[course.receptors]]\nname = "right and above"\nat = {at}'))
    found = space_result(study, straight.solutions)
    assert found is not None
    assert found.receptors[0].b_rms_t == pytest.approx(straight.receptors[0].b_rms_t, rel=1e-4)


def test_a_place_that_fails_costs_only_itself(straight: Result, monkeypatch: pytest.MonkeyPatch) -> None:
    own = space_field

    def failing(model: Any, solutions: Any, points: Any) -> Any:
        if points.shape == (1, 3) and points[0, 2] == 2.15:
            raise ZeroDivisionError("broken on purpose")
        return own(model, solutions, points)

    monkeypatch.setattr(compute, "space_field", failing)
    with collected() as failures:
        found = compute.space_result(straight.study, straight.solutions)
    assert found is not None
    assert [row.name for row in found.receptors] == ["right and above"]
    assert len(found.along) == 2
    assert len(found.lines) == 1
    assert [failure.what for failure in failures] == ["run in space at close, left"]


def test_a_run_that_crosses_with_its_own_frequency_adds_by_squares_and_with_the_study_s_as_vectors(
    straight: Result,
) -> None:
    # at right angles 1 m above, a pair of conductors: the field of line currents, in the plane across it
    other = '{ name = "F7", path = [["0 m", "-5 m", "3.4 m"], ["0 m", "5 m", "3.4 m"]], spacing = "40 mm", '
    other += 'phases = ["L1", "N"], current = "200 A"FREQUENCY }'
    text = STRAIGHT.replace('"0 m", "-4 m"', '"-4 m", "0 m"').replace('"0 m", "4 m"', '"4 m", "0 m"')
    text = text.replace('["0.9 m", "1 m", "2.4 m"]', '["0.3 m", "-0.9 m", "2.4 m"]')
    text = text.replace("[course]", f"[course]\nother_runs = [{other}]")
    at = np.array([[0.3, -1.0]])
    x, z = line_field(at, np.array([[-0.02, 0], [0.02, 0]]), 200 * np.array([1, -1]))[0]
    found = []
    for frequency in ("", ', frequency = "60 Hz"', ', frequency = "250 Hz"'):
        space = space_result(loads(BASE + text.replace("FREQUENCY", frequency)), straight.solutions)
        assert space is not None
        found.append(space.receptors[0])
    same, own, fifth = found
    flat, alone = straight.receptors[0].b_rms_t, float(np.hypot(abs(x), abs(z)))
    assert own.b_rms_t == pytest.approx(np.hypot(flat, alone), rel=1e-9)
    assert own.shares[1].share == pytest.approx(alone**2 / (flat**2 + alone**2), rel=1e-9)
    assert own.b_rms_error_t == pytest.approx(straight.receptors[0].b_rms_error_t * flat / own.b_rms_t, rel=1e-3)
    # of 50 Hz, its upward component alone meets one of the run's, whose field has none along itself
    assert abs(same.b_rms_t - own.b_rms_t) > 0.02 * own.b_rms_t
    assert same.b_rms_t**2 - own.b_rms_t**2 == pytest.approx(_overlap(straight, z), rel=1e-6, abs=0)
    assert fifth.b_rms_t != pytest.approx(own.b_rms_t, rel=1e-4)


def _overlap(straight: Result, upwards: complex) -> float:
    """Twice the product of a current's upward field with that of the study at its first receptor and frequency."""
    own = straight.solutions[0].estimate.now.receptors[0]
    return float(2 * (own[1] * np.conj(upwards)).real)


def test_sections_that_are_alike_are_one_run(straight: Result) -> None:
    route = '[[route]]\nname = "hall"\nlength = "4.5 m"\n[[route]]\nlength = "3 m"\n'  # meet near the first receptor
    space = space_result(loads(BASE + route + STRAIGHT), straight.solutions)
    assert space is not None
    for own, flat in zip(space.receptors, straight.receptors, strict=True):
        assert own.b_rms_t == pytest.approx(flat.b_rms_t, rel=1e-6)  # what crosses where they meet cancels
    assert [one.section for one in space.receptors[0].shares] == ["hall, straight 1", "section 2, straight 1"]
    assert space.receptors[0].joint_distance_m == pytest.approx(np.hypot(0.5, np.hypot(0.9, 0.4)), rel=1e-9)


def test_the_plan_marks_where_sections_meet_and_names_them(straight: Result) -> None:
    route = '[[route]]\nname = "hall"\nlength = "3.5 m"\n[[route]]\nname = "yard"\nlength = "4.5 m"\n'
    assert straight.space is not None
    assert straight.space.plan is not None
    figures = [
        draw_plan(replace(straight, study=loads(BASE + more + STRAIGHT)), straight.space.plan) for more in ("", route)
    ]
    marks = [
        [np.asarray(line.get_xydata())[0].tolist() for line in one.axes[0].lines if line.get_marker() == "s"]
        for one in figures
    ]
    assert marks == [[], [[0.0, -0.5]]]
    names = [{text.get_text() for text in one.axes[0].texts} & {"hall", "yard"} for one in figures]
    assert names == [set(), {"hall", "yard"}]
    legends = [[text.get_text() for text in one.legends[0].get_texts()] for one in figures]
    assert ["where sections meet" in own for own in legends] == [False, True]
