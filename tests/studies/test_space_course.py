"""The course of a run in space: its bends, what meets it, and what has no room on it."""

from __future__ import annotations

import numpy as np
import pytest

from fem.filaments import polyline_field
from studies.runner import run
from studies.section.course import course_frames
from studies.section.cross_section import cross_section
from studies.study.reading import loads
from studies.text.problems import StudyError
from studies.verify.run_in_space import ABOVE_PLATE
from tests.studies.test_space import course


def test_chords_of_a_bend_end_on_its_arc_and_turn_no_further_than_asked() -> None:
    text = 'path = [["-4 m", "0 m", "2 m"], ["0 m", "0 m", "2 m"], ["0 m", "3 m", "2 m"]]\nbend_radius = "1 m"'
    study = loads(course(text))
    frames = course_frames(study, cross_section(study))
    arc = frames.corners[1:-1]
    assert np.linalg.norm(arc - [-1, 1, 2], axis=1) == pytest.approx(1.0)
    assert arc[0] == pytest.approx([-1, 0, 2])
    assert arc[-1] == pytest.approx([0, 1, 2])
    turns = np.einsum("ki,ki->k", frames.along[:-1], frames.along[1:])
    assert np.degrees(np.arccos(np.clip(turns, -1, 1))).max() <= 7.5 + 1e-9
    # frames stay upright and at right angles on a level course; the outer cable is longer than the inner
    assert frames.upward == pytest.approx(np.tile([0, 0, 1], (len(frames.along), 1)))
    left, right = frames.lines(np.array([[-0.1, 0], [0.1, 0]]))
    lengths = [np.linalg.norm(np.diff(line, axis=0), axis=1).sum() for line in (left, right)]
    assert lengths[1] - lengths[0] == pytest.approx(0.2 * np.pi / 2, rel=2e-3)  # mitres: (7.5 deg)^2/12


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        (
            'path = [["-4 m", "0 m", "2 m"], ["0 m", "0 m", "2 m"], ["0 m", "3 m", "2 m"]]\nbend_radius = "0.1 m"',
            "is less than the cross-section reaches",
        ),
        (
            'path = [["-4 m", "0 m", "2 m"], ["0 m", "0 m", "2 m"], ["0 m", "1 m", "2 m"]]\nbend_radius = "2 m"',
            "of which its corners take 2 m",
        ),
        (
            'path = [["-4 m", "0 m", "2 m"], ["0 m", "0 m", "2 m"], ["0 m", "2 m", "2 m"], ["-4 m", "0.2 m", "2 m"]]',
            "brings piece 3 within 0.2 m of piece 1",
        ),
        (
            (
                'path = [["-4 m", "0 m", "2 m"], ["0 m", "0 m", "2 m"]]\n'
                'receptors = [{ name = "desk", at = ["-1 m", "-0.1 m", "1.999 m"] }]'
            ),
            '"desk" → at: lies in T1',
        ),
        (
            (
                'path = [["-4 m", "0 m", "2 m"], ["0 m", "0 m", "2 m"]]\n'
                '[[route]]\nlength = "9 m"\n[[route]]\nlength = "2 m"'
            ),
            "route: has its last sections meet 9 m along the course, which is 4 m long",
        ),
        (
            (
                'path = [["-4 m", "0 m", "2 m"], ["0 m", "0 m", "2 m"], ["0 m", "1.5 m", "2 m"]]\n'
                'bend_radius = "0.4 m"\n[[route]]\nlength = "4 m"\n'
                '[[route]]\nlength = "1 m"\nset = { "trays.T1.inside_width" = "900 mm" }'
            ),
            "is less than the cross-section reaches",  # that of the second section
        ),
    ],
    ids=["tight", "short", "close", "inside", "beyond", "wider"],
)
def test_a_course_without_room_for_its_cross_section_is_refused_before_the_solve(text: str, wrong: str) -> None:
    with pytest.raises(StudyError) as refused:
        run(loads(course(text)))
    assert wrong in str(refused.value)


def test_a_net_current_has_no_course() -> None:
    unbalanced = 'current = { L1 = "300 A", L2 = "200 A", L3 = "250 A" }'
    text = course('path = [["-4 m", "0 m", "2 m"], ["0 m", "0 m", "2 m"]]').replace('current = "300 A"', unbalanced)
    with pytest.raises(StudyError) as refused:
        run(loads(text))
    assert "needs currents that sum to zero" in str(refused.value)


def test_another_run_that_meets_the_course_is_refused() -> None:
    other = '{ name = "F7", path = [["5 m", "-5 m", "2.1 m"], ["5 m", "5 m", "2.1 m"]], spacing = "40 mm", '
    other += 'phases = ["L1", "L2", "L3"], current = "100 A" }'
    with pytest.raises(StudyError) as refused:
        run(loads(course(f'path = [["-4 m", "0 m", "2 m"], ["0 m", "0 m", "2 m"]]\nother_runs = [{other}]')))
    assert "comes within 0.1 m of the run" in str(refused.value)  # beyond the end, where the run goes on


def test_cables_go_on_from_their_places_in_one_section_to_those_in_the_next(coarse_mesh: None) -> None:
    # flat, then wider and transposed: polylines of the conductors, laid by hand; the current is against the path
    tray = ABOVE_PLATE.index("[[trays]]")
    text = ABOVE_PLATE[:tray] + ABOVE_PLATE[ABOVE_PLATE.index("[accuracy]") :].replace('"2 %"', '"20 %"')
    text += """
[[route]]
name = "hall"
length = "2 m"

[[route]]
name = "shaft"
length = "3 m"
phases = { F1 = ["L2", "L3", "L1"] }
[route.set]
"circuits.F1.spacing" = "80 mm"

[course]
path = [["-2 m", "0 m", "0 m"], ["1 m", "0 m", "0 m"]]
"""
    points = np.array([[-1.0, -0.5, 0.3], [0.05, -0.4, 0.2], [0.3, 0.3, 0.3], [2.0, -0.5, 0.3]])
    for k, (x, y, z) in enumerate(points):
        text += f'[[course.receptors]]\nname = "{k}"\nat = ["{x} m", "{y} m", "{z} m"]\n'
    result = run(loads(text))
    assert result.space is not None
    height = result.cross_section.cables[0].axis[1]
    far, currents = 1e6, 400 * np.exp(-2j * np.pi / 3 * np.arange(3))
    ends = [(0.056, -0.08), (0.0, 0.08), (-0.056, 0.0)]  # y of L1, L2, L3 left to right, before and after: L2 L3 L1
    lines = np.array([[[-far, a, height], [0, a, height], [0, b, height], [far, b, height]] for a, b in ends])
    exact = np.linalg.norm(polyline_field(lines, currents, points).sum(axis=2), axis=1)
    for row, other in zip(result.space.receptors, exact, strict=True):
        # what the conductors' eddy currents add, 0.3 % close by
        assert row.b_rms_t == pytest.approx(other, rel=0.005)
    straight_again = result.space.receptors[3]
    assert straight_again.nearest == "shaft, straight 1"
    assert straight_again.b_rms_t == pytest.approx(straight_again.nearest_b_rms_t, rel=0.02)  # 2 m from where they meet
