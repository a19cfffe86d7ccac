"""Filaments in space: the long line, the bend, the end and the loop in closed form."""

from typing import Any

import numpy as np
import pytest
from scipy.constants import mu_0

from fem.filaments import polyline_field

FAR = 1e6
"""Length of a piece that is taken for endless. [m]"""


def field(corners: list[Any], points: list[Any]) -> np.ndarray:
    """Of one ampere along a polyline, shape (q, 3). [T]"""
    whole = polyline_field(np.array([corners]), np.array([1.0 + 0j]), np.array(points)).sum(axis=2)
    return np.asarray(whole.real)


def test_a_long_filament_has_the_field_of_a_line_in_both_forms() -> None:
    # a filament of length 2 FAR misses (r/FAR)^2/2; the last point is beyond the end of the second piece
    got = field([[0, 0, -FAR], [0, 0, 1.0], [0, 0, FAR]], [[0.3, 0, 0], [0, 2.0, 0], [0.3, 0.4, -7.0]])
    line = mu_0 / (2 * np.pi) * np.array([[0, 1 / 0.3, 0], [-1 / 2, 0, 0], [-0.4 / 0.25, 0.3 / 0.25, 0]])
    assert got == pytest.approx(line, rel=1e-9, abs=1e-9 * mu_0)


def test_inside_a_flat_bend_the_field_is_1_7071_of_the_line_outside_0_2929_at_an_end_one_half() -> None:
    bend = [[-FAR, 0, 0], [0, 0, 0], [0, -FAR, 0]]
    line = mu_0 / (2 * np.pi * 0.8)
    inside, outside = field(bend, [[-0.8, -0.8, 0], [0.8, 0.8, 0]])
    assert inside == pytest.approx([0, 0, -line * (1 + np.sqrt(0.5))], rel=1e-9)  # 1 + sin 45 deg [D]
    assert outside == pytest.approx([0, 0, line * (1 - np.sqrt(0.5))], rel=1e-9)
    (end,) = field([[-FAR, 0, 0], [0, 0, 0]], [[0, 0.8, 0]])
    assert end == pytest.approx([0, 0, line / 2], rel=1e-9)


def test_above_the_bend_of_a_flat_balanced_run_the_field_is_1_2247_of_the_straight_run() -> None:
    # 1 mm apart at 1 m, mitred: the dipole's form holds to (1 mm/1 m)^2
    gap, currents = 1e-3, np.exp(-2j * np.pi / 3 * np.arange(3))
    offsets = gap * np.array([-1, 0, 1])
    bend = np.array([[[-FAR, k, 0], [k, k, 0], [k, -FAR, 0]] for k in offsets])
    straight = np.array([[[-FAR, k, 0], [FAR, k, 0]] for k in offsets])
    above = np.array([[0, 0, 1.0]])
    one, other = (np.linalg.norm(polyline_field(lines, currents, above).sum(axis=2)) for lines in (bend, straight))
    assert one / other == pytest.approx(np.sqrt(1.5), rel=1e-5)  # sqrt(3/2) of two dipoles at right angles [D]


def test_a_loop_of_chords_has_the_field_of_a_circle_on_its_axis() -> None:
    angle = np.linspace(0, 2 * np.pi, 361)
    corners = np.stack([0.5 * np.cos(angle), 0.5 * np.sin(angle), 0 * angle], axis=1)
    heights = np.array([0.0, 0.3, 2.0])
    got = field(corners.tolist(), [[0, 0, z] for z in heights])
    circle = mu_0 * 0.25 / (2 * (0.25 + heights**2) ** 1.5)  # Biot and Savart on the axis of a circular loop [D]
    # 360 chords lie within the circle: their area is (2 pi/360)^2/6 = 5e-5 smaller
    assert got[:, 2] == pytest.approx(circle, rel=6e-5)
    assert np.abs(got[:, :2]).max() < 1e-12 * circle[0]


def test_two_runs_that_cross_at_right_angles_add_as_vectors() -> None:
    lines = np.array([[[-FAR, 0, 0], [FAR, 0, 0]], [[0, -FAR, 1.0], [0, FAR, 1.0]]])
    got = polyline_field(lines, np.array([1.0 + 0j, 1j]), np.array([[0, 0, 0.5]])).sum(axis=2)[0]
    line = mu_0 / (2 * np.pi * 0.5)
    assert got == pytest.approx(np.array([-1j * line, -line, 0]), rel=1e-9)
