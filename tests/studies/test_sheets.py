"""Triangles and sheets as they are drawn: areas, thickness and places."""

import itertools

import numpy as np
import pytest
import shapely

from geometry.network import Network, Rectangle, network_of_rectangles
from geometry.placing import placed
from geometry.profiles.channel import ChannelTray, Divider
from geometry.shapes import Tube, wall_along
from studies.drawing.sheets import CHORDS, chorded, exaggeration, is_sheet, thickened, thickened_outline, thinnest

TEE = network_of_rectangles([Rectangle(0.0, 0.0, 0.2, 0.002), Rectangle(0.099, 0.002, 0.101, 0.1)])
"""A floor of 200 mm and a sheet of 98 mm upon it, both 2 mm thick."""


def area_of(triangles):
    u, v = triangles[..., 1, :] - triangles[..., 0, :], triangles[..., 2, :] - triangles[..., 0, :]
    return float(np.sum(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0]) / 2)


def test_chords_cover_a_triangle_with_a_curved_edge():
    # a quarter of the unit disc as one six-node triangle, its curved edge a parabola through the middle of the arc
    middle = (np.sqrt(0.5), np.sqrt(0.5))
    nodes = np.array([[[0, 0], [1, 0], [0, 1], [0.5, 0], middle, [0, 0.5]]], dtype=float)
    drawn = chorded(nodes)
    assert drawn.shape == (1, CHORDS**2, 3, 2)
    bow = np.hypot(*(np.array(middle) - 0.5))
    exact = 0.5 + 2 / 3 * np.sqrt(2) * bow  # triangle and parabolic segment
    # n chords leave 1/n^2 of the segment out
    assert area_of(drawn) == pytest.approx(exact - (exact - 0.5) / CHORDS**2, rel=1e-9)
    assert area_of(chorded(nodes, 1)) == pytest.approx(0.5)


def test_sheets_grow_about_their_middle_lines_and_keep_their_length():
    (outline,) = thickened_outline(TEE, 5.0)
    low, high = outline.min(axis=0), outline.max(axis=0)
    # the floor has its ends where they were, and 5 times its thickness about the middle at 1 mm
    assert (low, high) == (pytest.approx([0.0, -0.004], abs=1e-6), pytest.approx([0.2, 0.1], abs=1e-6))
    # 200 x 10 mm, and 10 mm times what of the upright sheet is above the thickened floor
    assert shapely.Polygon(outline).area == pytest.approx(0.2 * 0.01 + 0.01 * (0.1 - 0.006), rel=1e-4)


def test_points_move_with_their_run():
    points = np.array([[0.05, 0.0], [0.05, 0.001], [0.101, 0.05], [0.1, 0.05]])
    of = np.array([[0.05, 0.001], [0.05, 0.001], [0.1, 0.05], [0.1, 0.05]])
    moved = thickened(TEE, points, of, 3.0)
    assert moved == pytest.approx(np.array([[0.05, -0.002], [0.05, 0.001], [0.103, 0.05], [0.1, 0.05]]), abs=1e-12)


def test_a_turned_network_is_thickened_as_the_upright_one():
    turned_tee = placed(TEE, (1.0, 2.0), 0.7)
    assert isinstance(turned_tee, Network)
    upright, turned = (sum(map(area, thickened_outline(shape, 4.0))) for shape in (TEE, turned_tee))
    assert turned == pytest.approx(upright, rel=1e-6)


def area(loop):
    return shapely.Polygon(loop).area


def test_the_exaggeration_makes_the_thinnest_sheet_visible_and_keeps_pockets_open():
    tray = ChannelTray(0.3, 0.1, 0.0015, lip=0.015, dividers=(Divider(0.0, 0.08, 0.0015),)).solids()[""]
    assert isinstance(tray, Network)
    assert thinnest(tray) == pytest.approx(0.0015)
    factor = exaggeration(tray, 1000.0, 6.0)  # 1.5 pt as it is
    assert factor == 4.0
    assert exaggeration(tray, 10_000.0, 6.0) == 1.0
    # the lips, 15 mm with their corners and 13.5 mm without, are the shortest: no more than half of that
    assert exaggeration(tray, 1.0, 6.0) == 4.0


@pytest.mark.parametrize(
    ("shape", "expected"),
    [
        (wall_along([(0.0, 0.0), (0.3, 0.0), (0.3, 0.1)], 0.003), True),
        (wall_along([(-0.031, 0.0), (0.031, 0.0)], 0.01), False),  # a bar of 62 x 10 mm
        (Tube((0.0, 0.0), 0.03, 0.033), False),
        (TEE, False),
    ],
)
def test_only_long_thin_walls_are_laid_flat(shape, expected):
    assert is_sheet(shape) is expected


def test_small_triangles_of_a_grid_neither_overlap_nor_leave_gaps():
    corners = np.array([[[0, 0], [1, 0], [0, 1], [0.5, 0], [0.5, 0.5], [0, 0.5]]], dtype=float)
    pieces = [shapely.Polygon(piece) for piece in chorded(corners)[0]]
    assert sum(piece.area for piece in pieces) == pytest.approx(0.5)
    assert all(a.intersection(b).area < 1e-12 for a, b in itertools.combinations(pieces, 2))
