"""Structured blocks of solids: they fill the solid, lie the right way round, and keep what was asked for."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.arrays import Floats, Ints
from geometry.shapes import wall_along
from geometry.sizing import finer, graded
from geometry.structured import Block, disc_block, tube_block, wall_block

ROUNDING = 1e-12


def areas(block: Block) -> Floats:
    a, b, c = (block.vertices[block.triangles[:, k]] for k in range(3))
    doubled: Floats = (b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0]
    return doubled / 2


def loop_area(points: Floats) -> float:
    x, y = points.T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


def boundary(block: Block) -> set[tuple[int, int]]:
    pairs = np.stack([block.triangles, np.roll(block.triangles, -1, axis=1)], axis=2).reshape(-1, 2)
    edges, count = np.unique(np.sort(pairs, axis=1), axis=0, return_counts=True)
    assert set(count.tolist()) <= {1, 2}  # no edge has three triangles
    return {(int(a), int(b)) for a, b in edges[count == 1]}


def edges_of(loop: Ints) -> set[tuple[int, int]]:
    return {(min(a, b), max(a, b)) for a, b in zip(loop.tolist(), np.roll(loop, -1).tolist(), strict=True)}


def regular(n: int) -> float:
    """Area of a regular polygon in a unit circle. [-]"""
    return n / 2 * float(np.sin(2 * np.pi / n))


@pytest.mark.parametrize("counts", [(8,), (8, 12, 16), (8, 20, 20, 48), (3, 24), (24, 8)])
def test_a_disc_block_fills_its_outermost_polygon_and_covers_every_angle_alike(counts: tuple[int, ...]) -> None:
    radii = np.array([0.01 * (k + 1) for k in range(len(counts))])
    block = disc_block((0.3, -0.1), radii, np.array(counts))
    assert areas(block).min() > 0
    assert areas(block).sum() == pytest.approx(regular(counts[-1]) * radii[-1] ** 2, rel=ROUNDING)
    assert boundary(block) == edges_of(block.outer)
    assert loop_area(block.vertices[block.outer]) > 0  # anticlockwise
    place = block.vertices[block.outer] - (0.3, -0.1)
    steps = np.diff(np.unwrap(np.arctan2(place[:, 1], place[:, 0])))
    assert steps == pytest.approx(2 * np.pi / counts[-1], rel=1e-10)  # equally spaced: no direction is preferred


def test_a_tube_block_fills_the_ring_and_knows_both_faces() -> None:
    radii = np.array([0.02, 0.021, 0.025])
    block = tube_block((0.0, 0.1), radii, 24)
    (inner,) = block.inners
    assert areas(block).min() > 0
    assert areas(block).sum() == pytest.approx(regular(24) * (0.025**2 - 0.02**2), rel=1e-11)
    assert boundary(block) == edges_of(block.outer) | edges_of(inner)
    assert np.linalg.norm(block.vertices[inner] - (0.0, 0.1), axis=1) == pytest.approx(0.02, rel=ROUNDING)


@pytest.mark.parametrize("closed", [False, True])
@pytest.mark.parametrize("turn", [1, -1])
def test_a_wall_block_fills_the_wall_whichever_way_its_path_runs(closed: bool, turn: int) -> None:
    path = [(-0.1, 0.1), (-0.1, 0.0), (0.1, 0.0), (0.1, 0.1)][::turn]
    wall = wall_along(path, 2e-3, side="left" if turn < 0 else "right", closed=closed)
    stations = [np.array([0.0, 0.1, 0.5, 1.0])] * (4 if closed else 3)
    block = wall_block(wall, stations, np.array([0.0, 0.3, 1.0]))
    # the walls stand outside of the path
    expected = 0.204 * 0.104 - 0.2 * 0.1 if closed else 2e-3 * (0.204 + 0.2)
    assert areas(block).min() > 0
    assert areas(block).sum() == pytest.approx(expected, rel=1e-11)
    faces = edges_of(block.outer).union(*map(edges_of, block.inners))
    assert boundary(block) == faces
    assert loop_area(block.vertices[block.outer]) > 0
    assert len(block.inners) == closed
    for inner in block.inners:
        assert loop_area(block.vertices[inner]) == pytest.approx(0.2 * 0.1, rel=1e-11)


@given(st.floats(1e-4, 10.0), st.floats(0.01, 2.0), st.floats(0.5, 4.0), st.integers(1, 6))
def test_graded_lines_rise_from_0_to_1_with_no_step_above_the_size_asked_for(
    length: float, smallest: float, fineness: float, least: int
) -> None:
    def size(x: Floats) -> Floats:
        return smallest * length / 4 + 0.3 * np.minimum(x, length - x)

    nodes = graded(length, size, fineness, least)
    steps = np.diff(nodes) * length
    assert nodes[0] == 0
    assert nodes[-1] == 1
    assert steps.min() > 0
    assert len(steps) >= finer(least, fineness)
    # the size at a step's far end bounds it: the size function has a slope of 0.3 (1 + 0.3/(1 - 0.3) at the most)
    ends = np.maximum(size(nodes[1:] * length), size(nodes[:-1] * length))
    assert np.all(steps <= ends / fineness * 1.45 + 1e-9 * length)


@given(st.integers(1, 500), st.floats(0.5, 8.0))
def test_a_finer_count_is_never_below_its_share(count: int, fineness: float) -> None:
    assert count * fineness - 1e-5 <= finer(count, fineness) < count * fineness + 1
    assert finer(count, 1.0) == count
